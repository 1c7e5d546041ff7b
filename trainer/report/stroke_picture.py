"""One stroke as a small picture: the putter's way and the head's turn in time, and the body at the finish in lines."""

from __future__ import annotations

from typing import Any

import numpy as np

from trainer.domain.record import Floats, StrokeRecord
from trainer.report.charts import Picture
from trainer.report.svg import BAND, GOOD, INK, LINE, SOFT, Drawing, numbers
from trainer.stroke.signals import places_in_view
from trainer.texts import shown, tr

BONES = (
    ("lead_shoulder", "trail_shoulder"),
    ("lead_hip", "trail_hip"),
    ("lead_shoulder", "lead_hip"),
    ("trail_shoulder", "trail_hip"),
    ("lead_hip", "lead_knee"),
    ("lead_knee", "lead_ankle"),
    ("trail_hip", "trail_knee"),
    ("trail_knee", "trail_ankle"),
    ("lead_shoulder", "lead_elbow"),
    ("lead_elbow", "lead_wrist"),
    ("lead_wrist", "putter"),
)


def traces(record: StrokeRecord, key: str, words: str) -> Picture | None:
    """Putter head along the line and head turn, from a second before takeaway to the look, impact and rest marked."""
    takeaway, settle, look = record.events.takeaway_s, record.events.settle_s, record.events.look_s
    impact = record.events.impact_s
    if takeaway is None:
        return None
    signals = record.signals
    end = (look if look is not None else settle if settle is not None else takeaway + 2.0) + 0.4
    use = (signals.time_s >= takeaway - 0.4) & (signals.time_s <= end)
    t = signals.time_s[use] - (impact if impact is not None else takeaway)
    putter, turn = _column(record, "putter_along_px")[use], _column(record, "head_turn_deg")[use]
    scale = _finite_median(_column(record, "ball_cm_per_px"))
    if not np.isfinite(putter).any() or t.size < 5:
        return None
    drawing = Drawing(3.7, 2.3)
    ax = drawing.axes
    start = putter[np.isfinite(putter)][0]
    ax.plot(t, (putter - start) * (scale or 1.0), color=LINE, linewidth=1.8)
    ax.set_ylabel(shown(tr("putter, cm") if scale else tr("putter, px")))
    ax.set_xlabel(shown(tr("s after the ball")) if impact is not None else "s")
    zero = impact if impact is not None else takeaway
    if settle is not None and look is not None and hold_is_shaded(record):
        ax.axvspan(settle - zero, look - zero, color=BAND, linewidth=0)
    for when, name, side in _marks(settle, look):
        ax.axvline(when - zero, color=SOFT, linewidth=0.8)
        at: Any = {"xycoords": ("data", "axes fraction"), "ha": side, "va": "bottom"}
        ax.annotate(shown(name), (when - zero, 1), fontsize=8, color=SOFT, **at)
    if np.isfinite(turn).any():
        other = ax.twinx()
        other.yaxis.set_major_formatter(numbers())
        other.spines["right"].set_visible(False)
        first = turn[: max(3, t.size // 6)]
        rest = float(np.nanmedian(first)) if np.isfinite(first).any() else 0.0
        other.plot(t, turn - rest, color=GOOD, linewidth=1.4, linestyle=(0, (3, 1.5)))
        other.set_ylabel(shown(tr("head turn, deg (dashed)")))
    return Picture(drawing.svg(key, words), words)


def hold_is_shaded(record: StrokeRecord) -> bool:
    """Whether ``traces`` has a hold to shade: the look came after the rest."""
    settle, look = record.events.settle_s, record.events.look_s
    return settle is not None and look is not None and look > settle


def _marks(settle_s: float | None, look_s: float | None) -> list[tuple[float, str, str]]:
    """(when, its word, the side of the word that stands at it): the earlier word ends there and the later one begins, so that
    two instants close together keep both words readable."""
    found = [(when, name) for when, name in ((settle_s, tr("rest")), (look_s, tr("look"))) if when is not None]
    found.sort(key=lambda mark: mark[0])
    sides = ("right", "left") if len(found) == 2 else ("center",)
    return [(when, name, side) for (when, name), side in zip(found, sides, strict=True)]


def figure_at_finish(record: StrokeRecord, key: str, words: str) -> Picture | None:
    """The player in lines at the finish, seen as the camera saw it, target side as it was."""
    when = record.events.finish_s or record.events.impact_s
    if when is None:
        return None
    near = np.abs(record.signals.time_s - when) <= 0.1
    points: dict[str, tuple[float, float]] = {}
    for name in {joint for bone in BONES for joint in bone} | {"head", "ball"}:
        aside, up = (column[near] for column in places_in_view(record.signals, name))
        if np.isfinite(aside).any() and np.isfinite(up).any():
            points[name] = (float(np.nanmedian(aside)), float(np.nanmedian(up)))
    lines = [(points[a], points[b]) for a, b in BONES if a in points and b in points]
    if len(lines) < 4:
        return None
    drawing = Drawing(1.9, 2.3)
    ax = drawing.axes
    for (x1, y1), (x2, y2) in lines:
        ax.plot([x1, x2], [y1, y2], color=INK, linewidth=2.2)
    if "head" in points and "lead_shoulder" in points and "trail_shoulder" in points:
        wide = abs(points["lead_shoulder"][0] - points["trail_shoulder"][0])
        from matplotlib.patches import Circle

        ax.add_patch(Circle(points["head"], max(4.0, 0.32 * wide), fill=False, color=INK, linewidth=2.2))
    ax.set_aspect("equal")
    ax.margins(0.12)
    ax.set_axis_off()
    return Picture(drawing.svg(key, words), words)


def _column(record: StrokeRecord, name: str) -> Floats:
    found = record.signals.columns.get(name)
    return found if found is not None else np.full(len(record.signals.time_s), np.nan)


def _finite_median(values: Floats) -> float | None:
    seen = values[np.isfinite(values)]
    return float(np.median(seen)) if seen.size else None
