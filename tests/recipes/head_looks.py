"""Looks of many heads, at rest and turned, with everything shaken that does not matter: what head_learn.py learns from.

Crops (head_crops.py, head_points.py): pictures around single heads. Clips: rendered clips whose heads the tracker itself finds.
"""

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from tests.bench.heads import REST_S, frames_of
from tests.support.truth import read_truth
from trainer.vision.body.points import MIN_VISIBILITY
from trainer.vision.head.look import head_look
from trainer.vision.head.outline import place_twice
from trainer.vision.head.tracker import HeadTracker

VARIANTS = 3  # of each picture, shaken differently
AT_REST = 2  # the first pictures of a crop file
DRIFT = 0.1  # half-widths that a head's middle goes aside, as found, when it turns
STEPS = 127 / 3  # a look is kept in whole steps of so many a standard deviation, between -3 and 3
LEVELS = np.linspace(0, 1, 256).reshape(256, 1, 1)
GRAIN = np.random.default_rng(2).normal(0, 1, 2_000_000).astype(np.float32)


@dataclass
class Looks:
    """One head in one light. look: (n, variants, h, w, c) int8, in STEPS; turn_deg: (n,); rest: which of them are at rest."""

    name: str
    look: np.ndarray
    turn_deg: np.ndarray
    rest: np.ndarray


@dataclass
class Film:
    """How a camera shows it: soft (px), noise (grey levels), curves (256, 1, 3) uint8 of light and colour, JPEG quality or 0."""

    soft: float
    noise: float
    curves: np.ndarray
    quality: int

    @classmethod
    def any(cls, rng):
        gain, gamma = np.exp(rng.uniform(-0.5, 0.5)) * rng.uniform(0.85, 1.15, 3), rng.uniform(0.65, 1.4)
        curves = np.clip(255 * LEVELS**gamma * gain, 0, 255).astype(np.uint8)
        quality = int(rng.integers(30, 95)) if rng.random() < 0.7 else 0
        return cls(rng.uniform(0.4, 1.1), rng.uniform(0.5, 8), curves, quality)

    def __call__(self, picture, rng, moving):
        p = cv2.GaussianBlur(cv2.LUT(picture, self.curves), (0, 0), self.soft)
        if moving and rng.random() < 0.3:
            p = cv2.blur(p, (int(rng.integers(2, 5)), 1))
        at = int(rng.integers(0, GRAIN.size - p.size))
        p = cv2.add(p, GRAIN[at : at + p.size].reshape(p.shape) * np.float32(self.noise), dtype=cv2.CV_8U)
        if self.quality:
            _, code = cv2.imencode(".jpg", p, [cv2.IMWRITE_JPEG_QUALITY, self.quality])
            p = cv2.imdecode(code, cv2.IMREAD_COLOR)
        return p


def of_crops(folder):
    """Every head of a folder, its outline placed as the tracker places it, in VARIANTS films."""
    found = []
    for path in sorted(folder.glob("*.npz"), key=lambda p: int(p.stem)):
        d, rng = np.load(path), np.random.default_rng(int(path.stem) + 7)
        x, y, half = d["expected"]
        pictures, turn, centre = d["picture"], d["turn_deg"], d["centre"]
        at = np.array([x, y]) + rng.normal(0, 0.12 * half, 2)
        placed = place_twice(cv2.GaussianBlur(pictures[0], (0, 0), 0.6), *at, half * rng.uniform(0.93, 1.07))
        if placed is None:
            continue
        ellipse = placed[0]
        middle, half, rest = centre - centre[0] + [ellipse.x, ellipse.y], ellipse.half_width, np.arange(AT_REST)
        shaken = []
        for _ in range(VARIANTS):
            shaken.append(_kept(_shaken(pictures, turn, middle, half, rng)))
        found.append(Looks(path.stem, np.stack(shaken, axis=1), turn, rest))
    return found


def _kept(looks):
    return np.round(looks * STEPS).astype(np.int8)


def _shaken(pictures, turn, middle, half, rng):
    film, shift, size = Film.any(rng), rng.normal(0, 0.07 * half, 2), half * rng.uniform(0.92, 1.08)
    drift, looks = rng.normal(0, DRIFT) * half, []
    for k, picture in enumerate(pictures):
        loose = 0.0 if k < AT_REST else 1.0
        aside = np.array([drift * np.sin(np.radians(turn[k])), 0])
        at = middle[k] + shift + aside + loose * rng.normal(0, 0.08 * half, 2)
        seen = film(picture, rng, k >= AT_REST)
        looks.append(head_look(seen, tuple(at), size * (1 + loose * rng.normal(0, 0.025))))
    return np.array(looks)


def of_clip(path, points=None):
    """The head of a clip in every frame that it is found in; None when it never is."""
    truth, rng = read_truth(path.with_suffix(".json")), np.random.default_rng(1)
    mirrored = truth.handedness == "left"
    tracker, looks, turns, times = HeadTracker(mirrored=mirrored), [], [], []
    for k, (time_s, image, found) in enumerate(frames_of(path, mirrored, points)):
        body = {n: p for n, p in found.items() if p[2] >= MIN_VISIBILITY} if found else None
        r = tracker.update(image, time_s, body)
        if r is None or k >= len(truth.turn_deg):
            continue
        shaken = [(np.zeros(2), 1.0)]
        shaken += [(rng.normal(0, 0.05, 2) * r.half_width, rng.uniform(0.95, 1.05)) for _ in range(VARIANTS - 1)]
        looks.append(
            [head_look(image, (r.x + s[0], r.y + s[1]), r.half_width * z, mirrored=mirrored) for s, z in shaken]
        )
        turns.append(truth.turn_deg[k])
        times.append(time_s)
    rest = np.flatnonzero(np.array(times) < REST_S)
    return Looks(path.stem, _kept(np.array(looks)), np.array(turns), rest) if len(rest) else None


def of_clips(folders, points=None):
    """Every face-on clip with truth of these folders."""
    paths = [p for f in folders for p in sorted(Path(f).glob("*.mp4")) if p.with_suffix(".json").exists()]
    paths = [p for p in paths if read_truth(p.with_suffix(".json")).view == "face-on"]
    return [found for p in paths if (found := of_clip(p, points)) is not None]
