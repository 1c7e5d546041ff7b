"""A drill under way in a few short lines, read from afar: which stroke, how it goes, what follows. Pure."""

from __future__ import annotations

from trainer.coaching.drills import Run, block_strokes, test_of
from trainer.coaching.pass_rule import passed_before, passed_for_good
from trainer.coaching.progress.proportions import Proportion, proportion_difference
from trainer.domain.measures import short_label
from trainer.domain.naming import day_words
from trainer.domain.units import Unit, shown
from trainer.domain.verdict import SEEN_FROM
from trainer.settings.drill_file import Drill


def silent(run: Run) -> bool:
    """Nothing tells the player how these strokes are until it is over."""
    return run.stage == "silent"


def stroke_line(run: Run) -> str:
    """Which stroke is next."""
    test, pairs = test_of(run.drill), run.drill.block.kind == "rehearsal then ball"
    if run.stage == "done" or (run.stage == "silent" and test is None):
        return verdict_words(run)
    total = test.strokes if run.stage == "silent" and test is not None else run.drill.block.strokes
    what = "Silent test: stroke" if silent(run) else "Stroke"
    first = "Rehearse, then stroke" if run.stage == "block" and run.wanted == "rehearsal" else what
    return f"{first if pairs else what} {run.number} of {total}"


def verdict_words(run: Run) -> str:
    """Whether it is passed, large."""
    if streak := run.drill.transfer.streak:
        return f"{streak} in a row" if run.running >= streak else "Not in a row yet"
    if test_of(run.drill) is None:
        return "Over"
    if run.passed:
        return "Passed for good"
    today = run.passed_today
    return "Passed today in silence" if today else "Not passed yet" if today is False else "Not judged: too few seen"


def standing_line(run: Run) -> str:
    """What it takes to pass, as far as that is still open."""
    test, days = test_of(run.drill), run.days
    if run.drill.transfer.streak:
        return f"{run.drill.transfer.streak} good in a row end it; a miss starts again"
    if test is None:
        return "it has no silent test, so nothing passes it"
    done = passed_for_good(days, test)
    if done is not None:
        return f"passed for good {day_words(done, run.today)}"
    if run.passed_today:
        return "pass it again on another day: then it is passed for good"
    needs = f"{test.good} good of {test.strokes} in silence"
    before = passed_before(days, test, run.today)
    if run.passed_today is False:
        return f"{needs} pass it; the first test of a day counts"
    if before is not None:
        return f"passed {day_words(before, run.today)}; {needs} again today pass it for good"
    return f"{needs} pass it, on two days running"


def tally_line(run: Run, judged: int) -> str:
    """How it goes. judged: so many marks may be counted; later ones would give away what was without feedback."""
    if run.stage == "done":
        return done_line(run)
    if silent(run):
        return "measured, no feedback"
    told = [mark.good for mark in run.marks[:judged]]
    called = [good for good in told if good is not None]
    if not told:
        return standing_line(run)
    if run.drill.transfer.streak:
        return f"{run.running} in a row, {run.drill.transfer.streak} end it"
    beside = _beside(len(told) - len(called))
    return f"{sum(called)} of {len(called)} good{beside}" if called else f"no stroke could be judged{beside}"


def done_line(run: Run) -> str:
    """Block and silent test side by side."""
    (block, silent), (block_unsure, silent_unsure) = run.scores(), run.unjudged()
    parts = []
    if block_strokes(run.drill):
        parts.append(
            (f"block {block.good} of {block.total} good" if block else "block: nothing could be judged")
            + _beside(block_unsure)
        )
    if test_of(run.drill) is not None:
        parts.append(
            (f"in silence {silent.good} of {silent.total} good" if silent else "in silence: nothing could be judged")
            + _beside(silent_unsure)
        )
    return ", ".join(parts)


def _beside(unsure: int) -> str:
    """What no share counts."""
    return f" ({unsure} not judged)" if unsure else ""


def task_line(run: Run, unit: Unit) -> str:
    """What disturbs the next stroke."""
    far = f"to {shown(run.putt_m, unit, 1)}" if run.putt_m is not None and run.target_m is None else ""
    count = f"count back from {run.count_from}" if run.count_from is not None else ""
    return "; ".join(part for part in (far, count) if part)


def lost_line(task: Proportion | None, without: Proportion | None) -> str:
    """What the habit loses with the task, beside silent strokes without one."""
    if task is None or without is None:
        return "what the task costs is told once there are silent strokes without it too"
    d = proportion_difference(task, without)
    sure = "" if d.plain else "; so few strokes cannot tell this from chance"
    told = f"with the task {task.good} of {task.total} good, in silence without it {without.good} of {without.total}"
    return f"{told}: {100 * d.value:+.0f} points (95 % interval {100 * d.low:+.0f} to {100 * d.high:+.0f}){sure}"


def next_line(run: Run, name_of_next: str | None) -> str:
    """What comes after this."""
    test = test_of(run.drill)
    if run.stage == "block" and test is not None:
        return f"then {test.strokes} strokes in silence"
    if run.stage != "done":
        return f"then {name_of_next}" if name_of_next else "then it is over"
    return f"next: {name_of_next}" if name_of_next else ""


def block_words(run: Run) -> tuple[str, str]:
    """When the block is over: (large, small). Before the silent test, or at the end where there is none."""
    (block, _), (unsure, _) = run.scores(), run.unjudged()
    if block is None:
        return "Block over", "no stroke of it could be judged"
    test = test_of(run.drill)
    small = f"now {test.strokes} strokes in silence" if test is not None else standing_line(run)
    return f"Block: {block.good} of {block.total} good{_beside(unsure)}", small


def description(drill: Drill) -> list[str]:
    """What the drill asks, in sentences."""
    block, rule, test = drill.block, drill.rule, test_of(drill)
    told = f"{block_strokes(drill)} strokes ({block.kind}), feedback: {drill.feedback.schedule}"
    quiet = "" if test is None else f"{test.strokes} in silence"
    passes = (
        "It has no silent test, so nothing passes it."
        if test is None
        else f"Passed with {test.good} good of the day's first {test.strokes} in silence, on two test days running"
        f" (the goal: {rule.good} of {rule.of})."
    )
    out = [
        f"{drill.head.name}: {drill.head.instruction}.",
        f"{', then '.join(part for part in (told if block_strokes(drill) else '', quiet) if part)}.",
        f"Shown: {', '.join(drill.head.measures)}. Cue: {drill.head.cue}.",
        f"A good stroke: {', '.join(_asked(drill)) or 'any'}. {passes}",
    ]
    if drill.head.cue == "rhythm":
        out.append(_rhythm_line(drill))
    if drill.head.next:
        out.append(f"Then: {drill.head.next}.")
    return out


def _rhythm_line(drill: Drill) -> str:
    rhythm = drill.rhythm
    line = f"Rhythm {rhythm.ratio:g}:1, backstroke {rhythm.backstroke_s:g} s"
    line += "; your own, once enough strokes are known" if rhythm.own else ""
    return line + ("; no sound from the top on." if rhythm.until == "top" else ".")


def blind_line(drill: Drill, view: str) -> str:
    """What of a good stroke is not seen from there; empty where all is."""
    seen = SEEN_FROM[view]
    blind = [fault.replace("_", " ") for fault in drill.rule.faults if fault not in seen]
    if view != "face-on":
        blind += [short_label(measure) for measure, _ in drill.goals.given()]
        blind += ["length"] if drill.ladder.back_cm else []
        blind += ["distance"] if drill.ladder.distances_m else []
    if not blind:
        return ""
    other = "down-the-line" if view == "face-on" else "face-on"
    whole = len(blind) == len(_asked(drill))
    what = "cannot be judged" if whole else "can be judged only in part"
    return f"{drill.head.name} {what} from this side ({view}): seen {other} only: {', '.join(blind)}"


def _asked(drill: Drill) -> list[str]:
    """Of a good stroke."""
    out = [f"no {fault.replace('_', ' ')}" for fault in drill.rule.faults]
    for measure, goal in drill.goals.given():
        bounds = [f"at least {goal.at_least:g}"] if goal.at_least is not None else []
        bounds += [f"at most {goal.at_most:g}"] if goal.at_most is not None else []
        out.append(f"{measure} {' and '.join(bounds)}")
    ladder = drill.ladder
    if ladder.back_cm:
        steps = ", ".join(f"{step:g}" for step in ladder.back_cm)
        out.append(f"backstroke {steps} cm in turn, within {ladder.within_cm:g} cm")
    if ladder.distances_m:
        far = ", ".join(f"{one:g}" for one in ladder.distances_m)
        slopes = ladder.slopes_pct or ([ladder.slope_pct] if ladder.slope_pct else [])
        slope = f", {' or '.join(f'{one:+g} %' for one in slopes)}" if slopes else ""
        how = "at random, none twice running" if ladder.order == "random" else "one after the other, in blocks"
        out.append(f"a ball that stops in the window about {far} m{slope} ({how})")
    if ladder.guess:
        out.append("the length is yours to choose, and short, right or long is asked before it is told")
    return out
