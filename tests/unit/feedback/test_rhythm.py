"""The rhythm tone, measured from its samples, and when it begins."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import hilbert

from trainer.domain.phases import Phase
from trainer.domain.record import Events, LiveState
from trainer.feedback.make_sounds import RATE_HZ
from trainer.feedback.rhythm import HIGH_HZ, LOUD, LOW_HZ, RAMP_S, RhythmGiver, rhythm_sound, turns_s


def pitch_hz(data: np.ndarray) -> np.ndarray:
    """Of each sample, by the turning of the analytic signal's first partial, over 10 ms."""
    angle = np.unwrap(np.angle(hilbert(data)))
    wide = RATE_HZ // 200
    out = np.full(len(data), np.nan)
    out[wide:-wide] = (angle[2 * wide :] - angle[: -2 * wide]) / (2 * wide) * RATE_HZ / (2 * np.pi)
    return out


@settings(max_examples=15, deadline=None)
@given(st.floats(1.0, 4.0), st.floats(0.4, 1.5))
def test_it_rises_turns_at_the_top_and_falls_to_the_ball(ratio: float, backstroke_s: float) -> None:
    data = rhythm_sound(ratio, backstroke_s)
    rise, top, ball = turns_s(ratio, backstroke_s)
    assert (top - rise) / (ball - top) == pytest.approx(ratio, rel=1e-6)
    found = pitch_hz(data)
    inside = slice(round(RAMP_S * RATE_HZ), round((ball - 0.01) * RATE_HZ))
    assert np.nanargmax(found[inside]) / RATE_HZ + RAMP_S == pytest.approx(top, abs=0.006)
    assert found[round((rise - 0.05) * RATE_HZ)] == pytest.approx(LOW_HZ, rel=0.01)
    assert np.nanmax(found[inside]) == pytest.approx(HIGH_HZ, rel=0.05)
    at_ball = found[round((ball - 0.01) * RATE_HZ)]
    assert at_ball == pytest.approx(LOW_HZ * 2 ** (0.01 * ratio / backstroke_s), rel=0.05)


def test_it_is_one_soft_tone_without_a_break_or_a_click() -> None:
    data = rhythm_sound(2.0, 0.67).astype(float)
    _, _, ball = turns_s(2.0, 0.67)
    loud = np.abs(hilbert(data))[round(RAMP_S * RATE_HZ) : round(ball * RATE_HZ)]
    assert loud.min() > 0.5 * loud.max()
    assert np.abs(data).max() < 0.5
    assert np.abs(np.diff(data)).max() < 2 * np.pi * 3 * HIGH_HZ / RATE_HZ * LOUD  # steeper would be heard as a click
    assert abs(data[0]) < 1e-3
    assert abs(data[-1]) < 1e-3


def test_times_above_zero() -> None:
    with pytest.raises(ValueError, match="above zero"):
        turns_s(0.0, 0.67)


def test_it_begins_once_at_each_address() -> None:
    giver = RhythmGiver()
    begun = [i for i in range(150) if giver.update(LiveState(i / 30, Phase.ADDRESS, Events()))]
    assert begun == [30]
    assert not giver.update(LiveState(5.0, Phase.BACKSTROKE, Events()))
    again = [i for i in range(90) if giver.update(LiveState(6 + i / 30, Phase.ADDRESS, Events()))]
    assert len(again) == 1
