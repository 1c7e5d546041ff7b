"""Grips, long putters, one arm, a chair: ranges and orders go by the profile, and what is not told is said."""

from __future__ import annotations

import pytest

from trainer.app.practice.gesture_control import GestureControl
from trainer.coaching.gestures import FEEL, ONE_HAND, ORDERS
from trainer.coaching.player_profile import as_held, not_asked, one_hand, ranges_for, told_of
from trainer.coaching.posture.ranges import DEFAULTS, check
from trainer.coaching.posture.view_detection import DetectedView
from trainer.domain.player_frame import Grip
from trainer.domain.record import Measure
from trainer.settings.load import load
from trainer.settings.model import Player
from trainer.settings.posture import Ranges


def test_the_usual_player_is_as_ever() -> None:
    player = Player()
    assert ranges_for(player, DEFAULTS) is DEFAULTS
    assert told_of(player) == ()
    assert not one_hand(player)
    assert not not_asked(player)


def test_shoulders_go_by_the_lower_hand() -> None:
    """What one grip makes usual the other makes a fault."""
    lead_low_down = {"shoulder_level_deg": Measure(-9.0, "deg", 0.9)}
    assert not check(lead_low_down, "face-on")[0].inside
    other = ranges_for(Player(grip="lead hand low"), DEFAULTS)
    assert check(lead_low_down, "face-on", other)[0].inside
    low, high = (getattr(DEFAULTS.face_on.shoulder_level_deg, end) for end in ("low", "high"))
    mirrored = other.face_on.shoulder_level_deg
    assert (mirrored.low, mirrored.high) == (-high, -low)
    set_by_coach = load([]).posture.face_on.shoulder_level_deg.model_copy(update={"low": -1.0, "high": 1.0})
    own = DEFAULTS.model_copy(
        update={"face_on": DEFAULTS.face_on.model_copy(update={"shoulder_level_deg": set_by_coach})}
    )
    assert ranges_for(Player(grip="lead hand low"), own).face_on.shoulder_level_deg.high == 1.0


@pytest.mark.parametrize(
    ("player", "gone", "stays"),
    [
        (Player(grip="trail hand only"), "hands_plumb_cm", "spine_tilt_deg"),
        (Player(long_putter=True), "spine_tilt_deg", "eye_line_cm"),
        (Player(seated=True), "eye_line_cm", "elbow_deg"),
    ],
)
def test_measures_that_say_nothing_are_not_asked(player: Player, gone: str, stays: str) -> None:
    ranges = ranges_for(player, DEFAULTS)
    assert gone not in ranges["down-the-line"]
    assert stays in ranges["down-the-line"]
    assert gone in DEFAULTS["down-the-line"]  # nobody else's are touched
    assert len(told_of(player)) == 1


def test_every_measure_left_out_is_one_that_there_is() -> None:
    named = {name for view in ("face-on", "down-the-line") for name in DEFAULTS[view]}
    for player in (Player(grip="lead hand only"), Player(long_putter=True), Player(seated=True)):
        assert not_asked(player) <= named
    everything = Ranges().without(frozenset(named))
    assert not everything["face-on"]
    assert not everything["down-the-line"]


@pytest.mark.parametrize(
    ("grip", "hand", "sure"),
    [
        ("trail hand low", "right", 0.9),
        ("lead hand low", "left", 0.9),
        ("hands level", "right", 0.0),
        ("lead hand only", "right", 0.0),
    ],
)
def test_handedness_is_read_off_the_hands_as_the_grip_allows(grip: Grip, hand: str, sure: float) -> None:
    found = as_held(DetectedView("face-on", 1.0, "right", 0.9, None), grip)
    assert found is not None
    assert (found.handedness, found.handedness_confidence) == (hand, sure)
    side = DetectedView("down-the-line", 1.0, "right", 0.9, "right")  # there the feet and the face tell
    assert as_held(side, grip) == side
    assert as_held(None, grip) is None


def test_orders_of_one_hand_take_one_hand() -> None:
    assert ORDERS["lead hand up"][0] == "pause"
    assert {order for order, _ in ONE_HAND.values()} == {"pause", "quit"}
    assert ONE_HAND["lead hand up"] == ONE_HAND["trail hand up"]
    assert set(FEEL) == {"lead hand up", "trail hand up"}
    assert (
        GestureControl(one_hand=True).view(drills=True).hint
        == "a hand up: pause    N: next drill    both hands up: end"
    )


def test_what_does_not_work_is_said() -> None:
    said = " ".join(told_of(Player(grip="trail hand only", long_putter=True, seated=True)))
    for words in ("hands stopping", "not told", "next drill: N", "lengths need the ball"):
        assert words in said
