"""What the wrists do: the angle between lead arm and shaft against that at address, after impact and in the backstroke."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from trainer.domain.record import Floats, Measure
from trainer.stroke.angles import hinge_deg
from trainer.stroke.filters import smooth

if TYPE_CHECKING:
    from trainer.stroke.stretch import Stretch

Mask = npt.NDArray[np.bool_]

HINGE_HZ = 5.0
# The filter rounds the corner where hands and putter come to rest: the angle is read until a little after, when it stands still.
HINGE_AFTER_S = 0.08


def hinge_change(s: Stretch) -> Floats:
    """Change of the arm-shaft angle since address at each sample (deg), zero-lag filtered."""
    return s.change(smooth(s.t, hinge_deg(s.signals, s.address), HINGE_HZ))


def after_impact(s: Stretch) -> Measure:
    """Its largest change from impact to settle: + with the putter head past the hands."""
    e = s.events
    if e.impact_s is None:
        return Measure(None, "deg", 0.0, "impact not seen")
    end = e.settle_s if e.settle_s is not None else min(e.impact_s + 1.0, float(s.t[-1]))
    return _largest(s, s.between(e.impact_s, end + HINGE_AFTER_S), "from impact to settle")


def in_the_backstroke(s: Stretch) -> Measure:
    """The same from takeaway to top: - as the hands lead and the putter head lags, or is picked up.

    Perspective and the arms' own turning give -4 to -9 in a stroke with quiet wrists (rendered, 23 to 55 cm back); measured
    0.3 deg higher than it is, +- 1.0.
    """
    e = s.events
    if e.takeaway_s is None or e.top_s is None:
        return Measure(None, "deg", 0.0, "takeaway or top not seen")
    return _largest(s, s.between(e.takeaway_s, e.top_s), "from takeaway to top")


def _largest(s: Stretch, use: Mask, when: str) -> Measure:
    if not s.face_on:
        return Measure(None, "deg", 0.0, "the arm-shaft angle is measured face-on only")
    if not s.by_putter:
        return Measure(None, "deg", 0.0, "putter not seen")
    change = hinge_change(s)[use]
    seen = change[np.isfinite(change)]
    if seen.size < 3:
        return Measure(None, "deg", 0.0, f"arm or shaft not seen {when}")
    arm = min(s.mean_conf("forearm_conf", use), s.mean_conf("forearm_conf", s.address))
    conf = min(arm, s.mean_conf("putter_conf", use))
    return Measure(float(seen[np.argmax(np.abs(seen))]), "deg", conf)
