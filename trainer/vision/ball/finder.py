"""The ball: found at rest on the ground by the putter, measured as the ruler, and seen to leave.

All coordinates are picture coordinates in px, the top left corner of the picture at (0, 0), x right, y down, as the
pose model's landmarks times width and height are (the centre of the first pixel is at 0.5, 0.5).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Mapping

import cv2
import numpy as np

from trainer.vision.ball.circle_fit import CircleFit, fit_circle, luminance, whiteness
from trainer.vision.ball.rolling import RollingBall
from trainer.vision.numeric import middle

XY = tuple[float, float]
BodyPoints = Mapping[
    str, tuple[float, float, float]
]  # MediaPipe's names, e.g. "left_ankle" -> (x px, y px, visibility)

# Ball diameter over leg length (hip to knee to ankle) in the picture: 4.267 cm over about 80 cm is 0.053, more for a
# short player, as the ball lies nearer to the camera than the legs. Wide margins on both sides:
# half hidden behind a putter it also looks smaller.
DIAMETER_PER_LEG = (0.030, 0.098)
USUAL_DIAMETER_PER_LEG = 0.058
SEARCH_REACH_LEGS = 0.55  # how far from the putter (or the hands) a ball is looked for, in leg lengths: about 45 cm
MIN_QUALITY = 0.45
WHOLE_SHARE, WHOLE_QUALITY = 0.95, 0.80  # of a whole ball (rendered, before a shoe: 1.0 and 0.85 to 0.95)
MIN_CONTRAST = 28.0  # grey levels; a later ball must also have half the contrast of the first
LOCK_FRAMES = 3
SEARCH_EVERY_S = 0.08
MEASURED_FRAMES = 24  # fits that make the diameter
PRESENT = 0.55  # share of the ball's own contrast left at its place, below which it is covered or gone
GONE_FRAMES = 2
COVERED_S = 0.7
BARE_LEVEL = 36.0  # grey levels, all channels: more than that and something lies on the ground


@dataclass(frozen=True, slots=True)
class BallSeenImage:
    """Centre and diameter of the ball (px); at_rest False while it rolls, when the centre is the middle of its smear.

    confidence 0..1; below 0.5 when the ball is only taken to be where it was, because the putter covers it.
    """

    x: float
    y: float
    diameter_px: float
    confidence: float
    at_rest: bool


def leg_length_px(body: BodyPoints | None) -> float | None:
    """Mean hip-knee-ankle length in the picture (px) of the legs that are seen; None when neither is."""
    lengths = []
    for side in ("left", "right"):
        joints = [(body or {}).get(f"{side}_{name}") for name in ("hip", "knee", "ankle")]
        hip, knee, ankle = joints
        if hip and knee and ankle and min(hip[2], knee[2], ankle[2]) > 0.3:
            lengths.append(math.dist(hip[:2], knee[:2]) + math.dist(knee[:2], ankle[:2]))
    return float(np.mean(lengths)) if lengths else None


class BallFinder:
    """Finds, keeps and loses the ball. ``update`` once a frame, in order of time; ``reset`` for a new player or clip.

    ``reason`` says why the last update gave None. ``left_at_s`` is the time of the first frame in which the ball was no
    longer at its place (None while it lies there, and again once another ball is found).
    """

    def __init__(self) -> None:
        self.reset()

    def reset(self) -> None:
        self.reason = "no ball found yet"
        self.left_at_s: float | None = None
        self._place: XY | None = None
        self._measured: list[tuple[float, float]] = []  # (quality, diameter px)
        self._fits: list[CircleFit] = []
        self._next_search_s = -math.inf
        self._seen_frames = 0
        self._missing: list[float] = []
        self._moved: list[XY] = []
        self._rolling: RollingBall | None = None
        self._least_contrast = MIN_CONTRAST
        self._contrast = 1.0  # of the ball over the ground at rest, in whiteness
        self._before: Any = None
        self._confidence = 0.0

    @property
    def diameter_px(self) -> float | None:
        """Robust diameter (px) over the best of the fits at rest; kept after the ball has left."""
        if not self._measured:
            return None
        best = max(quality for quality, _ in self._measured)
        return middle(diameter for quality, diameter in self._measured if quality > 0.92 * best)

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
            seen = self._follow(image, time_s)
            if seen is not None:
                return seen
        if self._place is not None and self.left_at_s is None:
            return self._keep(image, time_s, putter_head_xy)
        return self._search(image, time_s, hands_xy, body, putter_head_xy)

    # --- looking for a ball ------------------------------------------------------------------------------------------

    def _search(
        self, image: Any, time_s: float, hands_xy: XY | None, body: BodyPoints | None, head_xy: XY | None
    ) -> BallSeenImage | None:
        leg = leg_length_px(body)
        if leg is None or hands_xy is None or body is None:
            self.reason = "no player to look for a ball by"
            return None
        if not self._fits and time_s < self._next_search_s:
            return None
        self._next_search_s = time_s + SEARCH_EVERY_S
        fit = self._best_candidate(image, hands_xy, body, leg, head_xy)
        if fit is None:
            self._fits.clear()
            self.reason = "ball left" if self.left_at_s is not None else "no ball near the putter"
            return None
        if self._fits and math.dist((fit.x, fit.y), (self._fits[-1].x, self._fits[-1].y)) > 0.12 * fit.diameter_px:
            self._fits.clear()  # still rolling
        self._fits.append(fit)
        if len(self._fits) < LOCK_FRAMES:
            self.reason = "ball not confirmed yet"
            return None
        self._lock()
        return self._seen()

    def _best_candidate(
        self, image: Any, hands_xy: XY, body: BodyPoints, leg: float, head_xy: XY | None
    ) -> CircleFit | None:
        ankles = [body[f"{side}_ankle"] for side in ("left", "right") if f"{side}_ankle" in body]
        height, width = image.shape[:2]
        reach = SEARCH_REACH_LEGS * leg
        centre_x = head_xy[0] if head_xy is not None else hands_xy[0]
        x0, x1 = max(0, int(centre_x - reach)), min(width, int(centre_x + reach) + 1)
        y0 = max(0, int(min(a[1] for a in ankles)))  # the camera is above the ground
        y1 = min(height, int(max(a[1] for a in ankles) + 0.6 * leg) + 1)
        if x1 - x0 < 12 or y1 - y0 < 12:
            return None
        small, large = self._size_range(leg)
        patch = image[y0:y1, x0:x1]
        white = whiteness(patch)
        size = int(1.25 * large) | 1
        lifted = cv2.morphologyEx(white, cv2.MORPH_TOPHAT, cv2.getStructuringElement(cv2.MORPH_RECT, (size, size)))
        peak = float(np.partition(lifted, -12, axis=None)[-12]) if lifted.size > 12 else 0.0
        if peak < 40:
            return None
        _, mask = cv2.threshold(lifted, 0.45 * peak, 255, cv2.THRESH_BINARY)
        count, _, stats, centres = cv2.connectedComponentsWithStats(mask, connectivity=4)
        grey = luminance(patch)
        best: tuple[float, CircleFit] | None = None
        for i in range(1, count):
            w, h, area = (int(stats[i, k]) for k in (cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT, cv2.CC_STAT_AREA))
            if not (0.3 * small**2 < area < 1.3 * large**2 and 0.4 * small < min(w, h) and max(w, h) < 1.6 * large):
                continue
            # A ball half hidden by the putter shows only its top: try that reading of the bright spot, too.
            x, top = float(centres[i, 0]) + 0.5, float(stats[i, cv2.CC_STAT_TOP])
            usual = 0.5 * (small + large) if self._measured else USUAL_DIAMETER_PER_LEG * leg
            whole = min(max(math.sqrt(area * 4 / math.pi), small), large)
            fits = (
                fit_circle(grey, x, float(centres[i, 1]) + 0.5, whole, rounds=3),
                fit_circle(grey, x, top + usual / 2, usual, rounds=3),
            )
            fit = max(
                (f for f in fits if f is not None and small <= f.diameter_px <= large),
                key=lambda f: f.quality + 0.1 * f.diameter_px / large,
                default=None,
            )
            if fit is None or fit.contrast < self._least_contrast:
                continue
            fit = fit.moved(x0, y0)
            rank = fit.quality * _away_from_feet(fit, body, leg)
            rank -= 0.3 * abs(fit.x - centre_x) / reach
            if fit.quality >= MIN_QUALITY and (best is None or rank > best[0]):
                best = (rank, fit)
        return best[1] if best is not None and best[0] > 0.15 else None

    def _size_range(self, leg: float) -> tuple[float, float]:
        """Diameters (px) a ball may have: by the player's legs, or by the ball known already."""
        small, large = (share * leg for share in DIAMETER_PER_LEG)
        known = self.diameter_px
        if known is not None and small < known < large:
            return max(small, 0.8 * known), min(large, 1.25 * known)
        return small, large

    def _lock(self) -> None:
        fits = self._fits
        self._place = (float(np.mean([f.x for f in fits])), float(np.mean([f.y for f in fits])))
        self._measured = [(f.quality, f.diameter_px) for f in fits]
        self._least_contrast = max(MIN_CONTRAST, 0.5 * float(np.median([f.contrast for f in fits])))
        self._confidence = float(np.mean([f.quality for f in fits]))
        self._seen_frames = len(fits)
        self._fits = []
        self._missing, self._moved = [], []
        self._rolling, self.left_at_s, self._before = None, None, None

    # --- while it lies there -----------------------------------------------------------------------------------------

    def _keep(self, image: Any, time_s: float, head_xy: XY | None) -> BallSeenImage | None:
        assert self._place is not None
        diameter = self.diameter_px or 0.0
        share, bare = self._share_left(image, self._place, diameter)
        if share is not None and share > PRESENT:
            self._missing.clear()
            measured = len(self._measured) >= MEASURED_FRAMES
            if not measured or self._seen_frames % 4 == 0:
                self._measure(image, head_xy)
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
            return BallSeenImage(x, y, diameter, 0.4, True)
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
        ground = np.median(np.concatenate((patch[:, 0], patch[:, -1], patch[0])), axis=0)
        contrast = float(min(middle[1:]) - min(ground[1:]))
        if self._seen_frames <= LOCK_FRAMES:
            self._contrast = max(contrast, 1.0)
        bare = float(np.abs(middle - ground).sum()) < BARE_LEVEL
        return contrast / self._contrast, bare

    def _measure(self, image: Any, head_xy: XY | None) -> None:
        assert self._place is not None
        diameter = self.diameter_px or 0.0
        reach = int(1.3 * diameter) + 2
        x0, y0 = max(0, int(self._place[0]) - reach), max(0, int(self._place[1]) - reach)
        patch = luminance(image[y0 : y0 + 2 * reach, x0 : x0 + 2 * reach])
        fit = fit_circle(patch, self._place[0] - x0, self._place[1] - y0, diameter, rounds=2)
        if fit is None or fit.quality < MIN_QUALITY:
            return
        fit = fit.moved(x0, y0)
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
        self._measured.append((fit.quality, fit.diameter_px))
        if len(self._measured) > MEASURED_FRAMES:
            self._measured.remove(min(self._measured))

    def _seen(self) -> BallSeenImage:
        assert self._place is not None
        return BallSeenImage(*self._place, self.diameter_px or 0.0, min(1.0, self._confidence), True)

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


def _away_from_feet(fit: CircleFit, body: BodyPoints, leg: float) -> float:
    """1 away from the shoes, down to 0.5 near them and 0 on them: shoes have round bright spots.

    From a low camera a ball played forward lies right before a shoe, and the model may take it for the toe: a whole ball lower
    in the picture than that foot's marks is still believed.
    """
    nearest, lowest = math.inf, math.inf
    for side in ("left", "right"):
        marks = [body[n] for part in ("ankle", "toe", "heel") if (n := f"{side}_{part}") in body]
        for k, p in enumerate(marks):
            for q in marks[:k]:
                apart = _distance_to_segment((fit.x, fit.y), p[:2], q[:2])
                if apart < nearest:
                    nearest, lowest = apart, max(m[1] for m in marks)
    if nearest > 0.09 * leg:
        return 1.0
    before_it = fit.y > lowest and fit.share >= WHOLE_SHARE and fit.quality >= WHOLE_QUALITY
    return 0.5 if nearest > 0.06 * leg or before_it else 0.0


def _distance_to_segment(p: XY, a: XY, b: XY) -> float:
    ax, ay, bx, by = *a, *b
    length2 = (bx - ax) ** 2 + (by - ay) ** 2
    t = 0.0 if length2 == 0 else min(1.0, max(0.0, ((p[0] - ax) * (bx - ax) + (p[1] - ay) * (by - ay)) / length2))
    return math.dist(p, (ax + t * (bx - ax), ay + t * (by - ay)))
