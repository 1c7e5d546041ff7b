"""What a lesson is to be about: size, certainty, cause; and what it comes to, with no more claimed than the interval allows."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest

from trainer.coaching.lesson.lesson import Lesson
from trainer.coaching.lesson.outcome import outcome_of
from trainer.coaching.lesson.priority import called, propose
from trainer.coaching.posture.ranges import check
from trainer.coaching.progress.facts import StrokeFacts
from trainer.domain.record import Measure
from trainer.settings.limits import Limits

AT = datetime(2026, 3, 2, 9, tzinfo=timezone.utc)
SEEN = {"head_turn_deg": 3.0, "hold_s": 1.4, "hinge_change_deg": 5.0, "recoil_cm": 0.5, "sway_cm": 0.5, "lift_cm": 0.4}


def stroke(*faults: str, number: int = 0, unseen: tuple[str, ...] = (), **measures: float) -> StrokeFacts:
    values = {name: value for name, value in {**SEEN, **measures}.items() if name not in unseen}
    at = AT + timedelta(seconds=number)
    return StrokeFacts(number, f"{number}", "s", at, "ball", False, None, None, values, faults)


def test_the_cause_goes_before_what_it_causes() -> None:
    # Recoil is larger and as common, but hands that stop may cause it.
    strokes = [stroke("hand_stall", "recoil", hinge_change_deg=14.0, recoil_cm=9.0) for _ in range(8)]
    found = propose(strokes, Limits())
    assert found.priority is not None
    assert found.priority.name == "hand_stall"
    assert [(one.name, one.after) for one in found.later] == [("recoil", "hand_stall")]
    assert "the hands stopped may cause it" in found.later[0].reason


def test_without_its_cause_it_stands_for_itself() -> None:
    found = propose([stroke("recoil", recoil_cm=9.0) for _ in range(8)], Limits())
    assert found.priority is not None
    assert (found.priority.name, found.priority.after) == ("recoil", None)


def test_of_two_without_a_cause_the_larger_and_surer_goes_first() -> None:
    strokes = [stroke("sway", sway_cm=3.2)] + [stroke("sway", "hand_stall", sway_cm=3.2, hinge_change_deg=24.0)] * 7
    found = propose(strokes, Limits())
    assert found.priority is not None
    assert found.priority.name == "hand_stall"  # 7 of 8 at twice the limit before 8 of 8 just past it
    assert [one.name for one in found.later] == ["sway"]


def test_posture_goes_first_and_the_bend_before_eyes_and_hands() -> None:
    measures = {
        "spine_tilt_deg": Measure(8.0, "deg", 0.9),
        "eye_line_cm": Measure(19.0, "cm", 0.9),
        "knee_flex_deg": Measure(15.0, "deg", 0.9),
    }
    checks = check(measures, "down-the-line")
    assert {c.name for c in checks if c.fault} == {"spine_tilt_deg", "eye_line_cm"}
    found = propose([stroke("early_look", early_by_s=0.6)] * 8, Limits(), checks)
    assert found.priority is not None
    assert found.priority.name == "spine_tilt_deg"
    assert "bend from the hips" in found.priority.words
    assert [(one.name, one.after) for one in found.later] == [("early_look", None), ("eye_line_cm", "spine_tilt_deg")]


def test_what_is_not_sure_waits_and_alone_is_not_proposed() -> None:
    strokes = [stroke("lift", lift_cm=5.0)] + [stroke()] * 7
    found = propose(strokes, Limits())
    assert found.priority is None
    assert found.later[0].reason.endswith("not sure yet")
    one_bad = [stroke("early_look", early_by_s=0.5)]
    assert propose(one_bad, Limits()).priority is None  # of one stroke all are bad, and that says nothing
    assert propose(one_bad * 2 + [stroke()] * 2, Limits()).priority is not None
    assert propose([], Limits()).later == ()
    assert propose([stroke()] * 8, Limits()) == propose([], Limits())


def test_strokes_that_could_not_be_judged_are_in_no_share() -> None:
    strokes = [stroke("hand_stall", hinge_change_deg=20.0)] * 4 + [stroke(unseen=("hinge_change_deg",))] * 4
    found = propose(strokes, Limits())
    assert found.priority is not None
    assert found.priority.share is not None
    assert (found.priority.share.good, found.priority.share.total) == (4, 4)
    close = [replace(one, too_close=True) for one in strokes[4:]]
    assert outcome_of(close, close, Limits(), "early_look").shares[0].before is None
    outcome = outcome_of(strokes, strokes[4:], Limits(), "hand_stall")
    assert outcome.shares[0].after is None


def test_a_fault_that_is_off_is_not_proposed() -> None:
    limits = Limits()
    off = limits.overlaid({"sway": {"on": False}})
    strokes = [stroke("sway", sway_cm=6.0)] * 8
    assert propose(strokes, limits).priority is not None
    assert propose(strokes, off).priority is None


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (8, 0, "less, and more than chance"),
        (0, 8, "more often, and more than chance"),
        (5, 3, "cannot tell this from chance"),
    ],
)
def test_the_sentence_claims_what_the_interval_allows(before: int, after: int, words: str) -> None:
    def some(bad: int) -> list[StrokeFacts]:
        return [stroke("early_look", early_by_s=0.4)] * bad + [stroke()] * (8 - bad)

    found = outcome_of(some(before), some(after), Limits(), "early_look")
    assert words in found.sentence
    assert f"{before} of 8 strokes before, {after} of 8 after" in found.sentence
    row = found.shares[0]
    assert row.first
    assert row.difference is not None
    assert row.difference.value == pytest.approx((before - after) / 8)


def test_a_priority_of_the_coachs_own_words_and_a_lesson_without_an_after() -> None:
    strokes = [stroke(number=i) for i in range(6)]
    assert "not made yet" in outcome_of(strokes, [], Limits(), "early_look").sentence
    assert "Nothing was chosen" in outcome_of(strokes, strokes, Limits(), None).sentence
    assert "not among what the camera counts" in outcome_of(strokes, strokes, Limits(), "longer putts").sentence
    assert called("longer putts") == "longer putts"
    assert called("spine_tilt_deg") == "spine"
    assert called(None) == ""


def test_a_lessons_next_step() -> None:
    lesson = Lesson("a" * 32, AT, AT)
    assert lesson.step == "before"
    assert Lesson("a" * 32, AT, AT, before=("b" * 32,)).step == "priority"
    assert Lesson("a" * 32, AT, AT, before=("b" * 32,), priority="sway").step == "tries"
    assert Lesson("a" * 32, AT, AT, ended_at=AT).step == "ended"
