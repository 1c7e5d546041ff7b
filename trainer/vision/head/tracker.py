"""Decides when the head's reference picture is taken, retaken or given up, around the registration."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace
from statistics import median
from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.domain.player_frame import mirrored_x
from trainer.vision.head.brim import find_rim
from trainer.vision.head.follower import HeadOptions
from trainer.vision.head.fusion import Hard
from trainer.vision.head.outline import expected_head, place_twice
from trainer.vision.head.registration import HeadRegistration
from trainer.vision.head.stillness import Stillness
from trainer.vision.head.witness import load

Array = npt.NDArray[Any]

LOST_SHARE = 1.7  # tracked and expected centre this many half-widths apart: lost
LOST_S = 0.3
# Expected size of the head, of the one followed: outside of these it is another. Smaller may be shoulders that the pose model
# sees from the side, as a rendered player's at the end of a long stroke for two seconds: for so long it is the same.
SMALLER, LARGER, NARROW_S = 0.7, 1.4, 4.0
RESUME_S = 1.5  # a head found again within this time goes on from the turn it was lost at
RENEW_S = 8.0  # a resting head's reference is renewed this often, so that light and clothes may change
# A head at rest so many half-widths above or below where its reference was taken is of a player who has bowed to the ball or
# stood up since: it shows another side of itself. Who lifts the head by 4 cm, or looks to the hole, moves it by 0.4.
OTHER_POSTURE = 1.0
WITNESS_S = 0.025  # between two questions to the learned witness: every frame of 30 a second, every second one of 60
HINT_DEG = 300.0  # nose against ears, in shoulder widths, to degrees of turn: about 0.33 per 100 deg on rendered truth


@dataclass(frozen=True, slots=True)
class HeadReading:
    """turn_deg: since the first reference, + toward the target; centre and half-width in image px; confidence 0..1."""

    turn_deg: float
    confidence: float
    x: float
    y: float
    half_width: float


class HeadTracker:
    """Feed every frame with its pose points; get the head's turn or the reason why not."""

    def __init__(self, *, mirrored: bool = False, options: HeadOptions | None = None) -> None:
        """mirrored: the target is to the picture's left (a left-hander seen face-on)."""
        load()  # not while frames wait
        self.mirrored = mirrored
        self._options = options or HeadOptions()
        self.reset()

    def reset(self) -> None:
        """Forgets everything."""
        self._stillness = Stillness()
        self._nose: deque[float] = deque(maxlen=3)
        self._reg: HeadRegistration | None = None
        self._offset_deg = 0.0
        self._lost_since: float | None = None
        self._rest_nose: float | None = None
        self._gap = (0.0, 0.0)
        self._taken_y = 0.0
        self._taken_s = self._asked_s = -np.inf  # the reference, the witness
        self._wide_s = -np.inf  # when the shoulders last were as wide as the head followed
        self._last_s, self._last_deg = -np.inf, 0.0
        self.reason = "no head seen yet"

    @property
    def hard(self) -> Hard:
        """Why the head that is followed is hard to read, if it is."""
        return self._reg.hard if self._reg is not None else ""

    def update(self, image: Array, time_s: float, points: dict[str, Array] | None) -> HeadReading | None:
        """image: (h,w,3) BGR; points: name -> (x, y, visibility) or None. None when not seen, ``reason`` says why."""
        expected = self._expected(points, time_s) if points else None
        if expected is None or points is None:
            self.reason = "nobody in the picture"
            self._mark_lost(time_s)
            return None
        x, y, half = expected
        self._stillness.add(time_s, x, y)
        nose = float(points["nose"][0] - (points["left_ear"][0] + points["right_ear"][0]) / 2) / (half * 4)
        self._nose.append(-nose if self.mirrored else nose)
        still = self._stillness.by_points(half)
        if self._reg is None:
            if not (still | self._stillness.by_picture(image, half)):
                self.reason = "waiting for the head to be still"
                return None
            recent = time_s - self._last_s < RESUME_S
            return self._take(image, time_s, half, self._last_deg if recent else 0.0)
        hint = HINT_DEG * (median(self._nose) - self._rest_nose) if self._rest_nose is not None else None
        reg = self._reg
        hint_from_key = None if hint is None else hint - self._offset_deg
        ask = time_s - self._asked_s >= WITNESS_S
        reg.follow(image, hint_from_key, ask_witness=ask)
        self._asked_s = time_s if ask else self._asked_s
        reading = self._reading(image.shape[1])
        adrift = np.hypot(reading.x - x - self._gap[0], reading.y - y - self._gap[1]) > LOST_SHARE * half
        if adrift or reg.lost or not SMALLER < half / reg.half_px < LARGER:
            self._mark_lost(time_s)
            self.reason = "the head's picture was lost"
            if self._lost_since is not None and time_s - self._lost_since > LOST_S:
                self._reg = None
            return None
        self._lost_since = None
        if abs(y - self._taken_y) > OTHER_POSTURE * reg.half_px:
            rests = still | self._stillness.by_picture(image, half)
            anew = self._take(image, time_s, half, 0.0) if rests else None
            if anew is not None:
                return anew
        self._last_s, self._last_deg = time_s, reading.turn_deg
        self.reason = ""
        resting = still and abs(reg.turn_deg) < 4 and reading.confidence > 0.6 and self._wide_s == time_s
        if resting and time_s - self._taken_s > RENEW_S:
            return self._take(image, time_s, half, reading.turn_deg)
        if resting:
            now = median(self._nose) - reading.turn_deg / HINT_DEG
            self._rest_nose = now if self._rest_nose is None else 0.95 * self._rest_nose + 0.05 * now
        return reading

    def _expected(self, points: dict[str, Array], time_s: float) -> tuple[float, float, float] | None:
        """Where the head should be, and its half-width, px."""
        found, reg = expected_head(points), self._reg
        if reg is None or (found is not None and found[2] > SMALLER * reg.half_px):
            self._wide_s = time_s
        elif time_s - self._wide_s <= NARROW_S:
            return expected_head(points, reg.half_px)
        return found

    def _take(self, image: Array, time_s: float, half: float, turn_deg: float) -> HeadReading | None:
        x, y = self._stillness.place
        placed = place_twice(image, x, y, half)
        if placed is None or placed[0].edge < 4:
            self.reason = "the head does not stand out from what is behind it"
            return None
        ellipse = placed[0]
        first, second = (replace(e, x=mirrored_x(e.x, image.shape[1])) if self.mirrored else e for e in placed)
        rim = find_rim(image, x, y, half)
        reg = HeadRegistration(image, first, self._options, mirrored=self.mirrored, second=second, rim=rim)
        reg.follow(image)
        self._reg, self._taken_s, self._offset_deg = reg, time_s, turn_deg
        self._gap, self._taken_y = (ellipse.x - x, ellipse.y - y), y
        self._lost_since = None
        if self._rest_nose is None or turn_deg == 0.0:
            self._rest_nose = median(self._nose)
        self.reason = ""
        return self._reading(image.shape[1])

    def _mark_lost(self, time_s: float) -> None:
        if self._lost_since is None:
            self._lost_since = time_s
        elif self._reg is not None and time_s - self._lost_since > 1.0:
            self._reg = None

    def _reading(self, width: int) -> HeadReading:
        reg = self._reg
        assert reg is not None
        x, y = reg.place
        return HeadReading(
            self._offset_deg + reg.turn_deg,
            reg.confidence,
            mirrored_x(x, width) if self.mirrored else x,
            y,
            reg.half_px,
        )
