"""The screen of setting up: the picture, every line with its state, and the one thing to do next in letters for 4 m."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Sequence

from trainer.camera_setup.findings import Finding
from trainer.feedback.signs import THEMES, Sign, SignKind, Theme
from trainer.ui.drawing.canvas import Surface
from trainer.ui.drawing.two_pane import TwoPane

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
class SetupState:
    """One moment. image: (h, w, 3) uint8 BGR; share: how long all has been well, 0..1; done: it has been long enough."""

    image: Any
    lines: Sequence[Finding]
    share: float = 0.0
    done: bool = False
    notes: Sequence[str] = ()


def next_sign(lines: Sequence[Finding], done: bool) -> Sign:
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


class SetupView(TwoPane):
    """Draws a SetupState on any surface."""

    def draw(self, on: Surface, view: SetupState) -> None:
        """Paints the whole surface."""
        theme = THEMES[self.theme]
        on.fill(theme.ground)
        gap, area, strip = self._areas(on)
        if view.image is None:
            wide = round(PICTURE_SHARE * area.width)
            box = self._empty(on, self._pg.Rect(area.left, area.top, wide, area.height), theme)
        else:
            box, _ = self._fitted(on, area, view.image, PICTURE_SHARE)
        self._rows(on, self._beside(area, box.right, gap), view.lines, theme)
        self._sign(on, strip, next_sign(view.lines, view.done), view.share, theme)
        self._foot(on, view.notes, KEYS, theme)

    def _rows(self, on: Surface, side: Any, lines: Sequence[Finding], theme: Theme) -> None:
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
                self._canvas.mark(on, box, kind, (255, 255, 255))
            x = box.right + row * 0.25
            wide = side.right - x
            name = self._canvas.text(
                on, TITLES[line.name], (x, top + row * 0.08), row * 0.48, theme.text, width=wide * 0.42
            )
            words = (side.right, top + row * 0.12)
            self._canvas.text(
                on, STATE_WORDS[line.state], words, row * 0.32, theme.soft, "topright", side.right - name.right - 8
            )
            below = "; ".join(part for part in (line.found, line.todo) if part)
            self._canvas.text(on, below, (x, top + row * 0.56), row * 0.32, theme.soft, width=wide)
