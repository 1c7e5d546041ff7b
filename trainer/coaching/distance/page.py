"""The chart as one printable HTML page: a table, a strip of the ground to scale, nothing from elsewhere."""

from __future__ import annotations

from html import escape

from trainer.coaching.distance.chart import HALF_FOOT_CM, Cell, Chart, band, mark_behind_ball_cm, slope_words
from trainer.domain.naming import NAMELESS
from trainer.domain.units import from_m, shown

_STYLE = """
@page { size: A4; margin: 12mm }
body { font: 10pt/1.25 sans-serif; color: #000; background: #fff; max-width: 186mm; margin: 0 auto }
h1 { font-size: 18pt; margin: 0 } p { margin: 2mm 0 }
table { border-collapse: collapse; width: 100% }
th, td { border: 0.3mm solid #777; padding: 0.5mm 1mm; text-align: center }
td b { font-size: 13pt } tr { break-inside: avoid } td small { display: block; font-size: 8pt; white-space: nowrap }
.level { background: #eee } .none { color: #555 }
svg { width: 100%; height: auto }
"""


def page(chart: Chart, player: str, on: str, trail_foot_cm: float) -> str:
    """player: a name; on: a date in words; trail_foot_cm: as the chart was made with."""
    unit, green = chart.unit, chart.green
    heads = "".join(f"<th>{slope_words(s)}</th>" for s in chart.slopes_pct)
    if 0 in chart.slopes_pct:
        heads += "<th>stops</th>"
    rows = "".join(
        f"<tr><th>{from_m(d, unit):g} {unit}</th>"
        + "".join(_cell(c, s) for c, s in zip(row, chart.slopes_pct, strict=True))
        + f"{_stops(row, chart)}</tr>"
        for d, row in zip(chart.distances_m, chart.rows, strict=True)
    )
    source = f"from {chart.putts} putts of your own" if chart.putts else "from published strokes, none of your own yet"
    notes = "".join(f"<p>{escape(note)}</p>" for note in chart.notes)
    title = "How far back" if player == NAMELESS else f"How far back: {escape(player)}"
    return f"""<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{title}</title><style>{_STYLE}</style></head>
<body><h1>{title}</h1>
<p>{escape(on)}. Green speed {green.green_speed_ft:.1f} ft ({green.low_ft:.1f} to {green.high_ft:.1f},
{escape(green.source)}); lengths {source}. Distances in {unit}, backstroke in cm from the ball. Same pace, same
softness, every time.</p> <table><tr><th>distance</th>{heads}</tr>{rows}</table>
<p>Large: how far back in cm, beside it the 90 % band of your own law, below it where that is from your trail foot; at
the end where nine of ten level putts stop.</p>
{_strip(chart, trail_foot_cm)}
{notes}</body></html>
"""


def _cell(cell: Cell, slope_pct: float) -> str:
    kind = ' class="level"' if slope_pct == 0 else ""
    if cell.length_cm is None:
        return '<td class="none">-<small>no answer</small></td>'
    length = cell.length_cm
    return (
        f"<td{kind}><b>{length.value:.0f}</b>{cell.flags} ({band(length, '-')})"
        f"<small>{escape(_short(cell.mark))}</small></td>"
    )


def _stops(row: tuple[Cell, ...], chart: Chart) -> str:
    """Where nine of ten level putts stop, as a last column; "" when the chart has no level one."""
    if 0 not in chart.slopes_pct:
        return ""
    stop = row[chart.slopes_pct.index(0)].stop_m
    text = "-" if stop is None else f"{from_m(stop.low, chart.unit):.1f}-{shown(stop.high, chart.unit, 1)}"
    return f"<td><small>{text}</small></td>"


def _short(mark: str) -> str:
    """A ground mark without the words that the page says once: "foot: middle", "3 cm beyond"."""
    bare = mark.replace(" of trail foot", "").replace(" trail foot", "")
    return bare if " cm " in bare else f"foot: {bare}"


def _strip(chart: Chart, trail_foot_cm: float) -> str:
    """The ground seen from above: ball, trail foot and the level lengths, all to one scale."""
    level = [row[i] for row in chart.rows for i, s in enumerate(chart.slopes_pct) if s == 0]
    marks = [
        (d, mark_behind_ball_cm(c.length_cm.value))
        for d, c in zip(chart.distances_m, level, strict=False)
        if c.length_cm is not None
    ]
    if not marks:
        return ""
    reach = max(mark_behind_ball_cm(0.0) + trail_foot_cm + 2 * HALF_FOOT_CM, *(at for _, at in marks)) + 6.0

    def x(behind_cm: float) -> float:
        return 1000.0 * (1.0 - (behind_cm + 4.0) / reach)

    left, width = x(trail_foot_cm + HALF_FOOT_CM), 1000.0 * 2 * HALF_FOOT_CM / reach
    drawn = [
        f'<rect x="{left:.1f}" y="66" width="{width:.1f}" height="60" rx="14" fill="#ddd" stroke="#000"/>',
        _text(left + width / 2, 100, "trail foot", 12),
        f'<circle cx="{x(0):.1f}" cy="41" r="{1000 * 2.13 / reach:.1f}" fill="#fff" stroke="#000"/>',
        _text(x(0), 41 + 1000 * 2.13 / reach + 14, "ball", 12),
    ]
    last = 1e9
    for distance, at in marks:
        drawn.append(f'<path d="M{x(at):.1f} 20V62" stroke="#000"/>')
        if abs(x(at) - last) > 26:  # names that would overlap are left out
            drawn.append(_text(x(at), 14, f"{from_m(distance, chart.unit):g}", 14))
            last = x(at)
    return f'<svg viewBox="0 0 1000 130" role="img" aria-label="ground to scale">{"".join(drawn)}</svg>'


def _text(x: float, y: float, words: str, size: int) -> str:
    return f'<text x="{x:.1f}" y="{y:g}" text-anchor="middle" font-size="{size}">{escape(words)}</text>'
