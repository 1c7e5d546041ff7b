"""Whether there is light to see by: too dark, too bright, light behind the player; a head or a ball that is burnt out.

Grey levels of 255. Limits are ours: on rendered clips as they are the player's mean is 98 to 133 and no more than 7 % of
the ball is at full white; with the light at a tenth 10 to 12, at a quarter 24 to 33; brightened by a third 42 % of the ball
and more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np

from trainer.texts import tr
from trainer.vision.body.points import BodyPoints
from trainer.vision.grey_levels import GLARE_SHARE, STRIDE, GreyLevels
from trainer.vision.numeric import median

EVERY_S = 0.2
BLACK, DARK = 8.0, 38.0  # mean
FULL, BURNT_SHARE = 250, 0.25  # grey level; share of the ball
BLINDING_SHARE, BLINDED = 0.55, 0.2  # so much of the picture at full white, and what confidences are worth then
HEAD_FLAT = 3.0  # standard deviation over a head in which nothing can be made out
AGAINST_LIGHT, LIT_BEHIND = 45.0, 110.0  # brightest part of the player; mean around him
NOISY = 10.0  # standard deviation of a picture element that stands still
# From there on, and what confidences are worth then: at 28 settle comes 190 and 230 ms late, calmed right on three of four clips,
# 206 ms late on the other.
VERY_NOISY, DROWNED = 20.0, 0.4
CALMED_PX = 1.0  # a shaft of two px keeps two thirds of its contrast, the noise a quarter
STEADY_LIGHT = 3.0  # grey levels; light that changes by more moves bright places more than dark ones, and is no noise
NOISY_LINE = tr("the picture is full of noise: put light on the player, or take another camera")
BLACK_LINE = tr("the picture is black: uncover the lens, or make light")
DARK_LINE = tr("too dark: put light on the player")
BRIGHT_LINE = tr("too bright: lower the camera's exposure, or draw a blind")
BEHIND_LINE = tr("light behind you: turn the camera, or lower the blind")


@dataclass(frozen=True, slots=True)
class Light:
    """line: what is wrong and what would help, empty when all is well; trust: what confidences are worth in such light; noisy:
    the picture is better ``calmed`` before anything thin is looked for in it; table (256,): by which its few
    grey levels, in haze or in the dark, are spread."""

    line: str = ""
    head_flat: bool = False
    trust: float = 1.0
    noisy: bool = False
    table: Any = None

    @property
    def bright(self) -> bool:
        """Much of the picture is at full white."""
        return self.line == BRIGHT_LINE


def light_of(image: Any, body: BodyPoints | None) -> Light:
    """image: (h, w, 3) uint8 BGR."""
    grey = image[::STRIDE, ::STRIDE].mean(axis=2)
    around = _box(body)
    player = grey[around] if around is not None and grey[around].size else grey
    head_flat = _head_flat(image, body)
    if grey.mean() < BLACK:
        return Light(BLACK_LINE, head_flat)
    white = float((grey >= FULL).mean())
    if white > GLARE_SHARE:
        return Light(BRIGHT_LINE, head_flat, BLINDED if white > BLINDING_SHARE else 1.0)
    if around is not None and body is not None:
        behind = (grey.sum() - player.sum()) / max(grey.size - player.size, 1)
        if behind > LIT_BEHIND and _brightest_part(image, body) < AGAINST_LIGHT:
            return Light(BEHIND_LINE, head_flat)
    return Light(DARK_LINE if player.mean() < DARK else "", head_flat)


def calmed(image: Any) -> Any:
    """The picture with most of its noise, and the finest of what it shows, taken out."""
    return cv2.GaussianBlur(image, (0, 0), CALMED_PX)


def burnt_out(image: Any, x: float, y: float, diameter_px: float) -> bool:
    """Whether so much of a disc is at full white that its edge lies too far out (7 to 10 % of its width)."""
    reach = max(1, int(0.36 * diameter_px))
    patch = _patch(image, x, y, reach)
    return bool(patch.size) and bool((patch.min(axis=2) >= FULL).mean() > BURNT_SHARE)


def _patch(image: Any, x: float, y: float, reach: int) -> Any:
    column, row = int(x), int(y)
    return image[max(0, row - reach) : max(0, row + reach + 1), max(0, column - reach) : max(0, column + reach + 1)]


def _box(body: BodyPoints | None) -> tuple[slice, slice] | None:
    if not body:
        return None
    places = np.array([p[:2] for p in body.values()]) / STRIDE
    (x0, y0), (x1, y1) = (
        np.clip(places.min(axis=0), 0, None).astype(int),
        np.clip(places.max(axis=0), 0, None).astype(int),
    )
    return slice(y0, y1 + 1), slice(x0, x1 + 1)


def _head_flat(image: Any, body: BodyPoints | None) -> bool:
    """Whether nothing can be made out in the face: one grey, be it black or white."""
    points = [p for n in ("nose", "left_ear", "right_ear") if (p := (body or {}).get(n)) is not None]
    if len(points) < 3:
        return False
    x, y = np.mean([p[:2] for p in points], axis=0)
    wide = max(abs(points[1][0] - points[2][0]), 8.0)
    patch = _patch(image, float(x), float(y), int(0.8 * wide))
    return bool(patch.size) and float(patch.mean(axis=2).std()) < HEAD_FLAT


def _brightest_part(image: Any, body: BodyPoints) -> float:
    """Median grey of the brightest among head, trunk and hands: dark clothes or hair alone are no light from behind."""
    levels = []
    for names, reach in ((("nose",), 6), (("left_shoulder", "right_hip"), 8), (("left_wrist", "right_wrist"), 3)):
        seen = [body[n] for n in names if n in body]
        if seen:
            x, y = np.mean([p[:2] for p in seen], axis=0)
            patch = _patch(image, float(x), float(y), reach)
            levels += [median(patch.mean(axis=2).ravel())] if patch.size else []
    return max(levels, default=255.0)


class LightWatch:
    """``see`` every frame in order; looks at some of them."""

    def __init__(self) -> None:
        self._light = Light()
        self._next_s = -np.inf
        self._before: Any = None
        self._noise = 0.0
        self._levels = GreyLevels()

    def see(self, image: Any, time_s: float, body: BodyPoints | None) -> Light:
        """The newest light."""
        if time_s >= self._next_s:
            light, self._next_s = light_of(image, body), time_s + EVERY_S
            spread = self._levels.see(image, body) if light.line != BLACK_LINE else None
            self._noise = self._noise_of(image)
            noise = self._noise * (spread.gain if spread is not None else 1.0)
            self._light = replace(
                light,
                line=light.line or (NOISY_LINE if noise > NOISY else ""),
                noisy=noise > NOISY,
                table=spread.table if spread is not None else None,
                trust=min(light.trust, DROWNED if noise > VERY_NOISY else 1.0),
            )
        return self._light

    def _noise_of(self, image: Any) -> float:
        """By how much most of the picture differs from the last one that was looked at, each place by itself: standard deviation
        of one picture (grey levels). As before where the light has changed."""
        green = image[::STRIDE, ::STRIDE, 1].astype(np.float32)
        before, self._before = self._before, green
        if before is None or before.shape != green.shape:
            return self._noise
        apart = (green - before).ravel()
        apart = apart[(green.ravel() < FULL) & (green.ravel() > 0)]
        if not apart.size or abs(median(apart)) > STEADY_LIGHT:
            return self._noise
        return 1.48 * median(np.abs(apart - median(apart))) / math.sqrt(2.0)
