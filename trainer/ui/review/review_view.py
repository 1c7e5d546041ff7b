"""The review's whole window on any surface: picture or two, numbers beside, signals below. Needs no display."""

from __future__ import annotations

from typing import Any, Callable, Sequence

from trainer.feedback.signs import OKABE_ITO, THEMES, Theme
from trainer.replay.frames import Still, exact
from trainer.replay.lines import drawn_at
from trainer.replay.playback import Loaded, Playback
from trainer.texts import join, tr
from trainer.ui.drawing.canvas import Canvas, Place, Surface, between
from trainer.ui.review.curves import Curves
from trainer.ui.review.picture import Ghost, PaneScene, draw_pane, pane_image
from trainer.ui.review.placement import Placement, placements
from trainer.ui.review.scene import LEAST_PX, Chip, Scene, Shown, chips_of
from trainer.ui.review.side_panel import draw_differences, draw_numbers

# Shares of the window's height.
GAP = 0.018
CAPTION = 0.052
CHIPS = 0.046
CHIP_LETTERS, CHIP_SPACE = 0.62, 6  # a share of a row of chips; px between two
CURVES = 0.265
FOOTER = 0.040
FOOT_LETTERS = 0.026
MIN_SIDE = 0.25  # of the width: the column beside one picture or two
MAX_PICTURE = 0.62  # of the width, for one picture
NEAREST = tr("nearest picture")  # for the moment: the very one is being decoded
HINT = tr(
    "Space play    Left, Right step    1–6 events    B side by side    Page up, Page down other strokes    "
    "F1 all keys    Esc close"
)


def _still(loaded: Loaded, index: int, scene: Scene, shown: Shown) -> Still:
    """The very frame where it is to be kept, else what can be had at once."""
    frames = loaded.stroke_clip.frames
    found = exact(frames, index) if scene.bare else frames.soon(index)
    shown.settled = shown.settled and found.exact
    return found


def _marked(words: str, shown: Shown) -> str:
    return words if shown.settled else join(", ", (words, NEAREST))


class _Same:
    """A key that is equal only for the very same object, and keeps it alive so that no other takes its number."""

    def __init__(self, thing: object) -> None:
        self._thing = thing

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other._thing is self._thing


class ReviewView:
    """``draw`` a scene; keeps what lasts from frame to frame."""

    def __init__(self) -> None:
        self._canvas = Canvas()
        self._pg = self._canvas.pg
        self._curves: Curves | None = None
        self._curves_of: tuple[Any, ...] = ()
        self._parts: dict[str, tuple[Any, Surface]] = {}  # parts that stay the same from frame to frame
        self._chip_hits: list[tuple[Any, str]] = []

    def draw(self, on: Surface, scene: Scene) -> Shown:
        """Paints the whole surface."""
        theme, shown = THEMES[scene.theme], Shown()
        width, height = on.get_size()
        gap = round(GAP * height)
        on.fill(theme.ground)
        low = height - gap - round((CURVES + FOOTER) * height)
        rows = [] if scene.bare else self._chip_rows(chips_of(scene.playback), width - 2 * gap, round(CHIPS * height))
        chips = len(rows) * round(CHIPS * height)
        top = self._pg.Rect(gap, gap, width - 2 * gap, low - chips - 2 * gap)
        if scene.keys:
            self._keys(on, top, scene.keys, theme)
        else:
            self._upper(on, top, scene, theme, shown)
        if chips:
            self._chips(
                on, self._pg.Rect(gap, low - chips, width - 2 * gap, chips - gap // 2), scene, theme, shown, rows
            )
        curves = self._curves_for(scene, self._pg.Rect(gap, low, width - 2 * gap, round(CURVES * height)), theme)
        shown.curves = curves
        shown.readings = curves.draw(on, scene.playback.shown_s, scene.hover_s)
        shown.hits += curves.marks
        self._footer(on, scene, theme)
        return shown

    def message(self, on: Surface, line: str, theme: str) -> None:
        """Only that line: where a picture cannot be had."""
        colours = THEMES[theme]
        on.fill(colours.ground)
        width, height = on.get_size()
        self._canvas.text(on, line, (width / 2, height / 2), 0.045 * height, colours.text, "center", 0.9 * width)

    # ---- the upper part

    def _upper(self, on: Surface, box: Any, scene: Scene, theme: Theme, shown: Shown) -> None:
        playback, pg = scene.playback, self._pg
        height = on.get_height()
        gap, caption = round(GAP * height), round(CAPTION * height)
        panes = self._panes(box, playback, gap, caption)
        placement, theirs = placements(playback, panes[0].size)
        still = _still(playback.main, playback.index, scene, shown)
        ghost = None
        if theirs is not None and playback.layout == "ghost":
            ghost = self._ghost(scene, theirs, panes[0].size, theme, shown)
        pane = PaneScene(playback.main, still, placement, playback.show, ghost)
        shown.labels, shown.pictures = draw_pane(self._canvas, on, panes[0], pane, theme), panes
        self._caption(on, panes[0], caption, scene.title, _marked(playback.where, shown), theme)
        if len(panes) == 2 and theirs is not None:
            assert playback.other is not None and playback.other_index is not None and playback.pair is not None  # noqa: PT018
            still = _still(playback.other, playback.other_index, scene, shown)
            other = PaneScene(playback.other, still, theirs, playback.show)
            draw_pane(self._canvas, on, panes[1], other, theme)
            words = tr("mirrored") if playback.pair.mirrored else ""
            self._caption(on, panes[1], caption, scene.other_title, words if still.exact else NEAREST, theme)
        side = pg.Rect(panes[-1].right + gap, box.top, box.right - panes[-1].right - gap, box.height)
        canvas = self._canvas
        if playback.layout == "one":
            key: tuple[Any, ...] = (_Same(playback.main), scene.corner_px, theme, height)
            self._cached(on, side, "side", key, lambda out: draw_numbers(canvas, out, scene, theme, height))
        else:
            key = (_Same(playback.pair), playback.layout, scene.why, _Same(scene.differences), theme, height)
            self._cached(on, side, "side", key, lambda out: draw_differences(canvas, out, scene, theme, height))

    def _panes(self, box: Any, playback: Playback, gap: int, caption: int) -> list[Any]:
        """One rectangle or two, below the captions."""
        high = box.height - caption
        if playback.layout == "beside" and playback.other is not None:
            wide = round((box.width * (1 - MIN_SIDE) - 2 * gap) / 2)
            return [self._pg.Rect(box.left + i * (wide + gap), box.top + caption, wide, high) for i in (0, 1)]
        size = playback.main.stroke_clip.frames.size
        wide = min(round(MAX_PICTURE * box.width), max(round(high * size[0] / size[1]), high))
        return [self._pg.Rect(box.left, box.top + caption, wide, high)]

    def _ghost(
        self, scene: Scene, theirs: Placement, size: tuple[int, int], theme: Theme, shown: Shown
    ) -> Ghost | None:
        """The other stroke's picture and its lines, laid over this one: same scale, same feet."""
        playback = scene.playback
        if playback.other is None or playback.other_index is None:
            return None
        other = playback.other
        # A figure has nothing to show through that its lines do not: only two pictures are blended.
        blend = not (other.stroke_clip.frames.drawn or playback.main.stroke_clip.frames.drawn)
        index, image = playback.other_index, None
        if blend:
            still = _still(other, index, scene, shown)
            index, image = still.index, pane_image(still.image, theirs, size, theme.panel)
        sample = other.tracked.sample(float(other.stroke_clip.frames.times_s[index]))
        return Ghost(image, drawn_at(other.tracked, sample, {"figure"}), theirs)

    def _caption(self, on: Surface, pane: Any, high: int, left: str, right: str, theme: Theme) -> None:
        size = 0.78 * high
        y = pane.top - high / 2
        end = pane.right
        if right:
            wide = min(pane.width * 0.55, pane.width - self._canvas.width(left, LEAST_PX) - 12)
            room = max(wide, pane.width * 0.3)
            end = self._canvas.text(on, right, (pane.right, y), size, theme.text, "midright", room).left
        self._canvas.text(on, left, (pane.left, y), size * 0.8, theme.soft, "midleft", max(20, end - pane.left - 12))

    def _cached(self, on: Surface, box: Any, name: str, key: Any, draw: Callable[[Surface], None]) -> None:
        """A part of the window that is drawn anew only when its key or size changes."""
        full = (key, tuple(box.size))
        part = self._parts.get(name)
        if part is None or part[0] != full:
            part = (full, self._pg.Surface(box.size, self._pg.SRCALPHA))
            draw(part[1])
            self._parts[name] = part
        on.blit(part[1], box)

    # ---- below

    def _chip_wide(self, chip: Chip, size: float) -> int:
        """Its width with letters of that size."""
        swatch = round(0.8 * size) + 4 if chip.colour else 0
        return round(self._canvas.width(chip.words, round(size))) + 2 * round(0.45 * size) + swatch

    def _chip_rows(self, chips: list[Chip], width: int, high: int) -> list[list[Chip]]:
        """All in one row, or in two where one would make their letters too small. width, high: of a row."""
        size = CHIP_LETTERS * high
        wide = sum(self._chip_wide(chip, size) for chip in chips)
        share = (width - CHIP_SPACE * (len(chips) - 1)) / wide
        half = -(-len(chips) // 2)
        return [chips] if share >= 1.0 or size * share >= LEAST_PX else [chips[:half], chips[half:]]

    def _chips(self, on: Surface, box: Any, scene: Scene, theme: Theme, shown: Shown, rows: list[list[Chip]]) -> None:
        """The lines' switches and the rest that is clicked."""
        playback = scene.playback
        key = (
            frozenset(playback.show),
            playback.playing,
            playback.speed,
            playback.loop,
            playback.layout,
            playback.aligned_on,
            theme,
        )
        self._cached(
            on, box, "chips", (key, playback.other is None), lambda out: self._draw_chips(out, box, rows, theme)
        )
        shown.hits += self._chip_hits

    def _draw_chips(self, on: Surface, place: Any, rows: list[list[Chip]], theme: Theme) -> None:
        """What is on has a filled ground and an edge."""
        self._chip_hits = []
        box = on.get_rect()
        high = (box.height - (len(rows) - 1) * CHIP_SPACE) // len(rows)
        for number, chips in enumerate(rows):
            row = self._pg.Rect(box.left, box.top + number * (high + CHIP_SPACE), box.width, high)
            self._draw_chip_row(on, row, place.topleft, chips, theme)

    def _draw_chip_row(self, on: Surface, box: Any, at: Place, chips: list[Chip], theme: Theme) -> None:
        """at: of the part in the window."""
        pg, size = self._pg, box.height * CHIP_LETTERS
        wide = [self._chip_wide(chip, size) for chip in chips]
        share = min(1.0, (box.width - CHIP_SPACE * (len(chips) - 1)) / sum(wide))
        pad, swatch = round(size * 0.45), round(size * 0.8)
        size *= share
        x = box.left
        for chip, w in zip(chips, wide, strict=True):
            area = pg.Rect(round(x), box.top, round(w * share), box.height)
            ground = between(theme.panel, theme.soft, 0.45) if chip.is_on else theme.panel
            pg.draw.rect(on, ground, area, border_radius=5)
            if chip.is_on:
                pg.draw.rect(on, theme.text, area, width=2, border_radius=5)
            left = area.left + round(pad * share)
            if chip.colour:
                mark = pg.Rect(left, area.centery - 4, round(swatch * share), 8)
                colour = OKABE_ITO.get(chip.colour, (250, 250, 245))
                pg.draw.rect(on, colour if chip.is_on else between(theme.panel, colour, 0.55), mark)
                pg.draw.rect(on, theme.soft, mark, width=1)
                left = mark.right + 4
            ink = theme.text if chip.is_on else theme.soft
            self._canvas.text(on, chip.words, (left, area.centery), size, ink, "midleft", area.right - left - 3)
            self._chip_hits.append((area.move(at), chip.command))
            x += w * share + CHIP_SPACE

    def _curves_for(self, scene: Scene, box: Any, theme: Theme) -> Curves:
        playback = scene.playback
        pair = playback.pair if playback.layout != "one" else None
        key = (_Same(playback.main), tuple(box), theme.name, _Same(pair), playback.aligned_on if pair else "")
        if self._curves is None or self._curves_of != key:
            other = (
                (playback.other.tracked, playback.their_s) if pair is not None and playback.other is not None else None
            )
            self._curves = Curves(self._canvas, box, theme, playback.main.stroke_clip, playback.main.tracked, other)
            self._curves_of = key
        return self._curves

    def _footer(self, on: Surface, scene: Scene, theme: Theme) -> None:
        width, height = on.get_size()
        gap = round(GAP * height)
        y = height - gap * 0.6
        message = scene.message or scene.playback.message
        if scene.playback.layout == "one" and message == scene.playback.main.stroke_clip.note:
            message = ""  # it stands beside the picture
        words = message or ("" if scene.bare else HINT)
        colour = theme.text if message else theme.soft
        told = self._canvas.text(on, words, (gap, y), FOOT_LETTERS * height, colour, "bottomleft", width - 2 * gap)
        if scene.busy is not None:
            bar = self._pg.Rect(told.right + gap, told.top, max(1, width - told.right - 2 * gap), told.height)
            self._canvas.bar(on, bar, scene.busy, theme)

    def _keys(self, on: Surface, box: Any, keys: Sequence[tuple[str, str]], theme: Theme) -> None:
        """All keys in two columns."""
        half = (len(keys) + 1) // 2
        line = min(box.height / (half + 0.5), 0.05 * on.get_height())
        for i, (key, words) in enumerate(keys):
            x = box.left + (i // half) * box.width / 2
            y = box.top + (i % half) * line
            self._canvas.text(on, key, (x, y), line * 0.8, theme.text, width=box.width * 0.14)
            self._canvas.text(on, words, (x + box.width * 0.15, y), line * 0.8, theme.soft, width=box.width * 0.34)
