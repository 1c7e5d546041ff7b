"""What the views for standing right share: picture at the left, lines beside it, a strip and a footer below."""

from __future__ import annotations

from typing import Any, Sequence

from trainer.feedback.signs import Sign, Theme
from trainer.ui.drawing.canvas import Canvas, Surface

GAP, STRIP, FOOTER = 0.03, 0.20, 0.062  # shares of the window's height
SIGN_LETTERS, DETAIL_LETTERS, SMALL_LETTERS = 0.130, 0.050, 0.044  # the smallest is read from 3 m


class TwoPane:
    """theme: "dark" or "light"."""

    def __init__(self, theme: str = "dark") -> None:
        self._canvas = Canvas()
        self._pg = self._canvas.pg
        self.theme = theme

    def _areas(self, on: Surface) -> tuple[int, Any, Any]:
        """The gap between things (px), the rectangle for picture and lines, and that of the strip."""
        width, height = on.get_size()
        gap = round(GAP * height)
        area = self._pg.Rect(gap, gap, width - 2 * gap, round(height * (1 - STRIP - FOOTER)) - 2 * gap)
        return gap, area, self._pg.Rect(gap, area.bottom + gap, width - 2 * gap, round(STRIP * height))

    def _beside(self, area: Any, right: int, gap: int) -> Any:
        """What is left of the area beyond a picture that ends at ``right``."""
        return self._pg.Rect(right + gap, area.top, max(1, area.right - right - gap), area.height)

    def _fitted(self, on: Surface, area: Any, image: Any, share: float) -> tuple[Any, float]:
        """The picture as large as the area and this share of its width allow: its rectangle, surface px per picture px."""
        from trainer.vision.reduced import fitted

        rows, columns = image.shape[:2]
        scale = min(area.height / rows, share * area.width / columns)
        size = (max(1, round(columns * scale)), max(1, round(rows * scale)))
        frame = self._pg.image.frombuffer(fitted(image, size).tobytes(), size, "BGR")
        box = frame.get_rect(topleft=(area.left, area.top))
        on.blit(frame, box)
        return box, scale

    def _empty(self, on: Surface, box: Any, theme: Theme) -> Any:
        """The place of a picture that is not there yet."""
        self._pg.draw.rect(on, theme.panel, box, border_radius=box.height // 40)
        return box

    def _foot(self, on: Surface, notes: Sequence[str], keys: str, theme: Theme) -> None:
        """Notes, then keys where there is room."""
        width, height = on.get_size()
        gap, small = round(GAP * height), SMALL_LETTERS * height
        y = height - gap * 0.55
        self._canvas.foot(on, (*notes, keys), (gap, y), small, theme.soft, width - 2 * gap)

    def _sign(self, on: Surface, strip: Any, sign: Sign, share: float, theme: Theme) -> None:
        """The one thing that matters now, in letters for 4 m; share 0..1: how long it has held, as a bar."""
        height = on.get_height()
        self._pg.draw.rect(on, theme.panel, strip, border_radius=strip.height // 12)
        if 0.0 < share < 1.0:
            self._canvas.bar(on, strip, share, theme)
        block = self._pg.Rect(strip.left, strip.top, strip.height, strip.height)
        colour = {"good": theme.good, "fault": theme.fault, "plain": theme.plain}[sign.kind]
        self._pg.draw.rect(on, colour, block, border_radius=strip.height // 12)
        self._canvas.mark(on, block, sign.kind, (255, 255, 255))
        x = block.right + round(0.03 * height)
        wide = strip.right - x - round(0.02 * height)
        word = self._canvas.text(
            on, sign.word, (x, strip.top + strip.height * 0.06), SIGN_LETTERS * height, theme.text, width=wide
        )
        if sign.detail:
            place = (x, max(word.bottom, strip.top + strip.height * 0.7))
            self._canvas.text(on, sign.detail, place, DETAIL_LETTERS * height, theme.soft, "topleft", wide)
