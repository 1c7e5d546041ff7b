"""Two postures side by side, laid over each other by ball and feet, and a table of what changed and whether it can be told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Sequence

import numpy as np

from trainer.coaching.posture.compare import Change
from trainer.coaching.posture.figure import XY
from trainer.domain.player_frame import mirrored_x
from trainer.feedback.signs import THEMES, SignKind, Theme
from trainer.posture.guidance import ComparedPosture, change_cells
from trainer.posture.overlay import onto
from trainer.texts import tr
from trainer.ui.drawing.canvas import Canvas, Surface
from trainer.ui.posture.posture_view import PostureView

PICTURES, GAP, LETTERS = 0.62, 0.02, 0.030  # shares of the surface's height


@dataclass(frozen=True)
class CompareState:
    """before and after, of the same view; changes: the table."""

    before: ComparedPosture
    after: ComparedPosture
    changes: Sequence[Change]


class CompareView:
    """Draws a CompareState on any surface. theme: "dark" or "light"."""

    def __init__(self, theme: str = "dark") -> None:
        self._lines = PostureView(theme)
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
        self, on: Surface, box: Any, posture: ComparedPosture, matrix: Any, scale: float, turned: bool, theme: Theme
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
            return box.left + (mirrored_x(x, box.width) if turned else x), box.top + y

        self._lines.lines(on, box, at, posture.seen, posture.checks, theme, turned)

    def _table(self, on: Surface, top: float, changes: Sequence[Change], theme: Theme) -> None:
        """A line each; what really changed has a filled mark and its words, the rest a ring."""
        width, height = on.get_size()
        gap = round(GAP * height)
        row = (height - top - gap) / (len(changes) + 1)
        size = min(row * 0.78, LETTERS * height)
        edges = [gap + (width - 2 * gap) * share for share in (0.03, 0.24, 0.38, 0.53, 0.64, 0.75)]
        heads = ("", tr("before"), tr("after"), tr("change"), tr("least that counts"), "")
        for x, head in zip(edges, heads, strict=True):
            self._canvas.text(on, head, (x, top), size * 0.85, theme.soft)
        for k, change in enumerate(changes, start=1):
            y = top + k * row
            kind: SignKind = (
                "plain" if not change.real or change.nearer is None else "good" if change.nearer else "fault"
            )
            mark = self._pg.Rect(gap, round(y), round(size), round(size))
            colour = {"good": theme.good, "fault": theme.fault, "plain": theme.plain}[kind]
            if change.real:
                self._pg.draw.rect(on, colour, mark, border_radius=3)
            self._canvas.mark(on, mark, kind, (255, 255, 255) if change.real else theme.soft)
            for x, end, text in zip(edges, [*edges[1:], width - gap], change_cells(change), strict=True):
                colour = theme.text if change.real else theme.soft
                self._canvas.text(on, text, (x, y), size, colour, width=end - x - 8)
