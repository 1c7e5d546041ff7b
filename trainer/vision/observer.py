"""One frame in, one sighting out: body, head turn, putter, ball and scale put together in the player's frame.

Handedness and view are spent here: the floors above get places in the player's frame (see ``domain.player_frame``). Lengths
and angles seen down the line are not true ones, and the floors above do not use them for that view.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, Mapping

import numpy as np
import numpy.typing as npt

from trainer.domain.observation import (
    BallObservation,
    Frame,
    Handedness,
    HeadObservation,
    Observation,
    PutterObservation,
    View,
)
from trainer.domain.player_frame import PlayerFrame
from trainer.vision.ball.finder import BallFinder, BallSeenImage
from trainer.vision.body.pose import BodyTracker
from trainer.vision.camera_geometry.scale import ScaleEstimator
from trainer.vision.head.tracker import HeadTracker
from trainer.vision.putter.tracker import PutterSeenImage, PutterTracker

Array = npt.NDArray[Any]
BodyImage = Mapping[str, Array]

MIN_VISIBILITY = 0.3  # below it the model invents a hidden limb rather than sees it


@dataclass(frozen=True, slots=True)
class ObserverOptions:
    """What the watcher must be told about player and camera."""

    handedness: Handedness = "right"
    view: View = "face-on"
    height_cm: float | None = None
    putter: Literal["auto", "tape", "shaft"] = "auto"
    tape_colour: str = "auto"


class Observer:
    """``see`` every frame in order of time. Not safe for two threads at once."""

    def __init__(self, body: BodyTracker, options: ObserverOptions | None = None) -> None:
        self.options = o = options or ObserverOptions()
        self._body = body
        self._head = HeadTracker(mirrored=o.handedness == "left")
        self._putter = PutterTracker("off" if o.putter == "shaft" else "auto", o.tape_colour)
        self._ball = BallFinder()
        self._ruler = ScaleEstimator(o.height_cm, down_the_line=o.view == "down-the-line")
        self.image_body: BodyImage | None = None
        self.image_putter: PutterSeenImage | None = None
        self.image_ball: BallSeenImage | None = None

    @property
    def body(self) -> BodyTracker:
        """The body tracker itself; once no more frames come it may be used for other pictures."""
        return self._body

    def find_body(self, frame: Frame) -> BodyImage | None:
        """The slow half, needing nothing but the frame: may run ahead in another thread."""
        return self._body.find(frame.image)

    def see(self, frame: Frame) -> Observation:
        """Body, then all the rest."""
        return self.look(frame, self.find_body(frame))

    def look(self, frame: Frame, found: BodyImage | None) -> Observation:
        """All but the body, which was ``found`` in this very frame (None: nobody)."""
        image, t = frame.image, frame.time_s
        body = {n: p for n, p in found.items() if p[2] >= MIN_VISIBILITY} if found is not None else None
        reasons: dict[str, str] = {} if body else {"body": "nobody in the picture"}
        tuples = {n: (float(p[0]), float(p[1]), float(p[2])) for n, p in body.items()} if body else None
        hands = _hands(body)
        head = self._head.update(image, t, body) if self.options.view == "face-on" else None
        if head is None:
            unseen = "head turn is measured face-on only" if self.options.view != "face-on" else self._head.reason
            reasons["head"] = unseen
        last = self.image_putter.head if self.image_putter is not None else None
        ball = self._ball.update(image, t, hands, tuples, last)
        if ball is None:
            reasons["ball"] = self._ball.reason
        putter = self._putter.update(image, t, hands, tuples, ball)
        if putter is None:
            reasons["putter"] = self._putter.reason
        scale = self._ruler.update(self._ball.diameter_px, tuples)
        self.image_body, self.image_putter, self.image_ball = body, putter, ball
        player = PlayerFrame(self.options.view, self.options.handedness, image.shape[1])
        place = player.to_player
        return Observation(
            index=frame.index,
            time_s=t,
            body={player.named(n): place(*p) for n, p in body.items()} if body else None,
            head=None
            if head is None
            else HeadObservation(head.turn_deg, head.confidence, place(head.x, head.y, head.confidence)),
            putter=self._putter_seen(putter, player) if putter else None,
            ball=BallObservation(place(ball.x, ball.y, ball.confidence), ball.diameter_px) if ball else None,
            scale=scale,
            frame=player,
            reasons=reasons,
        )

    def close(self) -> None:
        """Frees the pose model."""
        self._body.close()

    def _putter_seen(self, putter: PutterSeenImage, frame: PlayerFrame) -> PutterObservation:
        return PutterObservation(
            frame.to_player(*putter.grip, putter.confidence),
            frame.to_player(*putter.head, putter.confidence),
            -putter.shaft_deg if frame.face_on and frame.mirrored else putter.shaft_deg,
            putter.confidence,
            putter.source,
        )


def _hands(body: BodyImage | None) -> tuple[float, float] | None:
    """Middle of the wrists that are seen (px)."""
    wrists = [p for n in ("left_wrist", "right_wrist") if (p := (body or {}).get(n)) is not None]
    if not wrists:
        return None
    x, y = np.mean([p[:2] for p in wrists], axis=0)
    return float(x), float(y)
