"""The window of setting up: the picture, every finding with its state, and the one thing to do next in letters for 4 m."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Callable, Sequence

from trainer.camera_setup.findings import Finding
from trainer.camera_setup.setup_observer import SetupStep
from trainer.feedback.signs import THEMES, Sign, SignKind, Theme
from trainer.live.keys import footer_words
from trainer.texts import capital, join, tr
from trainer.ui.drawing.canvas import Surface
from trainer.ui.drawing.two_pane import TwoPane

PICTURE_SHARE = 0.46
TITLE_LETTERS, DETAIL_LETTERS = 0.060, 0.046  # of the window's height: read from 3 m
SMALLER = 12  # steps: much that is wrong at once is written smaller
KINDS: dict[str, SignKind] = {"ok": "good", "warning": "plain", "problem": "fault", "waiting": "plain"}
DONE_WORD, WELL_WORD = tr("All set"), tr("All well")


def next_sign(findings: Sequence[Finding], done: bool) -> Sign:
    """The first thing to fix; what to wait for; or that all is well."""
    if done:
        return Sign(DONE_WORD, tr("you may putt"), "good")
    for state in ("problem", "waiting"):
        for finding in findings:
            if finding.state == state:
                word, detail = finding.todo or finding.found, finding.found if finding.todo else ""
                if finding.name in ("view", "hand"):  # fixed at the keyboard: from afar the finding is what counts
                    word, detail = finding.found, finding.todo
                named = tr("{title}: {detail}", title=finding.title, detail=detail) if detail else finding.title
                return Sign(capital(word), named, KINDS[state])
    better = [finding for finding in findings if finding.state == "warning" and finding.todo]
    detail = (
        tr("could be better: {lower}, {todo}", lower=better[0].title.lower(), todo=better[0].todo)
        if better
        else tr("stay as you are")
    )
    return Sign(WELL_WORD, detail, "good")


class SetupView(TwoPane):
    """Draws a SetupStep on any surface. says: how what is to be done is told here, where nobody may be at a command line."""

    def __init__(self, theme: str = "dark", says: Callable[[str], str] | None = None) -> None:
        super().__init__(theme)
        self._says = says

    def draw(self, on: Surface, step: SetupStep) -> None:
        """Paints the whole surface."""
        theme = THEMES[self.theme]
        findings: Sequence[Finding] = step.findings
        if self._says is not None:
            findings = [replace(one, found=self._says(one.found), todo=self._says(one.todo)) for one in findings]
        on.fill(theme.ground)
        gap, area, strip = self._areas(on)
        if step.image is None:
            wide = round(PICTURE_SHARE * area.width)
            box = self._empty(on, self._pg.Rect(area.left, area.top, wide, area.height), theme)
        else:
            box, _ = self._fitted(on, area, step.image, PICTURE_SHARE)
        self._rows(on, self._beside(area, box.right, gap), findings, theme)
        self._sign(on, strip, next_sign(findings, step.done), step.share, theme)
        self._foot(on, (), footer_words(), theme)

    def _rows(self, on: Surface, side: Any, findings: Sequence[Finding], theme: Theme) -> None:
        """What is wrong with its words, in letters that are read from 3 m as far as there is room; the rest by name."""
        height, canvas = on.get_height(), self._canvas
        blocks = _blocks(findings)
        title, small = TITLE_LETTERS * height, DETAIL_LETTERS * height
        for _ in range(SMALLER):
            x, wide = side.left + 1.25 * title, side.width - 1.25 * title
            lines = [(canvas.wrapped(b.title, title, wide), canvas.wrapped(b.words, small, wide)) for b in blocks]
            if sum(title * (len(heads) + 0.2) + small * len(words) for heads, words in lines) <= side.height:
                break
            title, small = 0.94 * title, 0.94 * small
        y: float = side.top
        for block, (heads, words) in zip(blocks, lines, strict=True):
            self._mark(
                on, self._pg.Rect(side.left, round(y), round(0.9 * title), round(0.9 * title)), block.state, theme
            )
            for text in heads:
                canvas.text(on, text, (x, y), title, theme.text if block.words else theme.soft, width=wide)
                y += title
            for text in words:
                canvas.text(on, text, (x, y), small, theme.soft, width=wide)
                y += small
            y += 0.2 * title

    def _mark(self, on: Surface, box: Any, state: str, theme: Theme) -> None:
        kind = KINDS[state]
        colour = {"good": theme.good, "fault": theme.fault, "plain": theme.plain}[kind]
        if state == "waiting":
            self._pg.draw.rect(on, theme.soft, box, width=2, border_radius=box.height // 8)
        else:
            self._pg.draw.rect(on, colour, box, border_radius=box.height // 8)
            self._canvas.mark(on, box, kind, (255, 255, 255))


@dataclass(frozen=True, slots=True)
class _Block:
    """state: of one finding that is wrong, whose words they are, or of all those that are named in the title."""

    state: str
    title: str
    words: str = ""


def _blocks(findings: Sequence[Finding]) -> list[_Block]:
    """The problems, the warnings; what is waited for; what is well."""
    out = [_Block(f.state, f.title, f.words) for state in ("problem", "warning") for f in findings if f.state == state]
    for state in ("waiting", "ok"):
        names = [f.title for f in findings if f.state == state]
        if names:
            out.append(_Block(state, join(", ", names)))
    return out
