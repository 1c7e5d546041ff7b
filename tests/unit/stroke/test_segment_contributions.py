"""Shares of shoulders, arms and wrists in the putter head's way, and how the head goes with the putter."""

from __future__ import annotations

from dataclasses import replace
from typing import Mapping

import numpy as np
import pytest

from trainer.domain.player_frame import PlayerFrame
from trainer.domain.record import SIGNAL_NAMES, Events, Floats, Measure, Signals
from trainer.stroke.segment_contributions import SHARES, Chain, head_putter_correlation, shares

ARMS_PX, SHAFT_PX = 58.0, 78.0
TAKE_S, TOP_S, IMPACT_S, FINISH_S = 1.5, 2.1, 2.5, 2.9
EVENTS = Events(TAKE_S, TOP_S, IMPACT_S, FINISH_S, settle_s=2.95)


def swing_rad(t: Floats, back_deg: float = 10.0, through_deg: float = 12.0) -> Floats:
    """At rest until takeaway, back to the top, forward to the finish, half cosines."""
    u = np.clip((t - TAKE_S) / (TOP_S - TAKE_S), 0, 1)
    v = np.clip((t - TOP_S) / (FINISH_S - TOP_S), 0, 1)
    back = -back_deg * (1 - np.cos(np.pi * u)) / 2
    return np.radians(back + (back_deg + through_deg) * (1 - np.cos(np.pi * v)) / 2)


def signals(
    rock: float, arms: float, wrists: float, fps: float = 60.0, neck_sway_px: float = 0.0, noise_px: float = 0.0
) -> Signals:
    """Joint angles as multiples of one swing: shoulders rock by rock * a, the neck-hands line turns by (rock + arms) * a,
    the shaft by (rock + arms + wrists) * a. One px is one cm."""
    t = np.arange(0, 3.6, 1 / fps)
    rng = np.random.default_rng(3)
    a = swing_rad(t)
    sway = neck_sway_px * a / np.ptp(a)
    line, arm, shaft = rock * a, (rock + arms) * a, (rock + arms + wrists) * a
    columns = {n: np.full(len(t), np.nan) for n in SIGNAL_NAMES}
    neck_up = ARMS_PX + SHAFT_PX
    for side, sign in (("lead", 1), ("trail", -1)):
        columns[f"{side}_shoulder_along_px"] = sway + sign * 20 * np.cos(line)
        columns[f"{side}_shoulder_up_px"] = neck_up + sign * 20 * np.sin(line)
    columns["hands_along_px"] = sway + ARMS_PX * np.sin(arm)
    columns["hands_up_px"] = neck_up - ARMS_PX * np.cos(arm)
    columns["putter_along_px"] = columns["hands_along_px"] + SHAFT_PX * np.sin(shaft)
    columns["putter_up_px"] = columns["hands_up_px"] - SHAFT_PX * np.cos(shaft)
    columns["shaft_deg"] = np.degrees(shaft)
    for name in list(columns):
        if name.endswith("_px") and np.isfinite(columns[name]).all():
            columns[name] = columns[name] + rng.normal(0, noise_px, len(t)) if noise_px else columns[name]
    for name in ("hands_conf", "putter_conf", "head_turn_conf"):
        columns[name] = np.full(len(t), 0.9)
    for name in ("ball_cm_per_px", "body_cm_per_px"):
        columns[name] = np.ones(len(t))
    return Signals(t, np.arange(len(t)), columns)


def values(found: Mapping[str, Measure]) -> list[float]:
    assert list(found) == list(SHARES)
    seen = [m.value for m in found.values()]
    assert all(v is not None for v in seen), [m.reason for m in found.values()]
    return [float(v) for v in seen if v is not None]


def closed_form(rock: float, arms: float, wrists: float) -> list[float]:
    """Integrals of rate x height for angles proportional to one swing, from -10 to +12 degrees (the way back counts twice).

    head along = R sin(p a) + L sin(q a), p = rock + arms, q = p + wrists; rate x height integrates to
    rock (R sin(p a)/p + L sin(q a)/q) and wrists L sin(q a)/q.
    """
    p, q = rock + arms, rock + arms + wrists

    def way(of: Mapping[str, float] | None, a: float) -> np.ndarray:
        hands, shaft = (np.sin(p * a) / p if p else a), (np.sin(q * a) / q if q else a)
        whole = ARMS_PX * np.sin(p * a) + SHAFT_PX * np.sin(q * a)
        turned, hinged = rock * (ARMS_PX * hands + SHAFT_PX * shaft), wrists * SHAFT_PX * shaft
        return np.array([turned, whole - turned - hinged, hinged])

    low, high = way(None, np.radians(-10.0)), way(None, np.radians(12.0))
    total = high - 2 * low
    return [float(v) for v in total / total.sum()]


@pytest.mark.parametrize("fps", [30.0, 60.0, 120.0])
def test_rigid_pendulum_is_all_shoulders(fps: float) -> None:
    shoulders, arms, wrists = values(shares(signals(1.0, 0.0, 0.0, fps), EVENTS))
    assert shoulders == pytest.approx(1.0, abs=0.01)
    assert arms == pytest.approx(0.0, abs=0.01)
    assert wrists == pytest.approx(0.0, abs=0.01)


def test_arms_swinging_under_still_shoulders() -> None:
    assert values(shares(signals(0.0, 1.0, 0.0), EVENTS)) == pytest.approx([0.0, 1.0, 0.0], abs=0.01)


@pytest.mark.parametrize("fps", [30.0, 60.0, 120.0])
def test_wrists_alone(fps: float) -> None:
    assert values(shares(signals(0.0, 0.0, 1.0, fps), EVENTS)) == pytest.approx([0.0, 0.0, 1.0], abs=0.01)


@pytest.mark.parametrize("mix", [(0.7, 0.3, 0.3), (0.5, 0.5, 1.0), (1.2, -0.2, 0.1), (0.9, 0.1, -0.3)])
@pytest.mark.parametrize("fps", [30.0, 120.0])
def test_mixed_strokes_against_the_closed_form(mix: tuple[float, float, float], fps: float) -> None:
    found = values(shares(signals(*mix, fps), EVENTS))
    assert found == pytest.approx(closed_form(*mix), abs=0.015)
    assert sum(found) == pytest.approx(1.0, abs=1e-9)


def test_the_split_leaves_no_remainder() -> None:
    t = np.linspace(0, 2, 90)
    rng = np.random.default_rng(5)
    walk = [np.cumsum(rng.normal(0, 1, 90)) for _ in range(7)]
    neck_up = 200 + walk[1]
    chain = Chain(t, walk[0], neck_up, 0.02 * walk[2], walk[3], 100 + walk[4], walk[5], walk[6])
    total = np.sum(chain.speeds(), axis=0)
    assert total == pytest.approx(np.gradient(walk[5] - walk[0], t))


def test_swaying_with_a_rigid_unit_changes_nothing() -> None:
    assert values(shares(signals(1.0, 0.0, 0.0, neck_sway_px=6.0), EVENTS)) == pytest.approx([1, 0, 0], abs=0.01)


def test_sums_to_one_and_stays_near_with_noise() -> None:
    found = shares(signals(0.7, 0.3, 0.3, 30.0, noise_px=0.4), EVENTS)
    seen = values(found)
    assert sum(seen) == pytest.approx(1.0, abs=1e-9)
    assert seen == pytest.approx(closed_form(0.7, 0.3, 0.3), abs=0.08)
    assert found["share_wrists"].confidence > found["share_shoulders"].confidence > 0
    clean = shares(signals(0.7, 0.3, 0.3, 30.0), EVENTS)
    assert found["share_wrists"].confidence < clean["share_wrists"].confidence


def test_what_was_not_seen_has_a_reason() -> None:
    seen = signals(1.0, 0.0, 0.0)
    gone = dict(seen.columns, lead_shoulder_along_px=np.full(len(seen.time_s), np.nan))
    cases = [
        (Signals(seen.time_s, seen.index, gone), EVENTS, "lead shoulder"),
        (Signals(seen.time_s, seen.index, seen.columns, PlayerFrame("down-the-line")), EVENTS, "face-on"),
        (seen, replace(EVENTS, finish_s=None), "finish not seen"),
        (signals(0.05, 0.0, 0.0), EVENTS, "too small a stroke"),
    ]
    for case, events, words in cases:
        for measure in shares(case, events).values():
            assert measure.value is None
            assert measure.confidence == 0.0
            assert words in measure.reason


def coupled(gain: float, noise_px: float = 0.0) -> Signals:
    """The head goes with the putter by this share of its way."""
    seen = signals(1.0, 0.0, 0.0, 30.0)
    rng = np.random.default_rng(8)
    head = gain * seen["putter_along_px"] + rng.normal(0, noise_px, len(seen.time_s)) if noise_px else None
    clean = gain * seen["putter_along_px"]
    return Signals(seen.time_s, seen.index, dict(seen.columns, head_along_px=clean if head is None else head))


@pytest.mark.parametrize(("gain", "sign"), [(0.05, 1.0), (-0.05, -1.0)])
def test_head_with_and_against_the_putter(gain: float, sign: float) -> None:
    clean = head_putter_correlation(coupled(gain), EVENTS)
    assert clean.value == pytest.approx(sign, abs=1e-6)
    assert clean.confidence == pytest.approx(0.9, abs=1e-4)
    noisy = head_putter_correlation(coupled(gain, 0.1), EVENTS)
    assert noisy.value is not None
    assert sign * noisy.value > 0.7
    assert noisy.confidence < clean.confidence


@pytest.mark.parametrize(("gain", "noise_px"), [(0.0, 0.0), (0.0, 0.1), (0.0, 0.3), (0.005, 0.2)])
def test_a_head_that_hardly_moves_tells_nothing(gain: float, noise_px: float) -> None:
    found = head_putter_correlation(coupled(gain, noise_px), EVENTS)
    assert found.value is None
    assert found.reason == "the head hardly moved"


def test_head_or_events_not_seen() -> None:
    assert "not seen" in head_putter_correlation(signals(1, 0, 0), EVENTS).reason
    assert "impact" in head_putter_correlation(coupled(0.05), replace(EVENTS, impact_s=None)).reason


def without(seen: Signals, first_s: float, last_s: float) -> Signals:
    """The frames from first_s to last_s never came."""
    keep = (seen.time_s < first_s) | (seen.time_s > last_s)
    return Signals(seen.time_s[keep], seen.index[keep], {n: c[keep] for n, c in seen.columns.items()})


@pytest.mark.parametrize(("gap", "told"), [((2.2, 2.28), True), ((2.2, 2.45), False), ((1.4, 1.7), False)])
def test_frames_missing_in_mid_stroke(gap: tuple[float, float], told: bool) -> None:
    found = {
        **shares(without(signals(0.7, 0.3, 0.3), *gap), EVENTS),
        "correlation": head_putter_correlation(without(coupled(0.05), *gap), EVENTS),
    }
    for measure in found.values():
        assert (measure.value is not None) is told
        assert told or measure.reason == "frames are missing in mid-stroke"
