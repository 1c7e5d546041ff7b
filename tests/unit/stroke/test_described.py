"""What describes a stroke without a norm: wrists going back, speed before the ball, the start, the look, the address."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.unit.stroke.test_measures import HANDS, T, figure, path, smooth_ramp, stroke, value
from trainer.domain.player_frame import PlayerFrame
from trainer.domain.record import Floats
from trainer.stroke.address import ANKLES_BEHIND, MOST_STILL_S, address
from trainer.stroke.pace import START_S, pace
from trainer.stroke.while_looking import while_looking


@pytest.mark.parametrize("deg", [-12.0, 7.0])
def test_wrists_in_the_backstroke_are_not_those_after_impact(deg: float) -> None:
    """The shaft turns against the arm on the way back and is as it was again when the ball is met."""
    bent = smooth_ramp(1.55, 2.1, deg) - smooth_ramp(2.2, 2.45, deg)
    record = figure(bent, 0.0 * T)
    assert value(record, "hinge_back_deg") == pytest.approx(deg * (1 - 0.5 * 0.1 / 1.1), abs=0.4)
    assert value(record, "hinge_change_deg") == pytest.approx(0.0, abs=0.6)
    after = figure(smooth_ramp(2.55, 2.85, 15.0), 0.0 * T)
    assert value(after, "hinge_back_deg") == pytest.approx(0.0, abs=0.4)


def slowing(share: float) -> Floats:
    """The path, but from the top the speed rises for 0.2 s and falls by that share until impact 0.1 s later, 24 cm on."""
    fastest = 24.0 / (0.1 + 0.1 * (1 - share / 2))
    u = np.clip(T - 2.2, 0, 0.3)
    rising = 0.5 * fastest / 0.2 * np.minimum(u, 0.2) ** 2
    w = np.clip(u - 0.2, 0, 0.1)
    forward = -24.0 + rising + fastest * w - 0.5 * fastest * share / 0.1 * w * w
    through = (1 - share) * fastest * np.clip(T - 2.5, 0, 0.4) * (1 - np.clip(T - 2.5, 0, 0.4) / 0.8)
    return np.where(T < 2.2, path(), np.where(T < 2.5, forward, through))


@pytest.mark.parametrize("share", [0.0, 0.15, 0.3])
def test_a_putter_that_slows_before_the_ball(share: float) -> None:
    x = slowing(share)
    found = value(stroke(putter_along=x, hands_along=HANDS * x), "slowing_share")
    assert 0.75 * share - 0.01 <= found <= share + 0.03  # the filter rounds the peak


def test_a_putter_that_speeds_up_into_the_ball_loses_nothing() -> None:
    assert value(stroke(), "slowing_share") == pytest.approx(0.0, abs=0.03)


def test_the_start_of_the_backstroke() -> None:
    """12 (1 - cos pi u) cm at START_S after takeaway, which is at 5 mm, 0.0553 s after the start."""
    u = (0.0553 + START_S) / 0.6
    assert value(stroke(), "takeaway_cm_s") == pytest.approx(12 * (1 - np.cos(np.pi * u)) / START_S, abs=1.5)
    quick = np.where(T < 2.2, -smooth_ramp(1.5, 1.8, 24.0), path())
    assert value(stroke(putter_along=quick, hands_along=HANDS * quick), "takeaway_cm_s") > 90


@pytest.mark.parametrize(("begins_s", "expected"), [(2.40, -0.05), (2.60, 0.15), (4.0, 1.55)])
def test_the_look_against_impact(begins_s: float, expected: float) -> None:
    """36 deg over 0.15 s at a steady rate: 12 deg, the look, a third of the way."""
    turn = np.interp(T, [begins_s, begins_s + 0.15], [0.0, 36.0])
    record = stroke(head_turn_deg=turn)
    assert value(record, "look_from_impact_s") == pytest.approx(expected, abs=0.02)


def test_putter_and_posture_while_looking() -> None:
    looks = np.interp(T, [4.0, 4.15], [0.0, 36.0])
    still = stroke(head_turn_deg=looks)
    assert value(still, "putter_while_looking_cm") == pytest.approx(0.0, abs=0.05)
    assert value(still, "body_while_looking_cm") == pytest.approx(0.0, abs=0.05)
    x = path() - smooth_ramp(4.1, 4.4, 4.0)
    risen = 135 + smooth_ramp(4.0, 4.4, 3.0)
    moves = stroke(head_turn_deg=looks, putter_along=x, lead_shoulder_up=risen, trail_shoulder_up=risen)
    assert value(moves, "putter_while_looking_cm") == pytest.approx(4.0, abs=0.1)
    assert value(moves, "body_while_looking_cm") == pytest.approx(3.0, abs=0.1)
    early = stroke(head_turn_deg=np.interp(T, [2.6, 2.75], [0.0, 36.0]))
    assert early.measures["putter_while_looking_cm"].value is None
    assert "after the putter's rest" in early.measures["putter_while_looking_cm"].reason


def test_the_address() -> None:
    record = stroke(ball_along=np.full(len(T), 4.0))
    assert value(record, "address_stance_cm") == pytest.approx(36.0 * ANKLES_BEHIND, abs=0.1)
    assert value(record, "address_ball_share") == pytest.approx(24.0 / 36.0, abs=0.01)
    assert value(record, "still_before_s") == pytest.approx(MOST_STILL_S, abs=0.08)
    assert stroke().measures["address_ball_share"].reason == "ball or feet not seen"


@pytest.mark.parametrize("ends_s", [0.5, 0.9, 1.2])
def test_how_long_it_was_still_counts_from_the_last_waggle(ends_s: float) -> None:
    waggle = np.where((ends_s - 0.4 < T) & (ends_s > T), 2.0 * np.sin(2 * np.pi * (T - ends_s) / 0.4), 0.0)
    record = stroke(putter_along=path() + waggle)
    assert value(record, "still_before_s") == pytest.approx(1.5553 - ends_s, abs=0.15)


def test_down_the_line_none_of_it_is_told() -> None:
    record = stroke()
    side = replace(record.signals, frame=PlayerFrame("right", "down-the-line"))
    for found in (pace(side, record.events), while_looking(side, record.events), address(side, record.events)):
        assert all(m.value is None and m.reason for m in found.values())
