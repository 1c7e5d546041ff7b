"""Loudness against the standard's own calibration and a library; every sound's own, and what noise leaves of its rhythm."""

from __future__ import annotations

import itertools

import numpy as np
import pyloudnorm
import pytest

from tests.unit.feedback.test_sounds import differs_in_rhythm, pieces, shipped
from trainer.domain.verdict import FAULT_NAMES
from trainer.feedback.loudness import SHORTEST_S, loudness_lkfs
from trainer.feedback.make_sounds import FAULT_LKFS, RATE_HZ, SOFT_LKFS
from trainer.feedback.tones import SOUND_NAMES

FULL = 32767.0


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
def test_a_full_scale_sine_of_997_hz_is_minus_3_01(rate_hz: int) -> None:
    """ITU-R BS.1770-4, annex 1: 0 dB FS at 997 Hz in one front channel reads -3.01 LKFS."""
    t = np.arange(5 * rate_hz) / rate_hz
    assert loudness_lkfs(np.sin(2 * np.pi * 997 * t), rate_hz) == pytest.approx(-3.01, abs=0.02)
    assert loudness_lkfs(np.zeros(1000), rate_hz) == -np.inf


@pytest.mark.parametrize("name", SOUND_NAMES)
def test_as_a_library_has_it(name: str) -> None:
    """pyloudnorm's filters without its gates, for the gates are made for programmes of many seconds."""
    sound = shipped(name) / FULL
    padded = np.zeros(max(len(sound), round(SHORTEST_S * RATE_HZ)))
    padded[: len(sound)] = sound
    for stage in pyloudnorm.Meter(RATE_HZ)._filters.values():
        padded = stage.apply_filter(padded)
    theirs = -0.691 + 10 * np.log10(np.mean(padded**2))
    assert loudness_lkfs(sound, RATE_HZ) == pytest.approx(theirs, abs=0.3)


@pytest.mark.parametrize("name", SOUND_NAMES)
def test_every_sound_is_as_loud_as_its_kind(name: str) -> None:
    wanted = FAULT_LKFS if name in FAULT_NAMES else SOFT_LKFS
    assert loudness_lkfs(shipped(name) / FULL, RATE_HZ) == pytest.approx(wanted, abs=0.05)


@pytest.mark.parametrize("name", SOUND_NAMES)
def test_a_small_loudspeaker_gives_it(name: str) -> None:
    power = np.abs(np.fft.rfft(shipped(name))) ** 2
    hz = np.fft.rfftfreq(len(shipped(name)), 1 / RATE_HZ)
    assert power[(hz >= 500) & (hz <= 4000)].sum() > 0.95 * power.sum()


def through_noise(name: str) -> list[tuple[float, float]]:
    """(start, length) of the notes that stand out of a room's noise 10 dB under the sound, in the band that the sound is in."""
    from scipy.signal import butter, sosfiltfilt

    sound = shipped(name) / FULL
    rms = np.sqrt(np.mean(sound**2))
    noisy = sound + rms * 10 ** (-10 / 20) * np.random.default_rng(1).normal(size=len(sound))
    band = sosfiltfilt(butter(2, (500, 2500), "bandpass", fs=RATE_HZ, output="sos"), noisy)
    return pieces(band * FULL, over=0.4)


@pytest.mark.parametrize("name", FAULT_NAMES)
def test_the_rhythm_is_heard_through_noise(name: str) -> None:
    assert len(through_noise(name)) == len(pieces(shipped(name)))


def test_through_noise_any_two_faults_still_differ_in_rhythm_alone() -> None:
    heard = {name: through_noise(name) for name in FAULT_NAMES}
    for one, other in itertools.combinations(FAULT_NAMES, 2):
        assert differs_in_rhythm(heard[one], heard[other]), (one, other)
