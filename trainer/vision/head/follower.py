"""One outline of the head, followed from patch to patch by several hypotheses of the head's shape at once."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Callable

import numpy as np
import numpy.typing as npt

from trainer.vision.head.doubt import DoubtOptions
from trainer.vision.head.ellipsoid import Shape
from trainer.vision.head.fusion import Found, FusionOptions
from trainer.vision.head.hypotheses import SHAPES, HypothesisWeights, WeightOptions, hypotheses
from trainer.vision.head.outline import HeadEllipse
from trainer.vision.head.patch import Patch, PatchOptions, take_key
from trainer.vision.head.rim import RimOptions
from trainer.vision.head.solver import PoseSolver, Solution, SolverOptions
from trainer.vision.head.state import COLUMNS, SHIFT, TURN, head_rotations
from trainer.vision.head.witness import Seen
from trainer.vision.numeric import median_of_rows

Array = npt.NDArray[Any]

LOST_RESIDUAL = 5.0  # times the residual at rest, for the best hypothesis: lost


@dataclass(frozen=True, slots=True)
class KeyOptions:
    """When a further key picture is taken and when the reference is tried again; set by the study in STUDY.md.

    step_deg: turn away from the nearest key picture after which a further one is taken; short_deg: unless the turn falls
    short of the one agreed on by this; most: key pictures a hypothesis. reacquire_deg, reacquire_frames, reacquire_fit: a
    head turned by more than this is compared with the reference every so many frames, and is back at rest when its
    residual is below so many times that at rest. damp: share of the last step used to predict.
    """

    step_deg: float = 12.0
    short_deg: float = 6.0
    most: int = 12
    reacquire_deg: float = 8.0
    reacquire_frames: int = 3
    reacquire_fit: float = 1.35
    damp: float = 0.7


@dataclass(frozen=True, slots=True)
class SecondOptions:
    """By what a second outline is followed, and when; set by the study in STUDY.md ("A second outline while the head turns").

    shapes: crown and brow alone are left out, which saves a quarter of the time and changed nothing else. turn_deg: what the
    first outline and the witness agree on; seen_deg: what the witness says; hypothesis_deg: what any of the first's hypotheses
    has come to: beyond any of these the head may be turning. sleep_frames: after so many frames without, it is not followed any
    more. apart: it has lost the head where its centre has gone this many of the first's half-widths from where that says.
    """

    shapes: tuple[Shape, ...] = (SHAPES[0], SHAPES[1], SHAPES[3])
    turn_deg: float = 2.0
    seen_deg: float = 3.0
    hypothesis_deg: float = 4.0
    sleep_frames: int = 15
    apart: float = 0.5


@dataclass(frozen=True, slots=True)
class HeadOptions:
    """Tuning of the registration, by the part that it belongs to."""

    shapes: tuple[Shape, ...] = SHAPES
    patch: PatchOptions = field(default_factory=PatchOptions)
    solver: SolverOptions = field(default_factory=SolverOptions)
    weights: WeightOptions = field(default_factory=WeightOptions)
    keys: KeyOptions = field(default_factory=KeyOptions)
    fusion: FusionOptions = field(default_factory=FusionOptions)
    second: SecondOptions = field(default_factory=SecondOptions)
    doubt: DoubtOptions = field(default_factory=DoubtOptions)
    rim: RimOptions = field(default_factory=RimOptions)


class Follower:
    """Six numbers (``state``) for each hypothesis. Places are px of the (mirrored) picture."""

    def __init__(self, options: HeadOptions, patch: Patch, ellipse: HeadEllipse) -> None:
        """patch: of the reference picture; ellipse: the head's outline in it."""
        self._options = options.keys
        self._centre = np.array((ellipse.x, ellipse.y), float)
        self.half_px = float(ellipse.half_width)
        self._hypotheses = hypotheses(options.shapes, ellipse.half_height / ellipse.half_width)
        self._state = np.zeros((len(options.shapes), len(COLUMNS)))
        self._velocity = np.zeros_like(self._state)  # change of the state from the last frame to this one
        self._weights = HypothesisWeights(options.weights, len(options.shapes))
        self._since_reacquire = 0
        self.turned_deg = 0.0  # from the last frame to this one, as the hypotheses agreed
        self._solver = PoseSolver(options.solver, self._centre, self.half_px)
        for i in range(len(self._hypotheses)):
            self._add_key(i, patch)

    def follow(self, patch: Patch, hint_deg: float | None, see: Callable[[bool], Seen]) -> None:
        """Finds every hypothesis' pose in the next patch. hint_deg: turn that the pose landmarks see, if known.

        see: what the witness says, asked when the poses are found; its argument: whether the head was found back at rest.
        """
        before = self._state
        predicted = before + self._options.damp * self._velocity
        rotations = head_rotations(predicted).astype(np.float32)
        keys = [h.nearest_key(r) for h, r in zip(self._hypotheses, rotations)]
        found = self._solver.solve(patch, predicted, keys)
        samples = found.samples
        reference = self._reacquire(patch)
        if reference is not None:
            found = reference
            keys = [h.keys[0] for h in self._hypotheses]
        self._velocity = found.state - before if reference is None else np.zeros_like(found.state)
        self._state = found.state
        self.turned_deg = float(np.degrees(self._weights.weight @ (self._state - before)[:, TURN]))
        seen = see(reference is not None)
        self._weights.update(
            found, hint_deg, seen, lambda noise: self._solver.cross_residual(patch, found.state, samples, noise)
        )
        self._add_keys(patch, [k.rotation for k in keys])
        self._restart_astray()

    def start_from(self, other: Follower) -> None:
        """Every hypothesis from the pose that the other's hypotheses agree on."""
        self._state = np.tile(other._weights.weight @ other._state, (len(self._state), 1))
        self._velocity = np.zeros_like(self._state)

    def _reacquire(self, patch: Patch) -> Solution | None:
        """The pose of the reference picture, when that explains this picture as well as at rest: whatever a hypothesis has
        come to on the way, a head that looks as it did at the start is back."""
        o = self._options
        self._since_reacquire += 1
        if abs(self._weights.turn_deg) < o.reacquire_deg or self._since_reacquire < o.reacquire_frames:
            return None
        self._since_reacquire = 0
        state = np.zeros_like(self._state)
        state[:, SHIFT] = median_of_rows(self._state[:, SHIFT])
        found = self._solver.solve(patch, state, [h.keys[0] for h in self._hypotheses])
        small_turn = np.abs(np.degrees(found.state[:, TURN])) < o.reacquire_deg
        fits = (self._weights.relative(found.residual) < o.reacquire_fit) & small_turn
        return found if fits.mean() >= 0.75 else None

    def _add_keys(self, patch: Patch, used: list[Array]) -> None:
        """Further key pictures of the hypotheses that have turned away from the ones used, taken at ``used`` (3, 3)."""
        o = self._options
        alike = (np.array(used) * head_rotations(self._state)).sum(axis=(1, 2))
        away_deg = np.degrees(np.arccos(np.minimum(np.maximum((alike - 1) / 2, -1), 1)))
        if away_deg.max() <= o.step_deg:
            return
        not_short = np.abs(np.degrees(self._state[:, TURN])) > abs(self._weights.turn_deg) - o.short_deg
        for i in np.flatnonzero((away_deg > o.step_deg) & not_short):
            if len(self._hypotheses[i].keys) < o.most:
                self._add_key(int(i), patch)

    def _add_key(self, i: int, patch: Patch) -> None:
        h = self._hypotheses[i]
        h.keys.append(take_key(patch, h.surface, self._state[i], self._centre, self.half_px))

    def _restart_astray(self) -> None:
        """Back at rest a hypothesis that lost its hold starts again from the best one."""
        o, best = self._options, self._weights.best
        turn = self._state[:, TURN]
        if abs(np.degrees(turn[best])) < o.short_deg:
            astray = np.abs(np.degrees(turn - turn[best])) > o.step_deg
            if astray.any():
                self._state[astray], self._velocity[astray] = self._state[best], self._velocity[best]

    @property
    def found(self) -> Found:
        """What the hypotheses agree on."""
        return self._weights.found

    @property
    def farthest_deg(self) -> float:
        """The largest turn that any hypothesis has come to, without its sign."""
        return float(np.degrees(np.abs(self._state[:, TURN]).max()))

    @property
    def middle(self) -> Array:
        """(2,) the head's centre, by the median of the hypotheses."""
        return np.asarray(self._centre + median_of_rows(self._state[:, SHIFT]))

    @property
    def moved(self) -> Array:
        """(2,) how far the head's centre has gone since the reference."""
        return np.asarray(self._weights.weight @ self._state[:, SHIFT])

    @property
    def place(self) -> tuple[float, float]:
        """Centre of the head, as the hypotheses agree on it."""
        x, y = self._centre + self.moved
        return float(x), float(y)

    @property
    def lost(self) -> bool:
        """No hypothesis explains the picture any more."""
        return self._weights.best_residual > LOST_RESIDUAL
