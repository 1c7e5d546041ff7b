"""Body points carried from one picture to the next, where the pose model is not asked.

Head, shoulders and arms go with what lies under them: optical flow (B. D. Lucas and T. Kanade, 1981) of a few small patches
around each point, whose middle answer counts and whose disagreement says how sure it is. Hips and legs stay where they are: in
front of them hands, shaft and shadow pass, which flow would follow, and a player who putts moves them less than the model errs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.body.points import MIN_VISIBILITY
from trainer.vision.numeric import median, median_of_rows
from trainer.vision.reduced import reduced_grey

Array = npt.NDArray[Any]
Points = Mapping[str, Array]  # name -> (x px, y px, visibility 0..1)

HEAD_AND_SHOULDERS = ("nose", "left_eye", "right_eye", "left_ear", "right_ear", "left_shoulder", "right_shoulder")
ARMS = ("left_elbow", "right_elbow", "left_wrist", "right_wrist", "left_index", "right_index")

BODY_PX = 190.0  # from the highest to the lowest point in the picture that flow is seen in: larger ones are reduced
RESIZE_SHARE = 1.25  # the player this much larger or smaller: reduced anew
# Only the part of the picture that holds the points is looked at, so far around them (of the reduced picture): four times a
# patch's half side, for the coarsest level, and the way that they may go; where half of it is used up a new part is cut out.
AROUND_PX = 48.0
LEAST_PX = 32  # side of a part, of the picture
PATCH_PX, APART_PX = 11, 5.0  # of the reduced picture: side of a patch, its middle from the point
PATCHES = APART_PX * np.array([[0, 0], [1, 1], [-1, 1], [-1, -1], [1, -1]], np.float32)
LEVELS = 2
STOP = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 10, 0.02)
MIN_PATCHES = 3  # of a point that show anything to follow
MAX_SPREAD_PX = 0.6  # of the reduced picture; patches this much apart follow different things
LEAST_TRUST = 0.5  # of what is carried with that spread
# Flow takes a thing to look the same in both pictures: places looked at for their light (px apart), grey levels that follow it,
# and the change that is let be.
LIGHT_PX, FOLLOWS_LIGHT, SAME_LIGHT = 8, (12, 242), 0.03


@dataclass(frozen=True, slots=True)
class Carried:
    """points: of this picture, their visibility lowered by doubt, but what was seen stays seen.

    doubtful: names of those that went with nothing for sure; moved: way of head and shoulders since the picture before, in
    shares of the body's height; endless where none is followed.
    """

    points: dict[str, Array]
    doubtful: frozenset[str]
    moved: float


class PointCarrier:
    """``take`` a picture with its points known, then ``carry`` them picture by picture. Not for two threads at once."""

    def __init__(self) -> None:
        self._names: tuple[str, ...] = ()
        self._points: Array = np.zeros((0, 3))
        self._go: Array = np.zeros(0, dtype=np.intp)  # places of those that flow carries
        self._upper: Array = np.zeros(0, dtype=bool)  # which of these are head and shoulders
        self._seen: Array = np.zeros(0)  # their visibility, as the points were taken
        self._trust: Array = np.zeros(0)  # least since then
        self._scale = 1.0
        self._size: tuple[int, ...] = ()  # of the picture
        self._part = _Part(0, 0, 0, 0)
        self._grey: Array | None = None  # of the part, reduced

    def forget(self) -> None:
        """There is nothing to carry from."""
        self._grey = None

    def take(self, image_bgr: Array, points: Points) -> None:
        """What the next picture's points come from: those of this one, which may have been carried to."""
        if tuple(points) != self._names:
            self._names = tuple(points)
            go = [(k, n in HEAD_AND_SHOULDERS) for k, n in enumerate(points) if n in HEAD_AND_SHOULDERS + ARMS]
            self._go, self._upper = (
                np.array([k for k, _ in go], dtype=np.intp),
                np.array([u for _, u in go], dtype=bool),
            )
        self._points = np.array(list(points.values()), dtype=np.float64)
        self._seen, self._trust = self._points[self._go, 2], np.ones(len(self._go))
        if len(self._go) == 0:
            self._grey = None
            return
        places = self._points[self._go, :2]
        scale = min(1.0, BODY_PX / body_px(points))
        alike = 1 / RESIZE_SHARE < scale / self._scale < RESIZE_SHARE
        if self._grey is None or not alike or not self._part.holds(places, AROUND_PX / 2 / self._scale, self._size):
            self._scale, self._size = scale if not alike else self._scale, image_bgr.shape
            self._part = _Part.around(places, AROUND_PX / self._scale, self._size)
            self._grey = reduced_grey(self._part.of(image_bgr), self._scale)

    def carry(self, image_bgr: Array) -> Carried | None:
        """None where there is nothing to carry from."""
        before = self._grey
        if before is None:
            return None
        if image_bgr.shape != self._size:
            self._grey = None
            return None
        self._grey = now = reduced_grey(self._part.of(image_bgr), self._scale)
        self._points = points = self._points.copy()
        middles = (points[self._go, :2] - self._part.corner) * self._scale - 0.5  # of pixels they are whole numbers
        ways, spread = _flow(*_alike(before, now), middles)
        sure = np.isfinite(spread)
        points[self._go, :2] += ways / self._scale
        self._trust = np.minimum(self._trust, _trust(spread))
        points[self._go, 2] = np.maximum(self._seen * self._trust, np.minimum(self._seen, MIN_VISIBILITY))
        followed = ways[self._upper & sure]
        way = float(np.hypot(*median_of_rows(followed))) / self._scale if len(followed) else np.inf
        named = dict(zip(self._names, points))
        doubtful = frozenset(self._names[k] for k, s in zip(self._go, spread) if not s <= MAX_SPREAD_PX)
        return Carried(named, doubtful, way / body_px(named))


@dataclass(frozen=True, slots=True)
class _Part:
    """Of a picture, px; the ends lie outside."""

    x0: int
    y0: int
    x1: int
    y1: int

    @classmethod
    def around(cls, places: Array, reach_px: float, size: tuple[int, ...]) -> _Part:
        """What lies so near to the places (n, 2), as far as it lies in the picture; never nothing. size: height, width px."""
        (x0, y0), (x1, y1) = places.min(axis=0) - reach_px, places.max(axis=0) + reach_px
        height, width = size[:2]
        least = min(LEAST_PX, height, width)
        left, top = int(min(max(x0, 0), width - least)), int(min(max(y0, 0), height - least))
        return cls(left, top, int(min(max(x1 + 1, left + least), width)), int(min(max(y1 + 1, top + least), height)))

    @property
    def corner(self) -> tuple[int, int]:
        return self.x0, self.y0

    def of(self, image: Array) -> Array:
        return image[self.y0 : self.y1, self.x0 : self.x1]

    def holds(self, places: Array, reach_px: float, size: tuple[int, ...]) -> bool:
        """Whether all that lies so near to the places does so in this part."""
        near = _Part.around(places, reach_px, size)
        return self.x0 <= near.x0 and self.y0 <= near.y0 and near.x1 <= self.x1 and near.y1 <= self.y1


def body_px(points: Points) -> float:
    """From the highest to the lowest point."""
    heights = [p[1] for p in points.values()]
    return max(float(max(heights) - min(heights)), 1.0)


def _trust(spread_px: Array) -> Array:
    """0..1 of points whose patches are so far apart; NaN: they were left where they were."""
    share = np.minimum(np.nan_to_num(spread_px, nan=MAX_SPREAD_PX) / MAX_SPREAD_PX, 1.0)
    return np.asarray(1.0 - (1.0 - LEAST_TRUST) * share * share)


def _alike(before: Array, now: Array) -> tuple[Array, Array]:
    """Both in the light of the darker one: nothing that shows in it has run into white."""
    low, high = FOLLOWS_LIGHT
    then, here = before[::LIGHT_PX, ::LIGHT_PX], now[::LIGHT_PX, ::LIGHT_PX]
    used = (np.minimum(then, here) > low) & (np.maximum(then, here) < high)
    gain = median(here[used] / then[used]) if used.any() else 1.0
    if abs(gain - 1.0) < SAME_LIGHT:
        return before, now
    if gain < 1.0:
        return cv2.convertScaleAbs(before, alpha=gain), now
    return before, cv2.convertScaleAbs(now, alpha=1.0 / gain)


def _flow(before: Array, now: Array, places: Array) -> tuple[Array, Array]:
    """(n, 2) ways of the places and (n,) how far their patches disagree (px; NaN: too few can be followed, and the way is 0)."""
    start = (places[:, None].astype(np.float32) + PATCHES).reshape(-1, 1, 2)
    end, seen, _ = cv2.calcOpticalFlowPyrLK(
        before, now, start, np.empty_like(start), winSize=(PATCH_PX, PATCH_PX), maxLevel=LEVELS, criteria=STOP
    )
    ways = np.where(seen[:, :, None] == 1, end - start, np.nan).reshape(len(places), len(PATCHES), 2)
    count = np.isfinite(ways[..., 0]).sum(axis=1)
    middle = _middle(ways, count)
    spread = _middle(np.linalg.norm(ways - middle[:, None], axis=2)[..., None], count)[:, 0]
    enough = count >= MIN_PATCHES
    return np.where(enough[:, None], middle, 0.0), np.where(enough, spread, np.nan)


def _middle(values: Array, count: Array) -> Array:
    """(n, m) medians over the second axis of (n, k, m), of which ``count`` (n,) are no NaN; much faster than numpy's for such."""
    ordered = np.sort(values, axis=1)  # NaN last
    rows = np.arange(len(values))
    return np.asarray(
        (ordered[rows, np.maximum(count - 1, 0) // 2] + ordered[rows, np.minimum(count // 2, values.shape[1] - 1)]) / 2
    )
