"""Head turn by registering the head's own picture against key pictures taken of it (idea: registration of a
texture-mapped model; Basu, Essa and Pentland 1996; La Cascia, Sclaroff and Athitsos 2000).

Each frame, for several hypotheses of the head's shape at once, six numbers (turn, nod, lean, shift in two directions,
size) are found by ``solver`` on a contrast-normalised patch of about 110 x 110 pixels (``patch``); the hypothesis that
explains the picture best has most weight (``hypotheses``). All of it is numpy and cv2.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.domain.player_frame import mirrored_x
from trainer.vision.head.ellipsoid import Shape
from trainer.vision.head.fusion import FusionOptions, Hard, Turn, fuse, why_hard
from trainer.vision.head.hypotheses import SHAPES, HypothesisWeights, WeightOptions, hypotheses
from trainer.vision.head.patch import Patch, PatchOptions, PatchSampler, take_key
from trainer.vision.head.solver import PoseSolver, Solution, SolverOptions
from trainer.vision.head.state import COLUMNS, SHIFT, TURN, head_rotations
from trainer.vision.head.witness import Seen, Witness
from trainer.vision.numeric import median_of_rows

Array = npt.NDArray[Any]


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
class HeadOptions:
    """Tuning of the registration, by the part that it belongs to."""

    shapes: tuple[Shape, ...] = SHAPES
    patch: PatchOptions = field(default_factory=PatchOptions)
    solver: SolverOptions = field(default_factory=SolverOptions)
    weights: WeightOptions = field(default_factory=WeightOptions)
    keys: KeyOptions = field(default_factory=KeyOptions)
    fusion: FusionOptions = field(default_factory=FusionOptions)


class HeadRegistration:
    """Follows one head from a reference picture. Places are px of the picture, which is mirrored first if asked."""

    def __init__(
        self,
        image: Array,
        centre: tuple[float, float],
        half_width: float,
        half_height: float,
        options: HeadOptions | None = None,
        *,
        mirrored: bool = False,
    ) -> None:
        """Takes the reference. image: (h, w, 3) uint8; centre, sizes: of the head's outline in the (mirrored) picture, px.

        mirrored: the target is to the picture's left.
        """
        o = options or HeadOptions()
        self._options, self._fusion = o.keys, o.fusion
        self._mirrored = mirrored
        self._centre = np.array(centre, float)
        self.half_px = float(half_width)
        self._hypotheses = hypotheses(o.shapes, half_height / half_width)
        self._state = np.zeros((len(o.shapes), len(COLUMNS)))
        self._velocity = np.zeros_like(self._state)  # change of the state from the last frame to this one
        self._weights = HypothesisWeights(o.weights, len(o.shapes))
        self._since_reacquire = 0
        self._sampler = PatchSampler(o.patch, self.half_px, mirrored=mirrored)
        self._sampler.learn_colours(image, self._centre)
        self._solver = PoseSolver(o.solver, self._centre, self.half_px)
        patch = self._sampler.take(image, self._centre)
        for i in range(len(self._hypotheses)):
            self._add_key(i, patch)
        self._witness = Witness(image, self._in_camera(image), self.half_px, mirrored=mirrored)
        self._seen: Seen | None = None
        self._turn = Turn(0.0, 0.0)

    def follow(self, image: Array, hint_deg: float | None = None, *, ask_witness: bool = True) -> None:
        """Finds every hypothesis' pose in the next picture. hint_deg: turn that the pose landmarks see, if known.

        ask_witness: else what it said last goes along with the turn.
        """
        before = self._state
        patch = self._sampler.take(image, self._centre + median_of_rows(before[:, SHIFT]))
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
        self._seen = seen = self._witnessed(image, before, ask_witness or reference is not None)
        self._weights.update(
            found, hint_deg, seen, lambda noise: self._solver.cross_residual(patch, found.state, samples, noise)
        )
        self._turn = fuse(self._fusion, self._weights.found, seen, self._witness.rest)
        self._add_keys(patch, [k.rotation for k in keys])
        self._restart_astray()

    def _witnessed(self, image: Array, before: Array, ask: bool) -> Seen:
        """What the witness says now, or what it said last and the turn since. before: the state of the last frame."""
        if ask or self._seen is None:
            return self._witness.see(image, self._in_camera(image))
        turned = np.degrees(self._weights.weight @ (self._state - before)[:, TURN])
        return replace(self._seen, turn_deg=self._seen.turn_deg + float(turned))

    def _in_camera(self, image: Array) -> tuple[float, float]:
        """The head's centre in the picture as the camera gives it."""
        x, y = self.place
        return (mirrored_x(x, image.shape[1]) if self._mirrored else x), y

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
    def turn_deg(self) -> float:
        """Turn since the reference, + toward the target."""
        return self._turn.turn_deg

    @property
    def place(self) -> tuple[float, float]:
        """Centre of the head in (mirrored) image px, as the hypotheses agree on it."""
        x, y = self._centre + self._weights.weight @ self._state[:, SHIFT]
        return float(x), float(y)

    @property
    def best_residual(self) -> float:
        """Smallest residual over the hypotheses, relative to rest."""
        return self._weights.best_residual

    @property
    def hard(self) -> Hard:
        """Why this head is hard to read, if it is."""
        return why_hard(self._fusion, self._witness.rest)

    @property
    def confidence(self) -> float:
        """0..1."""
        return self._turn.confidence
