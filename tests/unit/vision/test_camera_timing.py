"""What a camera's frames can support. Expected figures are those worked out from 99 tour players' strokes, not ours."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.camera_setup.findings import timing as timing_findings
from trainer.vision.sources import camera_timing

BACK_MS, FORWARD_MS = (
    (670.0, 90.0),
    (317.0, 35.0),
)  # mean and standard deviation; see trainer/vision/sources/camera_timing.py


def beat(fps: float, n: int = 120) -> np.ndarray:
    return np.arange(n) / fps


def test_even_frames() -> None:
    found = camera_timing.timing(list(beat(30)))
    assert found is not None
    assert found.fps == pytest.approx(30)
    assert found.off_beat_s == pytest.approx(0, abs=1e-9)
    assert found.missing == 0
    assert not found.irregular
    assert camera_timing.warnings(found) == ()


# Published derivation (frame quantisation without interpolation): tempo ratio 0.126 / 0.062 / 0.031.
@pytest.mark.parametrize(("fps", "sd"), [(30, 0.126), (60, 0.062), (120, 0.031)])
def test_tempo_on_whole_frames(fps: float, sd: float) -> None:
    assert camera_timing.tempo_sd(fps) == pytest.approx(sd, abs=0.0011)


@pytest.mark.parametrize("fps", [15, 30, 60, 120])
def test_tempo_against_drawn_strokes(fps: float) -> None:
    rng = np.random.default_rng(7)
    n = 20000
    start = rng.uniform(0, 1, n)
    top = start + rng.normal(*BACK_MS, n) / 1000
    impact = top + rng.normal(*FORWARD_MS, n) / 1000
    seen = [np.round(v * fps) / fps for v in (start, top, impact)]
    tempo = (seen[1] - seen[0]) / (seen[2] - seen[1]) - (top - start) / (impact - top)
    assert np.std(tempo) == pytest.approx(camera_timing.tempo_sd(fps), rel=0.12)


# Motion per frame at 1.5 m/s: 50 / 25 / 12.5 mm; smear 25 mm at 1/60 s, 6 mm at 1/250 s.
@pytest.mark.parametrize(("fps", "mm"), [(30, 50.0), (60, 25.0), (120, 12.5)])
def test_motion_per_frame(fps: float, mm: float) -> None:
    assert camera_timing.motion_mm(fps) == pytest.approx(mm)


def test_smear() -> None:
    assert camera_timing.smear_mm(1 / 60) == pytest.approx(25.0)
    assert camera_timing.smear_mm(camera_timing.LONG_EXPOSURE_S) == pytest.approx(6.0)


def test_words() -> None:
    found = camera_timing.timing(list(beat(30)))
    assert found is not None
    assert camera_timing.tempo_line(found) == "30 frames/s: the rhythm of one stroke is measured to about ±0.06"
    assert "moves 50 mm from picture to picture" in camera_timing.motion_line(found)
    assert "under 6 mm" in camera_timing.motion_line(found)


@pytest.mark.parametrize(("fps", "lines"), [(15.0, 1), (24.0, 1), (25.0, 0), (30.0, 0), (120.0, 0)])
def test_slow_cameras_are_warned_of(fps: float, lines: int) -> None:
    found = camera_timing.timing(list(beat(fps)))
    assert found is not None
    assert len(camera_timing.warnings(found)) == lines
    assert all(f"{fps:.0f} frames/s" in line for line in camera_timing.warnings(found))


def test_frames_off_the_beat() -> None:
    rng = np.random.default_rng(1)
    calm = camera_timing.timing(list(beat(30) + rng.normal(0, 0.001, 120)))
    wild = camera_timing.timing(list(beat(30) + rng.normal(0, 0.006, 120)))
    assert calm is not None
    assert wild is not None
    assert not calm.irregular
    assert calm.fps == pytest.approx(30, rel=0.01)
    assert wild.irregular
    # Steps have the spread of two stamps.
    assert wild.off_beat_s == pytest.approx(0.006 * np.sqrt(2), rel=0.2)
    assert any("off their beat" in line for line in camera_timing.warnings(wild))


def test_missing_frames() -> None:
    rng = np.random.default_rng(4)
    t = beat(30, 300)
    lost = rng.choice(np.arange(5, 295), 30, replace=False)
    found = camera_timing.timing(list(np.delete(t, lost)))
    assert found is not None
    assert found.missing == pytest.approx(0.10, abs=0.002)
    assert found.fps == pytest.approx(30)
    assert found.off_beat_s == pytest.approx(0, abs=1e-6)
    (line,) = camera_timing.warnings(found)
    assert line.startswith("10% of the frames are missing, longest gap 0.")
    one = camera_timing.timing(list(np.delete(t, 100)))
    assert one is not None
    assert camera_timing.warnings(one) == ()
    assert one.longest_gap_s == pytest.approx(2 / 30)


def test_too_few_to_tell() -> None:
    assert camera_timing.timing([]) is None
    assert camera_timing.timing(list(beat(30, 9))) is None
    assert camera_timing.timing([1.0] * 50) is None


def test_repeated_stamps_are_no_frames() -> None:
    found = camera_timing.timing(list(np.repeat(beat(30), 2)))
    assert found is not None
    assert found.fps == pytest.approx(30)


def test_check_says_it() -> None:
    slow, motion = timing_findings(list(beat(15)), "do this")
    assert (slow.state, motion.state) == ("warning", "ok")
    assert "to about ±0.12" in slow.found
    assert slow.todo == "do this"
    fast, _ = timing_findings(list(beat(60)), "do this")
    assert (fast.state, fast.todo) == ("ok", "")
    *_, regularity = timing_findings(list(np.delete(beat(30, 90), np.arange(30, 80, 5))))
    assert regularity.name == "regularity"
    assert regularity.state == "warning"
    assert timing_findings([]) == []


def test_a_cameras_first_pictures_do_not_count() -> None:
    late = 0.6 + beat(30, 60)
    lines = timing_findings([0.0, 0.2, 0.25, *late])
    assert [line.name for line in lines] == ["measuring", "motion"]
