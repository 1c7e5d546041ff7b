"""One frame in, one observation out: body, head turn, putter, ball and scale put together in the player's frame.

Handedness and view are spent here: the floors above get places in the player's frame (see ``domain.player_frame``). Lengths
and angles seen down the line are not true ones, and the floors above do not use them for that view.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, Mapping

import cv2
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
from trainer.domain.player_frame import Grip, PlayerFrame
from trainer.texts import tr
from trainer.vision.ball.finder import BallFinder, BallSeenImage
from trainer.vision.body.cadence import BodyCadence
from trainer.vision.body.points import MIN_VISIBILITY
from trainer.vision.body.pose import BodyTracker
from trainer.vision.camera_geometry.scale import ScaleEstimator
from trainer.vision.camera_shake import KNOCKED, ShakeWatch
from trainer.vision.focus import Focus, is_soft
from trainer.vision.head.tracker import HeadTracker
from trainer.vision.light import Light, LightWatch, burnt_out, calmed
from trainer.vision.picture_edges import PictureEdges
from trainer.vision.putter.tracker import PutterSeenImage, PutterTracker
from trainer.vision.repeated import RepeatedPictures, repeated
from trainer.vision.steady_light import SteadyLight

Array = npt.NDArray[Any]
BodyImage = Mapping[str, Array]

BURNT_CONFIDENCE, BLURRED_CONFIDENCE = 0.2, 0.1
# Share by which a ball's diameter spreads from picture to picture: 0.006 to 0.036 on 55 rendered strokes; on two of three others
# it was 11 % wrong, half in a shadow's edge and on a printed line.
UNSTEADY = 0.045


@dataclass(frozen=True, slots=True)
class ObserverOptions:
    """What the observer must be told about player and camera."""

    handedness: Handedness = "right"
    view: View = "face-on"
    height_cm: float | None = None
    putter: Literal["auto", "shaft"] = "auto"
    tape_colour: str = "auto"
    grip: Grip = "trail hand low"
    long_putter: bool = False


class Observer:
    """``see`` every frame in order of time. Not safe for two threads at once."""

    def __init__(self, body: BodyTracker, options: ObserverOptions | None = None, aside: bool = False) -> None:
        """aside: as in ``BodyCadence``."""
        self.options = options or ObserverOptions()
        self._body = body
        self._cadence = BodyCadence(body, aside)
        self._size: tuple[int, int] | None = None
        self._begin()

    def _begin(self) -> None:
        """Knows nothing yet of player, putter and ball."""
        o = self.options
        self._head = HeadTracker(mirrored=o.handedness == "left")
        self._putter = PutterTracker("off" if o.putter == "shaft" else "auto", o.tape_colour)
        toward = 0 if o.view != "face-on" else -1 if o.handedness == "left" else 1
        self._ball = BallFinder(toward)
        self._ruler = ScaleEstimator(o.height_cm, down_the_line=o.view == "down-the-line")
        self._edges = PictureEdges()
        self._light = LightWatch()
        self._steady = SteadyLight()
        self._spread: Array | None = None  # the table by which grey levels are spread
        self._focus = Focus(half_hidden=o.view == "down-the-line")
        self._shake = ShakeWatch()
        self._repeated = RepeatedPictures()
        self._putter_head: tuple[float, float] | None = None

    @property
    def body(self) -> BodyTracker:
        """The body tracker itself; once no more frames come it may be used for other pictures."""
        self._cadence.settle()
        return self._body

    def find_body(self, frame: Frame) -> BodyImage | None:
        """The slow half, needing nothing but the frames so far: may run ahead in another thread."""
        return self._cadence.find(frame)

    def see(self, frame: Frame) -> Observation:
        """Body, then all the rest."""
        return self.look(frame, self.find_body(frame))

    def look(self, frame: Frame, found: BodyImage | None) -> Observation:
        """All but the body, which was ``found`` in this very frame (None: nobody)."""
        image, t = frame.image, frame.time_s
        size = (image.shape[1], image.shape[0])
        before, self._size = self._size, size
        o = self.options
        player = PlayerFrame(o.view, o.handedness, size[0], o.grip, o.long_putter)
        if before is not None and before != size:
            self._begin()
            return _other_size(frame, player, before, size)
        if self._repeated.see(image, t):
            return repeated(frame, player)
        body = {n: p for n, p in found.items() if p[2] >= MIN_VISIBILITY} if found is not None else None
        tuples = {n: (float(p[0]), float(p[1]), float(p[2])) for n, p in body.items()} if body else None
        edges = self._edges
        edges.begin(size)
        whole = edges.body(tuples) if tuples else None
        hands = _hands(whole, player)
        light = self._light.see(image, t, tuples)
        shake = frame.shake if frame.shake is not None else self._shake.see(image, t)
        if light.table is not self._spread:
            self._spread, self._steady = light.table, SteadyLight()
            self._putter.relit()
        if light.table is not None:
            image = cv2.LUT(image, light.table)
        image = self._steady.steadied(image, t)
        if self._steady.relit:
            self._putter.relit()
        if light.noisy:
            image = calmed(image)
        if shake.anew:
            self._putter.moved()
        head = edges.head(self._head.update(image, t, body)) if self.options.view == "face-on" else None
        if light.head_flat and head is not None:
            head, edges.reasons["head"] = None, "nothing to be made out in the face: too dark or too bright"
        ball = edges.ball(self._ball.update(image, t, hands, tuples, self._putter_head))
        if self._focus.see(ball, t):
            self._putter.relit()
        blurred = self._focus.blurred and not light.noisy
        putter = edges.putter(self._putter.update(image, t, hands, tuples, ball, blurred))
        diameter = self._focus.in_focus_px(self._ball.diameter_px)
        scale = self._ruler.update(diameter if "ball" not in edges.reasons else None, whole)
        self._putter_head = putter.head if putter is not None else None
        place = player.to_player
        soft_line = "" if light.noisy else self._focus.line  # a calmed picture is softer than the camera's
        return Observation(
            index=frame.index,
            time_s=t,
            body={player.named(n): place(x, y, light.trust * sure) for n, (x, y, sure) in whole.items()}
            if whole
            else None,
            head=None
            if head is None
            else HeadObservation(head.turn_deg, head.confidence * light.trust, place(head.x, head.y, head.confidence)),
            putter=self._putter_seen(putter, player, light.trust) if putter else None,
            ball=BallObservation(place(ball.x, ball.y, _ball_confidence(frame.image, ball, light)), ball.diameter_px)
            if ball
            else None,
            scale=scale,
            frame=player,
            reasons=self._reasons({"body": whole, "head": head, "ball": ball, "putter": putter}),
            advice=tuple(line for line in (*edges.advice, light.line, shake.line, soft_line) if line),
            faulty=KNOCKED if shake.knocked else "",
        )

    def _reasons(self, seen: Mapping[str, Any]) -> dict[str, str]:
        """Why each of what is None was not seen."""
        turn = self._head.reason if self.options.view == "face-on" else "head turn is measured face-on only"
        own = {
            "body": "nobody in the picture",
            "head": turn,
            "ball": self._ball.reason,
            "putter": self._putter.reason,
            **self._edges.reasons,
        }
        return {name: own[name] for name, found in seen.items() if not found}

    def close(self) -> None:
        """Frees the pose model."""
        self._cadence.close()
        self._body.close()

    def _putter_seen(self, putter: PutterSeenImage, frame: PlayerFrame, trust: float) -> PutterObservation:
        sure = trust * putter.confidence
        return PutterObservation(
            frame.to_player(*putter.grip, sure),
            frame.to_player(*putter.head, sure),
            -putter.shaft_deg if frame.face_on and frame.mirrored else putter.shaft_deg,
            sure,
            putter.source,
        )


def _ball_confidence(image: Any, ball: BallSeenImage, light: Light) -> float:
    """Of its size too: burnt out or blurred it looks too large, on ground that is burnt out too small; it must not change."""
    if not ball.at_rest:
        return ball.confidence
    if is_soft(ball):
        return min(ball.confidence, BLURRED_CONFIDENCE)
    doubtful = ball.spread > UNSTEADY or light.bright or burnt_out(image, ball.x, ball.y, ball.diameter_px)
    return min(ball.confidence, BURNT_CONFIDENCE) if doubtful else ball.confidence


def _other_size(frame: Frame, player: PlayerFrame, before: tuple[int, int], size: tuple[int, int]) -> Observation:
    """The first frame of another size: places in it are not those of before, so nothing is followed on."""
    words = tr("the picture changes its size from {before} to {now}: what was under way is not judged")
    line = words.format(before="{}x{}".format(*before), now="{}x{}".format(*size))
    reasons = dict.fromkeys(("body", "head", "ball", "putter"), "the picture changes its size")
    faulty = tr("the picture changed its size")
    return Observation(frame.index, frame.time_s, frame=player, reasons=reasons, advice=(line,), faulty=faulty)


def _hands(body: Mapping[str, Any] | None, player: PlayerFrame) -> tuple[float, float] | None:
    """Middle of the wrists that are seen and hold the putter (px)."""
    holding = [f"{side}_wrist" for side in player.holding]
    wrists = [p for n, p in (body or {}).items() if n.endswith("_wrist") and player.named(n) in holding]
    if not wrists:
        return None
    count = len(wrists)
    return float(sum(p[0] for p in wrists) / count), float(sum(p[1] for p in wrists) / count)
