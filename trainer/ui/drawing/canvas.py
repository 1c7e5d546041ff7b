"""Small tools on a pygame surface: text that fits, lines with a dark edge, bar, dial, marks. Needs no display."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Sequence

from trainer.feedback.signs import Colour, SignKind, Theme
from trainer.texts import shown

Surface = Any
Place = tuple[float, float]

EDGE: Colour = (10, 14, 12)  # around lines over a picture, so that they are seen on any ground
MAX_TEXTS = 400
EM_OF_LINE = 0.92  # of the font used: its em beside the height of its line


FAR_DEG = 60.0  # the needle goes no farther: past FAR_TURN_DEG a turn is only known to be far


@dataclass(frozen=True, slots=True)
class TurnShown:
    """A head's turn on the dial. alarm: drawn as a fault."""

    turn_deg: float | None
    limit_deg: float
    alarm: bool = False


def _drawn(text: str) -> str:
    """As people read it; the font has no blank that keeps words together."""
    return shown(text).replace("\N{NO-BREAK SPACE}", " ")


class Canvas:
    """Draws, marked texts in the reader's language; keeps rendered words, for words change seldom. size: a line's height, px."""

    def __init__(self) -> None:
        import pygame
        import pygame.freetype

        self.pg = pygame
        pygame.freetype.init()
        # pygame's own bold sans, the same on every machine. Its kerning table tears "Ready" and "Through" apart.
        self._font = pygame.freetype.Font(None, 32)
        self._font.kerning = False
        self._font.pad = True  # every text as high as a whole line
        self.texts: dict[tuple[str, int, Colour], Surface] = {}
        # In the order of colours that windows have letters are drawn 28 times as fast, the same to the last bit.
        self._like_window = pygame.Surface((1, 1), pygame.SRCALPHA)

    def width(self, text: str, size: int) -> float:
        return float(self._font.get_rect(_drawn(text), size=size * EM_OF_LINE).width)

    def rendered(self, text: str, size: int, colour: Colour, width: float | None = None) -> Surface:
        """text as a picture, made smaller if wider than ``width``."""
        text = _drawn(text)
        if width is not None:
            wide = self.width(text, size)
            if wide > width:
                size = max(8, int(size * width / wide))
        key = (text, size, colour)
        if key not in self.texts:
            if len(self.texts) >= MAX_TEXTS:
                self.texts.clear()
            letters = self._font.render(text, colour, size=size * EM_OF_LINE)[0]
            self.texts[key] = letters.convert(self._like_window)
        return self.texts[key]

    def fitting(self, texts: Sequence[str], size: float, width: float) -> int:
        """The size, at most ``size``, at which all ``texts`` fit into ``width``."""
        widest = max(self.width(text, round(size)) for text in texts)
        return int(min(size, size * width / widest))

    def text(
        self,
        on: Surface,
        text: str,
        place: Place,
        size: float,
        colour: Colour,
        anchor: str = "topleft",
        width: float | None = None,
    ) -> Any:
        """Draws one line; returns the rectangle it took."""
        picture = self.rendered(text, round(size), colour, width)
        box = picture.get_rect(**{anchor: (round(place[0]), round(place[1]))})
        on.blit(picture, box)
        return box

    def foot(self, on: Surface, parts: Sequence[str], place: Place, size: float, colour: Colour, width: float) -> None:
        """Parts in a line that ends above ``place``; of those that do not fit the last are left out, none is made smaller
        but the first."""
        x, end = place[0], place[0] + width
        for part in parts:
            if not part:
                continue
            wide = self.width(part, round(size))
            if x > place[0] and x + wide > end:
                continue
            x = self.text(on, part, (x, place[1]), size, colour, "bottomleft", width).right + size

    def paragraph(
        self, on: Surface | None, text: str, place: Place, size: float, colour: Colour, width: float
    ) -> float:
        """In as many lines as it takes; returns where they end. on: None: only measured."""
        y = place[1]
        for words in self.wrapped(text, size, width) or [""]:
            if on is not None:
                self.text(on, words, (place[0], y), size, colour, "topleft", width)
            y += round(size)
        return y

    def wrapped(self, text: str, size: float, width: float) -> list[str]:
        """The text in lines of at most that width, where its words allow it."""
        lines, line = [], ""
        for word in shown(text).split():
            longer = f"{line} {word}".strip()
            if line and self.width(longer, round(size)) > width:
                lines.append(line)
                longer = word
            line = longer
        return [*lines, line] if line else lines

    def line(self, on: Surface, a: Place, b: Place, colour: Colour, width: float) -> None:
        """A straight line with round ends and a dark edge."""
        for ink, w in ((EDGE, width + 2), (colour, width)):
            self.stroke(on, a, b, ink, w)

    def stroke(self, on: Surface, a: Place, b: Place, colour: Colour, width: float) -> None:
        """A straight line with round ends."""
        dx, dy = b[0] - a[0], b[1] - a[1]
        length = math.hypot(dx, dy)
        r = width / 2.0
        if length > 0.5:
            nx, ny = -dy / length * r, dx / length * r
            corners = [(a[0] + nx, a[1] + ny), (b[0] + nx, b[1] + ny), (b[0] - nx, b[1] - ny), (a[0] - nx, a[1] - ny)]
            self.pg.draw.polygon(on, colour, corners)
            self.pg.draw.aalines(on, colour, True, corners)
        for x, y in (a, b):
            self.pg.draw.aacircle(on, colour, (x, y), max(1.0, r))

    def dashed(self, on: Surface, a: Place, b: Place, colour: Colour, width: float) -> None:
        """A straight line in dashes five times as long as wide."""
        length = math.hypot(b[0] - a[0], b[1] - a[1])
        dashes = max(1, int(length / (8 * width)))
        for i in range(dashes):
            ends = [i / dashes, (i + 0.6) / dashes]
            start, end = (tuple(p + (q - p) * share for p, q in zip(a, b, strict=True)) for share in ends)
            self.stroke(on, (start[0], start[1]), (end[0], end[1]), colour, width)

    def arrow_head(self, on: Surface, before: Place, tip: Place, colour: Colour, size: float) -> None:
        """At the end of a line that came from ``before``."""
        dx, dy = tip[0] - before[0], tip[1] - before[1]
        length = math.hypot(dx, dy) or 1.0
        ux, uy = dx / length * size, dy / length * size
        x, y = tip[0] - ux / 2, tip[1] - uy / 2
        corners = [(x + ux, y + uy), (x - uy / 2, y + ux / 2), (x + uy / 2, y - ux / 2)]
        self.pg.draw.polygon(on, colour, corners)
        self.pg.draw.aalines(on, colour, True, corners)

    def dot(self, on: Surface, at: Place, radius: float, colour: Colour) -> None:
        self.pg.draw.aacircle(on, EDGE, at, radius + 1.5)
        self.pg.draw.aacircle(on, colour, at, radius)

    def ring(self, on: Surface, at: Place, radius: float, colour: Colour, width: int) -> None:
        self.pg.draw.aacircle(on, EDGE, at, radius + 1.5, width + 3)
        self.pg.draw.aacircle(on, colour, at, radius, width)

    def bar(self, on: Surface, box: Any, share: float, theme: Theme) -> None:
        """A rounded bar filled from the left by ``share`` (0..1); of another colour and with no end once it is full."""
        round_by = box.height // 12
        self.pg.draw.rect(on, theme.panel, box, border_radius=round_by)
        filled = box.copy()
        filled.width = round(box.width * min(1.0, max(0.0, share)))
        if filled.width > 2 * round_by:
            self.pg.draw.rect(on, theme.good if share >= 1.0 else theme.filling, filled, border_radius=round_by)
        self.pg.draw.rect(on, theme.soft, box, width=max(2, box.height // 50), border_radius=round_by)

    def mark(self, on: Surface, box: Any, kind: SignKind, colour: Colour) -> None:
        """A tick, a cross or a ring inside ``box``: the sign's kind without its colour."""
        w = max(3.0, box.width * 0.11)
        x, y, s = box.centerx, box.centery, box.width * 0.27
        if kind == "good":
            for a, b in (
                ((x - s, y), (x - s * 0.25, y + s * 0.75)),
                ((x - s * 0.25, y + s * 0.75), (x + s, y - s * 0.7)),
            ):
                self.stroke(on, a, b, colour, w)
        elif kind == "fault":
            self.stroke(on, (x - s, y - s), (x + s, y + s), colour, w)
            self.stroke(on, (x - s, y + s), (x + s, y - s), colour, w)
        else:
            self.pg.draw.aacircle(on, colour, (x, y), s, round(w))

    def dial(
        self,
        on: Surface,
        centre: Place,
        radius: float,
        turn: TurnShown,
        toward_right: bool,
        theme: Theme,
    ) -> None:
        """The head from above, the viewer below it: the nose points down when at rest and swings toward the target.

        The shaded part is what is allowed. A head not seen leaves the dial empty.
        """
        turn_deg, limit_deg = turn.turn_deg, turn.limit_deg
        side = 1.0 if toward_right else -1.0

        def at(deg: float, r: float) -> Place:
            a = math.radians(deg) * side
            return centre[0] + r * math.sin(a), centre[1] + r * math.cos(a)

        self.pg.draw.aacircle(on, theme.panel, centre, radius)
        steps = range(-int(limit_deg), int(limit_deg) + 1, 2)
        wedge = [centre, *(at(d, radius) for d in (-limit_deg, *steps, limit_deg))]
        self.pg.draw.polygon(on, between(theme.panel, theme.filling, 0.35), wedge)
        self.pg.draw.aacircle(on, theme.soft, centre, radius, max(2, round(radius * 0.02)))
        for deg in (-90, -60, -30, 0, 30, 60, 90):
            self.stroke(on, at(deg, radius * 0.90), at(deg, radius * 0.97), theme.soft, max(2.0, radius * 0.02))
        head = radius * 0.42
        self.pg.draw.aacircle(on, theme.soft if turn_deg is None else theme.text, centre, head)
        if turn_deg is None:
            self.text(on, "?", centre, head * 1.3, theme.panel, "center")
            return
        turn_deg = min(max(turn_deg, -FAR_DEG), FAR_DEG)
        nose = [at(turn_deg - 16, head * 0.9), at(turn_deg, radius * 0.84), at(turn_deg + 16, head * 0.9)]
        colour = theme.fault if turn.alarm else theme.text
        self.pg.draw.polygon(on, colour, nose)
        self.pg.draw.aalines(on, colour, True, nose)
        if turn.alarm:  # a second sign beside the colour: a ring around the dial
            self.pg.draw.aacircle(on, theme.fault, centre, radius * 1.07, max(3, round(radius * 0.05)))


def between(a: Colour, b: Colour, share: float) -> Colour:
    """The colour ``share`` (0..1) of the way from a to b."""
    r, g, c = (round(x + (y - x) * share) for x, y in zip(a, b, strict=True))
    return r, g, c
