"""How the camera stands, from the straight lines in the picture: mat or board edges, skirting, door frames, walls.

In most places where people putt, straight edges are upright, or run along the target line, or straight across it. Each
direction in space has one vanishing point, so a few edges tell roll, pitch and azimuth of the camera together (the idea of
reading a camera's turn from the three directions of a built scene: Coughlan and Yuille, ICCV 1999, "Manhattan world"; from
memory). Edges of the player and of the putter are left out. Edges on the ground by the ball have the last word on where the
target line runs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Callable, Iterator, Mapping

import numpy as np
import numpy.typing as npt

from trainer.domain.observation import View
from trainer.domain.perspective import CameraView, focal_px, world_axes
from trainer.vision.body.player_mask import inside_player

Floats = npt.NDArray[np.float64]
Unlikely = Callable[[CameraView], float]

# Where no study is named, none is kept.
SHORTEST_SHARE = 0.0375  # of the picture's width: shorter edges are texture
LONGEST_SHARE = 0.3  # a longer edge counts no more than this
INSIDE_SHARE = 0.4  # an edge that lies on the player for more of its length than this is the player's
TOLERANCE_DEG = 1.2  # an edge farther than this from a vanishing point does not belong to it
# What is likely before any edge is seen (deg, mean and spread): people level a camera, aim it at the player, and stand it
# within ten degrees of where they mean to: with 12 for 8 the eye line is 2.9 cm off (RMSE) in place of 2.2 where no edge of mat
# or board tells the line (10 rendered addresses), 1.07 in place of 1.01 where one does (16); with 5 3.1 and 1.23.
# The last is the field of view, as percent of the usual focal length: edges across the line tell it, those along it do not.
PRIOR = ((0.0, 4.0), (2.0, 10.0), (0.0, 8.0), (0.0, 10.0))
PRIOR_WEIGHT_SHARE = 0.03  # weight of that against the length of the edges (share of the picture's width)
# Stands tried at first: roll, pitch, azimuth (deg), focal length (percent off the usual).
GRID = (np.arange(-9.0, 9.1, 1.5), np.arange(-18.0, 25.0, 2.0), np.arange(-20.0, 21.0, 2.0))
WIDER = (-13.0, 0.0, 13.0)
STARTS, APART_DEG = 16, 4.0  # downhill runs, and how far apart they start
STEPS = ((3.0, 1.0), (2.0, 0.5), (1.5, 0.25), (TOLERANCE_DEG, 0.1), (TOLERANCE_DEG, 0.05))  # tolerance, step (deg)
PERCENT_PER_DEG = 3.0  # how much larger the steps in percent are
MOST_STEPS = 12  # downhill with each of these
MOST_UNLIKELY = 16.0  # squared standard deviations: what else is known says no more than this against a stand
# OpenCV's LSD: scale, sigma's share of it, quantisation, and the angle (deg) by which the pixels of an edge may differ.
DETECTOR = (0.8, 0.6, 2.0, 15)
# Brightness and the two planes of colour: contrast times, blur (px), least length in shortest edges.
PLANES = ((1.0, 1.5, 1.0), (3.0, 2.5, 1.3), (3.0, 2.5, 1.3))
NEAR_BALL_SHARE = 0.14  # of the picture's height: an edge that passes the ball within it borders its mat or line


@dataclass(frozen=True, slots=True)
class TiltSeen:
    """The camera's stand. upright: length (px) of the edges found upright; level, along: running across or along the line.

    near_ball: length (px) of the edges along the line that pass close to the ball. confidence 0..1 of roll and pitch;
    azimuth_confidence of the target line's direction.
    """

    camera: CameraView
    confidence: float
    azimuth_confidence: float
    near_ball: float


def straight_edges(image_bgr: Any) -> Floats:
    """Straight edges as (n, 4) x1, y1, x2, y2 px: by brightness and by colour, for a green mat may be as bright as the floor."""
    import cv2

    shortest = SHORTEST_SHARE * image_bgr.shape[1]
    lab = cv2.cvtColor(image_bgr, cv2.COLOR_BGR2LAB)
    detector = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD, *DETECTOR)
    found = []
    for channel, (gain, blur, least) in enumerate(PLANES):
        plane = cv2.GaussianBlur(lab[:, :, channel].astype(np.float32), (0, 0), blur)
        plane = np.clip((plane - plane.mean()) * gain + 128, 0, 255).astype(np.uint8)
        lines = detector.detect(plane)[0]
        if lines is not None:
            lines = lines.reshape(-1, 4).astype(np.float64)
            found.append(lines[np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1]) > least * shortest])
    return np.concatenate(found) if found else np.empty((0, 4))


def camera_stand(
    image_bgr: Any,
    view: View,
    body: Mapping[str, Any] | None,
    ball: tuple[float, float] | None,
    vertical_fov_deg: float | None = None,
    unlikely: Unlikely | None = None,
) -> TiltSeen | None:
    """The camera's stand from one picture, or None when too few straight edges are in it.

    image_bgr: (h, w, 3) uint8, mirrored for a left-hander; body: point name -> x px, y px, ...; ball: x, y px;
    unlikely: how ill a stand fits what else is known (squared, in standard deviations): decides between stands that the
    edges cannot tell apart.
    """
    height, width = image_bgr.shape[:2]
    focal = focal_px(height) if vertical_fov_deg is None else focal_px(height, vertical_fov_deg)
    edges = straight_edges(image_bgr)
    if body:
        edges = edges[inside_player(edges, body, ball) < INSIDE_SHARE]
    return stand_from_edges(edges, view, (width, height), focal, ball, vertical_fov_deg is not None, unlikely)


def stand_from_edges(
    edges: Floats,
    view: View,
    size: tuple[int, int],
    focal: float,
    ball: tuple[float, float] | None,
    known_focal: bool = False,
    unlikely: Unlikely | None = None,
) -> TiltSeen | None:
    """As ``camera_stand``, from edges (n, 4) already found. size: width, height px; focal: usual, or known for certain."""
    width, height = size
    if len(edges) < 2:
        return None
    rays = (edges.reshape(-1, 2, 2) - [width / 2, height / 2]) / focal
    lengths = np.minimum(np.hypot(*(edges[:, 2:] - edges[:, :2]).T), LONGEST_SHARE * width)

    def camera_of(angles: Floats) -> CameraView:
        longer = 1 + float(angles[3]) / 100
        return CameraView(focal * longer, (width / 2, height / 2), view, *(float(a) for a in angles[:3]))

    prior = PRIOR_WEIGHT_SHARE * width
    searched = _Edges(rays)
    ends = _search(searched, lengths, view, prior, known_focal)
    if unlikely is not None:
        ends = [(cost + prior * min(unlikely(camera_of(place)), MOST_UNLIKELY), place) for cost, place in ends]
    best = min(ends, key=lambda end: end[0])[1]
    off = _degrees(np.stack(list(searched.sines(best, view))))  # (3, n)
    near = off.min(axis=0) < TOLERANCE_DEG
    which = off.argmin(axis=0)
    explained = float(lengths[near].sum() / lengths.sum())
    directions = len({int(k) for k in which[near & (lengths > 0.08 * width)]})
    beside = near & (which == 1) & (_passes_by(edges, ball, NEAR_BALL_SHARE * height) if ball else False)
    near_ball = float(lengths[beside].sum())
    confidence = explained * min(1.0, float(lengths[near].sum()) / width) * (1.0 if directions >= 2 else 0.6)
    along_share = min(1.0, near_ball / (0.3 * width)) if ball else 0.0
    return TiltSeen(camera_of(best), float(confidence), float(confidence * along_share), near_ball)


class _Edges:
    """Straight edges as rays: (n, 2, 2) both ends with z = 1 at the usual focal length."""

    def __init__(self, rays: Floats) -> None:
        self._middle_x, self._middle_y = rays.mean(axis=1).T
        run = rays[:, 1] - rays[:, 0]
        self._run_x, self._run_y = (run / np.linalg.norm(run, axis=1, keepdims=True)).T

    def sines(self, angles: Floats, view: View) -> Iterator[Floats]:
        """(..., n) of the angle of each edge from the way to each vanishing point: upright, along, across.

        angles: (..., 4), the last in percent of the focal length.
        """
        longer = 1 + angles[..., 3:4] / 100
        for axis in world_axes(angles[..., 0], angles[..., 1], angles[..., 2], view):
            to_x = longer * axis[..., 0:1] - axis[..., 2:3] * self._middle_x
            to_y = longer * axis[..., 1:2] - axis[..., 2:3] * self._middle_y
            yield np.abs(to_x * self._run_y - to_y * self._run_x) / (np.hypot(to_x, to_y) + 1e-12)


def _degrees(sines: Floats) -> Floats:
    return np.asarray(np.degrees(np.arcsin(np.minimum(sines, 1.0))))


def _cost(angles: Floats, edges: _Edges, lengths: Floats, view: View, prior: float, tolerance_deg: float) -> Floats:
    upright, along, across = edges.sines(angles, view)
    off = _degrees(np.minimum(np.minimum(upright, along), across))
    misfit = (lengths * np.minimum(off / tolerance_deg, 1.0) ** 2).sum(axis=-1)
    unlikely = sum(((angles[..., k] - mean) / spread) ** 2 for k, (mean, spread) in enumerate(PRIOR))
    return np.asarray(misfit + prior * unlikely)


def _search(edges: _Edges, lengths: Floats, view: View, prior: float, known_focal: bool) -> list[tuple[float, Floats]]:
    """(cost, (roll, pitch, azimuth, focal percent)) of the best stands.

    A coarse grid, then downhill from the best few with ever finer steps.
    """
    percent = (0.0,) if known_focal else WIDER
    grid = np.stack(np.meshgrid(*GRID, percent, indexing="ij"), -1).reshape(-1, 4)
    coarse = _cost(grid, edges, lengths, view, prior, STEPS[0][0])
    cube = np.stack(
        np.meshgrid(*[(-1.0, 0.0, 1.0)] * 3, *[(0.0,) if known_focal else (-1.0, 0.0, 1.0)], indexing="ij"), -1
    )
    cube = cube.reshape(-1, 4) * [1.0, 1.0, 1.0, PERCENT_PER_DEG]
    ends = []
    for place in _starts(grid, coarse):
        for tolerance, step in STEPS:
            for _ in range(MOST_STEPS):
                around = place + step * cube
                chosen = int(_cost(around, edges, lengths, view, prior, tolerance).argmin())
                if chosen == len(cube) // 2:
                    break
                place = around[chosen]
        ends.append((float(_cost(place[None], edges, lengths, view, prior, TOLERANCE_DEG)[0]), place))
    return ends


def _starts(grid: Floats, cost: Floats) -> list[Floats]:
    """The best places of the grid, each well away from the better ones."""
    chosen: list[Floats] = []
    for index in np.argsort(cost, kind="stable"):
        if all(np.abs(grid[index] - other).max() >= APART_DEG for other in chosen):
            chosen.append(grid[index])
            if len(chosen) == STARTS:
                break
    return chosen


def _passes_by(edges: Floats, ball: tuple[float, float], within_px: float) -> Any:
    """Which edges, drawn on to both sides, pass the ball within a distance."""
    start, run = edges[:, :2], edges[:, 2:] - edges[:, :2]
    to_ball = np.asarray(ball) - start
    return np.abs(run[:, 0] * to_ball[:, 1] - run[:, 1] * to_ball[:, 0]) / np.linalg.norm(run, axis=1) < within_px
