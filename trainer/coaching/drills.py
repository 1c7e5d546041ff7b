"""A drill under way: which strokes were good, when it is passed, when the silent test begins, what follows. Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, Mapping

from trainer.coaching.distance.ladder import MAX_PUTTS, order_of, place, window_m
from trainer.coaching.progress.compare import LENGTH_APART, length_apart
from trainer.coaching.progress.proportions import Proportion, proportion_of
from trainer.coaching.verdict import BY_TIMING, Verdict
from trainer.domain.measures import confident_value
from trainer.domain.record import Kind, Measure
from trainer.settings.drill_file import Drill

Stage = Literal["block", "silent", "done"]


@dataclass(frozen=True, slots=True)
class Mark:
    """One stroke in a drill. good: None when it cannot be judged, or it does not count; why: what was amiss, in words."""

    good: bool | None
    why: tuple[str, ...] = ()
    silent: bool = False


@dataclass(frozen=True, slots=True)
class Run:
    """marks: strokes that counted, in order (block, then silent test); rehearsal_cm: length of the rehearsal before;
    seed: of the order of distances, the same gives the same.
    """

    drill: Drill
    marks: tuple[Mark, ...] = ()
    rehearsal_cm: float | None = None
    rehearsed: bool = False
    seed: int = 0

    @property
    def stage(self) -> Stage:
        """Where the drill is."""
        block = self.drill.block
        if len(self.marks) < block.strokes:
            return "block"
        return "silent" if len(self.marks) < block.strokes + block.silent_strokes else "done"

    @property
    def number(self) -> int:
        """Of the next stroke that counts, from 1 in its stage."""
        before = 0 if self.stage == "block" else self.drill.block.strokes
        return len(self.marks) - before + 1

    @property
    def wanted(self) -> Kind:
        """The kind of stroke that is next."""
        kind = self.drill.block.kind
        if kind == "rehearsal then ball":
            return "ball" if self.rehearsed else "rehearsal"
        return "rehearsal" if kind == "rehearsal" else "ball"

    @property
    def length_cm(self) -> float | None:
        """The ladder's backstroke length for the next stroke."""
        steps = self.drill.ladder.back_cm
        return steps[len(self.marks) % len(steps)] if steps else None

    @property
    def target_m(self) -> float | None:
        """How far the next putt is to run, where the drill has distances."""
        ladder = self.drill.ladder
        if not ladder.distances_m or self.stage == "done":
            return None
        block = self.drill.block
        before, strokes = (0, block.strokes) if self.stage == "block" else (block.strokes, block.silent_strokes)
        marks = len(ladder.distances_m)
        each = min(-(-strokes // marks), MAX_PUTTS // marks)
        # A silent test has an order of its own.
        order = order_of(ladder.distances_m, each, ladder.order, self.seed + (before > 0))
        return order[(len(self.marks) - before) % len(order)]

    @property
    def passed(self) -> bool:
        """The rule was met at some point: so many good ones of so many in a row that could be judged."""
        rule = self.drill.rule
        judged = [mark.good for mark in self.marks if mark.good is not None]
        return any(sum(judged[i : i + rule.of]) >= rule.good for i in range(len(judged) - rule.of + 1))

    @property
    def follows(self) -> str | None:
        """The drill to do next: this one again until it is passed; None: nothing is said."""
        return (self.drill.head.next or None) if self.passed else self.drill.drill_id

    def scores(self) -> tuple[Proportion | None, Proportion | None]:
        """(block, silent test): proportions of good strokes, always side by side."""
        out = []
        for silent in (False, True):
            judged = [m.good for m in self.marks if m.silent == silent and m.good is not None]
            out.append(proportion_of(sum(judged), len(judged)))
        return out[0], out[1]


def after(
    run: Run, kind: Kind, measures: Mapping[str, Measure], verdict: Verdict, rolled_m: float | None = None
) -> Run:
    """The run with one more stroke. A stroke of a kind that the drill does not count leaves the marks as they are.

    rolled_m: how far the ball ran, or would have run at the speed that was seen; None: not known.
    """
    if run.stage == "done":
        return run
    back = confident_value(measures.get("back_cm"))
    pairs = run.drill.block.kind == "rehearsal then ball"
    if pairs and kind == "rehearsal":
        return replace(run, rehearsal_cm=back, rehearsed=True)
    if not pairs and kind != run.wanted:
        return run
    if pairs and not run.rehearsed:
        return run  # a ball stroke without its rehearsal does not count
    mark = replace(judged(run, measures, verdict, back, rolled_m), silent=run.stage == "silent")
    return replace(run, marks=(*run.marks, mark), rehearsal_cm=None, rehearsed=False)


def judged(
    run: Run,
    measures: Mapping[str, Measure],
    verdict: Verdict,
    back_cm: float | None,
    rolled_m: float | None = None,
) -> Mark:
    """Good: none of the drill's faults, every goal met, the ladder's length or distance kept, as long as its rehearsal.

    A fault or a goal that could not be judged makes the stroke one that cannot be judged, unless it was bad anyway.
    """
    drill = run.drill
    bad = [fault.name.replace("_", " ") for fault in verdict.faults if fault.name in drill.rule.faults]
    missed, unseen = _against_goals(drill, measures)
    bad += missed
    unseen += [f"{name.replace('_', ' ')} not sure" for name in verdict.indeterminate if name in drill.rule.faults]
    if verdict.too_close and any(name in drill.rule.faults for name in BY_TIMING):
        unseen.append("look too close to call")
    if run.length_cm is not None:
        if back_cm is None:
            unseen.append("length not seen")
        elif abs(back_cm - run.length_cm) > drill.ladder.within_cm:
            bad.append(f"back {back_cm:.0f} cm, wanted {run.length_cm:g}")
    if run.target_m is not None:
        if rolled_m is None:
            unseen.append("distance not known")
        elif (where := place(rolled_m, run.target_m)) != "in":
            low, high = window_m(run.target_m)
            bad.append(f"{where}: {rolled_m:.1f} m, window {low:.1f} to {high:.1f} m")
    apart = length_apart(run.rehearsal_cm, back_cm)
    if apart is not None and abs(apart) > LENGTH_APART:
        bad.append(f"{abs(apart):.0%} {'longer' if apart > 0 else 'shorter'} than the rehearsal")
    if bad:
        return Mark(False, tuple(bad))
    return Mark(None, tuple(unseen)) if unseen else Mark(True)


def _against_goals(drill: Drill, measures: Mapping[str, Measure]) -> tuple[list[str], list[str]]:
    """(missed, unseen): goals not met and goals that cannot be judged, in words."""
    missed, unseen = [], []
    for measure, goal in drill.goals.given():
        value = confident_value(measures.get(measure))
        name = measure.rpartition("_")[0].replace("_", " ") or measure
        if value is None:
            unseen.append(f"{name} not seen")
        elif goal.at_least is not None and value < goal.at_least:
            missed.append(f"{name} {value:.1f}, at least {goal.at_least:g}")
        elif goal.at_most is not None and value > goal.at_most:
            missed.append(f"{name} {value:.1f}, at most {goal.at_most:g}")
    return missed, unseen
