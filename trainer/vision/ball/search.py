"""Candidates for the ball: bright spots on the ground by the putter that a circle fits, best first."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from trainer.vision.ball.circle_fit import CircleFit, fit_circle, luminance, whiteness
from trainer.vision.body.points import BodyPoints

XY = tuple[float, float]

# Ball diameter over leg length (hip to knee to ankle) in the picture: 4.267 cm over about 80 cm is 0.053, more for a
# short player, as the ball lies nearer to the camera than the legs. Wide margins on both sides:
# half hidden behind a putter it also looks smaller.
DIAMETER_PER_LEG = (0.030, 0.098)
USUAL_DIAMETER_PER_LEG = 0.058
REACH_LEGS = 0.55  # how far from the putter (or the hands) a ball is looked for, in leg lengths: about 45 cm
BEFORE_FEET_LEGS = 0.6  # how far below the lower ankle in the picture
GREENER = 8  # grey levels that grass has more of in green than in blue or red
TWO_THINGS = 1.3  # times as wide as high: the ball and a putter head that shines
MIN_AREA_PX = 12  # side of the smallest area worth looking at
MIN_PEAK = 40.0  # grey levels of the brightest spot over its surroundings
MIN_QUALITY, MIN_RANK = 0.45, 0.15
WHOLE_SHARE, WHOLE_QUALITY = 0.95, 0.80  # of a whole ball (rendered, before a shoe: 1.0 and 0.85 to 0.95)


@dataclass(frozen=True, slots=True)
class WantedBall:
    """What a ball may look like: diameters from small to large, usual where it is half hidden (px); contrast in grey levels."""

    small: float
    large: float
    usual: float
    least_contrast: float

    @staticmethod
    def by(leg_px: float, known_px: float | None, least_contrast: float) -> WantedBall:
        """By the player's legs, or by the ball known already. known_px: its diameter."""
        small, large = (share * leg_px for share in DIAMETER_PER_LEG)
        if known_px is not None and small < known_px < large:
            small, large = max(small, 0.8 * known_px), min(large, 1.25 * known_px)
        usual = 0.5 * (small + large) if known_px is not None else USUAL_DIAMETER_PER_LEG * leg_px
        return WantedBall(small, large, usual, least_contrast)


def best_candidate(
    image: Any, body: BodyPoints, leg_px: float, centre_x: float, wanted: WantedBall
) -> CircleFit | None:
    """The spot that looks most like a ball lying before the feet; None without one. centre_x: of putter or hands (px)."""
    reach = REACH_LEGS * leg_px
    box = _search_box(image, body, leg_px, centre_x)
    if box is None:
        return None
    x0, y0, x1, y1 = box
    patch = image[y0:y1, x0:x1]
    grey = luminance(patch)
    best: tuple[float, CircleFit] | None = None
    for spot in _bright_spots(patch, wanted):
        fit = _fit_spot(grey, spot, wanted, centre_x - x0)
        if fit is None or fit.contrast < wanted.least_contrast:
            continue
        fit = fit.moved(x0, y0)
        rank = fit.quality * _away_from_feet(fit, body, leg_px)
        rank -= 0.3 * abs(fit.x - centre_x) / reach
        if fit.quality >= MIN_QUALITY and (best is None or rank > best[0]):
            best = (rank, fit)
    return best[1] if best is not None and best[0] > MIN_RANK else None


def on_grass(image: Any, body: BodyPoints, leg_px: float, centre_x: float) -> bool:
    """Whether the ground where a ball is looked for is green."""
    box = _search_box(image, body, leg_px, centre_x)
    if box is None:
        return False
    x0, y0, x1, y1 = box
    blue, green, red = (image[y0:y1:4, x0:x1:4, k].astype(int) for k in range(3))
    return bool(((green > blue + GREENER) & (green > red + GREENER)).mean() > 0.5)


def by_blue(image: Any) -> Any:
    """The picture as its blue shows it: grass is dark there even where it shines in a low sun, a ball's shaded side is not,
    for leaves take blue light in, and the sky's falls on the ball (common knowledge)."""
    blue = cv2.extractChannel(image, 0)
    return cv2.merge((blue, blue, blue))


def _search_box(image: Any, body: BodyPoints, leg_px: float, centre_x: float) -> tuple[int, int, int, int] | None:
    """x0, y0, x1, y1 (px) of the ground before the feet, around the putter."""
    ankles = [body[f"{side}_ankle"] for side in ("left", "right") if f"{side}_ankle" in body]
    height, width = image.shape[:2]
    reach = REACH_LEGS * leg_px
    x0, x1 = max(0, int(centre_x - reach)), min(width, int(centre_x + reach) + 1)
    y0 = max(0, int(min(a[1] for a in ankles)))  # the camera is above the ground
    y1 = min(height, int(max(a[1] for a in ankles) + BEFORE_FEET_LEGS * leg_px) + 1)
    return (x0, y0, x1, y1) if x1 - x0 >= MIN_AREA_PX and y1 - y0 >= MIN_AREA_PX else None


@dataclass(frozen=True, slots=True)
class _Spot:
    """Centre of a bright spot, its upper and left edges, width and height in patch px; area (px^2)."""

    x: float
    y: float
    top: float
    left: float
    wide: float
    high: float
    area: int

    def beside(self, x: float) -> float | None:
        """Of what may be two things side by side, the middle (x) of the one farther from x; None of one thing."""
        if self.wide < TWO_THINGS * self.high:
            return None
        ends = self.left + self.high / 2, self.left + self.wide - self.high / 2
        return max(ends, key=lambda end: abs(end - x))


def _bright_spots(patch: Any, wanted: WantedBall) -> list[_Spot]:
    """Spots brighter than what is around them and neither too small nor too large for a ball."""
    white = whiteness(patch)
    size = int(1.25 * wanted.large) | 1
    lifted = cv2.morphologyEx(white, cv2.MORPH_TOPHAT, cv2.getStructuringElement(cv2.MORPH_RECT, (size, size)))
    peak = float(np.partition(lifted, -12, axis=None)[-12]) if lifted.size > 12 else 0.0
    if peak < MIN_PEAK:
        return []
    _, mask = cv2.threshold(lifted, 0.45 * peak, 255, cv2.THRESH_BINARY)
    count, _, stats, centres = cv2.connectedComponentsWithStats(mask, connectivity=4)
    small, large = wanted.small, wanted.large
    spots = []
    for i in range(1, count):
        w, h, area = (int(stats[i, k]) for k in (cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT, cv2.CC_STAT_AREA))
        if 0.3 * small**2 < area < 1.3 * large**2 and 0.4 * small < min(w, h) and max(w, h) < 1.6 * large:
            x, y = (float(v) + 0.5 for v in centres[i])
            top, left = (float(stats[i, k]) for k in (cv2.CC_STAT_TOP, cv2.CC_STAT_LEFT))
            spots.append(_Spot(x, y, top, left, float(w), float(h), area))
    return spots


def _fit_spot(grey: Any, spot: _Spot, wanted: WantedBall, putter_x: float) -> CircleFit | None:
    """The best of its readings: a whole ball, the top of one half hidden by the putter, one beside a putter that shines."""
    small, large = wanted.small, wanted.large
    whole = min(max(math.sqrt(spot.area * 4 / math.pi), small), large)
    fits = [
        fit_circle(grey, spot.x, spot.y, whole, rounds=3),
        fit_circle(grey, spot.x, spot.top + wanted.usual / 2, wanted.usual, rounds=3),
    ]
    beside = spot.beside(putter_x)
    if beside is not None:
        fits.append(fit_circle(grey, beside, spot.y, spot.high, rounds=3))
    return max(
        (f for f in fits if f is not None and small <= f.diameter_px <= large),
        key=lambda f: f.quality + 0.1 * f.diameter_px / large,
        default=None,
    )


def _away_from_feet(fit: CircleFit, body: BodyPoints, leg_px: float) -> float:
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
    if nearest > 0.09 * leg_px:
        return 1.0
    before_it = fit.y > lowest and fit.share >= WHOLE_SHARE and fit.quality >= WHOLE_QUALITY
    return 0.5 if nearest > 0.06 * leg_px or before_it else 0.0


def _distance_to_segment(p: XY, a: XY, b: XY) -> float:
    ax, ay, bx, by = *a, *b
    length2 = (bx - ax) ** 2 + (by - ay) ** 2
    t = 0.0 if length2 == 0 else min(1.0, max(0.0, ((p[0] - ax) * (bx - ax) + (p[1] - ay) * (by - ay)) / length2))
    return math.dist(p, (ax + t * (bx - ax), ay + t * (by - ay)))
