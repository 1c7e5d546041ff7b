"""How far a fitted shaft may be off, and the confidence that follows."""

from __future__ import annotations

import math

import numpy as np

from trainer.vision.putter.shaft_prior import TURNING
from trainer.vision.putter.shaft_refine import LineFit
from trainer.vision.putter.tape import TapeSeen

MIN_CONFIDENCE, MAX_CONFIDENCE = 0.05, 0.98
HEAD_SIGMA_PX = 5.0  # of the head across the shaft, at which nothing is left of the confidence
WHOLE_TAPE_SHARE = 0.6  # of the tape's known area, from which on it is as good as all of it
FULL_SHARE = 0.3  # of the section's rows, from which on more do not help
CLEAR_START = 0.3  # confidence in a line that leads the next best one by nothing
HIDDEN_SHAFT_CONFIDENCE, HIDDEN_SHAFT_SIGMA_DEG = 0.7, 1.0  # the tape is seen, the shaft above it is not


def angle_sigma_deg(fit: LineFit, span_px: float) -> float:
    """Standard deviation of the angle. span_px: length over which the fit's ends are apart."""
    return math.degrees(math.sqrt(float(TURNING @ fit.covariance @ TURNING)) / span_px)


def fit_confidence(fit: LineFit, head_share: float, clear: float, tape: TapeSeen | None, unit: float) -> float:
    """0..1. head_share: where the head is, in lengths of the fit from its beginning; clear: lead over the next line."""
    at_head = np.array([1.0 - head_share, head_share])
    sigma_px = math.sqrt(float(at_head @ fit.covariance @ at_head))
    confidence = max(MIN_CONFIDENCE, 1.0 - sigma_px / (HEAD_SIGMA_PX * unit))
    if tape is not None:
        confidence *= tape_confidence(tape)
    else:
        confidence *= min(1.0, fit.share / FULL_SHARE, CLEAR_START + clear)
    return min(MAX_CONFIDENCE, confidence)


def tape_confidence(tape: TapeSeen) -> float:
    """0..1 by the share of the tape that shows."""
    return min(1.0, tape.share / WHOLE_TAPE_SHARE)
