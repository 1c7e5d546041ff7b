"""The screen of setting up: the picture, every line with its state, and the one thing to do next in letters for 4 m."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Sequence

from trainer.feedback.signs import THEMES, Sign, SignKind, Theme
from trainer.live.paint import Brush, Surface
from trainer.live.setup_lines import Line

GAP, STRIP, FOOTER = 0.03, 0.20, 0.05  # shares of the window's height
SIGN_LETTERS, DETAIL_LETTERS, SMALL_LETTERS = 0.130, 0.045, 0.027
PICTURE_SHARE = 0.52
KEYS = "Q quit   Space pause   M mute   T theme"
TITLES = {
    "body": "Player", "distance": "Distance", "height": "Camera height", "level": "Camera level", "view": "View",
    "hand": "Hand", "light": "Light", "sharp": "Focus", "rate": "Frame rate", "ball": "Ball", "putter": "Putter",
    "scale": "Scale",
}  # fmt: skip
KINDS: dict[str, SignKind] = {"ok": "good", "look": "plain", "bad": "fault", "wait": "plain"}
STATE_WORDS = {"ok": "ok", "look": "could be better", "bad": "mend", "wait": "wait"}
DONE_WORD, WELL_WORD = "All set", "All well"


@dataclass(frozen=True)
class SetupView:
    """One moment. image: (h, w, 3) uint8 BGR; share: how long all has been well, 0..1; done: it has been long enough."""

    image: Any
    lines: Sequence[Line]
    share: float = 0.0
    done: bool = False
    notes: Sequence[str] = ()


def next_sign(lines: Sequence[Line], done: bool) -> Sign:
    """The first thing to mend; what to wait for; or that all is well."""
    if done:
        return Sign(DONE_WORD, "you may putt", "good")
    for state, kind in (("bad", "fault"), ("wait", "plain")):
        for line in lines:
            if line.state == state:
                word, detail = line.todo or line.found, line.found if line.todo else ""
                if line.name in ("view", "hand"):  # mended at the keyboard: the finding is what is told from afar
                    word, detail = line.found, line.todo
                named = f"{TITLES[line.name]}: {detail}" if detail else TITLES[line.name]
                return Sign(word[:1].upper() + word[1:], named, kind)  # type: ignore[arg-type]
    better = [line for line in lines if line.state == "look" and line.todo]
    detail = f"could be better: {TITLES[better[0].name].lower()}, {better[0].todo}" if better else "stay as you are"
    return Sign(WELL_WORD, detail, "good")


class SetupBoard:
    """Draws a SetupView on any surface. theme: "dark" or "light"."""

    def __init__(self, theme: str = "dark") -> None:
        self._brush = Brush()
        self._pg = self._brush.pg
        self.theme = theme

    def draw(self, on: Surface, view: SetupView) -> None:
        """Paints the whole surface."""
        theme = THEMES[self.theme]
        on.fill(theme.ground)
        width, height = on.get_size()
        gap = round(GAP * height)
        area = self._pg.Rect(gap, gap, width - 2 * gap, round(height * (1 - STRIP - FOOTER)) - 2 * gap)
        right = self._picture(on, area, view.image, theme)
        side = self._pg.Rect(right + gap, gap, max(1, width - right - 2 * gap), area.height)
        self._rows(on, side, view.lines, theme)
        strip = self._pg.Rect(gap, area.bottom + gap, width - 2 * gap, round(STRIP * height))
        self._strip(on, strip, view, theme)
        y = height - gap * 0.55
        keys = self._brush.text(on, KEYS, (width - gap, y), SMALL_LETTERS * height, theme.soft, "bottomright")
        left = "    ".join(view.notes)
        self._brush.text(
            on, left, (gap, y), SMALL_LETTERS * height, theme.soft, "bottomleft", max(1, keys.left - 2 * gap)
        )

    def _picture(self, on: Surface, area: Any, image: Any, theme: Theme) -> Any:
        """The frame as large as fits; returns its right edge."""
        if image is None:
            box = self._pg.Rect(area.left, area.top, round(PICTURE_SHARE * area.width), area.height)
            self._pg.draw.rect(on, theme.panel, box, border_radius=area.height // 40)
            return box.right
        import cv2

        rows, columns = image.shape[:2]
        scale = min(area.height / rows, PICTURE_SHARE * area.width / columns)
        size = (max(1, round(columns * scale)), max(1, round(rows * scale)))
        shrunk = cv2.resize(image, size, interpolation=cv2.INTER_LINEAR if scale > 0.5 else cv2.INTER_AREA)
        frame = self._pg.image.frombuffer(shrunk[:, :, ::-1].tobytes(), size, "RGB")
        on.blit(frame, (area.left, area.top))
        return area.left + size[0]

    def _rows(self, on: Surface, side: Any, lines: Sequence[Line], theme: Theme) -> None:
        row = side.height / max(1, len(lines))
        for k, line in enumerate(lines):
            top = side.top + k * row
            box = self._pg.Rect(side.left, round(top + row * 0.1), round(row * 0.74), round(row * 0.74))
            kind = KINDS[line.state]
            colour = {"good": theme.good, "fault": theme.fault, "plain": theme.plain}[kind]
            if line.state == "wait":
                self._pg.draw.rect(on, theme.soft, box, width=2, border_radius=box.height // 8)
            else:
                self._pg.draw.rect(on, colour, box, border_radius=box.height // 8)
                self._brush.mark(on, box, kind, (255, 255, 255))
            x = box.right + row * 0.25
            wide = side.right - x
            name = self._brush.text(
                on, TITLES[line.name], (x, top + row * 0.08), row * 0.48, theme.text, width=wide * 0.42
            )
            words = (side.right, top + row * 0.12)
            self._brush.text(
                on, STATE_WORDS[line.state], words, row * 0.32, theme.soft, "topright", side.right - name.right - 8
            )
            below = "; ".join(part for part in (line.found, line.todo) if part)
            self._brush.text(on, below, (x, top + row * 0.56), row * 0.32, theme.soft, width=wide)

    def _strip(self, on: Surface, strip: Any, view: SetupView, theme: Theme) -> None:
        height = on.get_height()
        sign = next_sign(view.lines, view.done)
        self._pg.draw.rect(on, theme.panel, strip, border_radius=strip.height // 12)
        if 0.0 < view.share < 1.0:
            self._brush.bar(on, strip, view.share, theme)
        block = self._pg.Rect(strip.left, strip.top, strip.height, strip.height)
        colour = {"good": theme.good, "fault": theme.fault, "plain": theme.plain}[sign.kind]
        self._pg.draw.rect(on, colour, block, border_radius=strip.height // 12)
        self._brush.mark(on, block, sign.kind, (255, 255, 255))
        x = block.right + round(0.03 * height)
        wide = strip.right - x - round(0.02 * height)
        word = self._brush.text(
            on, sign.word, (x, strip.top + strip.height * 0.06), SIGN_LETTERS * height, theme.text, width=wide
        )
        if sign.detail:
            place = (x, max(word.bottom, strip.top + strip.height * 0.7))
            self._brush.text(on, sign.detail, place, DETAIL_LETTERS * height, theme.soft, "topleft", wide)
