"""The head's turn through a stroke: the median of three without a sort, the look by any limit."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.made_strokes import SETTLE, TAKE, record
from trainer.stroke import thresholds as th
from trainer.stroke.head_turn import (
    AFTER_REST_S,
    NEAR_REST_S,
    HeadTurn,
    away_confidence,
    seen_until,
    told_confidence,
    turn_change,
)


@settings(max_examples=100, deadline=None)
@given(seed=st.integers(0, 10_000), unseen=st.floats(0, 0.6))
def test_single_outliers_go_by_the_median_of_three(seed: int, unseen: float) -> None:
    rng = np.random.default_rng(seed)
    signals = record(rng=rng).signals
    turn = signals["head_turn_deg"] + rng.normal(0, 3, len(signals.time_s))
    turn[rng.random(len(turn)) < unseen] = np.nan
    conf = np.where(rng.random(len(turn)) < 0.1, 0.1, 0.9)
    signals = replace(signals, columns={**signals.columns, "head_turn_deg": turn, "head_turn_conf": conf})
    found = turn_change(signals, TAKE)
    seen = np.where(conf < 0.2, np.nan, turn)
    at_rest = (signals.time_s >= TAKE - th.ADDRESS_S[0]) & (signals.time_s <= TAKE - th.ADDRESS_S[1])
    rest = seen[at_rest & np.isfinite(seen)]
    if not len(rest):
        assert np.isnan(found).all()
        return
    for i in range(1, len(seen) - 1):
        three = seen[i - 1 : i + 2] - np.median(rest)
        wanted = np.median(three) if np.isfinite(three).all() else three[1]
        assert found[i] == wanted or (np.isnan(found[i]) and np.isnan(wanted))


@pytest.mark.parametrize("look_after_s", [0.3, 1.2, -0.2])
def test_the_look_is_where_the_turn_passes_the_limit_and_stays(look_after_s: float) -> None:
    turning = HeadTurn(record(look_after_s).signals, TAKE)
    for limit in (8.0, 12.0, 30.0):
        look = turning.look(limit)
        assert look is not None
        # The made turn passes 12 deg at the look, by 200 deg/s.
        assert look == pytest.approx(SETTLE + look_after_s + (limit - 12) / 200, abs=0.02)
    assert turning.look(70.0) is None


def test_a_head_never_seen_has_no_look() -> None:
    signals = record().signals
    gone = replace(signals, columns={**signals.columns, "head_turn_deg": np.full(len(signals.time_s), math.nan)})
    assert np.isnan(turn_change(gone, TAKE)).all()
    assert HeadTurn(gone, TAKE).look(12.0) is None


def test_a_look_made_while_the_head_was_not_surely_seen_is_still_a_look() -> None:
    signals = record(1.2).signals
    look = HeadTurn(signals, TAKE).look(12.0)
    assert look is not None
    blind = (signals.time_s > look - 0.02) & (signals.time_s < look + th.LOOK_STAYS_S + 0.1)
    conf = np.where(blind, 0.1, signals["head_turn_conf"])
    found = HeadTurn(replace(signals, columns={**signals.columns, "head_turn_conf": conf}), TAKE).look(12.0)
    assert found == pytest.approx(look, abs=0.1)


def test_a_head_that_goes_out_of_sight_before_the_putter_rests_may_look_unseen() -> None:
    t = np.arange(0.0, 2.0, 1 / 30)
    turn = np.zeros(len(t))
    turn[t > 1.0] = np.nan
    assert seen_until(t, turn, 0.9)
    assert seen_until(t, turn, None)
    assert not seen_until(t, turn, 1.05 + NEAR_REST_S)
    turn[-1] = 30.0
    assert seen_until(t, turn, 1.05 + NEAR_REST_S)


def test_a_head_seen_to_turn_away_is_not_believed_unless_it_is_surely_seen() -> None:
    """As the net sees a bob that hangs over the face: three frames of a look to the other side, and the rest sure."""
    turn = np.array([0.0, 1.0, -1.0, -14.0, -29.0, -27.0, 0.0, 2.0])
    sure = np.array([0.8, 0.8, 0.8, 0.29, 0.27, 0.40, 0.8, 0.8])
    assert away_confidence(turn, sure) == 0.0
    assert away_confidence(turn, np.full(8, 0.85)) == pytest.approx(0.85)
    assert away_confidence(-turn, sure) == 1.0
    assert away_confidence(np.where(turn < -20, np.nan, turn), sure) == 1.0


def test_a_head_that_tells_no_look_is_believed_only_where_it_was_well_seen_around_rest_and_after() -> None:
    """As a plain cap is seen that turns: the turn is read near nothing, and the confidence tells."""
    turning = HeadTurn(record().signals, TAKE)
    t, rest_s = turning.time_s, TAKE + 1.6
    confidence = np.where(t < rest_s - 2 * NEAR_REST_S, 0.9, 0.4)
    assert told_confidence(turning, confidence, rest_s, None) == 0.0
    assert told_confidence(turning, confidence, rest_s, rest_s + 2 * AFTER_REST_S) == 0.0
    assert told_confidence(turning, confidence, rest_s, rest_s + 0.1) == 1.0  # a look was seen: that is judged
    assert told_confidence(turning, np.full(len(t), 0.6), rest_s, None) == 1.0
