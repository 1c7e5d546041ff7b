"""The window of setting up: the picture, every finding with its state, and the one thing to do next in letters for 4 m."""

from __future__ import annotations

from typing import Any, Sequence

from trainer.camera_setup.findings import Finding
from trainer.camera_setup.setup_observer import SetupStep
from trainer.feedback.signs import THEMES, Sign, SignKind, Theme
from trainer.ui.drawing.canvas import Surface
from trainer.ui.drawing.two_pane import TwoPane

PICTURE_SHARE = 0.52
KEYS = "Q quit   Space pause   M mute   T theme"
KINDS: dict[str, SignKind] = {"ok": "good", "warning": "plain", "problem": "fault", "waiting": "plain"}
DONE_WORD, WELL_WORD = "All set", "All well"


def next_sign(findings: Sequence[Finding], done: bool) -> Sign:
    """The first thing to fix; what to wait for; or that all is well."""
    if done:
        return Sign(DONE_WORD, "you may putt", "good")
    for state in ("problem", "waiting"):
        for finding in findings:
            if finding.state == state:
                word, detail = finding.todo or finding.found, finding.found if finding.todo else ""
                if finding.name in ("view", "hand"):  # fixed at the keyboard: from afar the finding is what counts
                    word, detail = finding.found, finding.todo
                named = f"{finding.title}: {detail}" if detail else finding.title
                return Sign(word[:1].upper() + word[1:], named, KINDS[state])
    better = [finding for finding in findings if finding.state == "warning" and finding.todo]
    detail = f"could be better: {better[0].title.lower()}, {better[0].todo}" if better else "stay as you are"
    return Sign(WELL_WORD, detail, "good")


class SetupView(TwoPane):
    """Draws a SetupStep on any surface."""

    def draw(self, on: Surface, step: SetupStep) -> None:
        """Paints the whole surface."""
        theme = THEMES[self.theme]
        on.fill(theme.ground)
        gap, area, strip = self._areas(on)
        if step.image is None:
            wide = round(PICTURE_SHARE * area.width)
            box = self._empty(on, self._pg.Rect(area.left, area.top, wide, area.height), theme)
        else:
            box, _ = self._fitted(on, area, step.image, PICTURE_SHARE)
        self._rows(on, self._beside(area, box.right, gap), step.findings, theme)
        self._sign(on, strip, next_sign(step.findings, step.done), step.share, theme)
        self._foot(on, (), KEYS, theme)

    def _rows(self, on: Surface, side: Any, findings: Sequence[Finding], theme: Theme) -> None:
        row = side.height / max(1, len(findings))
        for k, finding in enumerate(findings):
            top = side.top + k * row
            box = self._pg.Rect(side.left, round(top + row * 0.1), round(row * 0.74), round(row * 0.74))
            kind = KINDS[finding.state]
            colour = {"good": theme.good, "fault": theme.fault, "plain": theme.plain}[kind]
            if finding.state == "waiting":
                self._pg.draw.rect(on, theme.soft, box, width=2, border_radius=box.height // 8)
            else:
                self._pg.draw.rect(on, colour, box, border_radius=box.height // 8)
                self._canvas.mark(on, box, kind, (255, 255, 255))
            x = box.right + row * 0.25
            wide = side.right - x
            name = self._canvas.text(
                on, finding.title, (x, top + row * 0.08), row * 0.48, theme.text, width=wide * 0.42
            )
            words = (side.right, top + row * 0.12)
            self._canvas.text(on, finding.state, words, row * 0.32, theme.soft, "topright", side.right - name.right - 8)
            self._canvas.text(on, finding.words, (x, top + row * 0.56), row * 0.32, theme.soft, width=wide)
