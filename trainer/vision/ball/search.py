"""Candidates for the ball: bright spots on the ground by the putter that a circle fits, best first."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from trainer.vision.ball.circle_fit import CircleFit, fit_circle, luminance
from trainer.vision.ball.shown import Shown, shown_as
from trainer.vision.ball.spots import Spot, bright_spots
from trainer.vision.body.points import BodyPoints

XY = tuple[float, float]

# Ball diameter over leg length (hip to knee to ankle) in the picture: 4.267 cm over about 80 cm is 0.053, more for a
# short player, as the ball lies nearer to the camera than the legs. Wide margins on both sides:
# half hidden behind a putter, as down the line, it also looks smaller. Face-on 82 rendered ones were 0.055 to 0.086.
DIAMETER_PER_LEG, FACE_ON_DIAMETER_PER_LEG = (0.030, 0.098), (0.045, 0.098)
USUAL_DIAMETER_PER_LEG = 0.058
# A whole ball: face-on 0.068 (SD of its logarithm 0.11, 82 rendered pictures), down the line 0.054; half hidden ones are smaller,
# so the doubt is taken wider. What is farther from it, a shining toe, a piece of tape, must look the more like a ball.
LIKELY_DIAMETER_PER_LEG, LIKELY_LOG_SD, LEAST_LIKELY = 0.064, 0.25, 0.5
# Of several balls that lie about, the one at the putter: so much less of a rank at the end of where a ball is looked for, aside
# of the hands, and from the head where that is known.
ASIDE_COSTS, FAR_COSTS = 0.3, 0.6
AHEAD = 0.7  # diameters, of a ball before the shaft at address: its half and a blade's
BEHIND_SHAFT, AT_HEAD = (0.6, 2.2), 1.5  # diameters, of a place where a mallet is
ASIDE_LEGS = 0.25  # down the line, where the head is seen from behind: a ball lies no farther aside of it, the others of a row do
REACH_LEGS = 0.55  # how far from the putter (or the hands) a ball is looked for, in leg lengths: about 45 cm
# Face-on the ball lies before the toes, so lower in the picture than the lower of them: by 0.042 leg lengths and more on 82
# rendered pictures, cameras from 0.45 m up. Tape on a shaft, lace and buckle lie higher.
BELOW_TOES_LEGS = 0.015
# The pose model may put toes too low, on a white line of a mat by 0.05: beside the shaft, and away from the shoes, a ball may lie
# as high. From the shaft, where tape and glints are, it is so many diameters away at least and at most.
BESIDE_TOES_LEGS, BESIDE_SHAFT = -0.03, (0.4, 1.8)
# Checks, knots and blotches come in numbers, balls lying about rarely: so many others with so much of its contrast and quality.
MANY, MANY_ALIKE, HALF_ALIKE = 4, 0.75, 0.5
BEYOND_TOES_LEGS = 0.05  # down the line, away from the player: 0.11 and more on 69 rendered addresses
BEFORE_FEET_LEGS = 0.6  # how far below the lower ankle in the picture
GREENER = 8  # grey levels that grass has more of in green than in blue or red
MIN_AREA_PX = 12  # side of the smallest area worth looking at
MIN_QUALITY, MIN_RANK = 0.45, 0.15
PLAIN_QUALITY = 0.85  # of a fit; below it the picture is shown otherwise too
# And that is taken where it is so good, a putter's edge comes to 0.53, and better by so much, or better at all and in the same
# place, so many diameters off: the same ball shown with less of what lies around.
OTHER_QUALITY, BETTER, SAME_PLACE = 0.65, 0.1, 0.4
WHOLE_SHARE, WHOLE_QUALITY = 0.95, 0.80  # of a whole ball (rendered, before a shoe: 1.0 and 0.85 to 0.95)


@dataclass(frozen=True, slots=True)
class WantedBall:
    """What a ball may look like: diameters from small to large, usual where it is half hidden (px); contrast in grey levels.

    face_on: whether the player is seen from the front, where the putter does not stand before the ball.
    """

    small: float
    large: float
    usual: float
    least_contrast: float
    face_on: bool

    @staticmethod
    def by(leg_px: float, face_on: bool, known_px: float | None, least_contrast: float) -> WantedBall:
        """By the player's legs, or by the ball known already. known_px: its diameter."""
        shares = FACE_ON_DIAMETER_PER_LEG if face_on else DIAMETER_PER_LEG
        small, large = (share * leg_px for share in shares)
        if known_px is not None and small < known_px < large:
            small, large = max(small, 0.8 * known_px), min(large, 1.25 * known_px)
        usual = 0.5 * (small + large) if known_px is not None else USUAL_DIAMETER_PER_LEG * leg_px
        return WantedBall(small, large, usual, least_contrast, face_on)


@dataclass(frozen=True, slots=True)
class Putter:
    """Where it is, px: its head, or where the hands are above it (y None: how low it reaches is not known).

    toward: the way to the target in the picture, 1 right, -1 left, 0 not known.
    """

    x: float
    y: float | None = None
    toward: int = 0

    def costs(self, fit: CircleFit, reach_px: float) -> float:
        """What a ball's rank loses by its distance."""
        if self.y is None:
            return ASIDE_COSTS * abs(fit.x - self.x) / reach_px
        before_it = self.x + self.toward * AHEAD * fit.diameter_px
        return FAR_COSTS * math.dist((fit.x, fit.y), (before_it, self.y)) / reach_px

    def is_its_head(self, fit: CircleFit) -> bool:
        """Whether it is the head itself, a bright mallet: on the side of the shaft where no ball is putted from."""
        if self.y is None or not self.toward:
            return False
        ahead, below = (fit.x - self.x) * self.toward, abs(fit.y - self.y)
        low, high = BEHIND_SHAFT
        return low < -ahead / fit.diameter_px < high and below < AT_HEAD * fit.diameter_px


def best_shown(
    image: Any, body: BodyPoints, leg_px: float, putter: Putter, wanted: WantedBall
) -> tuple[CircleFit | None, Shown]:
    """The ball as it is seen best, and how the picture is shown for that."""
    best = best_candidate(image, body, leg_px, putter, wanted)
    if best is not None and best.quality >= PLAIN_QUALITY:
        return best, "plain"
    others: list[Shown] = ["warm"] if best is not None else ["warm", "rosy"]
    if on_grass(image, body, leg_px, putter.x):
        others = ["warm", "rosy", "blue"]
    shown: Shown = "plain"
    for how in others:
        fit = best_candidate(shown_as(image, how), body, leg_px, putter, wanted)
        if fit is not None and fit.quality > OTHER_QUALITY and (best is None or _better(fit, best)):
            best, shown = fit, how
    return best, shown


def _better(fit: CircleFit, best: CircleFit) -> bool:
    same = math.dist((fit.x, fit.y), (best.x, best.y)) < SAME_PLACE * best.diameter_px
    return fit.quality > best.quality + (0.0 if same else BETTER)


def best_candidate(image: Any, body: BodyPoints, leg_px: float, putter: Putter, wanted: WantedBall) -> CircleFit | None:
    """The spot that looks most like a ball lying before the feet, at the putter; None without one."""
    box = _search_box(image, body, leg_px, putter.x)
    if box is None:
        return None
    x0, y0, x1, y1 = box
    patch = image[y0:y1, x0:x1]
    grey = luminance(patch)
    found: list[tuple[float, CircleFit]] = []
    for spot in bright_spots(patch, wanted.small, wanted.large):
        fit = _fit_spot(grey, spot, wanted, putter.x - x0)
        if fit is None or fit.contrast < wanted.least_contrast:
            continue
        fit = fit.moved(x0, y0)
        away = _away_from_feet(fit, body, leg_px)
        beside = away == 1.0 and BESIDE_SHAFT[0] < abs(fit.x - putter.x) / fit.diameter_px < BESIDE_SHAFT[1]
        if not wanted.face_on and putter.y is not None and abs(fit.x - putter.x) > ASIDE_LEGS * leg_px:
            continue
        if away > 0 and not putter.is_its_head(fit) and _before_toes(fit, body, leg_px, wanted.face_on, beside):
            rank = fit.quality * away * _likely(fit.diameter_px / leg_px)
            found.append((rank - putter.costs(fit, REACH_LEGS * leg_px), fit))
    good = [(rank, fit) for rank, fit in found if fit.quality >= MIN_QUALITY and rank > MIN_RANK]
    _, best = max(good, key=lambda f: f[0], default=(0.0, None))
    return None if best is None or _one_of_many(best, [fit for _, fit in found]) else best


def _one_of_many(fit: CircleFit, found: list[CircleFit]) -> bool:
    """Whether so many places look nearly as much like a ball that it is a pattern of the ground."""
    places: list[CircleFit] = []
    for other in found:
        alike = other.quality > HALF_ALIKE * fit.quality and other.contrast > MANY_ALIKE * fit.contrast
        if alike and all(math.dist((other.x, other.y), (p.x, p.y)) > fit.diameter_px for p in (fit, *places)):
            places.append(other)
    return len(places) >= MANY


def on_grass(image: Any, body: BodyPoints, leg_px: float, centre_x: float) -> bool:
    """Whether the ground where a ball is looked for is green."""
    box = _search_box(image, body, leg_px, centre_x)
    if box is None:
        return False
    x0, y0, x1, y1 = box
    blue, green, red = (image[y0:y1:4, x0:x1:4, k].astype(int) for k in range(3))
    return bool(((green > blue + GREENER) & (green > red + GREENER)).mean() > 0.5)


def _search_box(image: Any, body: BodyPoints, leg_px: float, centre_x: float) -> tuple[int, int, int, int] | None:
    """x0, y0, x1, y1 (px) of the ground before the feet, around the putter."""
    ankles = [body[f"{side}_ankle"] for side in ("left", "right") if f"{side}_ankle" in body]
    height, width = image.shape[:2]
    reach = REACH_LEGS * leg_px
    x0, x1 = max(0, int(centre_x - reach)), min(width, int(centre_x + reach) + 1)
    y0 = max(0, int(min(a[1] for a in ankles)))  # the camera is above the ground
    y1 = min(height, int(max(a[1] for a in ankles) + BEFORE_FEET_LEGS * leg_px) + 1)
    return (x0, y0, x1, y1) if x1 - x0 >= MIN_AREA_PX and y1 - y0 >= MIN_AREA_PX else None


def _fit_spot(grey: Any, spot: Spot, wanted: WantedBall, putter_x: float) -> CircleFit | None:
    """The best of its readings: a whole ball, the top of one half hidden by the putter, one beside a putter that shines."""
    small, large = wanted.small, wanted.large
    whole = min(max(math.sqrt(spot.area * 4 / math.pi), small), large)
    fits = [fit_circle(grey, spot.x, spot.y, whole, rounds=3)]
    if not spot.inner:
        fits.append(fit_circle(grey, spot.x, spot.top + wanted.usual / 2, wanted.usual, rounds=3))
    beside = spot.beside(putter_x)
    if beside is not None:
        fits.append(fit_circle(grey, beside, spot.y, spot.high, rounds=3))
    return max(
        (f for f in fits if f is not None and small <= f.diameter_px <= large),
        key=lambda f: f.quality + 0.1 * f.diameter_px / large,
        default=None,
    )


def _before_toes(fit: CircleFit, body: BodyPoints, leg_px: float, face_on: bool, beside: bool) -> bool:
    """Whether it lies where a ball does: on the toes' side of the feet. beside: right beside the shaft."""
    feet = [(body[f"{s}_toe"], body.get(f"{s}_heel")) for s in ("left", "right") if f"{s}_toe" in body]
    if not feet:
        return True
    if face_on:
        return fit.y > max(toe[1] for toe, _ in feet) + (BESIDE_TOES_LEGS if beside else BELOW_TOES_LEGS) * leg_px
    points_px = sum(toe[0] - heel[0] for toe, heel in feet if heel is not None)
    beyond = fit.x - sum(toe[0] for toe, _ in feet) / len(feet)
    return beyond * math.copysign(1.0, points_px) > BEYOND_TOES_LEGS * leg_px


def _likely(diameter_per_leg: float) -> float:
    """1 for a ball of the usual size, down to LEAST_LIKELY."""
    off = math.log(diameter_per_leg / LIKELY_DIAMETER_PER_LEG) / LIKELY_LOG_SD
    return LEAST_LIKELY + (1 - LEAST_LIKELY) * math.exp(-0.5 * off**2)


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
