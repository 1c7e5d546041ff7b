"""Two scale references, the ball's diameter and the player's height, and what to do when they disagree."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Callable, Literal, Mapping

from trainer.coaching.posture.address import AddressSeen
from trainer.coaching.posture.body_model import BALL_CM, USUAL_HEIGHT_CM
from trainer.domain.perspective import sphere_distance_cm
from trainer.texts import tr

AGREE_SHARE = 0.05
GROWN_CM = (140.0, 205.0)  # a height that a player may have; outside it the ball was measured wrongly
BALL_SPREAD_SHARE, USUAL_SPREAD_SHARE = 0.08, 0.06  # of the height told by a half-hidden ball, and of grown people (D)
BALL_AHEAD_CM = 3.0  # of the middle of the stance along the line: 0 to 2 ball widths (common practice, no source)

# By how much the ball's size disagrees: (down the line, it is smaller) -> what to say.
_DISAGREE = {
    (True, True): tr(
        "the ball looks {share:.0%} too small for the player's height; not trusted, the putter hides part of it"
    ),
    (True, False): tr(
        "the ball looks {share:.0%} too large for the player's height; not trusted: is the height right?"
    ),
    (False, True): tr(
        "by the ball the player is {share:.0%} taller than the height given; the ball is trusted, "
        "the height is not: is it right?"
    ),
    (False, False): tr(
        "by the ball the player is {share:.0%} shorter than the height given; the ball is trusted, "
        "the height is not: is it right?"
    ),
}

Source = Literal["height", "ball", "ball and usual height", "usual height"]
BY_WORDS: Mapping[Source, str] = {
    "height": tr("by the player's height"),
    "ball": tr("by the ball"),
    "ball and usual height": tr("by the ball and a usual height"),
    "usual height": tr("by a usual height"),
}


@dataclass(frozen=True, slots=True)
class ScaleReference:
    """The scale reference used and how the other one compares.

    height_cm: the player's, known or estimated; distance_cm: of the middle of the body along the camera's target line
    (down-the-line) or of the ball along the camera's axis (face-on); ball_to_height: the height that the ball's size implies
    over the height told or taken, None with only one scale reference; note: in words, empty when all is well.
    """

    source: Source
    height_cm: float
    distance_cm: float
    ball_to_height: float | None = None
    note: str = ""

    @property
    def agree(self) -> bool | None:
        """Whether ball and height agree within AGREE_SHARE; None with only one of them."""
        return None if self.ball_to_height is None else abs(self.ball_to_height - 1) <= AGREE_SHARE

    @property
    def confidence(self) -> float:
        """How far its lengths can be trusted, 0..1."""
        return {"height": 1.0, "ball": 0.95, "ball and usual height": 0.75, "usual height": 0.65}[self.source]


def height_for(seen: AddressSeen, distance_for: Callable[[float], float]) -> ScaleReference:
    """The scale reference down the line. distance_for(height_cm): how far away a player of that height is."""
    implied = None
    if seen.ball is not None:
        along = float(seen.camera.ray(seen.ball.x, seen.ball.y) @ seen.camera.axes[0])
        depth = sphere_distance_cm(seen.camera, seen.ball.x, seen.ball.y, seen.ball.diameter_px, BALL_CM)
        implied = USUAL_HEIGHT_CM * (along * depth - BALL_AHEAD_CM) / distance_for(USUAL_HEIGHT_CM)
    if seen.height_cm is not None:
        ratio = None if implied is None else implied / seen.height_cm
        return ScaleReference("height", seen.height_cm, distance_for(seen.height_cm), ratio, disagreement(ratio, True))
    if implied is not None and GROWN_CM[0] <= implied <= GROWN_CM[1]:
        own, usual = 1 / BALL_SPREAD_SHARE**2, 1 / USUAL_SPREAD_SHARE**2
        height = (own * implied + usual * USUAL_HEIGHT_CM) / (own + usual)
        return ScaleReference("ball and usual height", height, distance_for(height), None, "")
    note = tr("player's height unknown: 170 cm taken")
    if implied is not None:
        note += tr("; the ball's size is not trusted, the putter hides part of it")
    return ScaleReference("usual height", USUAL_HEIGHT_CM, distance_for(USUAL_HEIGHT_CM), None, note)


def disagreement(ball_to_height: float | None, down_the_line: bool) -> str:
    """What to say of two scale references: nothing when they agree, else which one is not trusted and why."""
    if ball_to_height is None or abs(ball_to_height - 1) <= AGREE_SHARE:
        return ""
    return _DISAGREE[down_the_line, ball_to_height > 1].format(share=abs(ball_to_height - 1))
