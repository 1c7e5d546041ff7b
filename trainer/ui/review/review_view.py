"""The review's whole window on any surface: picture or two, numbers beside, signals below. Needs no display."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Callable, Sequence

from trainer.feedback.signs import OKABE_ITO, THEMES, Theme
from trainer.replay.derived_signals import Reading
from trainer.replay.differences import Differing
from trainer.replay.lines import LINE_NAMES, LINE_WORDS, Label, drawn_at
from trainer.replay.playback import Playback
from trainer.ui.drawing.canvas import Canvas, Surface, between
from trainer.ui.review.curves import Curves
from trainer.ui.review.picture import pane_image, show_shot
from trainer.ui.review.placement import Placement, both_inside, fit, matched
from trainer.ui.review.side_panel import differences_side, numbers_side

# Shares of the window's height.
GAP = 0.018
CAPTION = 0.052
CHIPS = 0.046
CURVES = 0.265
FOOTER = 0.040
SIDE_LEAST = 0.25  # of the width: the column beside one picture or two
PICTURE_MOST = 0.62  # of the width, for one picture
LINE_KEYS = {"arm": "A", "leg": "L", "outline": "O", "paths": "P", "head": "H", "spine": "S"}
SWATCHES = {
    "arm": "sky blue", "leg": "yellow", "outline": "white", "paths": "bluish green", "head": "reddish purple",
    "spine": "vermillion",
}  # fmt: skip
HINT = (
    "Space play    Left, Right step    Down quarter speed    1–6 events    B side by side    I save a picture    F1 all keys"
    "    Q quit"
)


@dataclass(frozen=True)
class Scene:
    """What is to be shown. rows: what differs between the two strokes; why: the sentence of the suggested pair.

    title: whose and which, for the caption; keys: (key, what it does) rows to be shown instead of the pictures.
    """

    playback: Playback
    title: str = ""
    other_title: str = ""
    rows: Sequence[Differing] = ()
    why: str = ""
    hover_s: float | None = None
    message: str = ""
    keys: Sequence[tuple[str, str]] = ()
    theme: str = "dark"
    bare: bool = False  # for a picture or a clip: no keys, no chips


@dataclass
class Shown:
    """What a drawing put on the window. labels of the main picture and the other one; hits: places that act on a click."""

    labels: list[Label] = field(default_factory=list)
    other_labels: list[Label] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    hits: list[tuple[Any, str]] = field(default_factory=list)
    curves: Any = None
    pictures: list[Any] = field(default_factory=list)


class _Same:
    """A key that is equal only for the very same object, and keeps it alive so that no other takes its number."""

    def __init__(self, thing: object) -> None:
        self._thing = thing

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other._thing is self._thing

    __hash__ = None  # type: ignore[assignment]


class ReviewView:
    """``draw`` a scene; keeps what lasts from frame to frame."""

    def __init__(self) -> None:
        self._canvas = Canvas()
        self._pg = self._canvas.pg
        self._curves: Curves | None = None
        self._curves_of: tuple[Any, ...] = ()
        self._kept: dict[str, tuple[Any, Surface]] = {}  # parts that stay the same from frame to frame
        self._chip_hits: list[tuple[Any, str]] = []

    def draw(self, on: Surface, scene: Scene) -> Shown:
        """Paints the whole surface."""
        theme, shown = THEMES[scene.theme], Shown()
        width, height = on.get_size()
        gap = round(GAP * height)
        on.fill(theme.ground)
        low = height - gap - round((CURVES + FOOTER) * height)
        chips = 0 if scene.bare else round(CHIPS * height)
        top = self._pg.Rect(gap, gap, width - 2 * gap, low - chips - 2 * gap)
        if scene.keys:
            self._keys(on, top, scene.keys, theme)
        else:
            self._upper(on, top, scene, theme, shown)
        if chips:
            self._chips(on, self._pg.Rect(gap, low - chips, width - 2 * gap, chips - gap // 2), scene, theme, shown)
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
        gap = round(GAP * on.get_height())
        caption = round(CAPTION * on.get_height())
        high = box.height - caption
        if playback.layout == "beside" and playback.other is not None:
            wide = round((box.width * (1 - SIDE_LEAST) - 2 * gap) / 2)
            panes = [pg.Rect(box.left + i * (wide + gap), box.top + caption, wide, high) for i in (0, 1)]
        else:
            size = playback.main.stroke_clip.frames.size
            wide = min(round(PICTURE_MOST * box.width), max(round(high * size[0] / size[1]), high))
            panes = [pg.Rect(box.left, box.top + caption, wide, high)]
        placing, theirs = placings(playback, panes[0].size)
        ghost = self._ghost(playback, theirs, panes[0].size, theme) if theirs and playback.layout == "ghost" else None
        labels = show_shot(
            self._canvas,
            on,
            panes[0],
            playback.main.stroke_clip,
            playback.main.tracked,
            playback.index,
            placing,
            playback.show,
            theme,
            ghost,
        )
        shown.labels, shown.pictures = labels, panes
        self._caption(on, panes[0], caption, scene.title, playback.where, theme)
        if len(panes) == 2 and theirs is not None:
            self._other(on, panes[1], scene, theirs, theme, shown, caption)
        side = pg.Rect(panes[-1].right + gap, box.top, box.right - panes[-1].right - gap, box.height)
        height, paint = on.get_height(), self._canvas
        if playback.layout == "one":
            key: tuple[Any, ...] = (_Same(playback.main), theme, height)
            self._cached(on, side, "side", key, lambda out: numbers_side(paint, out, playback.main, theme, height))
        else:
            rows, why, title = scene.rows, scene.why, scene.other_title
            key = (_Same(playback.pair), playback.layout, why, _Same(rows), theme, height)
            self._cached(
                on,
                side,
                "side",
                key,
                lambda out: differences_side(paint, out, playback, title, why, rows, theme, height),
            )

    def _other(
        self, on: Surface, pane: Any, scene: Scene, theirs: Placement, theme: Theme, shown: Shown, caption: int
    ) -> None:
        playback = scene.playback
        assert playback.other is not None and playback.other_index is not None and playback.pair is not None  # noqa: PT018
        shown.other_labels = show_shot(
            self._canvas,
            on,
            pane,
            playback.other.stroke_clip,
            playback.other.tracked,
            playback.other_index,
            theirs,
            playback.show,
            theme,
        )
        words = "mirrored" if playback.pair.mirrored else ""
        self._caption(on, pane, caption, scene.other_title, words, theme)

    def _ghost(self, playback: Playback, theirs: Placement, size: tuple[int, int], theme: Theme) -> Any:
        """The other stroke's picture and its lines, laid over this one: same scale, same feet."""
        if playback.other is None or playback.other_index is None:
            return None
        other = playback.other
        # A figure has nothing to show through that its lines do not: only two pictures are blended.
        blend = not (other.stroke_clip.frames.drawn or playback.main.stroke_clip.frames.drawn)
        image = pane_image(other.stroke_clip, playback.other_index, theirs, size, theme.panel) if blend else None
        sample = other.tracked.sample(float(other.stroke_clip.frames.times_s[playback.other_index]))
        return image, drawn_at(other.tracked, sample, {"figure"}), theirs

    def _caption(self, on: Surface, pane: Any, high: int, left: str, right: str, theme: Theme) -> None:
        size = 0.78 * high
        y = pane.top - high / 2
        end = pane.right
        if right:
            end = self._canvas.text(on, right, (pane.right, y), size, theme.text, "midright", pane.width * 0.55).left
        self._canvas.text(on, left, (pane.left, y), size * 0.8, theme.soft, "midleft", max(20, end - pane.left - 12))

    def _cached(self, on: Surface, box: Any, name: str, key: Any, paint: Callable[[Surface], None]) -> None:
        """A part of the window that is painted anew only when its key or size changes."""
        full = (key, tuple(box.size))
        kept = self._kept.get(name)
        if kept is None or kept[0] != full:
            kept = (full, self._pg.Surface(box.size, self._pg.SRCALPHA))
            paint(kept[1])
            self._kept[name] = kept
        on.blit(kept[1], box)

    # ---- below

    def _chips(self, on: Surface, box: Any, scene: Scene, theme: Theme, shown: Shown) -> None:
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
            on, box, "chips", (key, playback.other is None), lambda out: self._paint_chips(out, box, playback, theme)
        )
        shown.hits += self._chip_hits

    def _paint_chips(self, on: Surface, place: Any, playback: Playback, theme: Theme) -> None:
        """What is on has a filled ground and an edge."""
        pg, box = self._pg, on.get_rect()
        self._chip_hits = []
        size = box.height * 0.62
        chips: list[tuple[str, str, bool, str]] = [
            (f"{LINE_KEYS[name]} {LINE_WORDS[name]}", name, name in playback.show, SWATCHES[name])
            for name in LINE_NAMES
        ]
        chips += [
            ("stop" if playback.playing else "play", "play", playback.playing, ""),
            ("1/4 speed", "full" if playback.speed < 1 else "slow", playback.speed < 1, ""),
            (
                "repeat" if playback.loop is None else f"{playback.loop[0]}–{playback.loop[1]}",
                "loop",
                playback.loop is not None,
                "",
            ),
        ]
        if playback.other is not None:
            chips += [
                ("side by side", "beside", playback.layout == "beside", ""),
                ("ghost", "ghost", playback.layout == "ghost", ""),
                (f"on {playback.aligned_on}" if playback.aligned_on != "phase" else "by phase", "align", False, ""),
            ]
        pad = round(size * 0.45)
        swatch = round(size * 0.8)
        wide = [
            round(self._canvas.width(words, round(size))) + 2 * pad + (swatch + 4 if colour else 0)
            for words, _, _, colour in chips
        ]
        space = 6
        share = min(1.0, (box.width - space * (len(chips) - 1)) / sum(wide))
        size *= share
        x = box.left
        for (words, command, is_on, colour), w in zip(chips, wide, strict=True):
            chip = pg.Rect(round(x), box.top, round(w * share), box.height)
            pg.draw.rect(on, between(theme.panel, theme.soft, 0.45) if is_on else theme.panel, chip, border_radius=5)
            if is_on:
                pg.draw.rect(on, theme.text, chip, width=2, border_radius=5)
            left = chip.left + round(pad * share)
            if colour:
                mark = pg.Rect(left, chip.centery - 4, round(swatch * share), 8)
                paint = OKABE_ITO.get(colour, (250, 250, 245))
                pg.draw.rect(on, paint if is_on else between(theme.panel, paint, 0.55), mark)
                pg.draw.rect(on, theme.soft, mark, width=1)
                left = mark.right + 4
            ink = theme.text if is_on else theme.soft
            self._canvas.text(on, words, (left, chip.centery), size, ink, "midleft", chip.right - left - 3)
            self._chip_hits.append((chip.move(place.topleft), command))
            x += w * share + space

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
        words = message or ("" if scene.bare else HINT)
        colour = theme.text if message else theme.soft
        self._canvas.text(on, words, (gap, y), 0.026 * height, colour, "bottomleft", width - 2 * gap)

    def _keys(self, on: Surface, box: Any, keys: Sequence[tuple[str, str]], theme: Theme) -> None:
        """All keys in two columns."""
        half = (len(keys) + 1) // 2
        line = min(box.height / (half + 0.5), 0.05 * on.get_height())
        for i, (key, words) in enumerate(keys):
            x = box.left + (i // half) * box.width / 2
            y = box.top + (i % half) * line
            self._canvas.text(on, key, (x, y), line * 0.8, theme.text, width=box.width * 0.14)
            self._canvas.text(on, words, (x + box.width * 0.15, y), line * 0.8, theme.soft, width=box.width * 0.34)


def placings(playback: Playback, size: tuple[int, int]) -> tuple[Placement, Placement | None]:
    """Where the two pictures lie on panes of that size; of the main stroke alone where nothing stands beside it."""
    main, other = playback.main, playback.other
    placing = fit(main.stroke_clip, main.tracked, size, playback.close_up)
    if playback.layout == "one" or other is None or playback.pair is None:
        return placing, None
    theirs = matched(
        other.stroke_clip, other.tracked, placing.mirrored != playback.pair.mirrored, placing, main.tracked
    )
    return both_inside(placing, main.tracked, theirs, other.tracked, size)
