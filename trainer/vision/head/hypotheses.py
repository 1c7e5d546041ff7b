"""Hypotheses about the shape of head, hair and cap, and the weight that each has: which explains the picture best?"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Callable, Sequence

import numpy as np
import numpy.typing as npt

from trainer.vision.head.ellipsoid import Shape, surface
from trainer.vision.head.fusion import Found
from trainer.vision.head.patch import KeyPicture, Surface
from trainer.vision.head.solver import Solution
from trainer.vision.head.state import TURN
from trainer.vision.head.witness import Seen

Array = npt.NDArray[Any]

# Whole head; whole head with a peak or chin that stands out; crown and brow only; a peaked cap. Set by the study in STUDY.md.
SHAPES = (
    Shape(0.15, 1.15, 0.0, 0.0),
    Shape(0.15, 1.15, 0.7, 1.0),
    Shape(-0.25, 0.75, 0.0, 0.7),
    Shape(-0.08, 0.88, 1.0, 1.0),
)
SAMPLES_PER_HALF_WIDTH = 10.0
MARGIN = 1.1  # how far the samples reach beyond the outline, in half-widths
REST_FRAMES = 8  # of the reference, whose residuals make the residual at rest
EXACT = 1e-3  # of a bad fit: a picture without noise that is the key picture again leaves nothing at all
REST_DEG, REST_RATE = 4.0, 0.05  # later a head turned less than this adjusts it slowly, by this share a frame


@dataclass(frozen=True, slots=True)
class WeightOptions:
    """How weight is shared; set by the study in STUDY.md (its last two rows).

    fit_power, sigma_power: by which the weight falls with the residual (relative to rest) and with the hypothesis' own
    uncertainty; turn_bonus_deg: a hypothesis that loses hold of the head falls short of the turn, it does not invent one,
    so each so many degrees of turn weigh e times more; disagree_deg: spread of the turns from which each pose is tried on all
    hypotheses' points; hint_slack_deg, hint_sd_deg: by how much a turn may fall short of the landmarks', and how the
    weight falls beyond; memory: share of the previous frame's costs; seen_sd_deg, seen_spread, seen_most: a hypothesis has less
    weight by its distance from the learned witness' turn, in standard deviations of so many degrees and so many times what the
    witness tells of itself, no more than so many.
    """

    fit_power: float = 8.0
    sigma_power: float = 2.0
    turn_bonus_deg: float = 4.0
    disagree_deg: float = 3.0
    hint_slack_deg: float = 6.0
    hint_sd_deg: float = 6.0
    memory: float = 0.5
    seen_sd_deg: float = 3.0
    seen_spread: float = 1.2
    seen_most: float = 3.0


@dataclass(slots=True)
class Hypothesis:
    """One shape's surface as the reference picture shows it, and its key pictures, that of the reference first."""

    surface: Surface
    keys: list[KeyPicture] = field(default_factory=list)

    def nearest_key(self, rotation: Array) -> KeyPicture:
        """The key picture taken at the rotation (3, 3) nearest to this one."""
        if len(self.keys) == 1:
            return self.keys[0]
        alike = (np.array([k.rotation for k in self.keys]) * rotation).sum(axis=(1, 2))
        return self.keys[int(alike.argmax())]


def hypotheses(shapes: Sequence[Shape], half_height: float) -> list[Hypothesis]:
    """One hypothesis a shape, without keys. half_height: of the outline, in half-widths.

    All have as many points as the largest, filled up with points of no weight, so that they can be stacked.
    """
    rows = [surface(s, half_height, SAMPLES_PER_HALF_WIDTH, MARGIN) for s in shapes]
    n = max(len(points) for points, *_ in rows)
    made = []
    for points, weight, lower, quadric in rows:
        normals = points @ quadric
        normals /= np.linalg.norm(normals, axis=1, keepdims=True)
        more = (0, n - len(points))
        made.append(
            Hypothesis(
                Surface(
                    np.pad(points, (more, (0, 0))),
                    np.pad(normals, (more, (0, 0))).astype(np.float32),
                    np.pad(weight, more),
                    np.pad(lower, more),
                )
            )
        )
    return made


class HypothesisWeights:
    """Weights (h,) that sum to 1, and the turn they agree on: turn_deg and its spread_deg among the hypotheses."""

    def __init__(self, options: WeightOptions, count: int) -> None:
        self._options = options
        self._frames = 0
        self._cost = np.zeros(count)
        self._residual = np.full(count, np.nan)
        self._sigma_deg = np.full(count, np.nan)
        self._rest = np.full(count, np.nan)  # residual of a resting head
        self.weight = np.full(count, 1 / count)
        self.turn_deg, self.spread_deg, self._range_deg = 0.0, 0.0, 0.0

    def update(
        self, found: Solution, hint_deg: float | None, seen: Seen, cross_residual: Callable[[Array], Array]
    ) -> None:
        """One frame.

        A hypothesis has weight when it explains the picture as well as at rest, is certain, is near what the learned witness
        has ``seen``, and does not deny a turn that the pose landmarks see (``hint_deg``: they fall short of a turn on a bowed
        head but hardly overstate one).
        cross_residual: from the noise (h,) of the hypotheses, see ``PoseSolver.cross_residual``; asked only when they disagree.
        """
        o = self._options
        turn = np.degrees(found.state[:, TURN])
        self._residual, self._sigma_deg = found.residual, found.turn_sigma_deg()
        self._learn_rest(turn)
        self._range_deg = float(turn.max() - turn.min())
        if self._range_deg > o.disagree_deg:
            fit = np.log(np.maximum(cross_residual(self._rest), EXACT)).mean(1)
        else:
            fit = np.log(np.maximum(self._residual / self._rest, 1))
        cost = o.fit_power * fit + o.sigma_power * np.log(self._sigma_deg)
        if hint_deg is not None:
            short = (abs(hint_deg) - o.hint_slack_deg - turn * np.sign(hint_deg)) / o.hint_sd_deg
            cost = cost + 0.5 * np.minimum(np.maximum(short, 0), 4) ** 2
        far = np.abs(turn - seen.turn_deg) / np.hypot(o.seen_sd_deg, o.seen_spread * seen.spread_deg)
        cost = cost + 0.5 * np.minimum(far, o.seen_most) ** 2
        cost = cost - np.abs(turn) / o.turn_bonus_deg
        self._cost = cost if self._frames == 1 else o.memory * self._cost + (1 - o.memory) * cost
        weight = np.exp(-(self._cost - self._cost.min()))
        self.weight = weight / weight.sum()
        self.turn_deg = float(self.weight @ turn)
        self.spread_deg = float(np.sqrt(self.weight @ (turn - self.turn_deg) ** 2))

    def _learn_rest(self, turn_deg: Array) -> None:
        if self._frames == 0:
            self._rest = self._residual.copy()
        if self._frames < REST_FRAMES:
            self._rest = self._rest + (self._residual - self._rest) / (self._frames + 1)
        elif np.abs(turn_deg).max() < REST_DEG:
            self._rest = self._rest + REST_RATE * (self._residual - self._rest)
        self._frames += 1

    def relative(self, residual: Array) -> Array:
        """(h,) residuals relative to those at rest."""
        return np.asarray(residual / self._rest)

    @property
    def best(self) -> int:
        """Index of the hypothesis with most weight."""
        return int(np.argmax(self.weight))

    @property
    def best_residual(self) -> float:
        """Smallest residual over the hypotheses, relative to rest."""
        return float(self.relative(self._residual).min())

    @property
    def found(self) -> Found:
        """What the hypotheses agree on."""
        misfit = float(self.weight @ self.relative(self._residual))
        sigma_deg = float(np.sqrt(1 / np.sum(self.weight / self._sigma_deg**2)))
        return Found(self.turn_deg, self.spread_deg, sigma_deg, misfit, self._range_deg)
