"""Cards as a page to read and print, their figures as SVG that takes the page's colours."""

from __future__ import annotations

from html import escape
from typing import Sequence

from trainer.coaching.reasons.card import Card
from trainer.coaching.reasons.figure import XY, Ink, Panel, Path, Ring
from trainer.report.html import rendered
from trainer.texts import shown

PANEL_PX = 220  # a panel's side, before the page scales it
_WIDE = {"body": 5.0, "putter": 4.0, "ghost": 3.5, "ground": 2.0, "mark": 2.5}
_COLOUR: dict[Ink, str] = {"body": "ink", "putter": "line", "ghost": "rule", "ground": "soft", "mark": "good"}
_TICK, _CROSS = ((8, 20), (16, 28), (32, 8)), ((10, 10), (30, 30), (30, 10), (10, 30))


def reasons_page(title: str, cards: Sequence[Card]) -> str:
    """The page's HTML."""
    return rendered("reasons.html", title=title, cards=[(card, _pictures(card)) for card in cards])


def _pictures(card: Card) -> list[tuple[str, str]]:
    """(svg, caption) of each panel."""
    return [(panel_svg(panel), panel.caption) for panel in card.figure]


def panel_svg(panel: Panel) -> str:
    """One panel as an element of a page."""
    parts = [_path(path) for path in panel.paths] + [_ring(ring) for ring in panel.rings]
    words = escape(shown(panel.words or panel.caption))
    mark = ""
    if panel.good is not None:
        ways = [_TICK] if panel.good else [_CROSS[:2], _CROSS[2:]]
        colour = "good" if panel.good else "bad"
        mark = "".join(
            f'<polyline points="{" ".join(f"{x},{y}" for x, y in way)}" fill="none" stroke="var(--{colour})"'
            ' stroke-width="5" stroke-linecap="round"/>'
            for way in ways
        )
    return (
        f'<svg role="img" viewBox="0 0 {PANEL_PX} {PANEL_PX}" aria-label="{words}"><title>{words}</title>'
        f"{''.join(parts)}{mark}</svg>"
    )


def _place(at: XY) -> tuple[float, float]:
    return round(at[0] * PANEL_PX, 1), round((1 - at[1]) * PANEL_PX, 1)


def _path(path: Path) -> str:
    places = [_place(at) for at in path.points]
    dashes = ' stroke-dasharray="5 4"' if path.dashed else ""
    colour = _COLOUR[path.ink]
    out = (
        f'<polyline points="{" ".join(f"{x},{y}" for x, y in places)}" fill="none" stroke="var(--{colour})"'
        f' stroke-width="{_WIDE[path.ink]:g}" stroke-linecap="round" stroke-linejoin="round"{dashes}/>'
    )
    if path.arrow:
        corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in head_of(places[-2], places[-1], 10.0))
        out += f'<polygon points="{corners}" fill="var(--{colour})"/>'
    return out


def head_of(before: XY, tip: XY, size: float) -> tuple[XY, XY, XY]:
    """The corners of an arrow's head."""
    dx, dy = tip[0] - before[0], tip[1] - before[1]
    length = (dx * dx + dy * dy) ** 0.5 or 1.0
    ux, uy = dx / length * size, dy / length * size
    return (
        (tip[0] + ux * 0.5, tip[1] + uy * 0.5),
        (tip[0] - ux * 0.5 - uy * 0.5, tip[1] - uy * 0.5 + ux * 0.5),
        (tip[0] - ux * 0.5 + uy * 0.5, tip[1] - uy * 0.5 - ux * 0.5),
    )


def _ring(ring: Ring) -> str:
    x, y = _place(ring.at)
    colour = _COLOUR[ring.ink]
    fill = (
        f'fill="var(--{colour})"' if ring.filled else f'fill="var(--ground)" stroke="var(--{colour})" stroke-width="4"'
    )
    return f'<circle cx="{x}" cy="{y}" r="{ring.radius * PANEL_PX:.1f}" {fill}/>'
