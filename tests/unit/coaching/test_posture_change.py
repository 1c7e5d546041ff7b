"""Posture kept: spine, knees, head and pelvis from address until the look, on signals made by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from trainer.coaching.posture.posture_change import DOUBT_DEG, kept, posture_change
from trainer.domain.player_frame import PlayerFrame
from trainer.domain.record import Signals, signal_names

TAKEAWAY, LOOK, FPS = 1.5, 3.0, 30.0
CM = 0.5


def side(
    bend_deg: float = 40.0, changes: float = 0.0, after: float = 2.0, flip: bool = False, noise: float = 0.0
) -> Signals:
    """Down the line: the trunk leans by bend_deg and straightens by ``changes`` from ``after`` on.

    flip: the camera looks from the target's side.
    """
    t = np.arange(0.0, 4.0, 1 / FPS)
    random = np.random.default_rng(2)
    tilt = np.radians(bend_deg - changes * np.clip((t - after) / 0.3, 0, 1))
    sign = -1.0 if flip else 1.0
    columns = {name: np.full(len(t), np.nan) for name in signal_names("down-the-line")}

    def put(name: str, out: object, up: object) -> None:
        columns[f"{name}_across_px"] = sign * np.broadcast_to(out, t.shape) + random.normal(0, noise, len(t))
        columns[f"{name}_up_px"] = np.broadcast_to(up, t.shape) + random.normal(0, noise, len(t))

    for who in ("lead", "trail"):
        put(f"{who}_ankle", 0.0, 0.0)
        put(f"{who}_knee", 10.0, 90.0)
        put(f"{who}_hip", -10.0, 170.0)
        put(f"{who}_shoulder", -10.0 + 110 * np.sin(tilt), 170.0 + 110 * np.cos(tilt))
    put("hands", 60.0, 150.0)
    columns["body_cm_per_px"] = np.full(len(t), CM)
    return Signals(t, np.arange(len(t)), columns, PlayerFrame("down-the-line"))


@pytest.mark.parametrize("flip", [False, True])
@pytest.mark.parametrize("changes", [6.0, -7.0, 0.0])
def test_the_spines_change_is_the_angle_that_was_put_in(changes: float, flip: bool) -> None:
    found = kept(side(changes=changes, flip=flip), TAKEAWAY, LOOK)["spine_change_deg"]
    assert found.value == pytest.approx(changes, abs=0.2)
    assert found.confidence > 0.8


def test_only_a_change_before_the_look_counts() -> None:
    late = side(changes=10.0, after=LOOK + 0.2)
    assert kept(late, TAKEAWAY, LOOK)["spine_change_deg"].value == pytest.approx(0.0, abs=0.3)
    assert posture_change(late, TAKEAWAY, LOOK) is None


def test_the_fault_comes_with_its_time_and_size() -> None:
    fault = posture_change(side(changes=8.0, after=2.0), TAKEAWAY, LOOK, 4.0)
    assert fault is not None
    assert fault.name == "posture_change"
    assert fault.value == pytest.approx(8.0, abs=0.3)
    # 5 of 8 degrees are reached 0.19 s into the 0.3 s that it takes.
    assert fault.at_s == pytest.approx(2.0 + 0.3 * (4.0 + DOUBT_DEG) / 8.0, abs=0.07)


def test_within_limit_and_doubt_there_is_no_fault() -> None:
    assert posture_change(side(changes=4.0 + 0.8 * DOUBT_DEG), TAKEAWAY, LOOK, 4.0) is None
    assert posture_change(side(changes=3.0), TAKEAWAY, LOOK, 2.0 - 0.5) is not None


def test_frame_noise_is_no_change() -> None:
    assert posture_change(side(noise=1.0), TAKEAWAY, LOOK) is None


def test_hips_going_back_are_drift_away_from_the_ball() -> None:
    signals = side()
    for who in ("lead", "trail"):
        name = f"{who}_hip_across_px"
        signals.columns[name][:] = signals[name] - np.where(signals.time_s > 2.0, 12.0, 0.0)
    found = kept(signals, TAKEAWAY, LOOK)["pelvis_drift_cm"]
    assert found.value == pytest.approx(12.0 * CM, abs=0.8)


def test_knees_that_straighten_are_told() -> None:
    signals = side()
    flexed, straight = 10.0, 2.0
    for who in ("lead", "trail"):
        signals.columns[f"{who}_knee_across_px"][:] = np.where(signals.time_s > 2.0, straight, flexed)
    bend = [180 - abs(math.degrees(math.atan2(80, -10 - k) - math.atan2(-90, -k))) % 360 for k in (flexed, straight)]
    expected = abs((bend[0] + 180) % 360 - 180) - abs((bend[1] + 180) % 360 - 180)
    assert kept(signals, TAKEAWAY, LOOK)["knee_change_deg"].value == pytest.approx(expected, abs=1.0)


def test_what_is_not_seen_has_a_reason_and_no_number() -> None:
    signals = side()
    for name in signals.columns:
        if "shoulder" in name or "knee" in name:
            signals.columns[name][:] = np.nan
    found = kept(signals, TAKEAWAY, LOOK)
    for name in ("spine_change_deg", "knee_change_deg", "head_height_change_cm"):
        assert found[name].value is None
        assert found[name].reason
    assert posture_change(signals, TAKEAWAY, LOOK) is None


def test_face_on_the_spine_is_not_guessed() -> None:
    signals = side(changes=10.0)
    front = Signals(signals.time_s, signals.index, signals.columns)
    found = kept(front, TAKEAWAY, LOOK)["spine_change_deg"]
    assert found.value is None
    assert "down-the-line" in found.reason
