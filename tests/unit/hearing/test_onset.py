"""Clicks at known times in made-up sound: found within 2 ms, whatever is heard beside them."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.made_sounds import CLICKS, GROUNDS, RATE_HZ, Heard, heard, speech
from trainer.domain.sound import Onset
from trainer.hearing.onset import OnsetFinder

NEAR_S = 0.03  # as much as the picture leaves open about impact


def found(sound: np.ndarray, block_s: float = 0.02, begins_s: float = 0.0) -> list[Onset]:
    finder, size = OnsetFinder(RATE_HZ), round(block_s * RATE_HZ)
    return [
        onset
        for first in range(0, len(sound), size)
        for onset in finder.feed(sound[first : first + size], begins_s + first / RATE_HZ)
    ]


def share_within(made: Heard, onsets: list[Onset], within_s: float = 0.002) -> float:
    """Of the clicks: the strongest onset near each is its own."""
    good = 0
    for at in made.clicks_s:
        near = [onset for onset in onsets if abs(onset.time_s - at) < NEAR_S]
        best = max(near, key=lambda o: o.strength_db, default=None)
        good += best is not None and abs(best.time_s - at) <= within_s
    return good / len(made.clicks_s)


@pytest.mark.parametrize(
    ("ground", "over_db", "least"), [("silence", 30, 0.95), ("fan", 10, 0.95), ("music", 30, 0.95)]
)
def test_clicks_are_found_to_two_milliseconds(ground: str, over_db: float, least: float) -> None:
    rng = np.random.default_rng(77)
    shares = []
    for kind in CLICKS:
        made = heard(kind, ground, over_db, rng, count=8)
        shares.append(share_within(made, found(made.sound, 0.1)))
    assert np.mean(shares) >= least, shares


def test_blocks_of_any_size_give_the_same_onsets() -> None:
    made = heard("hard ball, steel", "fan", 20, np.random.default_rng(3), count=3)
    one = found(made.sound, 0.02)
    assert len(one) >= 3
    for block_s in (0.005, 0.11, 9.0):
        other = found(made.sound, block_s)
        assert [o.time_s for o in other] == pytest.approx([o.time_s for o in one], abs=1e-9)


def test_a_gap_in_the_sound_begins_anew_and_times_stay_true() -> None:
    made = heard("on stone", "fan", 30, np.random.default_rng(4), count=2)
    finder = OnsetFinder(RATE_HZ)
    first = finder.feed(made.sound, 100.0)
    later = finder.feed(made.sound, 250.0)
    assert [o.time_s - 150.0 for o in later] == pytest.approx([o.time_s for o in first], abs=0.001)


def test_silence_and_steady_noise_hold_no_clicks() -> None:
    assert found(np.zeros(2 * RATE_HZ)) == []
    steady = 0.05 * GROUNDS["fan"](4 * RATE_HZ, np.random.default_rng(5))
    assert max((o.strength_db for o in found(steady)), default=0.0) < 9.0
    assert found(speech(RATE_HZ // 2, np.random.default_rng(6))) is not None  # any sound is taken
