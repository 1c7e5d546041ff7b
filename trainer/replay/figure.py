"""Frames where no video was kept: the stored points drawn as a plain figure."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from trainer.domain.observation import Handedness
from trainer.domain.player_frame import PlayerFrame
from trainer.domain.record import Floats, Signals, StrokeRecord
from trainer.replay.frames import Still, checked, nearest
from trainer.stroke.signals import places_in_view
from trainer.texts import tr

MARGIN_SHARE = 0.12  # room about the figure, beside its larger side
SMALLEST_PX = 240
GROUND = (46, 42, 38)  # BGR
BODY = (235, 238, 240)
ARM = (233, 180, 86)  # the lead forearm: Okabe and Ito's sky blue
SHAFT = (0, 159, 230)  # their orange
BALL = (66, 228, 240)  # their yellow
JOINTS = (
    ("lead_shoulder", "trail_shoulder"),
    ("lead_shoulder", "lead_hip"),
    ("trail_shoulder", "trail_hip"),
    ("lead_shoulder", "lead_elbow"),
    ("lead_hip", "trail_hip"),
    ("lead_hip", "lead_knee"),
    ("trail_hip", "trail_knee"),
    ("lead_knee", "lead_ankle"),
    ("trail_knee", "trail_ankle"),
)
FOREARM = ("lead_elbow", "lead_wrist")
PUTTER = ("grip", "putter")
FIGURE_HEAD = 0.32  # radius of the figure's own head beside the shoulders' width, for drawing only
CV_SHIFT = 4  # cv2 takes places in sixteenths of a pixel


def picture_frame(signals: Signals, handedness: Handedness, width_px: float) -> PlayerFrame:
    """The way from a record's places to a picture of that width. Old records do not say whose they are."""
    return PlayerFrame("face-on", handedness, width_px) if signals.frame.face_on else signals.frame


def places(record: StrokeRecord, name: str, handedness: Handedness, width: float = 0.0) -> Floats:
    """(n, 2) x, y in the picture of a tracked point, such as "hands" or "lead_ankle"; NaN where it was not seen.

    width: of the picture (px), needed for a left-hander's, whose along runs from its right edge.
    """
    aside, up = places_in_view(record.signals, name)
    return np.column_stack([picture_frame(record.signals, handedness, width).sideways(aside), -up])


class FigureFrames:
    """One figure for each stored instant of the stroke."""

    drawn = True

    def __init__(self, record: StrokeRecord, handedness: Handedness = "right") -> None:
        self.times_s: Floats = np.asarray(record.signals.time_s, dtype=np.float64)
        if not len(self.times_s):
            raise ValueError(tr("the stroke has no points"))
        names = dict.fromkeys(name for pair in (*JOINTS, FOREARM, PUTTER) for name in pair)
        # For a left-hander against width 0 all x are negative; the offset brings them back into the picture.
        self._points = {name: places(record, name, handedness) for name in (*names, "head", "hands", "ball")}
        # A ball that rolls out of the figure's room is let go.
        every = np.concatenate([points for name, points in self._points.items() if name != "ball"])
        seen = every[np.isfinite(every).all(axis=1)]
        low, high = (seen.min(axis=0), seen.max(axis=0)) if len(seen) else (np.zeros(2), np.full(2, SMALLEST_PX))
        margin = max(MARGIN_SHARE * float((high - low).max()), 20.0)
        width, height = (max(SMALLEST_PX, math.ceil(side + 2 * margin)) for side in high - low)
        self.size: tuple[int, int] = (width + width % 2, height + height % 2)
        x, y = (margin - float(edge) for edge in low)
        self.offset_px: tuple[float, float] = (x, y)
        self._points = {name: points + np.array((x, y)) for name, points in self._points.items()}
        shoulders = self._points["lead_shoulder"] - self._points["trail_shoulder"]
        wide = np.hypot(shoulders[:, 0], shoulders[:, 1])
        self._head_px = FIGURE_HEAD * float(np.nanmedian(wide)) if np.isfinite(wide).any() else 20.0
        across = record.signals.columns.get("ball_diameter_px")
        seen_across = across is not None and np.isfinite(across).any()
        self._ball_px = max(3.0, float(np.nanmedian(across)) / 2.0) if seen_across and across is not None else 4.0

    def soon(self, index: int) -> Still:
        return Still(self.frame(index), index)

    def frame(self, index: int) -> Any:
        import cv2

        checked(index, len(self.times_s))
        width, height = self.size
        image = np.full((height, width, 3), GROUND, dtype=np.uint8)
        thick = max(2, round(height / 200))
        for pair in JOINTS:
            self._line(image, index, pair, BODY, thick)
        self._line(
            image, index, ("lead_elbow", "hands") if self._lost(index, "lead_wrist") else FOREARM, ARM, thick * 2
        )
        self._line(image, index, ("hands", "grip"), BODY, thick)
        self._line(image, index, ("hands", "putter") if self._lost(index, "grip") else PUTTER, SHAFT, thick * 2)
        for name, radius, colour, width_px in (
            ("head", self._head_px, BODY, thick),
            ("ball", self._ball_px, BALL, -1),
            ("putter", thick * 2.5, SHAFT, -1),
        ):
            if not self._lost(index, name):
                centre = self._fixed(index, name)
                cv2.circle(image, centre, round(radius * 2**CV_SHIFT), colour, width_px, cv2.LINE_AA, CV_SHIFT)
        return image

    def nearest(self, time_s: float) -> int:
        return nearest(self.times_s, time_s)

    def close(self) -> None:
        return

    def _lost(self, index: int, name: str) -> bool:
        return not bool(np.isfinite(self._points[name][index]).all())

    def _fixed(self, index: int, name: str) -> tuple[int, int]:
        x, y = self._points[name][index]
        return round(float(x) * 2**CV_SHIFT), round(float(y) * 2**CV_SHIFT)

    def _line(self, image: Any, index: int, pair: tuple[str, str], colour: tuple[int, int, int], width: int) -> None:
        import cv2

        if not any(self._lost(index, name) for name in pair):
            a, b = (self._fixed(index, name) for name in pair)
            cv2.line(image, a, b, colour, width, cv2.LINE_AA, CV_SHIFT)
