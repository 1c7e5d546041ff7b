"""What vision hands to the floors above: one ``Observation`` a frame. Pure data, no heavy imports.

Places are in the player's frame (see ``player_frame``): handedness is spent there, and nothing above asks for it. "lead" is
the target side.
Not seen is ``None`` with a reason in ``Observation.reasons``, never zero.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal, Mapping

from trainer.domain.player_frame import RIGHT_HANDED, PlayerFrame, Point
from trainer.domain.player_frame import Handedness as Handedness  # where others look for it
from trainer.domain.player_frame import View as View

PutterSource = Literal["tape", "shaft"]


@dataclass(frozen=True, slots=True)
class Shake:
    """line: what is wrong with how the camera stands and what would help, empty when it stands firm; knocked: in this very
    frame; trembles: of late, told sooner than the line; anew: from this frame on what stands still is elsewhere in it."""

    line: str = ""
    knocked: bool = False
    trembles: bool = False
    anew: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """One picture. time_s: monotonic or clip time; image: (height, width, 3) uint8 BGR; shake: None where nobody looked."""

    index: int
    time_s: float
    image: Any
    shake: Shake | None = None


@dataclass(frozen=True, slots=True)
class HeadObservation:
    """turn_deg: rotation about the head's long axis since the reference (the last still address), + toward the target.

    centre: middle of the head. The reference is re-taken by vision when told the player stands at address.
    """

    turn_deg: float
    confidence: float
    centre: Point


@dataclass(frozen=True, slots=True)
class PutterObservation:
    """grip: where the shaft leaves the hands; head: sole of the putter at the shaft's foot.

    shaft_deg: direction of the shaft from grip to head, from straight down, + = head toward the target of the hands. Down the
    line as the picture shows it.
    """

    grip: Point
    head: Point
    shaft_deg: float
    confidence: float
    source: PutterSource


@dataclass(frozen=True, slots=True)
class BallObservation:
    """centre and diameter of the ball in the picture (px)."""

    centre: Point
    diameter_px: float


@dataclass(frozen=True, slots=True)
class Scale:
    """Centimetres per pixel in the ball's plane and in the body's plane; None = unknown.

    stance_px: distance between the ankles at address, the fall-back. ``source`` says which reference was used.
    """

    ball_cm_per_px: float | None
    body_cm_per_px: float | None
    stance_px: float | None
    source: str


@dataclass(frozen=True, slots=True)
class Observation:
    """All that was seen in one frame. advice: what the user can do so that more is seen, in words; faulty: why what is
    under way is not to be judged (this program failed in this frame, the picture is another, the camera was moved), else empty.
    """

    index: int
    time_s: float
    body: Mapping[str, Point] | None = None
    head: HeadObservation | None = None
    putter: PutterObservation | None = None
    ball: BallObservation | None = None
    scale: Scale | None = None
    frame: PlayerFrame = RIGHT_HANDED
    reasons: Mapping[str, str] = field(default_factory=dict)
    advice: tuple[str, ...] = ()
    faulty: str = ""

    @property
    def view(self) -> View:
        """From where it was seen."""
        return self.frame.view
