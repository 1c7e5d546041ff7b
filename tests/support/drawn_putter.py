"""Drawn pictures of a player's legs, hands, a putter and a ball, with the truth they were drawn from."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import cv2
import numpy as np

WIDTH, HEIGHT = 640, 480
PIVOT = (320.0, 150.0)  # of the pendulum: the hands swing about it
ARM_PX, SHAFT_PX = 105.0, 172.0  # pivot to wrists, wrists to the foot of the shaft
TAPE_PX = 30.0  # from the foot up to the middle of the tape
BALL_PX = 10.4
FINE = 3  # drawing is this much finer than the picture
SHIFT = 4

Bgr = tuple[float, float, float]
ORANGE, BLUE_TAPE, WHITE, YELLOW = (
    (30.0, 120.0, 240.0),
    (230.0, 90.0, 20.0),
    (240.0, 244.0, 242.0),
    (60.0, 225.0, 235.0),
)


@dataclass(frozen=True)
class Look:
    """What the picture shows."""

    tape: Bgr | None = ORANGE
    ball: Bgr | None = WHITE
    ball_at: tuple[float, float] = (329.0, 424.5)
    putter: bool = True
    hidden: tuple[int, ...] = field(default=())  # frames without a putter
    noise: float = 3.0


def place(angle_deg: float, along_px: float) -> tuple[float, float]:
    """A point of the pendulum, along_px from the pivot; angle from straight down, + = right."""
    a = math.radians(angle_deg)
    return PIVOT[0] + along_px * math.sin(a), PIVOT[1] + along_px * math.cos(a)


def wrists(angle_deg: float) -> tuple[float, float]:
    return place(angle_deg, ARM_PX)


def head(angle_deg: float) -> tuple[float, float]:
    return place(angle_deg, ARM_PX + SHAFT_PX)


def body(angle_deg: float) -> dict[str, tuple[float, float, float]]:
    """Pose points such as the pose model gives, exact."""
    x, y = wrists(angle_deg)
    points = {"left_wrist": (x + 5, y - 8), "right_wrist": (x - 5, y + 8)}
    for side, sign in (("left", 1), ("right", -1)):
        points |= {
            f"{side}_shoulder": (320 + 40 * sign, 160),
            f"{side}_hip": (320 + 20 * sign, 235),
            f"{side}_knee": (320 + 32 * sign, 312),
            f"{side}_ankle": (320 + 37 * sign, 390),
            f"{side}_heel": (320 + 36 * sign, 396),
            f"{side}_toe": (320 + 41 * sign, 408),
        }
    return {name: (float(px), float(py), 0.99) for name, (px, py) in points.items()}


def _at(p: tuple[float, float]) -> tuple[int, int]:
    scale = FINE * (1 << SHIFT)
    return round((p[0] - 0.5 / FINE) * scale), round((p[1] - 0.5 / FINE) * scale)


def _line(image: np.ndarray, p: tuple[float, float], q: tuple[float, float], colour: Bgr, width_px: float) -> None:
    dx, dy = q[0] - p[0], q[1] - p[1]
    n = math.hypot(dx, dy)
    nx, ny = -dy / n * width_px / 2, dx / n * width_px / 2
    corners = [(p[0] + nx, p[1] + ny), (q[0] + nx, q[1] + ny), (q[0] - nx, q[1] - ny), (p[0] - nx, p[1] - ny)]
    cv2.fillConvexPoly(image, np.array([_at(c) for c in corners]), colour, cv2.LINE_AA, SHIFT)


def background(rng: np.random.Generator) -> np.ndarray:
    """Wall, carpet, mat, legs and shoes, FINE times the picture."""
    image = np.zeros((HEIGHT * FINE, WIDTH * FINE, 3), np.float32)
    image[:] = (180, 185, 190)
    image[335 * FINE :] = (70, 78, 84)
    image[405 * FINE : 445 * FINE] = (70, 145, 62)
    grain = cv2.resize(rng.normal(0, 1, (120, 160)).astype(np.float32), (WIDTH * FINE, HEIGHT * FINE))
    image += 3.0 * grain[:, :, None]
    for sign in (-1, 1):
        leg = [(320 + sign * 2, 230), (320 + sign * 42, 230), (320 + sign * 48, 388), (320 + sign * 26, 388)]
        cv2.fillConvexPoly(image, np.array([_at(c) for c in leg]), (120, 85, 60), cv2.LINE_AA, SHIFT)
        shoe = [(320 + sign * 24, 386), (320 + sign * 50, 386), (320 + sign * 54, 410), (320 + sign * 26, 410)]
        cv2.fillConvexPoly(image, np.array([_at(c) for c in shoe]), (195, 196, 198), cv2.LINE_AA, SHIFT)
    return image


def draw_ball(image: np.ndarray, at: tuple[float, float], colour: Bgr, diameter_px: float = BALL_PX) -> None:
    """Lit from above: the lower part falls off into shade."""
    scale = FINE
    r = diameter_px / 2 * scale
    cx, cy = at[0] * scale - 0.5, at[1] * scale - 0.5
    x0, y0, n = int(cx - r) - 2, int(cy - r) - 2, int(2 * r) + 5
    ys, xs = np.mgrid[y0 : y0 + n, x0 : x0 + n]
    d = np.hypot(xs - cx, ys - cy)
    up = np.clip(-(ys - cy) / r, -1, 1)
    front = np.sqrt(np.clip(1 - (d / r) ** 2, 0, 1))
    light = np.clip(0.62 + 0.28 * up + 0.25 * front, 0.25, 1.0)[:, :, None] * np.array(colour)
    cover = np.clip(r + 0.5 - d, 0, 1)[:, :, None]
    part = image[y0 : y0 + n, x0 : x0 + n]
    part[:] = part * (1 - cover) + light * cover


def _putter(image: np.ndarray, angle_deg: float, look: Look) -> None:
    top = place(angle_deg, ARM_PX - 25)
    _line(image, top, place(angle_deg, ARM_PX + 38), (20, 20, 20), 6.0)
    _line(image, place(angle_deg, ARM_PX + 38), head(angle_deg), (215, 215, 210), 2.6)
    if look.tape is not None:
        end = ARM_PX + SHAFT_PX - TAPE_PX
        _line(image, place(angle_deg, end - 6), place(angle_deg, end + 6), look.tape, 4.4)
    _line(image, place(angle_deg, ARM_PX + SHAFT_PX - 5), place(angle_deg, ARM_PX + SHAFT_PX + 6), (95, 90, 88), 6.0)
    x, y = wrists(angle_deg)
    cv2.circle(image, _at((x, y + 3)), 17 * FINE << SHIFT, (120, 150, 195), -1, cv2.LINE_AA, SHIFT)


def picture(
    scene: np.ndarray,
    angles_deg: list[float],
    look: Look,
    rng: np.random.Generator,
    ball_at: tuple[float, float] | None,
) -> np.ndarray:
    """(480, 640, 3) uint8: the mean of the exposures at these angles, with noise."""
    total = np.zeros((HEIGHT, WIDTH, 3), np.float32)
    for angle in angles_deg:
        fine = scene.copy()
        if look.putter:
            _putter(fine, angle, look)
        if look.ball is not None and ball_at is not None:
            draw_ball(fine, ball_at, look.ball)
        total += cv2.resize(fine, (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA)
    image = cv2.GaussianBlur(total / len(angles_deg), (0, 0), 0.6)
    return np.clip(image + rng.normal(0, look.noise, image.shape), 0, 255).astype(np.uint8)


def stroke(rest: int = 18, swing: int = 26, hold: int = 8, back_deg: float = 9.0) -> np.ndarray:
    """Angles (deg) of a small stroke, a frame each: rest, back and through as a cosine, hold at the finish."""
    t = np.linspace(0.0, 1.0, swing)
    moving = np.where(t < 0.5, -back_deg * np.sin(np.pi * t * 2 / 2) ** 2, 0.0)
    moving = np.where(t >= 0.5, -back_deg + 2.1 * back_deg * (1 - np.cos(np.pi * (t - 0.5) * 2)) / 2, moving)
    return np.concatenate((np.zeros(rest), moving, np.full(hold, moving[-1])))


def frames(angles_deg: np.ndarray, look: Look, seed: int = 0) -> list[np.ndarray]:
    """One picture a frame; the shutter is open for half of the frame time while the putter moves."""
    rng = np.random.default_rng(seed)
    scene = background(rng)
    bare = Look(None, look.ball, look.ball_at, False, (), look.noise)
    out = []
    for i, angle in enumerate(angles_deg):
        before = angles_deg[max(0, i - 1)]
        after = angles_deg[min(len(angles_deg) - 1, i + 1)]
        speed = (after - before) / 2
        spread = [0.0] if abs(speed) < 0.2 else [-0.25, -0.08, 0.08, 0.25]
        shown = bare if i in look.hidden else look
        out.append(picture(scene, [angle + s * speed for s in spread], shown, rng, look.ball_at))
    return out
