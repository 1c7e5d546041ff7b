"""The sounds themselves, measured from the samples: same again when made again, no clicks, told apart by rhythm."""

from __future__ import annotations

import itertools
import wave
from pathlib import Path

import numpy as np
import pytest

from trainer.domain.verdict import FAULT_NAMES
from trainer.feedback.make_sounds import FIGURES, RATE_HZ, write
from trainer.feedback.tones import SOUND_NAMES
from trainer.resources import data_path

FULL = 32767.0


def read(path: Path) -> np.ndarray:
    with wave.open(str(path)) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE_HZ)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(float)


def shipped(name: str) -> np.ndarray:
    return read(data_path("sounds", f"{name}.wav"))


def test_shipped_sounds_are_what_the_script_makes(tmp_path: Path) -> None:
    made = {path.name for path in write(tmp_path)}
    assert made == {path.name for path in data_path("sounds").iterdir()} == {f"{name}.wav" for name in SOUND_NAMES}
    assert set(FIGURES) == set(SOUND_NAMES)
    for name in made:
        again, here = read(tmp_path / name), read(data_path("sounds", name))
        assert again.shape == here.shape
        assert np.abs(again - here).max() <= 1  # the last bit is the machine's sine


@pytest.mark.parametrize("name", SOUND_NAMES)
def test_no_click_no_clipping_and_no_delay(name: str) -> None:
    data = shipped(name) / FULL
    assert abs(data[0]) < 0.005
    assert abs(data[-1]) < 0.005
    assert np.abs(data).max() < 0.9
    # A click is a step. The steepest honest wave here is 0.85 at 3 times 1570 Hz.
    assert np.abs(np.diff(data)).max() < 0.85 * 2 * np.pi * 3 * 1570 / RATE_HZ
    assert abs(data.mean()) < 0.003
    loud = np.flatnonzero(np.abs(data) > 0.1 * np.abs(data).max())
    assert loud[0] / RATE_HZ < 0.005  # the moment of the sound is the message
    assert 0.1 < len(data) / RATE_HZ < 1.2


def pieces(data: np.ndarray, over: float = 0.1) -> list[tuple[float, float]]:
    """(start, length) in s of each sounding piece: 5 ms loudness over this share of the loudest, gaps of 20 ms or more."""
    step = round(0.005 * RATE_HZ)
    blocks = data[: len(data) // step * step].reshape(-1, step)
    on = np.sqrt((blocks**2).mean(axis=1))
    on = on > over * on.max()
    edges = np.flatnonzero(np.diff(np.concatenate(([0], on.astype(int), [0]))))
    spans = [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    joined = [spans[0]]
    for a, b in spans[1:]:
        if (a - joined[-1][1]) * 0.005 < 0.02:
            joined[-1] = (joined[-1][0], b)
        else:
            joined.append((a, b))
    return [(a * 0.005, (b - a) * 0.005) for a, b in joined]


def test_rhythms_are_the_written_ones() -> None:
    counts = {name: len(pieces(shipped(name))) for name in FAULT_NAMES}
    assert counts == {
        "early_look": 2,
        "short_hold": 2,
        "hand_stall": 1,
        "recoil": 2,
        "sway": 3,
        "lift": 4,
        "posture_change": 3,
    }


def differs_in_rhythm(a: list[tuple[float, float]], b: list[tuple[float, float]]) -> bool:
    """Another number of notes, or a note whose start or length differs by 60 ms and by a third.

    Listeners notice 6 % of one interval (Drake and Botte 1993); this is far more, for a loudspeaker across a room.
    """
    if len(a) != len(b):
        return True
    pairs = [(x, y) for note_a, note_b in zip(a, b, strict=True) for x, y in zip(note_a, note_b, strict=True)]
    return any(abs(x - y) > max(0.06, max(x, y) / 3) for x, y in pairs)


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations((*FAULT_NAMES, "hold_done"), 2)))
def test_any_two_differ_in_rhythm_alone(one: str, other: str) -> None:
    a, b = pieces(shipped(one)), pieces(shipped(other))
    assert differs_in_rhythm(a, b), (a, b)


def pitch_hz(data: np.ndarray) -> float:
    """The strongest frequency."""
    spectrum = np.abs(np.fft.rfft(data * np.hanning(len(data)), 1 << 17))
    return float(np.fft.rfftfreq(1 << 17, 1 / RATE_HZ)[spectrum.argmax()])


def test_pitches_suit_small_loudspeakers() -> None:
    found = {name: pitch_hz(shipped(name)) for name in SOUND_NAMES}
    assert all(350 < hz < 1650 for hz in found.values()), found
    # By pitch as well: the two that matter most are an octave and more apart.
    assert found["early_look"] / found["hand_stall"] > 2


def test_chime_is_soft_and_faults_are_alike_in_loudness() -> None:
    def loudness(name: str) -> float:
        data = shipped(name)
        return float(np.sqrt((data[: round(0.15 * RATE_HZ)] ** 2).mean()))

    faults = [loudness(name) for name in FAULT_NAMES]
    assert max(faults) / min(faults) < 2.0  # 6 dB
    assert loudness("hold_done") < 0.6 * min(faults)
