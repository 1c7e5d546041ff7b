"""One sighting as the tracker keeps it, and what a single one can tell."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Mapping

from trainer.stroke.signals import STANCE_CM


@dataclass(frozen=True, slots=True)
class Row:
    """columns: see record.SIGNAL_NAMES; scale: rough cm per px, to tell motion from rest only."""

    index: int
    time_s: float
    columns: Mapping[str, float]
    scale: float

    def x(self, source: str) -> float:
        """Place along the line in rough cm of "putter" or "hands"; NaN when not seen."""
        return self.columns[f"{source}_along_px"] * self.scale

    @property
    def body(self) -> bool:
        """Whether somebody was seen."""
        return not math.isnan(self.columns["hands_along_px"]) or not math.isnan(self.columns["lead_hip_along_px"])


def rough_scale(columns: Mapping[str, float], last: float | None) -> float:
    """Rough cm per px, held on between rows so that a flickering ruler moves nothing."""
    for name in ("ball_cm_per_px", "body_cm_per_px"):
        if not math.isnan(columns[name]):
            now = columns[name]
            break
    else:
        stance = columns["stance_px"]
        now = STANCE_CM / stance if stance > 5 else (last or 0.45)
    return now if last is None or abs(now / last - 1) > 0.1 else last


def ready_posture(row: Row, view: str) -> bool:
    """Whether the player could be standing over a ball: hands together and low. True when it cannot be told."""
    c = row.columns
    if math.isnan(c["hands_up_px"]):
        return False
    hips, shoulders = _mean(c, "hip", "up"), _mean(c, "shoulder", "up")
    if not (math.isnan(hips) or math.isnan(shoulders)) and c["hands_up_px"] > hips + 0.25 * (shoulders - hips):
        return False
    if view != "face-on" or math.isnan(c["lead_wrist_along_px"]):
        return True
    apart = 2 * math.hypot(
        c["lead_wrist_along_px"] - c["hands_along_px"], c["lead_wrist_up_px"] - c["hands_up_px"]
    )
    wide = abs(c["lead_shoulder_along_px"] - c["trail_shoulder_along_px"])
    return math.isnan(wide) or apart < 0.5 * wide


def _mean(c: Mapping[str, float], name: str, axis: str) -> float:
    values = [c[f"{s}_{name}_{axis}_px"] for s in ("lead", "trail")]
    seen = [v for v in values if not math.isnan(v)]
    return sum(seen) / len(seen) if seen else math.nan
