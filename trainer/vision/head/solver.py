"""The pose that explains a patch best: Gauss-Newton with Huber weights and priors, for all hypotheses at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Sequence

import numpy as np
import numpy.typing as npt

from trainer.vision.head.patch import KeyPicture, Patch
from trainer.vision.head.state import COLUMNS, LEAN, NOD, ROTATION, SHIFT, SIZE, TURN, head_rotations

Array = npt.NDArray[Any]

HUBER_NOISE = 2.0  # residuals beyond this many times the noise count by their size, not its square
CROSS_NOISE = 3.0  # the same for another hypothesis' points, where they count no more at all
MIN_NOISE = 1.0  # grey levels of the normalised picture
NOISE_STEPS = (0, 3)  # iterations in which the noise is measured anew
MAX_ROTATION, MAX_SHIFT_PX, MAX_SIZE = 0.15, 4.0, 0.05  # most of one iteration: rad, working px, log size
DONE_ROTATION, DONE_SHIFT_PX = 2e-3, 0.02  # rad, working px


@dataclass(frozen=True, slots=True)
class SolverOptions:
    """Priors; set by the study in STUDY.md (row "lean held by a prior").

    nod_sd_deg, lean_sd_deg: how far a head nods and leans in a stroke; size_sd: share by which its size changes;
    samples_per_fact: neighbouring samples are not independent, so this many count as one; iterations: at most.
    """

    nod_sd_deg: float = 6.0
    lean_sd_deg: float = 2.0
    size_sd: float = 0.04
    samples_per_fact: float = 85.0
    iterations: int = 8


@dataclass(frozen=True, slots=True)
class Samples:
    """What the hypotheses were compared by: points (h, 3, n), their key picture (h, n), how well they show (h, n)."""

    points: Array
    picture: Array
    visible: Array


@dataclass(frozen=True, slots=True)
class Solution:
    """state (h, 6); residual (h,) noise of the patch about the key pictures; information (h, 6, 6) of the state."""

    state: Array
    residual: Array
    information: Array
    samples: Samples

    def turn_sigma_deg(self) -> Array:
        """(h,) standard deviation of the turn."""
        return np.asarray(np.degrees(np.sqrt(np.linalg.inv(self.information)[:, TURN, TURN])))


@dataclass(frozen=True, slots=True)
class _Stack:
    """One key picture a hypothesis, stacked: shapes as in ``KeyPicture`` with (h,) before, but points (h, 3, n)."""

    points: Array
    normals: Array
    weight: Array
    lower: Array
    picture: Array
    slope: Array


class PoseSolver:
    """Poses of one head. centre (2,), half_px: of the head in its reference picture, image px."""

    def __init__(self, options: SolverOptions, centre: Array, half_px: float) -> None:
        self._options = o = options
        self._centre = centre
        self._half_px = half_px
        self._keys: list[KeyPicture] = []
        self._stacked: _Stack | None = None
        self._stiffness = np.zeros(len(COLUMNS))  # inverse variances of the priors
        self._stiffness[NOD] = 1 / np.radians(o.nod_sd_deg) ** 2
        self._stiffness[LEAN] = 1 / np.radians(o.lean_sd_deg) ** 2
        self._stiffness[SIZE] = 1 / o.size_sd**2

    def solve(self, patch: Patch, state: Array, keys: Sequence[KeyPicture]) -> Solution:
        """From ``state`` (h, 6) against one key picture a hypothesis."""
        o = self._options
        stack = self._stack(keys)
        turned = head_rotations(state).astype(np.float32)
        visible = _visible(stack, turned)
        used = [np.flatnonzero(w > 0.2) for w in visible]
        most = _most_of_a_step(patch.scale)
        for step in range(o.iterations):
            if step:
                turned = head_rotations(state).astype(np.float32)
            residual = patch.read_local(self._places(patch, state, stack.points, turned))
            residual -= stack.picture
            size = np.abs(residual)
            if step in NOISE_STEPS:
                noise = MIN_NOISE + 1.48 * np.array([_median(r[k]) for r, k in zip(size, used)])
                bound = (HUBER_NOISE * noise)[:, None].astype(np.float32)
                fact = (noise**2 * o.samples_per_fact)[:, None]
            np.maximum(size, 1e-3, out=size)
            weight = np.divide(bound, size, out=size)
            np.minimum(weight, 1, out=weight)
            weight *= visible
            weighted = stack.slope * weight[..., None]
            information = (weighted.transpose(0, 2, 1) @ stack.slope).astype(float) / fact[..., None]
            gradient = (residual[:, None] @ weighted)[:, 0].astype(float) / fact
            information.reshape(len(state), -1)[:, :: len(COLUMNS) + 1] += self._stiffness + 1e-6  # the diagonals
            gradient += self._stiffness * state
            move = np.linalg.solve(information, gradient[..., None])[..., 0]
            state = state - np.minimum(np.maximum(move, -most), most)
            turned, shifted = np.abs(move[:, ROTATION]).max(), np.abs(move[:, SHIFT]).max()
            if turned < DONE_ROTATION and shifted < DONE_SHIFT_PX * patch.scale:
                break
        return Solution(state, noise, information, Samples(stack.points, stack.picture, visible))

    def cross_residual(self, patch: Patch, state: Array, samples: Samples, noise: Array) -> Array:
        """(h, h) 0..1: how badly each pose (row) explains the points of each hypothesis (column), whose noise (h,) is."""
        h, n = samples.picture.shape
        turned = head_rotations(state).astype(np.float32)[:, None, :2]
        size = (self._half_px * np.exp(state[:, SIZE]))[:, None, None, None]
        xy = (turned @ samples.points[None]) * size
        xy += (self._centre + state[:, SHIFT])[:, None, :, None]
        residual = patch.read(xy.reshape(h * h, 2, n)).reshape(h, h, n)
        residual -= samples.picture[None]
        np.abs(residual, out=residual)
        bound = (CROSS_NOISE * noise)[None, :, None]
        residual = np.minimum(residual, bound) / bound
        seen = samples.visible.sum(1)
        return np.where(seen > 0, (residual * samples.visible).sum(2) / np.maximum(seen, 1e-6), 1.0)

    def _places(self, patch: Patch, state: Array, points: Array, turned: Array) -> Array:
        """(h, 2, n) float32 image px from the patch's origin at which the points show. turned (h, 3, 3): by the state."""
        size = (self._half_px * np.exp(state[:, SIZE])).astype(np.float32)[:, None, None]
        centre = (self._centre + state[:, SHIFT] - patch.origin).astype(np.float32)[..., None]
        places = turned[:, :2] @ points
        places *= size
        places += centre
        return np.asarray(places)

    def _stack(self, keys: Sequence[KeyPicture]) -> _Stack:
        """Stacked anew only when another key picture is used: most frames use those of the frame before."""
        if self._stacked is None or any(a is not b for a, b in zip(self._keys, keys)):
            self._keys = list(keys)
            surfaces = [k.surface for k in keys]
            self._stacked = _Stack(
                *(
                    np.stack(arrays).astype(np.float32, order="C")
                    for arrays in (
                        [s.points.T for s in surfaces],
                        [s.normals for s in surfaces],
                        [s.weight for s in surfaces],
                        [s.lower for s in surfaces],
                        [k.picture for k in keys],
                        [k.slope for k in keys],
                    )
                )
            )
        return self._stacked


def _visible(stack: _Stack, rotation: Array) -> Array:
    """(h, n) 0..1: how well each point shows when the head is turned by ``rotation`` (h, 3, 3)."""
    facing = (stack.normals @ rotation[:, 2, :, None])[..., 0]
    toward = np.minimum(np.maximum(facing * -2.5, 0), 1)
    return np.asarray(stack.weight * np.maximum(toward, stack.lower * (facing < 0.3)))


def _most_of_a_step(scale: float) -> Array:
    """(6,) bounds on one iteration's step. scale: image px per working px."""
    most = np.full(len(COLUMNS), MAX_ROTATION)
    most[SHIFT] = MAX_SHIFT_PX * scale
    most[SIZE] = MAX_SIZE
    return most


def _median(values: Array) -> float:
    """Upper median, without numpy's overhead (it is asked eight times a frame)."""
    k = len(values) // 2
    return float(np.partition(values, k)[k]) if len(values) else 0.0
