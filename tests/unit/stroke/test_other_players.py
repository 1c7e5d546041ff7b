"""Players of another grip, with a long putter, of one arm or seated: what is told of them, by invented strokes."""

from __future__ import annotations

from dataclasses import replace
from typing import Callable

import numpy as np
import pytest

from tests.support.observations import Watched, watch
from trainer.coaching.faults import indeterminate, judge
from trainer.domain.observation import Observation
from trainer.domain.player_frame import Grip, PlayerFrame, Point
from trainer.settings.limits import Limits
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_observations import Noise, observations

STROKE = SimStroke(1.6, recoil_cm=6.0, look_s=5.2)
SCENE = Scene((STROKE,), 8.0)


def seen(change: Callable[[Observation], Observation] = lambda o: o) -> Watched:
    return watch(change(o) for o in observations(SCENE, 30.0, Noise(), np.random.default_rng(1)))


def held_by(grip: Grip, told: bool) -> Callable[[Observation], Observation]:
    """The other hand rests on a stick two feet to its side. told: the profile says so."""
    free, out = ("trail", -60.0) if grip == "lead hand only" else ("lead", 60.0)

    def change(o: Observation) -> Observation:
        body = dict(o.body or {})
        scale = (o.scale.body_cm_per_px if o.scale is not None else None) or 0.4
        shoulder = body.get(f"{free}_shoulder")
        if shoulder is not None:
            body[f"{free}_wrist"] = Point(shoulder.along_px + out / scale, shoulder.up_px - 50 / scale, 0.9)
        return replace(o, body=body, frame=replace(o.frame, grip=grip) if told else o.frame)

    return change


def long_putter(told: bool) -> Callable[[Observation], Observation]:
    """Both hands a forearm higher: at the chest."""

    def change(o: Observation) -> Observation:
        body = dict(o.body or {})
        scale = (o.scale.body_cm_per_px if o.scale is not None else None) or 0.4
        for name in ("lead_wrist", "trail_wrist"):
            if name in body:
                body[name] = body[name]._replace(up_px=body[name].up_px + 45 / scale)
        return replace(o, body=body, frame=replace(o.frame, long_putter=True) if told else o.frame)

    return change


def hand_low(down_cm: float, aside_cm: float = 0.0) -> Callable[[Observation], Observation]:
    """The trail hand holds the shaft that much farther down."""

    def change(o: Observation) -> Observation:
        body = dict(o.body or {})
        scale = (o.scale.body_cm_per_px if o.scale is not None else None) or 0.4
        if "trail_wrist" in body:
            hand = body["trail_wrist"]
            body["trail_wrist"] = Point(hand.along_px - aside_cm / scale, hand.up_px - down_cm / scale, hand.confidence)
        return replace(o, body=body)

    return change


def faults(found: Watched) -> list[str]:
    return [fault.name for fault in judge(found.record, Limits())]


@pytest.mark.parametrize("grip", ["lead hand only", "trail hand only"])
def test_one_hand_is_followed_once_the_profile_says_so(grip: Grip) -> None:
    usual = seen()
    assert faults(usual) == ["recoil"]
    blind = seen(held_by(grip, told=False))
    assert len(blind.records) == 0  # hands that far apart hold no putter
    one = seen(held_by(grip, told=True))
    assert faults(one) == ["recoil"]
    for event, at_s in usual.record.events:
        found = one.record.events.named(event)
        assert found is not None
        assert found == pytest.approx(at_s, abs=0.03)


def test_hands_far_apart_on_the_shaft_hold_a_putter() -> None:
    assert faults(seen(hand_low(20.0))) == ["recoil"]
    assert len(seen(hand_low(5.0, aside_cm=35.0)).records) == 0


def test_wrists_are_judged_by_the_arm_that_holds_or_not_at_all() -> None:
    trail = seen(held_by("trail hand only", told=True)).record
    assert "hand_stall" in indeterminate(trail, Limits())
    lead = seen(held_by("lead hand only", told=True)).record
    assert "hand_stall" not in indeterminate(lead, Limits())
    assert lead.measures["hinge_change_deg"].confidence > 0.35


def test_a_long_putter_is_followed_and_its_wrists_are_not_judged() -> None:
    assert len(seen(long_putter(told=False)).records) == 0
    found = seen(long_putter(told=True))
    assert faults(found) == ["recoil"]
    assert "hand_stall" in indeterminate(found.record, Limits())
    assert not set(indeterminate(found.record, Limits())) & {"early_look", "short_hold", "recoil"}


def test_seated_lengths_are_by_the_ball_and_the_bodys_own_are_not_told() -> None:
    def change(o: Observation) -> Observation:
        return replace(o, scale=None if o.scale is None else replace(o.scale, body_cm_per_px=None))

    found = seen(change)
    assert faults(found) == ["recoil"]
    assert {"sway", "lift"} <= set(indeterminate(found.record, Limits()))
    assert "neither ball nor height" in found.record.measures["sway_cm"].reason


def test_a_frame_says_which_hands_hold() -> None:
    assert PlayerFrame().holding == ("lead", "trail")
    assert PlayerFrame(grip="hands level").holding == ("lead", "trail")
    assert PlayerFrame(grip="lead hand only").holding == ("lead",)
    assert PlayerFrame(grip="lead hand low").one_line
    assert not PlayerFrame(grip="trail hand only").one_line
    assert not PlayerFrame(long_putter=True).one_line
