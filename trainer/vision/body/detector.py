"""Where in the picture somebody stands: a single-shot detector's boxes decoded, and those of the best one averaged."""

from __future__ import annotations

import cv2
import numpy as np

from trainer.vision.body.model import Floats, Model, sigmoid
from trainer.vision.body.region import Picture, Places, Region

# The model's own grid: cells a side of the input (224 px) and anchors in each, layer by layer.
GRID = ((28, 2), (14, 2), (7, 6))
MIN_SCORE = 0.5
MIN_OVERLAP = 0.3  # intersection over union with the best box: the same person
BOX, POINTS = 4, 2  # values of a box (middle, size) and how many of its points (x, y) are used


class PersonDetector:
    """Of the person it is surest of."""

    def __init__(self, threads: int = 1) -> None:
        self._model = Model("detector.tflite", threads)
        self._anchors = _anchors()

    def find(self, picture: Picture) -> Region | None:
        """picture: BGR. None where nobody is seen."""
        side = self._model.input_side_px
        whole = Region.whole(picture)
        shown = whole.cut(picture, side, cv2.BORDER_CONSTANT)
        values, scores = self._model.run(np.divide(shown, 127.5, dtype=np.float32) - 1, (0, 1))
        points = best_points(values[0] / side, scores[0, :, 0], self._anchors)
        return None if points is None else Region.around(whole.places(points))


def best_points(values: Floats, logits: Floats, anchors: Floats) -> Places | None:
    """(2, 2) shares of the input's side: hips' middle and far point, as the best box and those that overlap it say, by score.

    values: (n, 12) box middle, size and four points from the anchor; logits: (n,); anchors: (n, 2).
    """
    scores = sigmoid(logits)
    sure = np.flatnonzero(scores >= MIN_SCORE)
    if len(sure) == 0:
        return None
    middle = values[sure, :2] + anchors[sure]
    half = values[sure, 2:BOX] / 2
    best = int(np.argmax(scores[sure]))
    same = _overlap(middle - half, middle + half, best) > MIN_OVERLAP
    points = values[sure, BOX : BOX + 2 * POINTS].reshape(-1, POINTS, 2) + anchors[sure, None]
    return np.asarray(np.average(points[same], axis=0, weights=scores[sure][same]), dtype=np.float64)


def _overlap(low: Floats, high: Floats, best: int) -> Floats:
    """(n,) intersection over union of each box with the best one."""
    shared = np.prod(np.clip(np.minimum(high, high[best]) - np.maximum(low, low[best]), 0.0, None), axis=1)
    area = np.prod(high - low, axis=1)
    return np.asarray(shared / np.maximum(area + area[best] - shared, 1e-12))


def _anchors() -> Floats:
    """(n, 2) middles of the cells, row by row, each as often as it has anchors; all of the input's size."""
    layers = []
    for cells, each in GRID:
        steps = (np.arange(cells, dtype=np.float32) + 0.5) / cells
        down, across = np.meshgrid(steps, steps, indexing="ij")
        layers.append(np.repeat(np.stack([across.ravel(), down.ravel()], axis=1), each, axis=0))
    return np.concatenate(layers)
