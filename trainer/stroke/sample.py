"""One observation as the tracker keeps it, and what a single one can tell."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import Mapping

from trainer.domain.player_frame import RIGHT_HANDED, PlayerFrame
from trainer.stroke.signals import DOWN_THE_LINE_SHARE, STANCE_CM


@dataclass(frozen=True, slots=True)
class Sample:
    """columns: see record.signal_names."""

    index: int
    time_s: float
    columns: Mapping[str, float]
    frame: PlayerFrame = RIGHT_HANDED

    def x_px(self, source: str) -> float:
        """Place along the line in px of "putter" or "hands", as far as the view shows it; NaN when not seen."""
        return self.columns[f"{source}_{self.frame.line}_px"]

    @property
    def body(self) -> bool:
        """Whether somebody was seen."""
        return not math.isnan(self.columns["hands_up_px"]) or not math.isnan(self.columns["lead_hip_up_px"])


Rows = deque[Sample]  # in order of time


def hips_along_px(row: Sample) -> float:
    """Middle of the hips along the line; NaN when not seen."""
    return _mean(row.columns, "hip", row.frame.line)


# How far apart the hands are on one grip, in shoulder widths. A hand put far down the shaft is 0.6 below the other.
ASIDE, ALONG_SHAFT = 0.5, 0.9


def rough_scale(columns: Mapping[str, float], view: str) -> float:
    """Rough cm per px along the line, to tell motion from rest: by ball, body, an ordinary stance or a guess."""
    for name in ("ball_cm_per_px", "body_cm_per_px"):
        if not math.isnan(columns[name]):
            return columns[name] * DOWN_THE_LINE_SHARE if view == "down-the-line" else columns[name]
    stance = columns["stance_px"]
    return STANCE_CM / stance if stance > 25 and view == "face-on" else 0.45


def ready_posture(row: Sample, view: str) -> bool:
    """Whether the player could be standing over a ball: hands together and low. True when it cannot be told."""
    c = row.columns
    height = c["hands_up_px"]
    if math.isnan(height):
        return False
    if row.frame.long_putter:
        return True
    hips, shoulders = _mean(c, "hip", "up"), _mean(c, "shoulder", "up")
    if not (math.isnan(hips) or math.isnan(shoulders)) and height > hips + 0.25 * (shoulders - hips):
        return False
    if view != "face-on" or len(row.frame.holding) == 1 or math.isnan(c["lead_wrist_along_px"]):
        return True
    along, up = (2 * abs(c[f"lead_wrist_{axis}_px"] - c[f"hands_{axis}_px"]) for axis in ("along", "up"))
    wide = abs(c["lead_shoulder_along_px"] - c["trail_shoulder_along_px"])
    return math.isnan(wide) or (along < ASIDE * wide and up < ALONG_SHAFT * wide)


def _mean(c: Mapping[str, float], name: str, axis: str) -> float:
    lead, trail = c[f"lead_{name}_{axis}_px"], c[f"trail_{name}_{axis}_px"]
    if math.isnan(lead) or math.isnan(trail):
        return trail if math.isnan(lead) else lead
    return (lead + trail) / 2
