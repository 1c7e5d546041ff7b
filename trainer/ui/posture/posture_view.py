"""The posture window: the picture with its plumb lines and angles, every measure with its range, and the one thing to do.

One code for the window and for pictures that are saved. What a line means is said by its number, its mark (tick, cross, ring) and
its kind (dashed: plumb or level; thin: along the body; thick: what is measured), never by colour alone.
"""

from __future__ import annotations

import math
from typing import Any, Callable, Sequence

from trainer.coaching.posture.address import AddressSeen
from trainer.coaching.posture.figure import XY, Drawn, figure
from trainer.coaching.posture.ranges import Check
from trainer.coaching.posture.words import advice_among, reading, span, title
from trainer.domain.player_frame import PlayerFrame
from trainer.feedback.signs import THEMES, Colour, Theme
from trainer.live.keys import footer_words
from trainer.posture.guidance import PostureState, judged, state_of
from trainer.texts import join, tr
from trainer.ui.drawing.canvas import Surface
from trainer.ui.drawing.two_pane import TwoPane

TAG_LETTERS = 0.030  # share of the window's height
PICTURE_SHARE = 0.60  # of the window's width at most
PAIRED = ("stance_cm", "ball_position")  # their numbers stand outside the feet, on the other side for a left-hander


class PostureView(TwoPane):
    """Draws a PostureState on any surface."""

    def draw(self, on: Surface, view: PostureState) -> None:
        """Paints the whole surface."""
        theme = THEMES[self.theme]
        on.fill(theme.ground)
        gap, area, strip = self._areas(on)
        picture = self.picture(on, area, view, theme)
        self._rows(on, self._beside(area, picture.right, gap), view, theme)
        self._sign(on, strip, view.sign, view.share, theme)
        self._foot(on, view.notes, footer_words() if view.keys else "", theme)

    def picture(self, on: Surface, area: Any, view: PostureState, theme: Theme, share: float = PICTURE_SHARE) -> Any:
        """The frame as large as fits, with the lines in it. Returns its rectangle."""
        if view.image is None:
            wide = min(area.width, round(area.height * 4 / 3))
            return self._empty(on, self._pg.Rect(area.left, area.top, wide, area.height), theme)
        box, scale = self._fitted(on, area, view.image, share)
        if view.seen is not None:
            player = PlayerFrame(view.seen.view, view.seen.handedness, view.seen.size[0])
            turned = player.mirrored

            def at(place: XY) -> XY:
                return box.left + player.sideways(place[0]) * scale, box.top + place[1] * scale

            self.lines(on, box, at, view.seen, view.checks, theme, turned)
        return box

    def lines(
        self,
        on: Surface,
        box: Any,
        at: Callable[[XY], XY],
        seen: AddressSeen,
        checks: Sequence[Check],
        theme: Theme,
        turned: bool = False,
    ) -> None:
        """Plumb lines, limbs, gaps and their numbers, inside the picture's rectangle.

        at: from the picture of ``seen`` to the surface; turned: when that mirrors it.
        """
        by_name = {check.name: check for check in checks}
        thick = max(2.0, box.height * 0.006)
        before = on.get_clip()
        on.set_clip(box)
        tags: list[tuple[Check, tuple[float, float], bool]] = []
        for drawn in figure(seen):
            check = by_name.get(drawn.name)
            colour = self._colour(check, theme)
            self._measure(on, drawn, at, colour, thick)
            if check is not None and check.measure.value is not None:
                tags.append((check, at(drawn.at), drawn.before != (turned and drawn.name in PAIRED)))
        self._tags(on, box, tags, theme)
        on.set_clip(before)

    # ---- the parts

    def _measure(self, on: Surface, drawn: Drawn, at: Any, colour: Colour, thick: float) -> None:
        for line in drawn.lines:
            a, b = at(line.a), at(line.b)
            if line.kind == "plumb":
                self._dashed(on, a, b, colour, thick * 0.7)
            else:
                self._canvas.line(on, a, b, colour, thick * (0.8 if line.kind == "limb" else 1.6))

    def _dashed(
        self, on: Surface, a: tuple[float, float], b: tuple[float, float], colour: Colour, thick: float
    ) -> None:
        length = math.dist(a, b)
        dash = 5.0 * thick
        steps = max(1, int(length / dash))
        for k in range(0, steps, 2):
            ends = [
                (a[0] + (b[0] - a[0]) * min(1.0, s / steps), a[1] + (b[1] - a[1]) * min(1.0, s / steps))
                for s in (k, k + 1)
            ]
            self._canvas.line(on, ends[0], ends[1], colour, thick)

    def _tags(
        self, on: Surface, box: Any, tags: Sequence[tuple[Check, tuple[float, float], bool]], theme: Theme
    ) -> None:
        """The numbers beside their lines, moved apart where they would cover each other."""
        size = max(12.0, TAG_LETTERS * box.height * 1.3)
        placed: list[Any] = []
        for check, (x, y), before in sorted(tags, key=lambda tag: tag[1][1]):
            text = self._canvas.rendered(reading(check.name, check.measure), round(size), theme.text)
            tall = text.get_height()
            rect = self._pg.Rect(0, 0, text.get_width() + tall + 10, tall + 4)
            rect.midleft = (round(x + 8), round(y))
            if before or rect.right > box.right:
                rect.right = round(x - 8)
            rect.clamp_ip(box)
            for _ in range(20):
                hit = rect.collidelist(placed)
                if hit < 0:
                    break
                rect.top = placed[hit].bottom + 2
            placed.append(rect)
            self._pg.draw.rect(on, theme.ground, rect, border_radius=4)
            mark = self._pg.Rect(rect.left + 2, rect.top + 2, tall, tall)
            self._canvas.mark(on, mark, state_of(check), self._colour(check, theme))
            on.blit(text, (mark.right + 4, rect.top + 2))

    def _rows(self, on: Surface, side: Any, view: PostureState, theme: Theme) -> None:
        """One row a measure: mark, what it is, its number, its range, and the reference's number if there is one."""
        checks = view.checks
        if not checks or side.width < 60:
            return
        row = min(side.height / len(checks), side.height * 0.16)
        for k, check in enumerate(checks):
            top = side.top + k * row
            mark = self._pg.Rect(side.left, round(top + row * 0.12), round(row * 0.62), round(row * 0.62))
            kind = state_of(check)
            self._pg.draw.rect(on, self._colour(check, theme), mark, border_radius=mark.height // 8)
            self._canvas.mark(on, mark, kind, (255, 255, 255))
            x = mark.right + row * 0.18
            wide = side.right - x
            value = self._canvas.text(
                on,
                reading(check.name, check.measure),
                (side.right, top + row * 0.06),
                row * 0.44,
                theme.text,
                "topright",
                wide * 0.5,
            )
            self._canvas.text(
                on, title(check.name), (x, top + row * 0.08), row * 0.40, theme.text, width=value.left - x - 8
            )
            best = (view.reference or {}).get(check.name)
            parts = [span(check), advice_among(check, checks) if judged(check) else tr("not judged")]
            if best is not None and best.value is not None:
                parts.insert(1, tr("reference {reading}", reading=reading(check.name, best)))
            below = join("   ", (part for part in parts if part))
            self._canvas.text(on, below, (x, top + row * 0.50), row * 0.36, theme.soft, width=wide)

    def _colour(self, check: Check | None, theme: Theme) -> Colour:
        kind = "plain" if check is None else state_of(check)
        return {"good": theme.good, "fault": theme.fault, "plain": theme.plain}[kind]
