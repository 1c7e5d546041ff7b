"""One stroke as a small picture: the putter's way and the head's turn in time, and the body at the finish in lines."""

from __future__ import annotations

import numpy as np

from trainer.domain.record import Floats, StrokeRecord
from trainer.report.charts import Picture
from trainer.report.svg import Chart, circle, element, polyline
from trainer.stroke.signals import places_in_view

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

FIGURE = (137.0, 166.0)  # of the drawing
FIGURE_LINE, FIGURE_MARGIN = 2.2, 0.06


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
    chart = Chart(3.7, 2.3)
    way = (putter - putter[np.isfinite(putter)][0]) * (scale or 1.0)
    zero = impact if impact is not None else takeaway
    if settle is not None and look is not None and look > settle:
        ends = [(settle - zero, float(f(way))) for f in (np.nanmin, np.nanmax)]
        chart.area(ends, [(look - zero, y) for _, y in ends])
    chart.line(zip(t, way, strict=True), "line")
    chart.y.label = "putter, cm" if scale else "putter, px"
    chart.x.label = "s after the ball" if impact is not None else "s"
    for when, name in ((settle, "rest"), (look, "look")):
        if when is not None:
            chart.upright(when - zero, "soft", name)
    if np.isfinite(turn).any():
        first = turn[: max(3, t.size // 6)]
        rest = float(np.nanmedian(first)) if np.isfinite(first).any() else 0.0
        chart.line(zip(t, turn - rest, strict=True), "good", 1.4, "4 2", right=True)
        chart.right.label = "head turn, deg (dashed)"
    return Picture(chart.svg(key, words), words)


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
    head, radius = points.get("head"), 0.0
    if head is not None and "lead_shoulder" in points and "trail_shoulder" in points:
        radius = max(4.0, 0.32 * abs(points["lead_shoulder"][0] - points["trail_shoulder"][0]))
    corners = np.array([at for line in lines for at in line])
    if head is not None and radius:
        corners = np.concatenate([corners, np.array([head]) - radius, np.array([head]) + radius])
    low, high = corners.min(axis=0), corners.max(axis=0)
    scale = float(((1 - 2 * FIGURE_MARGIN) * np.array(FIGURE) / np.maximum(high - low, 1e-6)).min())

    def place(at: tuple[float, float]) -> tuple[float, float]:
        x, y = (np.array(at) - (low + high) / 2) * scale
        return FIGURE[0] / 2 + float(x), FIGURE[1] / 2 - float(y)

    parts = [polyline(map(place, line), "ink", FIGURE_LINE) for line in lines]
    if head is not None and radius:
        parts.append(circle(place(head), radius * scale, "ink", FIGURE_LINE))
    return Picture(element(FIGURE, key, words, "".join(parts)), words)


def _column(record: StrokeRecord, name: str) -> Floats:
    found = record.signals.columns.get(name)
    return found if found is not None else np.full(len(record.signals.time_s), np.nan)


def _finite_median(values: Floats) -> float | None:
    seen = values[np.isfinite(values)]
    return float(np.median(seen)) if seen.size else None
