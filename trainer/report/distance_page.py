"""The distance chart as one printable page: a table, a strip of the ground to scale."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from trainer.coaching.distance.chart import (
    HALF_FOOT_CM,
    Cell,
    Chart,
    band,
    mark_behind_ball_cm,
    short_mark,
    slope_words,
)
from trainer.coaching.posture.body_model import BALL_RADIUS_CM
from trainer.domain import units
from trainer.domain.naming import NAMELESS
from trainer.domain.units import from_m
from trainer.report.html import rendered
from trainer.texts import shown, tr, tr_count

# The strip of the ground, in units of its picture.
WIDE, HIGH = 1000.0, 130
NAMES_APART = 26  # names that would overlap are left out


@dataclass(frozen=True, slots=True)
class CellWords:
    """length: how far back, "" where nothing is said; mark: the same on the ground; level: on no slope."""

    length: str
    flags: str
    band: str
    mark: str
    level: bool


@dataclass(frozen=True, slots=True)
class RowWords:
    """Of one distance. stop: where nine of ten level putts stop."""

    distance: str
    cells: tuple[CellWords, ...]
    stop: str


def distance_page(chart: Chart, player: str, day: str, trail_foot_cm: float) -> str:
    """The page's HTML. player: a name; day: in words; trail_foot_cm: as the chart was made with."""
    level = chart.slopes_pct.index(0) if 0 in chart.slopes_pct else None
    return rendered(
        "distance.html",
        title=tr("How far back") if player == NAMELESS else tr("How far back: {player}", player=player),
        day=day,
        source=_source(chart),
        unit=chart.unit,
        slopes=[slope_words(slope) for slope in chart.slopes_pct],
        stops=level is not None,
        rows=[
            RowWords(
                _distance(metres, chart),
                tuple(_cell(cell, slope, trail_foot_cm) for cell, slope in zip(row, chart.slopes_pct, strict=True)),
                _stop(row[level], chart) if level is not None else "",
            )
            for metres, row in zip(chart.distances_m, chart.rows, strict=True)
        ],
        strip=_strip(chart, trail_foot_cm),
        notes=chart.notes,
    )


def _source(chart: Chart) -> str:
    """What the lengths are made from."""
    own = tr_count("lengths from {count} putt of your own", "lengths from {count} putts of your own", chart.putts)
    return tr(
        "Green speed {speed_ft:.1f} ft ({low_ft:.1f} to {high_ft:.1f}, {source}); {lengths}.",
        speed_ft=chart.green.green_speed_ft,
        low_ft=chart.green.low_ft,
        high_ft=chart.green.high_ft,
        source=chart.green.source_words,
        lengths=own if chart.putts else tr("lengths from published strokes, none of your own yet"),
    )


def _distance(distance_m: float, chart: Chart) -> str:
    return tr("{distance:g} {unit}", distance=from_m(distance_m, chart.unit), unit=chart.unit)


def _cell(cell: Cell, slope_pct: float, trail_foot_cm: float) -> CellWords:
    if cell.length_cm is None:
        return CellWords("", "", "", "", slope_pct == 0)
    return CellWords(
        tr("{length_cm:.0f}", length_cm=cell.length_cm.value),
        cell.flags,
        band(cell.length_cm, "-"),
        short_mark(cell.length_cm.value, trail_foot_cm),
        slope_pct == 0,
    )


def _stop(cell: Cell, chart: Chart) -> str:
    """Where nine of ten such putts stop."""
    if cell.stop_m is None:
        return "-"
    low = from_m(cell.stop_m.low, chart.unit)
    return tr("{low:.1f}-{high}", low=low, high=units.shown(cell.stop_m.high, chart.unit, 1))


def _strip(chart: Chart, trail_foot_cm: float) -> str:
    """The ground seen from above as SVG: ball, trail foot and the level lengths, all to one scale."""
    level = [row[i] for row in chart.rows for i, s in enumerate(chart.slopes_pct) if s == 0]
    marks = [
        (d, mark_behind_ball_cm(c.length_cm.value))
        for d, c in zip(chart.distances_m, level, strict=False)
        if c.length_cm is not None
    ]
    if not marks:
        return ""
    reach_cm = max(mark_behind_ball_cm(0.0) + trail_foot_cm + 2 * HALF_FOOT_CM, *(at for _, at in marks)) + 6.0

    def x(behind_cm: float) -> float:
        return WIDE * (1.0 - (behind_cm + 4.0) / reach_cm)

    left, width = x(trail_foot_cm + HALF_FOOT_CM), WIDE * 2 * HALF_FOOT_CM / reach_cm
    ball = WIDE * BALL_RADIUS_CM / reach_cm
    drawn = [
        f'<rect x="{left:.1f}" y="66" width="{width:.1f}" height="60" rx="14" fill="#ddd" stroke="#000"/>',
        _text(left + width / 2, 100, tr("trail foot"), 12),
        f'<circle cx="{x(0):.1f}" cy="41" r="{ball:.1f}" fill="#fff" stroke="#000"/>',
        _text(x(0), 41 + ball + 14, tr("ball"), 12),
    ]
    last = 1e9
    for metres, at in marks:
        drawn.append(f'<path d="M{x(at):.1f} 20V62" stroke="#000"/>')
        if abs(x(at) - last) > NAMES_APART:
            drawn.append(_text(x(at), 14, tr("{distance:g}", distance=from_m(metres, chart.unit)), 14))
            last = x(at)
    label = escape(shown(tr("ground to scale")))
    return f'<svg viewBox="0 0 {WIDE:.0f} {HIGH}" role="img" aria-label="{label}">{"".join(drawn)}</svg>'


def _text(x: float, y: float, words: str, size: int) -> str:
    return f'<text x="{x:.1f}" y="{y:g}" text-anchor="middle" font-size="{size}">{escape(shown(words))}</text>'
