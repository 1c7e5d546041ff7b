"""A drill under way in a few short lines, read from afar: which stroke, how it goes, what follows. Pure."""

from __future__ import annotations

from trainer.coaching.drills import Run, block_strokes, test_of
from trainer.coaching.pass_rule import passed_before, passed_for_good
from trainer.coaching.progress.proportions import Proportion, proportion_difference
from trainer.domain.measures import MEASURES, short_label
from trainer.domain.naming import cue_words, day_words, kind_words, schedule_words, view_words
from trainer.domain.units import Unit, shown, unit_words
from trainer.domain.verdict import SEEN_FROM, fault_words
from trainer.settings.drill_file import Drill
from trainer.texts import join, tr


def silent(run: Run) -> bool:
    """Nothing tells the player how these strokes are until it is over."""
    return run.stage == "silent"


def stroke_line(run: Run) -> str:
    """Which stroke is next."""
    test, pairs = test_of(run.drill), run.drill.block.kind == "rehearsal then ball"
    if run.stage == "done" or (run.stage == "silent" and test is None):
        return verdict_words(run)
    total = test.strokes if run.stage == "silent" and test is not None else run.drill.block.strokes
    what = tr("Silent test: stroke") if silent(run) else tr("Stroke")
    first = tr("Rehearse, then stroke") if run.stage == "block" and run.wanted == "rehearsal" else what
    return tr("{words} {number} of {total}", words=first if pairs else what, number=run.number, total=total)


def verdict_words(run: Run) -> str:
    """Whether it is passed, large."""
    if streak := run.drill.transfer.streak:
        return tr("{streak} in a row", streak=streak) if run.running >= streak else tr("Not in a row yet")
    if test_of(run.drill) is None:
        return tr("Over")
    if run.passed:
        return tr("Passed for good")
    today = run.passed_today
    return (
        tr("Passed today in silence")
        if today
        else tr("Not passed yet")
        if today is False
        else tr("Not judged: too few seen")
    )


def standing_line(run: Run) -> str:
    """What it takes to pass, as far as that is still open."""
    test, days = test_of(run.drill), run.days
    if run.drill.transfer.streak:
        return tr("{streak} good in a row end it; a miss starts again", streak=run.drill.transfer.streak)
    if test is None:
        return tr("it has no silent test, so nothing passes it")
    done = passed_for_good(days, test)
    if done is not None:
        return tr("passed for good {day_words}", day_words=day_words(done, run.today))
    if run.passed_today:
        return tr("pass it again on another day: then it is passed for good")
    needs = tr("{good} good of {strokes} in silence", good=test.good, strokes=test.strokes)
    before = passed_before(days, test, run.today)
    if run.passed_today is False:
        return tr("{needs} pass it; the first test of a day counts", needs=needs)
    if before is not None:
        return tr(
            "passed {day_words}; {needs} again today pass it for good",
            day_words=day_words(before, run.today),
            needs=needs,
        )
    return tr("{needs} pass it, on two days running", needs=needs)


def tally_line(run: Run, judged: int) -> str:
    """How it goes. judged: so many marks may be counted; later ones would give away what was without feedback."""
    if run.stage == "done":
        return done_line(run)
    if silent(run):
        return tr("measured, no feedback")
    told = [mark.good for mark in run.marks[:judged]]
    called = [good for good in told if good is not None]
    if not told:
        return standing_line(run)
    if run.drill.transfer.streak:
        return tr("{running} in a row, {streak} end it", running=run.running, streak=run.drill.transfer.streak)
    beside = _beside(len(told) - len(called))
    return (
        tr("{number} of {number2} good{beside}", number=sum(called), number2=len(called), beside=beside)
        if called
        else tr("no stroke could be judged{beside}", beside=beside)
    )


def done_line(run: Run) -> str:
    """Block and silent test side by side."""
    (block, silent), (block_unsure, silent_unsure) = run.scores(), run.unjudged()
    parts = []
    if block_strokes(run.drill):
        parts.append(
            (
                tr("block {good} of {total} good", good=block.good, total=block.total)
                if block
                else tr("block: nothing could be judged")
            )
            + _beside(block_unsure)
        )
    if test_of(run.drill) is not None:
        parts.append(
            (
                tr("in silence {good} of {total} good", good=silent.good, total=silent.total)
                if silent
                else tr("in silence: nothing could be judged")
            )
            + _beside(silent_unsure)
        )
    return join(", ", parts)


def _beside(unsure: int) -> str:
    """What no share counts."""
    return tr(" ({unsure} not judged)", unsure=unsure) if unsure else ""


def task_line(run: Run, unit: Unit) -> str:
    """What disturbs the next stroke."""
    far = (
        tr("to {putt_m}", putt_m=shown(run.putt_m, unit, 1)) if run.putt_m is not None and run.target_m is None else ""
    )
    count = tr("count back from {count_from}", count_from=run.count_from) if run.count_from is not None else ""
    return join("; ", (part for part in (far, count) if part))


def lost_line(task: Proportion | None, without: Proportion | None) -> str:
    """What the habit loses with the task, beside silent strokes without one."""
    if task is None or without is None:
        return tr("what the task costs is told once there are silent strokes without it too")
    d = proportion_difference(task, without)
    sure = "" if d.plain else tr("; so few strokes cannot tell this from chance")
    told = tr(
        "with the task {good} of {total} good, in silence without it {good2} of {total2}",
        good=task.good,
        total=task.total,
        good2=without.good,
        total2=without.total,
    )
    return tr(
        "{told}: {value:+.0f} points (95 % interval {low:+.0f} to {high:+.0f}){sure}",
        told=told,
        value=100 * d.value,
        low=100 * d.low,
        high=100 * d.high,
        sure=sure,
    )


def next_line(run: Run, name_of_next: str | None) -> str:
    """What comes after this."""
    test = test_of(run.drill)
    if run.stage == "block" and test is not None:
        return tr("then {strokes} strokes in silence", strokes=test.strokes)
    if run.stage != "done":
        return tr("then {name_of_next}", name_of_next=name_of_next) if name_of_next else tr("then it is over")
    return tr("next: {name_of_next}", name_of_next=name_of_next) if name_of_next else ""


def block_words(run: Run) -> tuple[str, str]:
    """When the block is over: (large, small). Before the silent test, or at the end where there is none."""
    (block, _), (unsure, _) = run.scores(), run.unjudged()
    if block is None:
        return tr("Block over"), tr("no stroke of it could be judged")
    small = silence_line(run) or standing_line(run)
    return tr(
        "Block: {good} of {total} good{beside}", good=block.good, total=block.total, beside=_beside(unsure)
    ), small


def silence_line(run: Run) -> str:
    """As the silent test begins; empty where there is none."""
    test = test_of(run.drill)
    return tr("now {strokes} strokes in silence", strokes=test.strokes) if test is not None else ""


def description(drill: Drill, name_of_next: str = "") -> list[str]:
    """What the drill asks, in sentences. name_of_next: of the drill that follows it."""
    block, rule, test = drill.block, drill.rule, test_of(drill)
    told = tr(
        "{block_strokes} strokes ({kind}), feedback: {schedule}",
        block_strokes=block_strokes(drill),
        kind=kind_words(block.kind),
        schedule=schedule_words(drill.feedback.schedule),
    )
    quiet = "" if test is None else tr("{strokes} in silence", strokes=test.strokes)
    passes = (
        tr("It has no silent test, so nothing passes it.")
        if test is None
        else tr(
            "Passed with {good} good of the day's first {strokes} in silence, on two test days "
            "running: so many good ones tell a player who makes {good2} of {of} or more from one with luck.",
            good=test.good,
            strokes=test.strokes,
            good2=rule.good,
            of=rule.of,
        )
    )
    then = tr(", then ")
    out = [
        tr("{name}: {instruction}.", name=drill.head.name, instruction=drill.head.instruction),
        tr("{listed}.", listed=join(then, (part for part in (told if block_strokes(drill) else "", quiet) if part))),
        tr("Shown: {listed}.", listed=join(", ", map(short_label, drill.head.measures))),
        tr("Sounds: {cue}.", cue=cue_words(drill.head.cue)),
        tr("A good stroke: {words}. {passes}", words=asked_words(drill), passes=passes),
    ]
    if drill.head.cue == "rhythm":
        out.append(_rhythm_line(drill))
    if drill.head.next:
        named = (
            tr("{name} ({drill_id})", name=name_of_next, drill_id=drill.head.next) if name_of_next else drill.head.next
        )
        out.append(tr("Then: {next}.", next=named))
    return out


def _rhythm_line(drill: Drill) -> str:
    rhythm = drill.rhythm
    line = tr("Rhythm {ratio:g}:1, backstroke {backstroke_s:g} s", ratio=rhythm.ratio, backstroke_s=rhythm.backstroke_s)
    line += tr("; your own, once enough strokes are known") if rhythm.own else ""
    return line + (tr("; no sound from the top on.") if rhythm.until == "top" else ".")


def blind_line(drill: Drill, view: str) -> str:
    """What of a good stroke is not seen from there; empty where all is."""
    seen = SEEN_FROM[view]
    blind = [fault_words(fault) for fault in drill.rule.faults if fault not in seen]
    if view != "face-on":
        blind += [short_label(measure) for measure, _ in drill.goals.given()]
        blind += [tr("length")] if drill.ladder.back_cm else []
        blind += [tr("distance")] if drill.ladder.distances_m else []
    if not blind:
        return ""
    other = "down-the-line" if view == "face-on" else "face-on"
    whole = len(blind) == len(_asked(drill))
    what = tr("cannot be judged") if whole else tr("can be judged only in part")
    return tr(
        "{name} {what} from this side ({view}): seen {other} only: {listed}",
        name=drill.head.name,
        what=what,
        view=view_words(view),
        other=view_words(other),
        listed=join(", ", blind),
    )


def asked_words(drill: Drill) -> str:
    """What a good stroke of it is: less, or other things, than a stroke without any fault."""
    return join(", ", _asked(drill)) or tr("any")


def _asked(drill: Drill) -> list[str]:
    """Of a good stroke."""
    out = [tr("no {fault}", fault=fault_words(fault)) for fault in drill.rule.faults]
    for measure, goal in drill.goals.given():
        bounds = [tr("at least {at_least:g}", at_least=goal.at_least)] if goal.at_least is not None else []
        bounds += [tr("at most {at_most:g}", at_most=goal.at_most)] if goal.at_most is not None else []
        unit = "" if MEASURES[measure].unit == "1" else " " + unit_words(MEASURES[measure].unit)
        bounded = join(tr(" and "), bounds)
        out.append(tr("{measure} {listed}{unit}", measure=short_label(measure), listed=bounded, unit=unit))
    ladder = drill.ladder
    if ladder.back_cm:
        steps = join(", ", (tr("{step:g}", step=step) for step in ladder.back_cm))
        out.append(
            tr("backstroke {steps} cm in turn, within {within_cm:g} cm", steps=steps, within_cm=ladder.within_cm)
        )
    if ladder.distances_m:
        far = join(", ", (tr("{one_:g}", one_=one) for one in ladder.distances_m))
        slopes = ladder.slopes_pct or ([ladder.slope_pct] if ladder.slope_pct else [])
        slope = (
            tr(", {listed}", listed=join(tr(" or "), (tr("{one_:+g} %", one_=one) for one in slopes))) if slopes else ""
        )
        how = tr("at random, none twice running") if ladder.order == "random" else tr("one after the other, in blocks")
        out.append(tr("a ball that stops in the window about {far} m{slope} ({how})", far=far, slope=slope, how=how))
    if ladder.guess:
        out.append(tr("the length is yours to choose, and short, right or long is asked before it is told"))
    return out
