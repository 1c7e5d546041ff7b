"""Feedback plans: who is told what, and that telling fades as it should."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.feedback.schedule import (
    ALL,
    NOTHING,
    SCHEDULE_NAMES,
    Plan,
    faded,
    fading_proportions,
)


def levels(plan: Plan, count: int) -> list:
    return [plan.feedback_level(i) for i in range(1, count + 1)]


def test_every_and_silent() -> None:
    assert set(levels(Plan("every"), 30)) == {ALL}
    assert set(levels(Plan("silent"), 30)) == {NOTHING}
    assert NOTHING.silent
    assert not ALL.silent


def test_outside_the_limit_speaks_of_faults_only() -> None:
    for feedback_level in levels(Plan("outside"), 10):
        assert feedback_level.tone
        assert feedback_level.result
        assert feedback_level.outside_only
        assert not feedback_level.praise


def test_alternate_tells_every_other_stroke_from_the_first() -> None:
    told = [not t.silent for t in levels(Plan("alternate"), 20)]
    assert told == [True, False] * 10


@pytest.mark.parametrize("after", [5, 10])
def test_summary_comes_after_so_many_and_nothing_before(after: int) -> None:
    plan = Plan("summary", summary_after=after)
    given_ = levels(plan, 40)
    assert all(t.silent for t in given_)
    assert [i for i, t in enumerate(given_, 1) if t.summary_of] == list(range(after, 41, after))
    assert {t.summary_of for t in given_} == {0, after}


@given(st.integers(2, 500))
def test_fading_proportions_fall_from_all_to_a_quarter_with_a_mean_of_half(strokes: int) -> None:
    shares = fading_proportions(strokes)
    assert shares[0] == 1.0
    assert shares[-1] == pytest.approx(0.25, abs=1e-6)
    assert list(shares) == sorted(shares, reverse=True)
    if strokes >= 3:
        assert sum(shares) / strokes == pytest.approx(0.5, abs=1e-6)


@pytest.mark.slow
@given(st.integers(10, 300), st.integers(0, 10_000))
def test_fading_tells_half_of_a_block(strokes: int, seed: int) -> None:
    plan = Plan("fading", strokes, seed)
    given_ = levels(plan, strokes)
    assert sum(not level.silent for level in given_) / strokes == pytest.approx(0.50, abs=0.05 + 1e-9)
    assert given_ == levels(Plan("fading", strokes, seed), strokes)
    assert not given_[0].silent


@given(st.integers(20, 200), st.integers(0, 500))
def test_fading_follows_its_share_within_one_stroke_everywhere(strokes: int, seed: int) -> None:
    told, shares = faded(strokes, seed), fading_proportions(strokes)
    for end in range(1, strokes + 1):
        assert abs(sum(told[:end]) - sum(shares[:end])) < 1.0 + 1e-6
    last = strokes // 4
    assert sum(told[:last]) > sum(told[-last:])


def test_fading_stays_low_after_its_block_and_seeds_differ() -> None:
    plan = Plan("fading", 20, 3)
    after = [not plan.feedback_level(i).silent for i in range(21, 61)]
    assert sum(after) == 10
    assert len({faded(40, seed) for seed in range(30)}) > 5


def test_wrong_plans_are_refused() -> None:
    with pytest.raises(ValueError, match="no schedule"):
        Plan("now and then")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="at least one"):
        Plan("fading", 0)
    with pytest.raises(ValueError, match="at least one"):
        Plan("summary", summary_after=0)
    with pytest.raises(ValueError, match="from 1"):
        Plan("every").feedback_level(0)
    assert len(SCHEDULE_NAMES) == 6
