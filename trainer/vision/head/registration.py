"""Head turn by registering the head's own picture against key frames taken of it (idea: registration of a
texture-mapped model; Basu, Essa and Pentland 1996; La Cascia, Sclaroff and Athitsos 2000).

Each frame, for several guesses of the head's shape at once, six numbers (turn, nod, lean, shift in two directions,
size) are found by Gauss-Newton with Huber weights on a contrast-normalised picture; the guess that explains the
picture best has the say. All of it is numpy and cv2 on one patch of about 110 x 110 pixels.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.head.ellipsoid import AXES, Shape, rotations, surface

Array = npt.NDArray[Any]

MAX_KEYS = 12
HALF_PX = 17.0  # working half-width of the head; larger pictures are shrunk to it
PATCH_HALF_WIDTHS = 3.2  # patch reaches this far from the head's centre


@dataclass(frozen=True, slots=True)
class HeadOptions:
    """Tuning; values from the study in DEVELOPERS.md. Lengths in working pixels (head half-width 17), angles in degrees.

    per_half: sample points per half-width; margin: reach beyond the outline; key_step_deg: turn after which a further
    key frame is taken; nod_sd, lean_sd, size_sd: priors; points_per_fact: neighbouring samples are not independent, so
    this many count as one; damp: share of the last step used to predict; fit_power, sure_power: how a guess's say falls
    with its residual (relative to rest) and its own uncertainty; bold_deg: a guess that loses hold of the head falls
    short of the turn, it does not invent one, so larger turns have more say; home_*: see ``_home``; hint_*: see
    ``_weigh``; memory: share of the previous frame's costs.
    """

    shapes: tuple[Shape, ...] = (
        Shape(0.15, 1.15, 0.0, 0.0),
        Shape(0.15, 1.15, 0.7, 1.0),
        Shape(-0.25, 0.75, 0.0, 0.7),
        Shape(-0.08, 0.88, 1.0, 1.0),
    )
    per_half: float = 10.0
    margin: float = 1.1
    blur_px: float = 1.0
    highpass_px: float = 3.2
    contrast_px: float = 5.3
    contrast_floor: float = 6.0
    key_step_deg: float = 12.0
    key_short_deg: float = 6.0
    nod_sd_deg: float = 6.0
    lean_sd_deg: float = 2.0
    size_sd: float = 0.04
    points_per_fact: float = 85.0
    damp: float = 0.7
    iterations: int = 8
    fit_power: float = 8.0
    sure_power: float = 2.0
    bold_deg: float = 4.0
    disagree_deg: float = 3.0
    home_deg: float = 8.0
    home_frames: int = 3
    home_fit: float = 1.35
    hint_slack_deg: float = 6.0
    hint_sd_deg: float = 6.0
    memory: float = 0.5


NO_ORIGIN = np.zeros(2, np.float32)


def _middle(values: Array) -> float:
    """Upper median, without numpy's overhead (it is asked eight times a frame)."""
    k = len(values) // 2
    return float(np.partition(values, k)[k]) if len(values) else 0.0


@dataclass(slots=True)
class Key:
    """A picture of the head from one side. points, normals (n,3) in the head's own frame; picture (n,); slope (n,6)."""

    points: Array
    normals: Array
    picture: Array
    slope: Array
    weight: Array
    lower: Array
    turned: Array


@dataclass(slots=True)
class Guess:
    """One shape and its key frames."""

    points: Array
    normals: Array
    weight: Array
    lower: Array
    keys: list[Key] = field(default_factory=list)


class HeadRegistration:
    """Follows one head from a reference picture. Coordinates are working-picture pixels handed in by the caller."""

    def __init__(self, options: HeadOptions | None = None, *, mirrored: bool = False) -> None:
        self.o = options or HeadOptions()
        self.mirrored = mirrored
        self.guesses: list[Guess] = []

    # -- setting up -----------------------------------------------------------------------------------------------
    def begin(self, image: Array, centre: tuple[float, float], half_width: float, half_height: float) -> None:
        """Takes the reference. image: (h,w,3) uint8 with the target to the right; centre, sizes in its pixels."""
        o = self.o
        self.centre = np.array(centre, float)
        self.half = float(half_width)
        self.mix: Array | None = None
        rows = [surface(s, half_height / half_width, o.per_half, o.margin) for s in o.shapes]
        n = max(len(r[0]) for r in rows)
        self.guesses = []
        for points, weight, lower, quadric in rows:
            normals = points @ quadric
            normals /= np.linalg.norm(normals, axis=1, keepdims=True)
            pad = n - len(points)
            self.guesses.append(
                Guess(
                    np.pad(points, ((0, pad), (0, 0))),
                    np.pad(normals, ((0, pad), (0, 0))).astype(np.float32),
                    np.pad(weight, (0, pad)),
                    np.pad(lower, (0, pad)),
                )
            )
        h = len(self.guesses)
        self.p = np.zeros((h, 6))
        self.velocity = np.zeros((h, 6))
        self.residual = np.full(h, np.nan)
        self.sigma_deg = np.full(h, np.nan)
        self.frames, self.turn_deg, self.spread_deg = 0, 0.0, 0.0
        self._since_home = 0
        self._stacked: list[Array] = []
        self._stacked_keys: list[Key] = []
        self.rest = np.full(h, np.nan)
        self.cost = np.zeros(h)
        self.say = np.full(h, 1 / h)
        self._choose_mix(image)
        patch, origin, q = self._patch(image, self.centre)
        for i in range(h):
            self._add_key(i, patch, origin, q)

    def _choose_mix(self, image: Array) -> None:
        """The mixture of colour channels in which the head shows most structure (leading axis of its gradients)."""
        self.mix = None
        crop, _ = self._crop(image, self.centre, 1.6)
        crop = cv2.GaussianBlur(crop, (0, 0), max(0.6, self.half / HALF_PX))
        dx, dy = cv2.Sobel(crop, cv2.CV_32F, 1, 0), cv2.Sobel(crop, cv2.CV_32F, 0, 1)
        g = np.concatenate([dx.reshape(-1, 3), dy.reshape(-1, 3)])
        g = g / np.sqrt(1 + np.abs(g) / 40)
        _, vectors = np.linalg.eigh(g.T @ g)
        mix = vectors[:, -1]
        self.mix = (mix * np.sign(mix.sum() or 1.0)).astype(np.float32).reshape(1, 3)

    def _crop(self, image: Array, centre: Array, reach: float) -> tuple[Array, Array]:
        """Float copy of the picture ``reach`` half-widths around the centre, mirrored if asked, and its origin."""
        height, width = image.shape[:2]
        r = int(self.half * reach)
        x = width - 1 - int(centre[0]) if self.mirrored else int(centre[0])
        y = int(centre[1])
        x0, x1 = np.clip([x - r, x + r + 1], [0, 8], [width - 8, width])  # symmetric: mirrored is the same to the bit
        y0, y1 = np.clip([y - r, y + r + 1], [0, 8], [height - 8, height])
        crop = image[y0:y1, x0:x1].astype(np.float32)
        if self.mirrored:
            return np.ascontiguousarray(crop[:, ::-1]), np.array([width - x1, y0], float)
        return crop, np.array([x0, y0], float)

    def _patch(self, image: Array, centre: Array) -> tuple[Array, Array, float]:
        """Contrast-normalised working picture around the centre, its origin and pixels per working pixel."""
        o = self.o
        q = max(1.0, self.half / HALF_PX)
        crop, origin = self._crop(image, centre, PATCH_HALF_WIDTHS)
        one = cv2.transform(crop, self.mix)
        if q > 1.05:
            one = cv2.resize(one, None, fx=1 / q, fy=1 / q, interpolation=cv2.INTER_AREA)
        one = cv2.GaussianBlur(one, (0, 0), o.blur_px)
        one = one - cv2.GaussianBlur(one, (0, 0), o.highpass_px)
        spread = cv2.GaussianBlur(one * one, (0, 0), o.contrast_px)
        one = one * (30.0 / np.sqrt(spread + o.contrast_floor**2))
        return one, origin, q

    @staticmethod
    def _read(patch: Array, origin: Array, q: float, xy: Array) -> Array:
        """Samples (h,n) of the patch at image places xy (h,n,2)."""
        m = ((xy - origin + 0.5) / q - 0.5).astype(np.float32)
        read: Array = cv2.remap(patch, m[..., 0], m[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        return read

    def _add_key(self, i: int, patch: Array, origin: Array, q: float) -> None:
        g, p = self.guesses[i], self.p[i]
        size = self.half * np.exp(p[5])
        turned = rotations((AXES @ p[:3])[None])[0].astype(np.float32)
        xy = (self.centre + p[3:5] + g.points[:, :2] * size)[None]
        step = np.float32(q)
        right, down = np.array([step, 0.0]), np.array([0.0, step])
        picture = self._read(patch, origin, q, xy)[0]
        gx = (self._read(patch, origin, q, xy + right) - self._read(patch, origin, q, xy - right))[0] / (2 * step)
        gy = (self._read(patch, origin, q, xy + down) - self._read(patch, origin, q, xy - down))[0] / (2 * step)
        slope = np.empty((len(gx), 6), np.float32)
        for k in range(3):
            d = np.cross(AXES[:, k], g.points) * size
            slope[:, k] = gx * d[:, 0] + gy * d[:, 1]
        slope[:, 3], slope[:, 4] = gx, gy
        slope[:, 5] = (gx * g.points[:, 0] + gy * g.points[:, 1]) * size
        g.keys.append(Key(g.points @ turned, g.normals @ turned, picture, slope, g.weight, g.lower, turned))

    # -- following ------------------------------------------------------------------------------------------------
    def follow(self, image: Array, hint_deg: float | None = None) -> None:
        """Finds the six numbers of every guess in the next picture; updates p, residual, sigma_deg."""
        o = self.o
        patch, origin, q = self._patch(image, self.centre + np.median(self.p[:, 3:5], axis=0))
        start = self.p.copy()
        p = self.p + o.damp * self.velocity
        now = rotations(p[:, :3] @ AXES.T).astype(np.float32)
        keys = [g.keys[int(np.argmax([np.sum(k.turned * r) for k in g.keys]))] for g, r in zip(self.guesses, now)]
        p, noise, a, points, picture, seen = self._solve(patch, origin, q, p, keys)
        home = self._home(patch, origin, q)
        if home is not None:
            p, noise, a = home
            keys = [g.keys[0] for g in self.guesses]
        self.residual = noise
        self.sigma_deg = np.degrees(np.sqrt(np.linalg.inv(a)[:, 0, 0]))
        self.velocity = p - start if home is None else np.zeros_like(p)
        self.p = p
        self._weigh(hint_deg, patch, origin, q, points, picture, seen)
        for i, (k, t) in enumerate(zip(keys, rotations(p[:, :3] @ AXES.T))):
            away = np.degrees(np.arccos(np.clip((np.sum(k.turned * t) - 1) / 2, -1, 1)))
            not_short = abs(np.degrees(p[i, 0])) > abs(self.turn_deg) - o.key_short_deg
            if away > o.key_step_deg and not_short and len(self.guesses[i].keys) < MAX_KEYS:
                self._add_key(i, patch, origin, q)
        best = int(np.argmax(self.say))
        if abs(np.degrees(p[best, 0])) < o.key_short_deg:  # back at rest: a guess that lost its hold starts again here
            astray = np.abs(np.degrees(p[:, 0] - p[best, 0])) > o.key_step_deg
            self.p[astray], self.velocity[astray] = p[best], self.velocity[best]

    def _home(self, patch: Array, origin: Array, q: float) -> tuple[Array, Array, Array] | None:
        """The pose of the reference picture, when that explains this picture as well as at rest: whatever a guess has
        come to believe on the way, a head that looks as it did at the start is back."""
        o = self.o
        self._since_home += 1
        if abs(self.turn_deg) < o.home_deg or self._since_home < o.home_frames:
            return None
        self._since_home = 0
        p = np.zeros_like(self.p)
        p[:, 3:5] = np.median(self.p[:, 3:5], axis=0)
        p, noise, a, *_ = self._solve(patch, origin, q, p, [g.keys[0] for g in self.guesses])
        fits = (noise / self.rest < o.home_fit) & (np.abs(np.degrees(p[:, 0])) < o.home_deg)
        return (p, noise, a) if fits.mean() >= 0.75 else None

    def _solve(
        self, patch: Array, origin: Array, q: float, p: Array, keys: list[Key]
    ) -> tuple[Array, Array, Array, Array, Array, Array]:
        """Gauss-Newton from p (h,6) against one key a guess: p, residual (h,), information (h,6,6) and what was used."""
        o = self.o
        now = rotations(p[:, :3] @ AXES.T).astype(np.float32)
        if not self._stacked or any(a is not b for a, b in zip(self._stacked_keys, keys)):
            self._stacked_keys = keys
            fields = ("points", "picture", "slope", "normals", "weight", "lower")
            self._stacked = [np.stack([getattr(k, f) for k in keys]).astype(np.float32) for f in fields]
        points, picture, slope, normals, weight, lower = self._stacked
        facing = (normals @ now[:, 2, :, None])[..., 0]
        seen = weight * np.maximum(np.clip(facing * -2.5, 0, 1), lower * (facing < 0.3))
        some = [np.flatnonzero(w > 0.2) for w in seen]
        stiff = np.array(
            [0, 1 / np.radians(o.nod_sd_deg) ** 2, 1 / np.radians(o.lean_sd_deg) ** 2, 0, 0, 1 / o.size_sd**2]
        )
        for step in range(o.iterations):
            turned = rotations(p[:, :3] @ AXES.T).astype(np.float32)
            size = (self.half * np.exp(p[:, 5])).astype(np.float32)[:, None, None]
            at = (self.centre + p[:, 3:5] - origin).astype(np.float32)[:, None]
            r = self._read(patch, NO_ORIGIN, q, at + (points @ turned[:, :2].transpose(0, 2, 1)) * size) - picture
            if step in (0, 3):
                noise = 1.0 + 1.48 * np.array([_middle(np.abs(a[k])) for a, k in zip(r, some)])
                bound = (2 * noise)[:, None].astype(np.float32)
            w = seen * np.minimum(1, bound / np.maximum(np.abs(r), 1e-3))
            jw = slope * w[..., None]
            fact = (noise**2 * o.points_per_fact)[:, None]
            a = (jw.transpose(0, 2, 1) @ slope).astype(float) / fact[..., None]
            b = (r[:, None] @ jw)[:, 0].astype(float) / fact
            a[:, range(6), range(6)] += stiff + 1e-6
            b += stiff * p
            move = np.linalg.solve(a, b[..., None])[..., 0]
            p = p - np.clip(move, [-0.15] * 3 + [-4 * q] * 2 + [-0.05], [0.15] * 3 + [4 * q] * 2 + [0.05])
            if np.abs(move[:, :3]).max() < 2e-3 and np.abs(move[:, 3:5]).max() < 0.02 * q:
                break
        return p, noise, a, points, picture, seen

    def _cross(self, patch: Array, origin: Array, q: float, points: Array, picture: Array, seen: Array) -> Array:
        """(h,h): how badly each guess's pose (row) explains the points of each guess (column), in its noise units."""
        h, n = picture.shape
        turned = rotations(self.p[:, :3] @ AXES.T).astype(np.float32)[:, None, :2]
        size = (self.half * np.exp(self.p[:, 5]))[:, None, None, None]
        xy = self.centre + self.p[:, None, None, 3:5] + (points[None] @ turned.transpose(0, 1, 3, 2)) * size
        r = np.abs(self._read(patch, origin, q, xy.reshape(h, h * n, 2)).reshape(h, h, n) - picture[None])
        bound = (3 * self.rest)[None, :, None]
        r = np.minimum(r, bound) / bound
        return np.asarray((r * seen).sum(2) / seen.sum(1))

    def _weigh(self, hint_deg: float | None, *what: Any) -> None:
        """How much say each guess has: it explains the picture as well as at rest, it is sure, and it does not deny a
        turn that the pose landmarks see (they fall short of a turn on a bowed head but hardly overstate one)."""
        o = self.o
        turn = np.degrees(self.p[:, 0])
        self.rest = self.residual.copy() if self.frames == 0 else self.rest
        if self.frames < 8:
            self.rest = self.rest + (self.residual - self.rest) / (self.frames + 1)
        elif np.abs(turn).max() < 4:
            self.rest = self.rest + 0.05 * (self.residual - self.rest)
        self.frames += 1
        if np.ptp(turn) > o.disagree_deg:
            fit = np.log(self._cross(*what)).mean(1)
        else:
            fit = np.log(np.maximum(self.residual / self.rest, 1))
        cost = o.fit_power * fit + o.sure_power * np.log(self.sigma_deg)
        if hint_deg is not None:
            short = (abs(hint_deg) - o.hint_slack_deg - turn * np.sign(hint_deg)) / o.hint_sd_deg
            cost = cost + 0.5 * np.clip(short, 0, 4) ** 2
        cost = cost - np.abs(turn) / o.bold_deg
        self.cost = cost if self.frames == 1 else o.memory * self.cost + (1 - o.memory) * cost
        say = np.exp(-(self.cost - self.cost.min()))
        self.say = say / say.sum()
        self.turn_deg = float(self.say @ turn)
        self.spread_deg = float(np.sqrt(self.say @ (turn - self.turn_deg) ** 2))

    # -- what it says ---------------------------------------------------------------------------------------------
    @property
    def place(self) -> tuple[float, float]:
        """Centre of the head in (mirrored) image px, as the guesses agree on it."""
        x, y = self.centre + self.say @ self.p[:, 3:5]
        return float(x), float(y)

    @property
    def best_residual(self) -> float:
        """Smallest residual over the guesses, relative to rest."""
        return float((self.residual / self.rest).min())

    @property
    def confidence(self) -> float:
        """0..1 from the error to be expected: the guesses' spread, their own uncertainty, and size of the turn."""
        sure = float(np.sqrt(1 / np.sum(self.say / self.sigma_deg**2)))
        error_deg = np.hypot(np.hypot(self.spread_deg, 0.5 * sure), 0.08 * self.turn_deg)
        return float(1 / (1 + (error_deg / 8.0) ** 2))
