"""The rhythm tone, measured from its samples, and when it begins."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.domain.phases import Phase
from trainer.domain.record import Events, LiveState
from trainer.feedback.make_sounds import RATE_HZ
from trainer.feedback.rhythm import RhythmGiver, clicks_s, rhythm_sound


def onsets_s(data: np.ndarray) -> list[float]:
    """Start of each sound: where loudness rises over a twentieth of the loudest after 50 ms of quiet."""
    loud = np.flatnonzero(np.abs(data) > 0.05 * np.abs(data).max())
    starts = loud[np.concatenate(([True], np.diff(loud) > 0.05 * RATE_HZ))]
    return [float(i / RATE_HZ) for i in starts]


@settings(max_examples=15, deadline=None)
@given(st.floats(1.0, 4.0), st.floats(0.4, 1.5))
def test_clicks_are_where_they_belong_within_six_milliseconds(ratio: float, backstroke_s: float) -> None:
    if backstroke_s / ratio < 0.16:
        return  # closer than the detector can tell apart
    found = onsets_s(rhythm_sound(ratio, backstroke_s))
    assert found == pytest.approx(clicks_s(ratio, backstroke_s), abs=0.006)


def test_two_to_one_by_default() -> None:
    found = onsets_s(rhythm_sound(2.0, 0.67))
    assert len(found) == 5
    assert (found[3] - found[2]) / (found[4] - found[3]) == pytest.approx(2.0, abs=0.02)
    assert found[1] - found[0] == pytest.approx(0.67, abs=0.002)
    with pytest.raises(ValueError, match="above zero"):
        clicks_s(0.0, 0.67)


def test_it_begins_once_at_each_address() -> None:
    giver = RhythmGiver()
    begun = [i for i in range(150) if giver.update(LiveState(i / 30, Phase.ADDRESS, Events()))]
    assert begun == [30]
    assert not giver.update(LiveState(5.0, Phase.BACKSTROKE, Events()))
    again = [i for i in range(90) if giver.update(LiveState(6 + i / 30, Phase.ADDRESS, Events()))]
    assert len(again) == 1
