"""A band of bright tape on the shaft: its colour learned by itself, its middle found to a fraction of a pixel."""

from __future__ import annotations

import colorsys
import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.errors import SettingsError
from trainer.texts import tr
from trainer.vision.putter.background_model import Box
from trainer.vision.putter.shaft_geometry import XY, Ray, strip

Floats = npt.NDArray[np.float64]

MIN_CHROMA = 60.0  # grey levels between the strongest and the weakest channel of a bright tape, in poor light
MIN_SATURATION = 0.42
# 5 cm of tape is 1.2 ball diameters; what a lens leaves of it may be less or more.
LENGTH_IN_BALLS = (0.5, 2.4)
HUES = {
    "red": 0.0, "orange": 25.0, "yellow": 55.0, "lime": 90.0, "green": 120.0,
    "cyan": 180.0, "blue": 220.0, "purple": 280.0, "pink": 330.0,
}  # fmt: skip
HUE_WINDOW_DEG = 30.0
TOLD_EASE = 0.6  # a tape whose colour is told may be paler
MIN_APART = 9.0  # squared distance of the tape's colour from the surroundings', in their own spread
FLOOR = 0.12  # share of tape in a pixel below which it is noise


@dataclass(frozen=True, slots=True)
class TapeSeen:
    """middle (px), share of the tape's known area that was found, and the area itself (px of full tape)."""

    x: float
    y: float
    share: float
    area_px: float


@dataclass(frozen=True, slots=True)
class TapeColour:
    """A linear score of BGR, 0 on the surroundings' mean, 1 on the tape: linear, so that a smear keeps its middle."""

    weights: tuple[float, float, float]
    offset: float
    bgr: tuple[float, float, float]
    area_px: float

    def score(self, patch: Any) -> Any:
        """(h, w) float32 from (h, w, 3)."""
        matrix = np.array([[*self.weights, self.offset]], np.float32)
        return cv2.transform(patch if patch.dtype == np.float32 else patch.astype(np.float32), matrix)


def hue_of(colour: str) -> float | None:
    """Hue (deg) of a colour's name or of "#rrggbb"; None for "auto".

    Raises SettingsError for a name not known, or a colour without a hue.
    """
    text = colour.strip().lower()
    if text == "auto":
        return None
    if text in HUES:
        return HUES[text]
    if len(text) == 7 and text.startswith("#") and all(c in "0123456789abcdef" for c in text[1:]):
        r, g, b = (int(text[i : i + 2], 16) / 255 for i in (1, 3, 5))
        if max(r, g, b) - min(r, g, b) > 0.2:
            return 360.0 * colorsys.rgb_to_hls(r, g, b)[0]
    names = ", ".join(HUES)
    advice = tr("use auto, #rrggbb of a strong colour, or {names}", names=names)
    raise SettingsError(tr("tape colour {colour!r} is not known", colour=colour), todo=advice)


def learn_tape(
    image: Any, ray: Ray, length_px: float, ball_px: float, hue_deg: float | None = None
) -> tuple[TapeColour, XY] | None:
    """Look for a band of tape on the shaft and learn its colour; (colour, middle) or None.

    image: (h, w, 3) uint8; ray: the shaft from the hands in image's coordinates; length_px: to its end; ball_px:
    diameter of the ball, or the usual one; hue_deg: of the tape, when told. Tape is a short run of strongly coloured
    pixels, wider and more colourful than the shaft around it.
    """
    half = max(6, int(1.2 * ball_px))
    rows = int(length_px)
    if rows < 4 * ball_px:
        return None
    colours = strip(image, ray, 0.0, rows, half).astype(np.float64)
    core = colours[:, half - 1 : half + 2].mean(axis=1)
    sides = np.concatenate((colours[:, :3], colours[:, -3:]), axis=1).mean(axis=1)
    chroma = core.max(axis=1) - core.min(axis=1)
    saturation = chroma / np.maximum(core.max(axis=1), 1.0)
    different = np.abs(core - sides).sum(axis=1)
    ease = 1.0 if hue_deg is None else TOLD_EASE
    strong = (chroma > ease * MIN_CHROMA) & (saturation > ease * MIN_SATURATION) & (different > ease * 60.0)
    if hue_deg is not None:
        away = np.abs((_hues(core) - hue_deg + 180.0) % 360.0 - 180.0)
        strong &= away < HUE_WINDOW_DEG
    strong[: int(0.35 * rows)] = False  # the hands, the grip and the clothes behind them
    best: tuple[float, TapeColour, XY] | None = None
    for first, last in _runs(strong):
        run = last - first
        if not LENGTH_IN_BALLS[0] * ball_px <= run <= LENGTH_IN_BALLS[1] * ball_px:
            continue
        level = float(np.median(chroma[first:last]))
        around = np.concatenate((chroma[max(0, first - 2 * run) : max(0, first - 3)], chroma[last + 3 : last + run]))
        if around.size and level < 1.35 * float(np.median(around)):
            continue
        found = _train(image, ray, first, last, core, colours, half)
        if found is not None and found[0] > MIN_APART and (best is None or found[0] > best[0]):
            best = found
    return None if best is None else best[1:]


def _hues(bgr: Floats) -> Floats:
    """Hue (deg) of each row of (n, 3)."""
    b, g, r = bgr.T
    # The angle in the plane across the grey axis.
    hues: Floats = np.degrees(np.arctan2(math.sqrt(3.0) * (g - b), 2.0 * r - g - b)) % 360.0
    return hues


def _runs(flags: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    padded = np.concatenate(([False], flags, [False]))
    edges = np.flatnonzero(padded[1:] != padded[:-1])
    runs = list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
    joined: list[tuple[int, int]] = []
    for first, last in runs:
        if joined and first - joined[-1][1] <= 2:
            joined[-1] = (joined[-1][0], last)
        else:
            joined.append((first, last))
    return joined


def _train(
    image: Any, ray: Ray, first: int, last: int, core: Floats, colours: Floats, half: int
) -> tuple[float, TapeColour, XY] | None:
    """(how far apart from the surroundings, the colour, the tape's middle) for the rows first to last taken as tape."""
    inset = max(1, (last - first) // 5)
    tape = core[first + inset : last - inset] if last - first > 2 * inset else core[first:last]
    tape_mean = np.median(tape, axis=0)
    ground = image[::3, ::3].reshape(-1, 3).astype(np.float64)
    shaft = np.concatenate((core[: max(1, first - 3)], core[last + 3 :]))
    near = np.concatenate((colours[first:last, : half - 4], colours[first:last, half + 5 :]), axis=1).reshape(-1, 3)
    parts = [(ground, 1.0), (near, 1.0)] + ([(shaft, 0.7)] if len(shaft) > 8 else [])
    total = sum(weight for _, weight in parts)
    mean = sum(weight * part.mean(axis=0) for part, weight in parts) / total
    spread = sum(weight * ((part - mean).T @ (part - mean)) / len(part) for part, weight in parts) / total
    weights = np.linalg.solve(spread + 60.0 * np.eye(3), tape_mean - mean)
    gain = float(weights @ (tape_mean - mean))
    if gain <= 0:
        return None
    weights = weights / gain
    colour = TapeColour(
        (float(weights[0]), float(weights[1]), float(weights[2])),
        -float(weights @ mean),
        (float(tape_mean[0]), float(tape_mean[1]), float(tape_mean[2])),
        0.0,
    )
    middle = ray.place((first + last) / 2)
    seen = locate_tape(image, None, colour, middle, 1.2 * (last - first))
    if seen is None or math.dist((seen.x, seen.y), middle) > 0.6 * (last - first):
        return None
    learned = TapeColour(colour.weights, colour.offset, colour.bgr, seen.area_px)
    return gain, learned, (seen.x, seen.y)


def locate_tape(image: Any, background: Any | None, colour: TapeColour, at: XY, reach_px: float) -> TapeSeen | None:
    """The tape near ``at``; None when too little of its colour is there.

    image, background: (h, w, 3) with one origin; background None before it is known. reach_px: half side of the window searched.
    """
    height, width = image.shape[:2]
    x0, x1 = max(0, int(at[0] - reach_px)), min(width, int(at[0] + reach_px) + 1)
    y0, y1 = max(0, int(at[1] - reach_px)), min(height, int(at[1] + reach_px) + 1)
    if x1 - x0 < 4 or y1 - y0 < 4:
        return None
    box = Box(x0, y0, x1, y1)
    share = colour.score(box.of(image))
    if background is not None:
        clean = colour.score(box.of(background))
        share -= clean
        np.subtract(1.0, clean, out=clean)
        share /= np.maximum(clean, 0.45, out=clean)
    np.maximum(share, 0.0, out=share)
    np.minimum(share, 1.3, out=share)
    soft = cv2.blur(share, (3, 3))
    mask = (soft > FLOOR).view(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
    best: tuple[float, TapeSeen] | None = None
    for i in range(1, count):
        x, y, w, h = (int(stats[i, k]) for k in range(4))
        if stats[i, cv2.CC_STAT_AREA] < 5:
            continue
        part = np.where(labels[y : y + h, x : x + w] == i, share[y : y + h, x : x + w], 0.0).astype(np.float64)
        area = float(part.sum())
        if area < 3.0 or (colour.area_px > 0 and area < 0.25 * colour.area_px):
            continue
        px = x0 + x + 0.5 + float(part.sum(axis=0) @ np.arange(w)) / area
        py = y0 + y + 0.5 + float(part.sum(axis=1) @ np.arange(h)) / area
        known = area / colour.area_px if colour.area_px > 0 else 1.0
        fit = min(known, 1.0 / known) if known > 0 else 0.0
        rank = fit - 0.5 * math.dist((px, py), at) / max(reach_px, 1.0)
        if best is None or rank > best[0]:
            best = (rank, TapeSeen(px, py, known, area))
    return best[1] if best is not None else None
