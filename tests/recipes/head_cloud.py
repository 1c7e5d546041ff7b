"""Surfaces as clouds of points: sampled, lit from all round, thrown on a picture (head_points.py)."""

import functools

import cv2
import numpy as np
from head_any import grain
from putt import rot

POINTS, FAR_M = 44000, 0.34  # of what lies within so much of the head
SKY = 28  # directions that light comes from
FINE = 2  # points are thrown on a picture so much finer


@functools.lru_cache(maxsize=40)
def picture_of(path):
    return cv2.imread(path, cv2.IMREAD_UNCHANGED)


def cloud(scene, middle, rng):
    """Points of the surfaces near the head: places, normals, colours (linear RGB), weights of bones, parts."""
    places, normals, colours, weights, sizes = [], [], [], [], []
    for mesh, v, w in scene.parts:
        corners, uvs, which = [], [], []
        for k, f in enumerate(mesh.faces):
            for j in range(1, len(f) - 1):
                corners.append((f[0], f[j], f[j + 1]))
                which.append(mesh.polygons[k].material_index)
                if mesh.uv is not None:
                    u = mesh.uvf[k]
                    uvs.append((u[0], u[j], u[j + 1]))
        corners, which = np.array(corners), np.array(which)
        near = np.linalg.norm(v[corners].mean(1) - middle, axis=1) < FAR_M
        if not near.any():
            continue
        places.append((mesh, v, w, corners[near], np.array(uvs)[near] if uvs else None, which[near]))
        a, b, c = (v[corners[near][:, i]] for i in range(3))
        closer = np.where(np.linalg.norm((a + b + c) / 3 - middle, axis=1) < 0.19, 1.8, 1.0)
        sizes.append(np.linalg.norm(np.cross(b - a, c - a), axis=1) * closer)
    share, parts_of = POINTS / sum(s.sum() for s in sizes), []
    parts, places = places, []
    for (mesh, v, w, corners, uvs, which), size in zip(parts, sizes):
        upto = np.cumsum(size) * share
        pick = np.searchsorted(upto, np.arange(rng.random(), upto[-1], 1.0))
        if not len(pick):
            continue
        r = rng.random((len(pick), 2))
        r[r.sum(1) > 1] = 1 - r[r.sum(1) > 1]
        bary = np.column_stack([1 - r.sum(1), r])
        tri = corners[pick]
        at = np.einsum("nk,nkx->nx", bary, v[tri])
        smooth = _vertex_normals(v, corners)
        normal = np.einsum("nk,nkx->nx", bary, smooth[tri])
        normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-9)
        tone, solid = _tone(
            mesh,
            at,
            None if uvs is None else np.einsum("nk,nkx->nx", bary, mesh.uv[uvs[pick]]),
            which[pick],
            (rng, scene.skull),
        )
        if not mesh.closed:  # open surfaces: what shows is what is away from the middle
            normal *= np.where(((at - middle) * normal).sum(1) < 0, -1, 1)[:, None]
        bones = np.einsum("nk,nkx->nx", bary, w[tri]) if w.any(0).sum() > 1 else w[tri[:, 0]]
        places.append(at[solid])
        normals.append(normal[solid])
        colours.append(tone[solid])
        parts_of.append(np.full(int(solid.sum()), len(parts_of)))
        weights.append(bones[solid])
    found = (np.concatenate(x).astype(np.float32) for x in (places, normals, colours, weights))
    return *found, np.concatenate(parts_of)


def _vertex_normals(v, corners):
    n = np.zeros_like(v)
    flat = np.cross(v[corners[:, 1]] - v[corners[:, 0]], v[corners[:, 2]] - v[corners[:, 0]])
    for k in range(3):
        for d in range(3):
            n[:, d] += np.bincount(corners[:, k], flat[:, d], len(v))
    return n / np.maximum(np.linalg.norm(n, axis=1, keepdims=True), 1e-12)


def _tone(mesh, at, uv, which, drawn):
    """(n, 3) linear colours and which points are there at all (hair is cut out of its cards)."""
    rng, skull = drawn
    tone, solid = np.zeros((len(at), 3)), np.ones(len(at), bool)
    for k, m in enumerate(mesh.materials):
        on = which == k
        if m.tex and uv is not None:
            image = picture_of(m.tex)
            h, w = image.shape[:2]
            x, y = (uv[on, 0] % 1 * (w - 1)).astype(int), ((1 - uv[on, 1] % 1) * (h - 1)).astype(int)
            texel = image[y, x].astype(float) / 255
            tone[on] = texel[:, 2::-1] ** 2.2
            if m.alpha and texel.shape[1] == 4:
                solid[on] = texel[:, 3] > rng.random(on.sum())
        elif m.paint:
            tone[on] = m.paint(at[on], skull) if on.any() else 0
        elif m.noise:
            x = at[on] * [70, 70, 9]
            g = np.clip((0.6 * grain(x) + 0.4 * grain(3.1 * x) - 0.3) / 0.4, 0, 1)[:, None]
            tone[on] = np.array(m.noise[0]) * (1 - g) + np.array(m.noise[1]) * g
        else:
            tone[on] = np.array(m.colour) * (0.94 + 0.12 * grain(at[on] * 400))[:, None]
        if m.tint:
            tone[on] *= m.tint
    return np.clip(tone, 0, 1), solid


def in_front(x, y, depth, width, height, spread=3):
    """Index of the nearest point in each pixel of a (height, width) picture, -1 where there is none. x, y: pixels, float."""
    order = np.argsort(-depth)
    xi, yi = x[order].astype(np.int32), y[order].astype(np.int32)
    buffer = np.full((height + spread) * (width + spread), -1, np.int32)
    ok = (xi >= 0) & (yi >= 0) & (xi < width) & (yi < height)
    order, flat = order[ok], (yi * (width + spread) + xi)[ok]
    steps = np.array([j * (width + spread) + i for j in range(spread) for i in range(spread)])
    buffer[(flat[:, None] + steps).ravel()] = np.repeat(order, spread * spread)
    return buffer.reshape(height + spread, width + spread)[:height, :width]


def shown(first, shade, wall):
    """(h, w, 3): shade of the point seen in each pixel; pixels between points that none was thrown on get their neighbours'."""
    there = (first >= 0).astype(np.uint8)
    hole = cv2.morphologyEx(there, cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8)) > there
    seen = shade[first] * there[..., None]
    around = cv2.blur(seen, (5, 5)) / np.maximum(cv2.blur(there.astype(np.float32), (5, 5)), 1e-3)[..., None]
    return np.where(there[..., None] > 0, seen, np.where(hole[..., None], around, wall))


def lit(p, d, spread=3, cell=0.006, bias=0.02):
    """Which points light from direction d (unit, toward the light) reaches; every other one throws shadow."""
    a = np.cross(d, [0.31, 0.9, 0.3])
    a /= np.linalg.norm(a)
    b = np.cross(a, d)
    x, y, z = p @ a, p @ b, -(p @ d)
    x, y = (x - x.min()) / cell, (y - y.min()) / cell
    w, h = int(x.max()) + spread, int(y.max()) + spread
    first = in_front(x[::2], y[::2], z[::2], w, h, spread)
    near = 2 * first[y.astype(int) + spread // 2, x.astype(int) + spread // 2]
    return (near < 0) | (z - z[near] < bias)


def directions(n):
    k = np.arange(n) + 0.5
    z, a = 1 - 2 * k / n, np.pi * (1 + 5**0.5) * k
    r = np.sqrt(1 - z * z)
    return np.column_stack([r * np.cos(a), r * np.sin(a), z]).astype(np.float32)


class Light:
    """Light from everywhere with broad lamps in it, and perhaps a sun (direction, colour)."""

    def __init__(self, rng):
        white = np.array([1, 1, 1]) * rng.uniform(0.85, 1.15, 3)
        self.sky, self.ground = white * rng.uniform(0.2, 1), white * rng.uniform(0.05, 0.5)
        self.lamps, self.sun = [], None
        for _ in range(rng.integers(0, 4)):
            d = rng.normal(0, 1, 3)
            d[2] = abs(d[2]) * rng.uniform(0.05, 2)
            power = rng.uniform(0.3, 4) * np.array([1, 1, 1]) * rng.uniform(0.8, 1.2, 3)
            self.lamps.append((d / np.linalg.norm(d), rng.uniform(1.5, 12), power))
        self.veil = rng.uniform(0.02, 0.25) if rng.random() < 0.15 else 0.0  # glare over the whole picture
        if rng.random() < 0.3:
            az, el = rng.uniform(0, 2 * np.pi), rng.uniform(0.15, 1.2)
            d = np.array([np.cos(az) * np.cos(el), np.sin(az) * np.cos(el), np.sin(el)])
            self.sun = d, rng.uniform(0.8, 4) * np.array([1, 0.95, 0.85])

    def around(self, d):
        """(n, 3) light that comes from directions d (n, 3)."""
        up = np.clip(0.5 + d[:, 2:] * 1.5, 0, 1)
        light = up * self.sky + (1 - up) * self.ground
        for at, narrow, power in self.lamps:
            light = light + np.exp(narrow * (d @ at - 1))[:, None] * power
        return light


def backdrop(rng, height, width):
    """(height, width, 3) linear: a wall, plain or patterned, perhaps with an edge or a window."""
    base = rng.uniform(0.02, 0.9) * rng.uniform(0.6, 1.0, 3)
    other = np.clip(base * rng.uniform(0.3, 2.0, 3), 0, 1)
    y, x = np.mgrid[0:height, 0:width] / (FINE * 20.0)
    a, f, phase = rng.uniform(0, np.pi), rng.uniform(0.3, 2.5), rng.uniform(0, 9, 2)
    u, v = x * np.cos(a) + y * np.sin(a) + phase[0], y * np.cos(a) - x * np.sin(a) + phase[1]
    kind = rng.integers(5)
    if kind == 0:
        share = (np.floor(u * f) + np.floor(v * f)) % 2
    elif kind == 1:
        share = 0.5 + 0.5 * np.sin(6 * u * f + 2 * np.sin(v))
    elif kind == 2:
        share = grain(np.column_stack([u.ravel() * f * 3, v.ravel() * f * 3, 0 * u.ravel() + phase[0]])).reshape(
            u.shape
        )
    else:
        share = np.clip(0.5 + 0.1 * (u - u.mean()), 0, 1)
    wall = base * (1 - share[..., None]) + other * share[..., None]
    for _ in range(rng.integers(0, 3)):
        x0, y0 = rng.uniform(-0.3, 1.0) * width, rng.uniform(-0.3, 1.0) * height
        x1, y1 = x0 + rng.uniform(0.2, 1.2) * width, y0 + rng.uniform(0.2, 1.2) * height
        bright = rng.uniform(1.5, 8) if rng.random() < 0.3 else rng.uniform(0.02, 1)
        wall[max(int(y0), 0) : max(int(y1), 0), max(int(x0), 0) : max(int(x1), 0)] = bright * rng.uniform(0.85, 1, 3)
    return wall * rng.uniform(0.5, 1.3)


class Camera:
    def __init__(self, rng, middle):
        height, x, far = rng.uniform(0.3, 1.2), rng.uniform(-0.35, 0.35), rng.uniform(2.0, 3.6)
        eye, target = np.array([x, -far, height]), np.array([x / 3 + rng.normal(0, 0.1), 0, 0.81])
        back = (eye - target) / np.linalg.norm(eye - target)
        right = np.cross([0, 0, 1], back)
        right /= np.linalg.norm(right)
        self.turn, self.eye = (
            np.column_stack([right, np.cross(back, right), back]) @ rot([0, 0, 1], rng.normal(0, 0.04)),
            eye,
        )
        self.focus = 240 / np.tan(np.radians(23)) * np.exp(rng.uniform(np.log(0.7), np.log(1.9)))

    def project(self, x):
        c = (x - self.eye) @ self.turn
        return self.focus * c[:, 0] / -c[:, 2], -self.focus * c[:, 1] / -c[:, 2], -c[:, 2]
