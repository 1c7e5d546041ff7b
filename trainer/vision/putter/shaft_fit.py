"""The shaft from one frame to the next: what is known before, a coarse search, a fine fit, and how far it may be off."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.vision.putter.scene import PutterScene
from trainer.vision.putter.shaft_confidence import (
    HIDDEN_SHAFT_CONFIDENCE,
    HIDDEN_SHAFT_SIGMA_DEG,
    angle_sigma_deg,
    fit_confidence,
    tape_confidence,
)
from trainer.vision.putter.shaft_evidence import ROW_PX, evidence
from trainer.vision.putter.shaft_geometry import XY, Ray
from trainer.vision.putter.shaft_prior import ExpectedShaft, Section, ShaftPrior, expected_section, shaft_prior
from trainer.vision.putter.shaft_refine import refine
from trainer.vision.putter.shaft_search import best_tilt
from trainer.vision.putter.tape import TapeSeen

Floats = npt.NDArray[np.float64]

HEAD_SHARE = 0.96  # of the way from wrists to the shaft's end: up to the head
MIN_SHAFT_ROWS = 4
SEARCH_SMEAR = 0.6  # of the head's smear, which the search allows the shaft
SEARCH_PX = 6  # to each side, at the hands
END_PX, END_SIGMAS = 5.0, 2.0  # to each side, at the head
WINDOW_PX, SMEAR_AT_HANDS, SMEAR_AT_HEAD = 2.5, 0.25, 0.6  # half width of what is fitted


@dataclass(frozen=True, slots=True)
class ShaftFit:
    """ray: starts beside the hands; sigma_deg: of its angle; confidence 0..1."""

    ray: Ray
    sigma_deg: float
    confidence: float


@dataclass(frozen=True, slots=True)
class _Part:
    """What is fitted of a section: evidence of its rows, both ends' x (px) to begin with, their prior; span: length (px)."""

    level: Floats
    x0: float
    x1: float
    prior: ShaftPrior
    span: float


def fit_shaft(
    scene: PutterScene, image: Any, hands: XY, expected: ExpectedShaft, tape: TapeSeen | None
) -> ShaftFit | None:
    """The shaft near where it is expected; None when too little of it shows. tape: when seen, it passes its middle."""
    unit, smear = scene.unit, expected.smear_px
    section = expected_section(expected, hands, tape, unit)
    if section is None:
        return None
    where = section.where
    local = replace(where, ray=scene.local_ray(where.ray))
    level = evidence(scene.part(image), scene.background, local, edges=not expected.left_behind)
    prior = shaft_prior(section, smear, tape is not None, unit)
    starts, ends = _candidates(section, tape is not None, unit)
    x0, x1, clear = best_tilt(level, starts, ends, prior.cost(starts, ends), SEARCH_SMEAR * smear)
    part = _Part(level, x0, x1, prior, where.span)
    if tape is None:
        part = _first_rows(part, int((HEAD_SHARE * expected.length_px - where.start) / ROW_PX))
    window = (WINDOW_PX * unit + SMEAR_AT_HANDS * smear, WINDOW_PX * unit + SMEAR_AT_HEAD * smear)
    fit = refine(part.level, (part.x0, part.x1), window, part.prior)
    if fit is None:
        if tape is None:
            return None
        return ShaftFit(where.ray, HIDDEN_SHAFT_SIGMA_DEG, HIDDEN_SHAFT_CONFIDENCE * tape_confidence(tape))
    line = Ray(*where.ray.place(where.start), where.ray.angle_deg).tilted(fit.x0, fit.x1, part.span)
    s, _ = line.measure(hands)
    head_share = (expected.length_px - where.start) / part.span
    confidence = fit_confidence(fit, head_share, clear, tape, unit)
    return ShaftFit(Ray(*line.place(s), line.angle_deg), angle_sigma_deg(fit, part.span), confidence)


def _candidates(section: Section, taped: bool, unit: float) -> tuple[Floats, Floats]:
    """x (px) to try at the section's first and last row."""
    starts = np.arange(-SEARCH_PX, SEARCH_PX + 1.0) * unit
    if taped:
        return starts, np.array([0.0])
    wide = max(0.0, min(section.where.half - 2.0, END_PX * unit + END_SIGMAS * section.turn_px))
    return starts, np.arange(-round(wide), round(wide) + 1.0)


def _first_rows(part: _Part, rows: int) -> _Part:
    """The part above the head.

    The head helps to tell the shaft from other lines, but need not lie evenly about the shaft.
    """
    rows = max(MIN_SHAFT_ROWS, rows)
    share = rows / part.level.shape[0]
    x1 = part.x0 + share * (part.x1 - part.x0)
    return _Part(part.level[:rows], part.x0, x1, part.prior.of_part(share), part.span * share)
