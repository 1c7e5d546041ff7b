"""What is known of the shaft before a frame is looked at: hands, motion and tape say where, and how surely."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.vision.numeric import inverse_2x2
from trainer.vision.putter.shaft_evidence import Stretch
from trainer.vision.putter.shaft_geometry import XY, Ray, tangent_through
from trainer.vision.putter.tape import TapeSeen

Floats = npt.NDArray[np.float64]

HANDS_SIGMA_PX = 1.6  # of the wrists' middle about its usual place beside the shaft (measured on rendered clips)
MIN_TURN_SIGMA_PX = 0.5  # of the shaft's turn since the last frame, over the stretch looked at
TAPE_SIGMA_PX, TAPE_SIGMA_PER_SMEAR = 0.12, 0.03  # of the shaft at the tape's middle
HANDS_SHARE = 0.22  # of the way from wrists to head that hands and grip hide
PAST_HEAD_SHARE = 1.05  # of the same way: to the head's end
MIN_STRETCH_PX = 20.0
STRAY_PX, STRAY_SIGMAS = 8.0, 2.5  # how far beside the expected line is looked
COST_PER_DEVIATION = 0.6  # grey levels of evidence that a squared standard deviation costs in the search


@dataclass(frozen=True, slots=True)
class ExpectedShaft:
    """The shaft as the frames before predict it.

    ray: starts beside the hands; angle_sigma_deg: of its angle; offset_px: where the hands are to the right of the shaft as
    a rule; length_px: wrists to the shaft's end; smear_px: motion blur of the head. left_behind: the hands have moved and it has
    not, so that it may be the edge of what it lay before.
    """

    ray: Ray
    angle_sigma_deg: float
    offset_px: float
    length_px: float
    smear_px: float
    left_behind: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """The part of the shaft that is measured. where: in the whole picture; turn_px: the angle's sigma over it.

    off_deg: by which the predicted direction differs from the ray's.
    """

    where: Stretch
    turn_px: float
    off_deg: float


@dataclass(frozen=True, slots=True)
class ShaftPrior:
    """Of the line's x (px beside the ray) at both ends of a section: information, the inverse covariance (2, 2) px^-2;
    known (2,): that times the expected x."""

    information: Floats
    known: Floats

    def cost(self, starts: Floats, ends: Floats) -> Floats:
        """(n_start, n_end) cost of each pair of candidates for the ends' x, in grey levels of mean evidence."""
        expected = inverse_2x2(self.information) @ self.known
        a, b = (starts - expected[0])[:, None], (ends - expected[1])[None]
        (aa, ab), (ba, bb) = self.information.tolist()
        return np.asarray(COST_PER_DEVIATION * ((a * aa) * a + (a * ab) * b + (b * ba) * a + (b * bb) * b))

    def of_part(self, share: float) -> ShaftPrior:
        """The same for the ends of the section's first ``share``."""
        whole_from_part = np.array([[1.0, 0.0], [1.0 - 1.0 / share, 1.0 / share]])
        return ShaftPrior(whole_from_part.T @ self.information @ whole_from_part, whole_from_part.T @ self.known)


# x at both ends -> turn over the section
TURNING = np.array([-1.0, 1.0])


def expected_section(expected: ExpectedShaft, hands: XY, tape: TapeSeen | None, unit: float) -> Section | None:
    """Where to look; None when it is too short. tape: when seen, the shaft passes its middle; unit: px per standard px."""
    first = HANDS_SHARE * expected.length_px
    if tape is not None:
        ray = tangent_through(hands, (tape.x, tape.y), expected.offset_px)
        last = ray.measure((tape.x, tape.y))[0]
    else:
        ray, last = expected.ray, PAST_HEAD_SHARE * expected.length_px
    if last - first < MIN_STRETCH_PX * unit:
        return None
    turn_px = math.radians(expected.angle_sigma_deg) * (last - first)
    half = int(STRAY_PX * unit + expected.smear_px + (0.0 if tape is not None else STRAY_SIGMAS * turn_px))
    return Section(Stretch(ray, first, last - first, half), turn_px, expected.ray.angle_deg - ray.angle_deg)


def shaft_prior(section: Section, smear_px: float, taped: bool, unit: float) -> ShaftPrior:
    """The wrists keep their place beside the shaft, the shaft turns about as fast as before, and it passes the tape."""
    first, span = section.where.start, section.where.span
    last = first + span
    at_hands = np.array([last / span, -first / span])  # x beside the hands, from x at both ends
    turn_sigma = max(section.turn_px, MIN_TURN_SIGMA_PX * unit)
    information = (
        np.outer(at_hands, at_hands) / (HANDS_SIGMA_PX * unit) ** 2 + np.outer(TURNING, TURNING) / turn_sigma**2
    )
    known = TURNING * (span * math.tan(math.radians(section.off_deg)) / turn_sigma**2)
    if taped:
        tape_sigma = TAPE_SIGMA_PX * unit + TAPE_SIGMA_PER_SMEAR * smear_px
        information = information + np.diag([0.0, 1.0 / tape_sigma**2])
    return ShaftPrior(information, known)
