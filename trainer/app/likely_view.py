"""From where a clip was taken and which way its player putts, as the poses of a whole run look: to be suggested, not taken."""

from __future__ import annotations

import statistics
from collections import deque
from typing import Literal, TypeVar

from trainer.coaching.player_profile import as_held
from trainer.coaching.posture.view_detection import DetectedView, detect_view
from trainer.domain.observation import Handedness, Observation, View
from trainer.domain.phases import Phase
from trainer.settings.model import Player

EVERY = 3  # frames from one look to the next: a pose at address hardly changes
LEAST, MOST = 5, 200  # looks before anything is suggested, and how many of the last ones count
SURE = 0.5  # of 0..1, the median over the looks: below that nothing is suggested
Name = TypeVar("Name", Handedness, View)
BODY_SIDES: tuple[Literal["left"], Literal["right"]] = ("left", "right")


class LikelyView:
    """``see`` with every frame; ``suggested`` when the run is over."""

    def __init__(self) -> None:
        self._frames = 0
        self._seen: deque[DetectedView] = deque(maxlen=MOST)

    def see(self, observation: Observation, phase: Phase) -> None:
        """The next frame's."""
        self._frames += 1
        if self._frames % EVERY or phase.under_way or observation.body is None:
            return
        found = detect_view(points_of(observation))
        if found is not None:
            self._seen.append(found)

    def suggested(self, player: Player, view: View) -> tuple[Handedness, View] | None:
        """What it looks like, where that is plain and not what was said; of what is not plain, as it was said."""
        if len(self._seen) < LEAST:
            return None
        side = [one.view_confidence * (1 if one.view == "face-on" else -1) for one in self._seen]
        seen_view = _plain(side, "face-on", "down-the-line", view)
        held = [as_held(one, player.grip) for one in self._seen if one.view == seen_view]
        hand = [one.handedness_confidence * (1 if one.handedness == "right" else -1) for one in held if one is not None]
        found: tuple[Handedness, View] = (_plain(hand, "right", "left", player.handedness), seen_view)
        return found if found != (player.handedness, view) else None


def points_of(observation: Observation) -> dict[str, tuple[float, float]]:
    """The body's points by their own names, where they are in the picture."""
    frame, body = observation.frame, observation.body or {}
    own: dict[str, str] = {frame.side_of(side): side for side in BODY_SIDES}
    out = {}
    for name, point in body.items():
        side, _, part = name.partition("_")
        if frame.seen(point):
            out[f"{own[side]}_{part}" if side in own else name] = frame.to_picture(point)
    return out


def _plain(signed: list[float], above: Name, below: Name, else_: Name) -> Name:
    middle = statistics.median(signed) if signed else 0.0
    return else_ if abs(middle) < SURE else above if middle > 0 else below
