"""The ball: found at rest on the ground by the putter, measured as the scale reference, and seen to leave.

All coordinates are picture coordinates in px, the top left corner of the picture at (0, 0), x right, y down, as the
pose model's landmarks times width and height are (the centre of the first pixel is at 0.5, 0.5).
"""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from trainer.vision.ball.another_ball import AnotherBall
from trainer.vision.ball.circle_fit import CircleFit, fit_circle, luminance
from trainer.vision.ball.learned_diameter import learned_diameter_px
from trainer.vision.ball.rolling import RollingBall
from trainer.vision.ball.search import MIN_QUALITY, Putter, WantedBall, best_shown
from trainer.vision.ball.shown import Shown, shown_as
from trainer.vision.body.points import BodyPoints, leg_length_px, looks_face_on
from trainer.vision.numeric import median_of_rows, middle

XY = tuple[float, float]

MIN_CONTRAST = 28.0  # grey levels; a later ball must also have half the contrast of the first
LOCK_FRAMES = 3
SAME_PLACE = 0.12  # diameters
SEARCH_EVERY_S = 0.08
MEASURED_FRAMES, ENOUGH_FRAMES = 24, 8  # fits that make the diameter; that tell how far it spreads
PRESENT = 0.55  # share of the ball's own contrast left at its place, below which it is covered or gone
GONE_FRAMES = 2
COVERED_S = 0.7
AS_GOOD = 0.92  # of the best fit's quality: such fits make it
BARE_LEVEL = 36.0  # grey levels, all channels: more than that and something lies on the ground


@dataclass(frozen=True, slots=True)
class BallSeenImage:
    """Centre and diameter of the ball (px); at_rest False while it rolls, when the centre is the middle of its smear.

    confidence 0..1; below 0.5 when the ball is only taken to be where it was, because the putter covers it. soft: width of its
    edge of its diameter (``circle_fit``), 0: not measured; spread: of its diameter from picture to picture (SD, a share), 0
    until there are enough.
    """

    x: float
    y: float
    diameter_px: float
    confidence: float
    at_rest: bool
    soft: float = 0.0
    spread: float = 0.0


class BallFinder:
    """Finds, keeps and loses the ball. ``update`` once a frame, in order of time; ``reset`` for a new player or clip.

    ``reason`` says why the last update gave None. ``left_at_s`` is the time of the first frame in which the ball was no
    longer at its place (None while it lies there, and again once another ball is found).
    """

    def __init__(self, toward: int = 0) -> None:
        """toward: the way to the target in the picture, 1 right, -1 left, 0 not known."""
        self._toward = toward
        self.reset()

    def reset(self) -> None:
        self.reason = "no ball found yet"
        self.left_at_s: float | None = None
        self._place: XY | None = None
        self._measured: list[tuple[float, float]] = []  # quality and diameter (px) of fits at rest
        self.diameter_px: float | None = None  # robust, over the best of the fits at rest; kept after the ball has left
        self._fits: list[tuple[CircleFit, Shown]] = []  # in one place, however the picture was shown
        self._next_search_s, self._found = -math.inf, False  # whether the last look found anything
        self._beside = AnotherBall(LOCK_FRAMES)
        self._seen_frames = 0
        self._missing: list[float] = []
        self._moved: list[XY] = []
        self._rolling: RollingBall | None = None
        self._least_contrast = MIN_CONTRAST
        self._contrast = 1.0  # of the ball over the ground at rest, in whiteness
        self._before: Any = None
        self._confidence = self._soft = self._spread = 0.0
        self._face_on = False
        self._shown: Shown = "plain"  # how the picture was shown in which it was found, and is followed

    def update(
        self,
        image: Any,
        time_s: float,
        hands_xy: XY | None,
        body: BodyPoints | None,
        putter_head_xy: XY | None = None,
    ) -> BallSeenImage | None:
        """The ball in this frame, or None with ``reason``.

        image: (h, w, 3) uint8 BGR. putter_head_xy: where the putter head was last seen, if it was.
        """
        if self._rolling is not None:
            seen = self._follow(shown_as(image, self._shown), time_s)
            if seen is not None:
                return seen
        if self._place is not None and self.left_at_s is None:
            kept = self._keep(image, time_s, putter_head_xy)
            if kept is not None and kept.at_rest:
                self._look_beside(image, time_s, body, putter_head_xy)
            return kept
        return self._search(image, time_s, hands_xy, body, putter_head_xy)

    # --- looking for a ball ------------------------------------------------------------------------------------------

    def _search(
        self, image: Any, time_s: float, hands_xy: XY | None, body: BodyPoints | None, head_xy: XY | None
    ) -> BallSeenImage | None:
        leg = leg_length_px(body)
        if leg is None or hands_xy is None or body is None:
            self.reason = "no player to look for a ball by"
            return None
        if not self._found and time_s < self._next_search_s:
            return None
        self._next_search_s = time_s + SEARCH_EVERY_S
        putter = Putter(*head_xy, self._toward) if head_xy is not None else Putter(hands_xy[0])
        self._face_on = looks_face_on(body, leg)
        wanted = WantedBall.by(leg, self._face_on, self.diameter_px, self._least_contrast)
        fit, shown = best_shown(image, body, leg, putter, wanted)
        self._found = fit is not None
        if fit is None:
            self.reason = "ball left" if self.left_at_s is not None else "no ball near the putter"
            return None
        same_px = SAME_PLACE * fit.diameter_px  # what lies elsewhere was something else, or the ball still rolled
        near = [one for one in self._fits if math.dist((one[0].x, one[0].y), (fit.x, fit.y)) <= same_px]
        self._fits = [*near, (fit, shown)]
        if len(self._fits) < LOCK_FRAMES:
            self.reason = "ball not confirmed yet"
            return None
        self._lock(image)
        return self._seen()

    def _lock(self, image: Any) -> None:
        fits = [fit for fit, _ in self._fits]
        ways = [shown for _, shown in self._fits]
        others = [way for way in ways if way != "plain"]  # plain is followed only where it showed the ball each time
        self._shown = statistics.mode(others or ways)
        self._place = (float(np.mean([f.x for f in fits])), float(np.mean([f.y for f in fits])))
        self._spread = 0.0
        widths = [self._width(image, f) for f in fits]
        self._note_measured([(f.quality, width) for f, width in zip(fits, widths)])
        self._least_contrast = max(MIN_CONTRAST, 0.5 * float(statistics.median(f.contrast for f in fits)))
        self._confidence = float(np.mean([f.quality for f in fits]))
        self._soft = float(np.mean([f.edge_of(width) for f, width in zip(fits, widths)]))
        self._seen_frames = len(fits)
        self._fits = []
        self._missing, self._moved = [], []
        self._rolling, self.left_at_s, self._before = None, None, None

    def _look_beside(self, image: Any, time_s: float, body: BodyPoints | None, head_xy: XY | None) -> None:
        """Of several that lie about, the one that the putter is put to."""
        leg = leg_length_px(body)
        if leg is None or body is None or head_xy is None or self._place is None:
            self._beside.clear()
            return
        putter, diameter = Putter(*head_xy, self._toward), self.diameter_px or 0.0
        wanted = WantedBall.by(leg, self._face_on, diameter, self._least_contrast)
        best = partial(best_shown, image, body, leg, putter, wanted)
        found = self._beside.look(time_s, head_xy, self._place, diameter, best)
        if found:
            self._fits = found
            self._lock(image)

    # --- while it lies there -----------------------------------------------------------------------------------------

    def _keep(self, image: Any, time_s: float, head_xy: XY | None) -> BallSeenImage | None:
        assert self._place is not None
        diameter = self.diameter_px or 0.0
        plain, image = image, shown_as(image, self._shown)
        share, bare = self._share_left(image, self._place, diameter)
        if share is not None and share > PRESENT:
            self._missing.clear()
            measured = len(self._measured) >= MEASURED_FRAMES
            if not measured or self._seen_frames % 4 == 0:
                self._measure(plain, image)
            self._seen_frames += 1
            if self._seen_frames % 6 == 0 or self._before is None:
                self._before = image.copy()
            return self._seen()
        self._missing.append(time_s)
        covered = (
            not bare
            and head_xy is not None
            and abs(head_xy[0] - self._place[0]) < 1.2 * diameter
            and abs(head_xy[1] - self._place[1]) < 2.5 * diameter
        )
        rolling = RollingBall(self._before, self._place, diameter, self._contrast)
        if rolling.start(image, time_s):
            self._rolling = rolling
            self.left_at_s = self._missing[0]
            return self._rolling_seen()
        if len(self._missing) < GONE_FRAMES or (covered and time_s - self._missing[0] < COVERED_S):
            x, y = self._place
            return BallSeenImage(x, y, diameter, 0.4, True, self._soft)
        self.left_at_s = self._missing[0]
        self.reason = "ball left"
        return None

    def _share_left(self, image: Any, place: XY, diameter: float) -> tuple[float | None, bool]:
        """(share 0..1 of the ball's contrast that is still there, whether its place looks like the ground around it).

        The share is None when its place is out of the picture.
        """
        reach = int(1.1 * diameter) + 1
        x, y = int(place[0]), int(place[1])
        patch = image[max(0, y - reach) : y + reach + 1, max(0, x - reach) : x + reach + 1]
        if patch.size == 0:
            return None, False
        core = int(0.25 * diameter)
        cy, cx = min(reach, y), min(reach, x)
        middle = patch[max(0, cy - core) : cy + core + 1, max(0, cx - core) : cx + core + 1].mean(axis=(0, 1))
        ground = median_of_rows(np.concatenate((patch[:, 0], patch[:, -1], patch[0])).astype(float))
        contrast = float(min(middle[1:]) - min(ground[1:]))
        if self._seen_frames <= LOCK_FRAMES:
            self._contrast = max(contrast, 1.0)
        bare = float(np.abs(middle - ground).sum()) < BARE_LEVEL
        return contrast / self._contrast, bare

    def _fit_at(self, image: Any) -> CircleFit | None:
        """The ball at its place."""
        assert self._place is not None
        (x, y), diameter = self._place, self.diameter_px or 0.0
        reach = int(1.3 * diameter) + 2
        x0, y0 = max(0, int(x) - reach), max(0, int(y) - reach)
        patch = image[y0 : y0 + 2 * reach, x0 : x0 + 2 * reach]
        fit = fit_circle(luminance(patch), x - x0, y - y0, diameter, rounds=2)
        return None if fit is None or fit.quality < MIN_QUALITY else fit.moved(x0, y0)

    def _measure(self, plain: Any, image: Any) -> None:
        """plain: the picture as it is; image: as the ball is followed in it."""
        assert self._place is not None
        diameter = self.diameter_px or 0.0
        fit = self._fit_at(image)
        if fit is None:
            return
        shift = math.dist((fit.x, fit.y), self._place)
        if shift > max(0.15 * diameter, 1.0):  # nudged, or half covered: believe it only if it stays so
            self._moved.append((fit.x, fit.y))
            if len(self._moved) >= 3 and math.dist(self._moved[-1], self._moved[-3]) < 0.1 * diameter:
                self._place = self._moved[-1]
                self._moved.clear()
            return
        self._moved.clear()
        n = min(self._seen_frames, 30)
        self._place = (
            self._place[0] + (fit.x - self._place[0]) / (n + 1),
            self._place[1] + (fit.y - self._place[1]) / (n + 1),
        )
        self._confidence += 0.2 * (fit.quality - self._confidence)
        width = self._width(plain, fit)
        self._soft += 0.2 * (fit.edge_of(width) - self._soft)
        measured = [*self._measured, (fit.quality, width)]
        if len(measured) > MEASURED_FRAMES:
            measured.remove(min(measured))
        self._note_measured(measured)

    def _width(self, plain: Any, fit: CircleFit) -> float:
        """px. The net was taught face-on."""
        learned = learned_diameter_px(plain, fit.x, fit.y, fit.diameter_px) if self._face_on else None
        return fit.diameter_px if learned is None else learned

    def _note_measured(self, measured: list[tuple[float, float]]) -> None:
        """All fits at rest that count from now on."""
        best, _ = max(measured)
        self._measured = measured
        self.diameter_px = middle(width for quality, width in measured if quality > AS_GOOD * best)
        if len(measured) >= ENOUGH_FRAMES:
            self._spread = float(np.std([width for _, width in measured])) / self.diameter_px

    def _seen(self) -> BallSeenImage:
        assert self._place is not None
        sure = min(1.0, self._confidence)
        return BallSeenImage(*self._place, self.diameter_px or 0.0, sure, True, self._soft, self._spread)

    # --- while it rolls ----------------------------------------------------------------------------------------------

    def _follow(self, image: Any, time_s: float) -> BallSeenImage | None:
        assert self._rolling is not None
        if self._rolling.follow(image, time_s):
            return self._rolling_seen()
        if self._rolling.over:
            self._rolling = None
            self._fits.clear()
        self.reason = "ball left"
        return None

    def _rolling_seen(self) -> BallSeenImage | None:
        assert self._rolling is not None
        x, y = self._rolling.place
        return BallSeenImage(x, y, self.diameter_px or 0.0, self._rolling.confidence, False)
