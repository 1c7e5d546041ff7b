"""A drill under way in a few short lines, read from afar: which stroke, how it goes, what follows. Pure."""

from __future__ import annotations

from trainer.coaching.drills import Run
from trainer.domain.measures import short_label
from trainer.domain.verdict import SEEN_FROM
from trainer.settings.drill_file import Drill


def silent(run: Run) -> bool:
    """Nothing tells the player how these strokes are until it is over."""
    return run.stage == "silent" or (run.stage == "block" and run.drill.feedback.schedule == "silent")


def stroke_line(run: Run) -> str:
    """Which stroke is next."""
    block = run.drill.block
    if run.stage == "done":
        return "Passed" if run.passed else "Not passed yet"
    total = block.strokes if run.stage == "block" else block.silent_strokes
    what = "Silent test: stroke" if silent(run) else "Stroke"
    first = "Rehearse, then stroke" if run.stage == "block" and run.wanted == "rehearsal" else what
    return f"{first if block.kind == 'rehearsal then ball' else what} {run.number} of {total}"


def tally_line(run: Run, judged: int) -> str:
    """How it goes toward passing. judged: so many marks may be counted; later ones would give away what was without feedback."""
    rule = run.drill.rule
    if run.stage == "done":
        return done_line(run)
    if silent(run):
        return "measured, no feedback"
    if run.passed:
        return f"passed: {rule.good} of {rule.of} were good"
    last = [mark.good for mark in run.marks[:judged] if mark.good is not None][-rule.of :]
    if not last:
        return f"{rule.good} good of {rule.of} pass it"
    return f"{sum(last)} of the last {len(last)} good; {rule.good} of {rule.of} pass it"


def done_line(run: Run) -> str:
    """Block and silent test side by side."""
    block, silent = run.scores()
    parts = [f"block {block.good} of {block.total} good" if block else "block: nothing could be judged"]
    if run.drill.block.silent_strokes:
        parts.append(f"in silence {silent.good} of {silent.total}" if silent else "in silence: nothing could be judged")
    return ", ".join(parts)


def next_line(run: Run, name_of_next: str | None) -> str:
    """What comes after this."""
    block = run.drill.block
    if run.stage == "block" and block.silent_strokes:
        return f"then {block.silent_strokes} strokes in silence"
    if run.stage != "done":
        return f"then {name_of_next}" if name_of_next else "then it is over"
    return f"next: {name_of_next}" if name_of_next else ""


def block_words(run: Run) -> tuple[str, str]:
    """When the block is over: (large, small). Before the silent test, or at the end where there is none."""
    block, _ = run.scores()
    if block is None:
        return "Block over", "no stroke of it could be judged"
    rest = run.drill.block.silent_strokes if run.stage == "silent" else 0
    small = f"now {rest} strokes in silence" if rest else "passed" if run.passed else "not passed yet"
    return f"Block: {block.good} of {block.total} good", small


def description(drill: Drill) -> list[str]:
    """What the drill asks, in sentences."""
    block, rule = drill.block, drill.rule
    out = [
        f"{drill.head.name}: {drill.head.instruction}.",
        f"{block.strokes} strokes ({block.kind}), then {block.silent_strokes} in silence; feedback: {drill.feedback.schedule}.",
        f"Shown: {', '.join(drill.head.measures)}. Cue: {drill.head.cue}.",
        f"A good stroke: {', '.join(_asked(drill)) or 'any'}. Passed with {rule.good} of the last {rule.of}.",
    ]
    if drill.head.cue == "rhythm":
        out.append(f"Rhythm {drill.rhythm.ratio:g}:1, backstroke {drill.rhythm.backstroke_s:g} s.")
    if drill.head.next:
        out.append(f"Then: {drill.head.next}.")
    return out


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
        slope = f", {ladder.slope_pct:+g} %" if ladder.slope_pct else ""
        how = "at random, none twice running" if ladder.order == "random" else "one after the other, in blocks"
        out.append(f"a ball that stops in the window about {far} m{slope} ({how})")
    return out
