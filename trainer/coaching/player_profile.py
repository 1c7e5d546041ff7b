"""Players who do not stand with both hands on a usual putter, the trail hand low: what is told of them, and what is not.

Nothing of it was tried on pictures of such players: what works is what needs no more than putter, ball and head.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Mapping

from trainer.coaching.posture.view_detection import DetectedView
from trainer.domain.player_frame import Grip, PlayerFrame
from trainer.settings.model import Player
from trainer.settings.posture import DEFAULTS, Ranges
from trainer.texts import tr

ARM = ("elbow_deg", "elbow_plumb_cm")
BOTH_HANDS = ("hands_plumb_cm", "hands_ahead_cm")
LEGS = ("knee_flex_deg", "hips_back_cm", "ball_position", "ball_widths", "stance_cm", "spine_tilt_deg")
# Lengths seen from down the line are measured by legs and trunk as they stand.
STANDING_LENGTHS = ("eye_line_cm", "hands_plumb_cm", "elbow_plumb_cm")
# The lower hand pulls its shoulder down: the usual range, mirrored for the other hand; level hands: both sides alike; one hand
# lets the other shoulder be anywhere between.
SHOULDERS_DEG: Mapping[Grip, tuple[float, float]] = {
    "lead hand low": (-10.0, 6.0),
    "hands level": (-8.0, 8.0),
    "lead hand only": (-10.0, 10.0),
    "trail hand only": (-10.0, 10.0),
}


def frame_of(player: Player) -> PlayerFrame:
    """How the player holds the putter, for what asks a frame."""
    return PlayerFrame(handedness=player.handedness, grip=player.grip, long_putter=player.long_putter)


def one_hand(player: Player) -> bool:
    """One hand holds the putter, and orders are given with one."""
    return len(frame_of(player).holding) == 1


def not_asked(player: Player) -> frozenset[str]:
    """Measures of the address that say nothing of such a player."""
    out: set[str] = set()
    if one_hand(player):
        out |= {*ARM, *BOTH_HANDS}
    if player.long_putter:
        out |= {*ARM, "hands_plumb_cm", "spine_tilt_deg"}
    if player.seated:
        out |= {*LEGS, *STANDING_LENGTHS}
    return frozenset(out)


def ranges_for(player: Player, ranges: Ranges) -> Ranges:
    """The ranges of the address for this player: what says nothing left out, the shoulders by the lower hand.

    A range of the player's own (other than the default) stays.
    """
    found = ranges
    own = ranges.face_on.shoulder_level_deg
    if player.grip in SHOULDERS_DEG and own == DEFAULTS.face_on.shoulder_level_deg:
        low, high = SHOULDERS_DEG[player.grip]
        shoulders = own.model_copy(update={"low": low, "high": high})
        found = ranges.model_copy(
            update={"face_on": ranges.face_on.model_copy(update={"shoulder_level_deg": shoulders})}
        )
    return found.without(not_asked(player))


def as_held(found: DetectedView | None, grip: Grip) -> DetectedView | None:
    """What a picture shows, where it takes the lower hand for the trail one: the other way, or not sure, by the grip."""
    if found is None or found.view != "face-on" or grip == "trail hand low":
        return found
    if grip == "lead hand low":
        return replace(found, handedness="left" if found.handedness == "right" else "right")
    return replace(found, handedness_confidence=0.0)


def told_of(player: Player) -> tuple[str, ...]:
    """What works and what does not, a line for each thing that is not as usual; none for the usual player."""
    out = []
    if player.grip in ("lead hand low", "hands level"):
        out.append(tr("{grip}: all works; the shoulders' range goes by it", grip=player.grip))
    if one_hand(player):
        hand = player.grip.removesuffix(" hand only")
        wrists = (
            ""
            if hand == "lead"
            else tr("; the hands stopping and wrist angles are not told: they are seen by the lead arm")
        )
        out.append(
            tr(
                "{grip}: look, hold, lengths, times, recoil and head work by putter and {hand} "
                "hand{wrists}; of the address, hands and trail arm are not told. A raised hand pauses; "
                "next drill: N",
                grip=player.grip,
                hand=hand,
                wrists=wrists,
            )
        )
    if player.long_putter:
        out.append(
            tr(
                "long putter: look, hold, lengths, times, recoil and head work; the hands stopping and wrist "
                "angles are not told: arm and shaft do not hang as one; of the address, hands, trail arm "
                "and spine have no range"
            )
        )
    if player.seated:
        out.append(
            tr(
                "seated: look, hold, times and turns work; lengths need the ball in the picture, for the "
                "height is no size reference then; head along the line and up, hands and stance may go without; "
                "posture down the line tells nothing"
            )
        )
    return tuple(out)
