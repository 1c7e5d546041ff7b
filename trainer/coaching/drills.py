"""A drill under way: which strokes were good, when it is passed, when the silent test begins, what follows. Pure."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from datetime import date
from typing import Iterable, Literal, Mapping

from trainer.coaching.distance.ladder import CAMERA_SHARE, MAX_PUTTS, PLACE_WORDS, order_of, place, window_m
from trainer.coaching.pass_rule import DayTest, SilentTest, passed_for_good, silent_test, with_marks
from trainer.coaching.progress.compare import LENGTH_APART, length_apart
from trainer.coaching.progress.proportions import Proportion, proportion_of
from trainer.coaching.verdict import BY_TIMING, Verdict
from trainer.domain.measures import MEASURES, confident_value, short_label
from trainer.domain.record import Kind, Measure
from trainer.domain.verdict import fault_words
from trainer.settings.drill_file import Drill
from trainer.texts import tr

Stage = Literal["block", "silent", "done"]
COUNT_FROM = (60, 100)  # far enough for a stroke in threes (common practice, no source)
MOST_TARGETS = 60  # of one order; after that it begins anew


@dataclass(frozen=True, slots=True)
class Mark:
    """One stroke in a drill. good: None when it cannot be judged; why: what was amiss, in words; day: on which it was made."""

    good: bool | None
    why: tuple[str, ...] = ()
    silent: bool = False
    day: date = date.min


@dataclass(frozen=True, slots=True)
class Run:
    """marks: strokes that counted, in order (block, then silent test); rehearsal_cm: length of the rehearsal before;
    seed: of the order of distances, the same gives the same; window_share: see ``ladder.window_share``; earlier: the tests
    before this run; today: the day it is.
    """

    drill: Drill
    marks: tuple[Mark, ...] = ()
    rehearsal_cm: float | None = None
    rehearsed: bool = False
    seed: int = 0
    window_share: float = CAMERA_SHARE
    earlier: tuple[DayTest, ...] = ()
    today: date = date.min

    @property
    def stage(self) -> Stage:
        """Where the drill is. The test goes on until enough of its strokes could be judged."""
        streak = self.drill.transfer.streak
        if len(self.marks) < block_strokes(self.drill) and not (streak and self.running >= streak):
            return "block"
        test = test_of(self.drill)
        if test is None:
            return "done"
        silent = [mark.good for mark in self.marks if mark.silent]
        judged = sum(good is not None for good in silent)
        return "silent" if judged < test.strokes and len(silent) < test.most else "done"

    @property
    def number(self) -> int:
        """Of the next stroke that counts, from 1 in its stage; in silence those that could not be judged are made again."""
        if self.stage == "block":
            return len(self.marks) + 1
        return sum(mark.silent and mark.good is not None for mark in self.marks) + 1

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
        test = test_of(self.drill)
        if not ladder.distances_m or self.stage == "done":
            return None
        block = block_strokes(self.drill)
        before, strokes = (0, block) if self.stage == "block" or test is None else (block, test.most)
        marks = len(ladder.distances_m)
        each = min(-(-strokes // marks), MAX_PUTTS // marks)
        # A silent test has an order of its own.
        order = order_of(ladder.distances_m, each, ladder.order, self.seed + (before > 0))
        return order[(len(self.marks) - before) % len(order)]

    @property
    def running(self) -> int:
        """Good strokes running, up to the newest."""
        return longest_run((mark.good for mark in self.marks), newest=True)

    @property
    def putt_m(self) -> float | None:
        """How far the next putt is, whether it is judged or not."""
        targets = self.drill.transfer.targets_m
        if self.target_m is not None or not targets or self.stage == "done":
            return self.target_m
        order = order_of(targets, -(-MOST_TARGETS // len(targets)), "random", self.seed)
        return order[len(self.marks) % len(order)]

    @property
    def count_from(self) -> int | None:
        """The number to count back from with the next stroke."""
        if not self.drill.transfer.count_back or self.stage == "done":
            return None
        return random.Random(f"{self.seed} {len(self.marks)}").randrange(*COUNT_FROM)

    @property
    def slope_pct(self) -> float:
        """Of the line of the next putt, + uphill."""
        ladder = self.drill.ladder
        if not ladder.slopes_pct:
            return ladder.slope_pct
        return random.Random(f"{self.seed} {len(self.marks)}").choice(ladder.slopes_pct)

    @property
    def chooses(self) -> bool:
        """The player chooses the next stroke's length himself, and guesses before he is told."""
        return self.drill.ladder.guess and self.stage != "done"

    @property
    def days(self) -> tuple[DayTest, ...]:
        """The tests of each day, this run's strokes among them."""
        test = test_of(self.drill)
        if test is None:
            return ()
        return with_marks(self.earlier, test, ((mark.day, mark.good) for mark in self.marks if mark.silent))

    @property
    def passed_today(self) -> bool | None:
        """Today's test; None: there is none, or it is not over."""
        test, days = test_of(self.drill), self.days
        return days[-1].passed(test) if test is not None and days and days[-1].day == self.today else None

    @property
    def passed(self) -> bool:
        """For good."""
        test = test_of(self.drill)
        return test is not None and passed_for_good(self.days, test) is not None

    @property
    def follows(self) -> str | None:
        """The drill to do next: this one again until its test is passed; None: nothing is said."""
        on = self.passed or self.passed_today or test_of(self.drill) is None
        return (self.drill.head.next or None) if on else self.drill.drill_id

    def scores(self) -> tuple[Proportion | None, Proportion | None]:
        """(block, silent test): proportions of good strokes, always side by side."""
        out = []
        for silent in (False, True):
            judged = [m.good for m in self.marks if m.silent == silent and m.good is not None]
            out.append(proportion_of(sum(judged), len(judged)))
        return out[0], out[1]

    def unjudged(self) -> tuple[int, int]:
        """(block, silent test): strokes beside those proportions, which could not be judged."""
        block, silent = (sum(m.good is None for m in self.marks if m.silent == s) for s in (False, True))
        return block, silent


def longest_run(good: Iterable[bool | None], newest: bool = False) -> int:
    """Of good strokes; one that could not be judged neither counts nor ends it. newest: the one at the end alone."""
    best = now = 0
    for one in good:
        now = now + 1 if one else now if one is None else 0
        best = max(best, now)
    return now if newest else best


def block_strokes(drill: Drill) -> int:
    """Before the silent test. A drill that is silent all through is nothing but its test."""
    return 0 if drill.feedback.schedule == "silent" else drill.block.strokes


def test_of(drill: Drill) -> SilentTest | None:
    """The silent test that passes it: as long as the file says, longer where its goal cannot be told from so few strokes.

    None: it has none, and is not passed.
    """
    block, silent = drill.block, drill.feedback.schedule == "silent"
    wished = block.silent_strokes + (block.strokes if silent else 0)
    return silent_test(drill.rule.good, drill.rule.of, wished) if wished else None


def strokes_of(drill: Drill) -> int:
    """All that count, when each of them can be judged."""
    test = test_of(drill)
    return block_strokes(drill) + (test.strokes if test is not None else 0)


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
    mark = replace(judged(run, measures, verdict, back, rolled_m), silent=run.stage == "silent", day=run.today)
    return replace(run, marks=(*run.marks, mark), rehearsal_cm=None, rehearsed=False)


def judged(
    run: Run,
    measures: Mapping[str, Measure],
    verdict: Verdict,
    back_cm: float | None,
    rolled_m: float | None = None,
) -> Mark:
    """Good: none of the drill's faults, every goal met, the ladder's length or distance kept, as long as its rehearsal.

    A fault, a goal or a length that could not be judged makes the stroke one that cannot be judged, unless it was bad anyway.
    """
    drill = run.drill
    bad = [fault_words(fault.name) for fault in verdict.faults if fault.name in drill.rule.faults]
    missed, unseen = _against_goals(drill, measures)
    bad += missed
    unseen += [
        tr("{fault} not sure", fault=fault_words(name)) for name in verdict.indeterminate if name in drill.rule.faults
    ]
    if verdict.too_close and any(name in drill.rule.faults for name in BY_TIMING):
        unseen.append(tr("look too close to call"))
    if run.length_cm is not None:
        if back_cm is None:
            unseen.append(tr("length not seen"))
        elif abs(back_cm - run.length_cm) > drill.ladder.within_cm:
            bad.append(tr("back {back_cm:.0f} cm, wanted {length_cm:g}", back_cm=back_cm, length_cm=run.length_cm))
    if run.target_m is not None:
        if rolled_m is None:
            unseen.append(tr("distance not known"))
        elif (where := place(rolled_m, run.target_m, run.window_share)) != "in":
            low, high = window_m(run.target_m, run.window_share)
            bad.append(
                tr(
                    "{where}: {rolled_m:.1f} m, window {low:.1f} to {high:.1f} m",
                    where=PLACE_WORDS[where],
                    rolled_m=rolled_m,
                    low=low,
                    high=high,
                )
            )
    apart = length_apart(run.rehearsal_cm, back_cm)
    if run.rehearsed and apart is None:
        unseen.append(tr("length not seen"))
    if apart is not None and abs(apart) > LENGTH_APART:
        bad.append(
            tr("{apart:.0%} longer than the rehearsal", apart=apart)
            if apart > 0
            else tr("{apart:.0%} shorter than the rehearsal", apart=-apart)
        )
    if bad:
        return Mark(False, tuple(bad))
    return Mark(None, tuple(unseen)) if unseen else Mark(True)


def _against_goals(drill: Drill, measures: Mapping[str, Measure]) -> tuple[list[str], list[str]]:
    """(missed, unseen): goals not met and goals that cannot be judged, in words."""
    missed, unseen = [], []
    for measure, goal in drill.goals.given():
        value = confident_value(measures.get(measure))
        name, decimals = short_label(measure), MEASURES[measure].decimals
        if value is None:
            unseen.append(tr("{name} not seen", name=name))
            continue
        told = tr("{name} {value:.{decimals}f}", name=name, decimals=decimals, value=value)
        if goal.at_least is not None and value < goal.at_least:
            missed.append(tr("{told}, at least {at_least:g}", told=told, at_least=goal.at_least))
        elif goal.at_most is not None and value > goal.at_most:
            missed.append(tr("{told}, at most {at_most:g}", told=told, at_most=goal.at_most))
    return missed, unseen
