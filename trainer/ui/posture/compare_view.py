"""Two postures side by side, laid over each other by ball and feet, and a table of what changed and whether it can be told."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Sequence

import numpy as np

from trainer.coaching.posture.address import AddressSeen
from trainer.coaching.posture.address_measures import ruler
from trainer.coaching.posture.compare import Change
from trainer.coaching.posture.figure import XY
from trainer.coaching.posture.ranges import Check
from trainer.coaching.posture.words import number, title
from trainer.feedback.signs import THEMES, Theme
from trainer.ui.drawing.canvas import Canvas, Surface
from trainer.ui.posture.posture_view import PostureView

FEET = tuple(f"{side}_{part}" for side in ("lead", "trail") for part in ("heel", "toe", "ankle"))
BALL_WEIGHT = 3.0  # beside one point of a foot
PICTURES, GAP, LETTERS = 0.62, 0.02, 0.030  # shares of the surface's height


@dataclass(frozen=True)
class Posture:
    """One side. title: what stands above it; image: (h, w, 3) uint8 BGR as the camera gave it."""

    title: str
    image: Any
    seen: AddressSeen
    checks: Sequence[Check]


@dataclass(frozen=True)
class CompareState:
    """before and after, of the same view; changes: the table."""

    before: Posture
    after: Posture
    changes: Sequence[Change]


def verdict(change: Change) -> str:
    """One change in words."""
    if change.change is None:
        return "not seen both times"
    if not change.real:
        return "no change that can be told"
    if change.nearer is None:
        return "changed, inside both times"
    return "changed, nearer to its range" if change.nearer else "changed, farther from its range"


def cells(change: Change) -> tuple[str, str, str, str, str, str]:
    """Measure, before, after, change, the least change that can be told, verdict."""

    def shown(value: float | None) -> str:
        return "-" if value is None else number(change.name, value, change.unit)

    digits = 2 if change.unit == "" else 0 if change.unit == "deg" else 1
    unit = {"deg": "°", "": "", "ball widths": " balls"}.get(change.unit, f" {change.unit}")
    moved = "-" if change.change is None else f"{change.change:+.{digits}f}{unit}"
    least = f"{change.smallest:.{max(digits, 1) if change.unit == 'deg' else digits}f}{unit}"
    return title(change.name), shown(change.before), shown(change.after), moved, least, verdict(change)


def onto(after: AddressSeen, before: AddressSeen) -> Any:
    """(2, 3) turn, scale and shift that lay one picture over another (px), both mirrored alike (``AddressSeen``).

    Ball and feet come as near to each other as can be. Turn and scale are those of the cameras, so that a wider stance stays
    wider; where a picture has no ruler, ball and feet have to tell them too (least squares in the plane).
    """
    pairs, weights = [], []
    for name in FEET:
        a, b = after.mark(name), before.mark(name)
        if a is not None and b is not None:
            pairs.append((complex(a.x, a.y), complex(b.x, b.y)))
            weights.append(1.0)
    if after.ball is not None and before.ball is not None:
        pairs.append((complex(after.ball.x, after.ball.y), complex(before.ball.x, before.ball.y)))
        weights.append(BALL_WEIGHT)
    if len(pairs) < 2:
        return np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    z, w = np.array(pairs).T
    share = np.array(weights) / np.sum(weights)
    z0, w0 = (share * z).sum(), (share * w).sum()
    rulers = ruler(after), ruler(before)
    if rulers[0] is not None and rulers[1] is not None:
        per_cm = [one.camera.focal_px / r.distance_cm for one, r in zip((after, before), rulers, strict=True) if r]
        roll = math.radians(before.camera.roll_deg - after.camera.roll_deg)
        turn = per_cm[1] / per_cm[0] * complex(math.cos(roll), math.sin(roll))
    else:
        turn = (share * (w - w0) * np.conj(z - z0)).sum() / max(float((share * np.abs(z - z0) ** 2).sum()), 1e-9)
    shift = w0 - turn * z0
    return np.array([[turn.real, -turn.imag, shift.real], [turn.imag, turn.real, shift.imag]])


class CompareView:
    """Draws a CompareState on any surface. theme: "dark" or "light"."""

    def __init__(self, theme: str = "dark") -> None:
        self._board = PostureView(theme)
        self._canvas = Canvas()
        self._pg = self._canvas.pg
        self.theme = theme

    def draw(self, on: Surface, view: CompareState) -> None:
        """Paints the whole surface."""
        theme = THEMES[self.theme]
        on.fill(theme.ground)
        width, height = on.get_size()
        gap = round(GAP * height)
        letters = LETTERS * height
        half = (width - 3 * gap) // 2
        turned = view.before.seen.handedness == "left"
        columns, rows = view.before.seen.size
        scale = min(half / columns, (PICTURES * height - letters) / rows)
        size = (round(columns * scale), round(rows * scale))
        shift = onto(view.after.seen, view.before.seen)
        for k, (posture, matrix) in enumerate(((view.before, np.eye(2, 3)), (view.after, shift))):
            left = gap + k * (half + gap)
            self._canvas.text(on, posture.title, (left, gap * 0.6), letters, theme.text, width=half)
            box = self._pg.Rect(left, gap + round(letters), *size)
            self._picture(on, box, posture, matrix, scale, turned, theme)
        self._table(on, gap + round(letters) + size[1] + gap, view.changes, theme)

    def _picture(
        self, on: Surface, box: Any, posture: Posture, matrix: Any, scale: float, turned: bool, theme: Theme
    ) -> None:
        """One picture moved by ``matrix`` (in mirrored coordinates for a left-hander) and shown mirrored back if ``turned``."""
        import cv2

        image = posture.image if posture.seen.handedness == "right" else posture.image[:, ::-1]
        around = theme.panel[::-1]
        moved = cv2.warpAffine(
            np.ascontiguousarray(image), scale * matrix, box.size, flags=cv2.INTER_AREA, borderValue=around
        )
        shown = moved[:, ::-1] if turned else moved
        on.blit(self._pg.image.frombuffer(np.ascontiguousarray(shown[:, :, ::-1]).tobytes(), box.size, "RGB"), box)

        def at(place: XY) -> XY:
            x, y = matrix @ np.array([place[0], place[1], 1.0]) * scale
            return box.left + (box.width - x if turned else x), box.top + y

        self._board.lines(on, box, at, posture.seen, posture.checks, theme, turned)

    def _table(self, on: Surface, top: float, changes: Sequence[Change], theme: Theme) -> None:
        """A line each; what really changed has a filled mark and its words, the rest a ring."""
        width, height = on.get_size()
        gap = round(GAP * height)
        row = (height - top - gap) / (len(changes) + 1)
        size = min(row * 0.78, LETTERS * height)
        edges = [gap + (width - 2 * gap) * share for share in (0.03, 0.24, 0.38, 0.53, 0.64, 0.75)]
        heads = ("", "before", "after", "change", "least told", "")
        for x, head in zip(edges, heads, strict=True):
            self._canvas.text(on, head, (x, top), size * 0.85, theme.soft)
        for k, change in enumerate(changes, start=1):
            y = top + k * row
            kind = "plain" if not change.real or change.nearer is None else "good" if change.nearer else "fault"
            mark = self._pg.Rect(gap, round(y), round(size), round(size))
            colour = {"good": theme.good, "fault": theme.fault, "plain": theme.plain}[kind]
            if change.real:
                self._pg.draw.rect(on, colour, mark, border_radius=3)
            self._canvas.mark(on, mark, kind, (255, 255, 255) if change.real else theme.soft)  # type: ignore[arg-type]
            for x, end, text in zip(edges, [*edges[1:], width - gap], cells(change), strict=True):
                colour = theme.text if change.real else theme.soft
                self._canvas.text(on, text, (x, y), size, colour, width=end - x - 8)
