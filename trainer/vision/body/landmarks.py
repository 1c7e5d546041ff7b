"""The landmark model's points inside a region: its coordinates, drawn to the middle of the heat beside them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.body.model import Floats, Model, sigmoid
from trainer.vision.body.region import Picture, Places, Region

HIPS_MIDDLE, FAR_POINT = 33, 34  # places of the two points that the next frame's region is made from
VALUES = 5  # of each point: x, y, z, visibility, presence
MARKS, PRESENCE, HEAT = 0, 1, 2  # places of the model's outputs
MIN_PRESENCE = 0.5  # of a person in the region
REACH_CELLS = 4  # heat is gathered from this far each way
MIN_HEAT = 0.5  # somewhere near, or the coordinates stay as they are


@dataclass(frozen=True)
class Landmarks:
    """places: (n, 2) px of the picture; visibility: (n,) 0..1; next_region: the two points of ``Region.around``."""

    places: Places
    visibility: Floats
    next_region: Places


class LandmarkModel:
    """wanted: which of the model's points."""

    def __init__(self, wanted: Sequence[int], threads: int = 1) -> None:
        self._model = Model("landmarks.tflite", threads)
        self._wanted = np.array([*wanted, HIPS_MIDDLE, FAR_POINT])

    def find(self, picture: Picture, region: Region) -> Landmarks | None:
        """picture: BGR. None where there is nobody in the region."""
        side = self._model.input_side_px
        shown = region.cut(picture, side, cv2.BORDER_REPLICATE)
        marks, presence, heat = self._model.run(np.divide(shown, 255, dtype=np.float32), (MARKS, PRESENCE, HEAT))
        if presence[0, 0] <= MIN_PRESENCE:
            return None
        points = marks.reshape(-1, VALUES)[self._wanted]
        places = region.places(drawn_to_heat(points[:, :2] / side, heat[0], self._wanted))
        return Landmarks(places[:-2], sigmoid(points[:-2, 3]), places[-2:])


def drawn_to_heat(shares: Floats, heat: Floats, layers: npt.NDArray[np.intp]) -> Floats:
    """(n, 2) shares of the side, each at the middle of the heat near it where there is any.

    heat: (cells, cells, layers) logits; layers: (n,) the layer of each point.
    """
    cells = heat.shape[0]
    middle = np.trunc(shares * cells).astype(np.intp)
    near = np.arange(-REACH_CELLS, REACH_CELLS + 1)
    across, down = middle[:, 0, None] + near, middle[:, 1, None] + near
    inside = _inside(down, cells)[:, :, None] & _inside(across, cells)[:, None, :]
    rows, columns = np.clip(down, 0, cells - 1), np.clip(across, 0, cells - 1)
    warm = np.where(inside, sigmoid(heat[rows[:, :, None], columns[:, None, :], layers[:, None, None]]), 0.0)
    total = np.maximum(warm.sum(axis=(1, 2)), 1e-12)
    x = (warm * across[:, None, :]).sum(axis=(1, 2)) / total / cells
    y = (warm * down[:, :, None]).sum(axis=(1, 2)) / total / cells
    there = _inside(middle, cells).all(axis=1) & (warm.max(axis=(1, 2)) >= MIN_HEAT)
    return np.where(there[:, None], np.stack([x, y], axis=1), shares)


def _inside(cell: npt.NDArray[np.intp], cells: int) -> npt.NDArray[np.bool_]:
    return (cell >= 0) & (cell < cells)
