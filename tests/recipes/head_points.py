"""Many heads to learn from without a ray tracer: surfaces as clouds of points, lit from all round, thrown on a picture.

Usage, beside the generator's own files (numpy and OpenCV are enough): head_points.py OUT_DIR FIRST_SEED HOW_MANY
Each head gives OUT_DIR/SEED.npz as head_crops.py does. Nothing that heads_fresh.py names is on any of them.
About half a second of processor time a head of 16 pictures.
"""

import functools
import os
import sys
import types

import cv2
import numpy as np

FRAMES = 16
BODY_OF = 10  # heads in a row that share one body
POINTS, FAR_M = 44000, 0.34  # of what lies within so much of the head
SKY = 28  # directions that light comes from
FINE = 2  # points are thrown on a picture so much finer
REACH_HALF_WIDTHS = 2.7
SKINS = (
    "young_caucasian_male2",
    "young_asian_male",
    "young_african_male",
    "young_caucasian_female2",
    "middleage_caucasian_male",
    "young_asian_female",
)
SUITS = ("male_casualsuit02", "male_casualsuit03", "male_casualsuit04", "male_worksuit01", "female_sportsuit01")
HAIR = ("short02", "short04", "bob02", "ponytail01")
SHAPES = ("oval", "round", "square", "triangular", "invertedtriangular")


class Stuff:
    """A material: one colour, a picture, or strands."""

    def __init__(self, name, color=(0.8, 0.8, 0.8), tex=None, tint=None, noise=None, alpha=False, **_):
        self.name, self.colour, self.tex, self.tint, self.noise, self.alpha = name, color, tex, tint, noise, alpha


class Mesh:
    """What the modelled hats and hair are put into; stands in for the ray tracer's object."""

    def __init__(self, name, points, faces, uv=None, uvf=None, material=None, **_):
        self.name, self.points, self.faces, self.uv, self.uvf = name, np.asarray(points, float), faces, uv, uvf
        self.materials = [material]
        self.polygons = [types.SimpleNamespace(material_index=0) for _ in faces]
        self.data, self.modifiers = self, self

    def new(self, *_):
        return types.SimpleNamespace()


MATERIALS = {}


def _mat(name, *a, **kw):
    MATERIALS[name] = made = Stuff(name, *a, **kw)
    return made


def _strands(name, colour):
    dark, pale = tuple(c * 0.55 for c in colour), tuple(min(c * 1.35, 1) for c in colour)
    return _mat(name, colour, noise=(dark, pale))


sys.modules["bpy"] = types.SimpleNamespace(data=types.SimpleNamespace(materials=MATERIALS))
sys.modules["scene"] = types.SimpleNamespace(mat=_mat, mesh_obj=Mesh)
import body as figure  # noqa: E402
import head_wear  # noqa: E402
from putt import Putter, rot  # noqa: E402

head_wear.strands = _strands
_read = functools.lru_cache(maxsize=40)(figure.read_obj)
figure.read_obj = lambda path, groups=None: tuple(p.copy() if isinstance(p, np.ndarray) else p for p in _read(path))
COLOURS = np.array([(0.02, 0.017, 0.015), (0.10, 0.05, 0.025), (0.5, 0.36, 0.17), (0.3, 0.3, 0.31), (0.75, 0.74, 0.71)])
_LATTICE = np.random.default_rng(4).random((32, 32, 32))


def grain(x):
    """Smooth noise 0..1 at places x (n, 3)."""
    at = np.floor(x).astype(int)
    f = x - at
    f = f * f * (3 - 2 * f)
    out = 0.0
    for k in range(8):
        c = np.array([k & 1, k >> 1 & 1, k >> 2 & 1])
        i, j, m = ((at + c) % 32).T
        out = out + _LATTICE[i, j, m] * np.prod(np.where(c, f, 1 - f), axis=1)
    return out


@functools.lru_cache(maxsize=40)
def picture_of(path):
    return cv2.imread(path, cv2.IMREAD_UNCHANGED)


def texture(folder):
    names = [f for f in os.listdir(folder) if f.endswith(".png") and "normal" not in f and "_ao" not in f]
    return os.path.join(folder, sorted(names, key=lambda f: "diffuse" not in f)[0])


def any_body(rng):
    race = ("caucasian", "asian", "african")[rng.integers(3)]
    sex = ("male", "female")[rng.integers(2)]
    age = ("young", "old")[int(rng.random() < 0.35)]
    build = (
        "averagemuscle-averageweight",
        "averagemuscle-maxweight",
        "averagemuscle-minweight",
        "maxmuscle-averageweight",
    )[rng.integers(4)]
    targets = {
        f"macrodetails/{race}-{sex}-{age}": 1.0,
        f"macrodetails/universal-{sex}-{age}-{build}": rng.uniform(0.5, 1),
        f"head/head-{SHAPES[rng.integers(len(SHAPES))]}": rng.uniform(0, 0.9),
    }
    return figure.Body(targets)


class Scene:
    """Stands in for the ray tracer's scene: a body and what is on it."""

    def __init__(self, b):
        self.body, self.parts = b, []


def colour(rng, spread=0.4):
    return tuple(np.clip(COLOURS[rng.integers(5)] * rng.uniform(1 - spread, 1 + spread, 3), 0.01, 0.9))


def cloth(rng):
    return tuple(np.clip(rng.uniform(0.02, 0.95) * rng.uniform(0.25, 1.0, 3), 0.01, 0.9))


def dress(scene, rng):
    """Skin, clothes, hair and what is worn; the meshes are in scene.parts as (mesh, points, weights)."""
    b = scene.body
    skin = Stuff("skin", tex=texture(f"{figure.MH}/skins/{SKINS[rng.integers(len(SKINS))]}"))
    skin.tint = tuple(rng.uniform(0.25, 1.15) * rng.uniform(0.9, 1.1, 3))
    if "african" in skin.tex:
        skin.tint = tuple(np.array(skin.tint) * 1.3)

    def fitted(kind, name, **how):
        path = f"{figure.MH}/{kind}/{name}"
        c = figure.Cloth(b, f"{path}/{name}.mhclo")
        tex = f"{figure.MH}/eyes/materials/brown_eye.png" if kind == "eyes" else texture(path)
        m = Stuff(name, tex=tex, **how)
        scene.parts.append((Mesh(name, c.v, c.faces, c.uv, c.uvfaces, m), c.v, c.w))
        return c.delete

    hidden = fitted("clothes", SUITS[rng.integers(len(SUITS))], tint=tuple(rng.uniform(0.3, 1.6, 3)))
    fitted("eyes", "low-poly")
    fitted("eyebrows", "eyebrow001", alpha=True, tint=tuple(rng.uniform(0.4, 2.5, 1).repeat(3)))
    kept = [i for i, f in enumerate(b.faces) if not any(v in hidden for v in f)]
    n = figure.NB
    mesh = Mesh("body", b.v[:n], [b.faces[i] for i in kept], b.uv, [b.uvfaces[i] for i in kept], skin)
    scene.parts.append((mesh, b.v[:n], b.w[:n]))

    def asset(name=None):
        tint = ((1.9, 1.9, 1.95), (0.25, 0.25, 0.27), (1, 1, 1), (1.4, 0.7, 0.4), (3, 3, 3))[rng.integers(5)]
        tint = tuple(np.array(tint) * rng.uniform(0.8, 1.25, 3))
        fitted("hair", name or HAIR[rng.integers(len(HAIR))], alpha=True, tint=tint)

    skull = head_wear.Skull(scene)
    skull.rx, skull.ry = skull.rx * rng.uniform(0.98, 1.06), skull.ry * rng.uniform(0.98, 1.06)
    _grow(skull, rng, asset)
    if rng.random() < 0.18:
        head_wear.spectacles(skull, colour(rng), rng.random() < 0.4)
    if rng.random() < 0.15:
        head_wear.beard(skull, colour(rng), rng.uniform(0.004, 0.018))


def _grow(skull, rng, asset):
    kinds = {
        "asset": 0.24, "bald": 0.06, "shaved": 0.08, "curls": 0.09, "ring": 0.05, "bun": 0.04, "tails": 0.06, "long": 0.16,
        "hat": 0.22,
    }  # fmt: skip
    kind = list(kinds)[rng.choice(len(kinds), p=np.array(list(kinds.values())) / sum(kinds.values()))]
    w = head_wear
    if kind == "asset":
        asset()
    elif kind == "shaved":
        w.scalp(skull, colour(rng), rng.uniform(0.001, 0.012), rng.uniform(0, 0.5))
    elif kind == "curls":
        w.scalp(skull, colour(rng), rng.uniform(0.015, 0.05), rng.uniform(0.2, 0.55))
    elif kind == "ring":
        w.ring(skull, colour(rng), rng.uniform(0.003, 0.015))
    elif kind == "bun":
        w.bun(skull, colour(rng))
    elif kind == "tails":
        w.tails(skull, colour(rng))
    elif kind == "long":
        fringe = rng.uniform(0.02, 0.06) if rng.random() < 0.35 else 0.0
        w.hanging(skull, colour(rng), rng.uniform(8, 55), rng.uniform(0.08, 0.24), fringe)
    elif kind == "hat":
        _hat(skull, rng, asset)


def _hat(skull, rng, asset):
    kind = [*head_wear.RINGS, "back"][rng.integers(len(head_wear.RINGS) + 1)]
    model = "peak" if kind == "back" else kind
    kept = head_wear.RINGS[model]
    wide, high = rng.uniform(0.92, 1.1), rng.uniform(0.8, 1.2)
    head_wear.RINGS[model] = tuple((1 + (s - 1) * wide if s > 1 else s, z * high) for s, z in kept)
    panels = (cloth(rng), int(rng.integers(4, 13))) if rng.random() < 0.25 else None
    try:
        head_wear.hat(skull, kind, cloth(rng), panels)
    finally:
        head_wear.RINGS[model] = kept
    under = rng.random()
    if kind == "visor":
        asset("short04")
    elif under < 0.4:
        head_wear.ring(skull, colour(rng), rng.uniform(0.004, 0.012))
    elif under < 0.5 and kind not in ("straw", "bucket"):
        head_wear.hanging(skull, colour(rng), rng.uniform(35, 60), rng.uniform(0.1, 0.2))


def cloud(scene, middle, rng):
    """Points of the surfaces near the head: places, normals, colours (linear RGB), weights of bones."""
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
    share = POINTS / sum(s.sum() for s in sizes)
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
            mesh, at, None if uvs is None else np.einsum("nk,nkx->nx", bary, mesh.uv[uvs[pick]]), which[pick], rng
        )
        if mesh.name not in ("body", *SUITS):  # open surfaces: what shows is what is away from the middle
            normal *= np.where(((at - middle) * normal).sum(1) < 0, -1, 1)[:, None]
        bones = np.einsum("nk,nkx->nx", bary, w[tri]) if w.any(0).sum() > 1 else w[tri[:, 0]]
        places.append(at[solid])
        normals.append(normal[solid])
        colours.append(tone[solid])
        weights.append(bones[solid])
    return (np.concatenate(x).astype(np.float32) for x in (places, normals, colours, weights))


def _vertex_normals(v, corners):
    n = np.zeros_like(v)
    flat = np.cross(v[corners[:, 1]] - v[corners[:, 0]], v[corners[:, 2]] - v[corners[:, 0]])
    for k in range(3):
        for d in range(3):
            n[:, d] += np.bincount(corners[:, k], flat[:, d], len(v))
    return n / np.maximum(np.linalg.norm(n, axis=1, keepdims=True), 1e-12)


def _tone(mesh, at, uv, which, rng):
    """(n, 3) linear colours and which points are there at all (hair is cut out of its cards)."""
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


def without_holes(first, wider):
    """Pixels between points that none was thrown on are filled from the same with larger points."""
    there = (first >= 0).astype(np.uint8)
    hole = (cv2.morphologyEx(there, cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8)) > there) & (wider >= 0)
    return np.where(hole, wider, first)


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
            d[2] = abs(d[2]) * rng.uniform(0.1, 2)
            power = rng.uniform(0.3, 3) * np.array([1, 1, 1]) * rng.uniform(0.8, 1.2, 3)
            self.lamps.append((d / np.linalg.norm(d), rng.uniform(1.5, 12), power))
        if rng.random() < 0.3:
            az, el = rng.uniform(0, 2 * np.pi), rng.uniform(0.2, 1.1)
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


def any_pose(rng, k):
    """(turn, lift, roll, sway, shoulders): the first two of a head at rest."""
    if k < 2:
        return rng.normal(0, 0.4), rng.normal(0, 0.4), 0.0, rng.normal(0, 0.002, 3), rng.normal(0, 0.4)
    turn = -74 + 148 * (k - 2 + rng.random()) / (FRAMES - 2)
    lift = rng.normal(0, 3) + rng.uniform(-0.03, 0.28) * abs(turn)
    roll = rng.normal(0, 2) + rng.uniform(-0.05, 0.05) * turn
    return turn, lift, roll, rng.normal(0, 0.01, 3), rng.normal(0, 4)


class Camera:
    def __init__(self, rng, middle):
        height, x, far = rng.uniform(0.4, 1.15), rng.uniform(-0.3, 0.3), rng.uniform(2.3, 3.4)
        eye, target = np.array([x, -far, height]), np.array([x / 3 + rng.normal(0, 0.1), 0, 0.81])
        back = (eye - target) / np.linalg.norm(eye - target)
        right = np.cross([0, 0, 1], back)
        right /= np.linalg.norm(right)
        self.turn, self.eye = np.column_stack([right, np.cross(back, right), back]), eye
        self.focus = 240 / np.tan(np.radians(23)) * rng.uniform(0.85, 1.5)

    def project(self, x):
        c = (x - self.eye) @ self.turn
        return self.focus * c[:, 0] / -c[:, 2], -self.focus * c[:, 1] / -c[:, 2], -c[:, 2]


class Head:
    """One head, dressed, as points; ``shots`` puts it in many poses before one camera."""

    def __init__(self, b, seed):
        self.rng = rng = np.random.default_rng(seed)
        self.body = b
        scene = Scene(b)
        dress(scene, rng)
        self.middle = np.array([0, -0.005, b.cube["joint-l-eye"][2] + 0.02])
        self.p, self.n, self.colour, w = cloud(scene, self.middle, rng)
        w[w < 0.03] = 0
        w /= np.maximum(w.sum(1, keepdims=True), 1e-9)
        bones = [b for b in range(w.shape[1]) if w[:, b].any()]
        self.held = {b: (np.flatnonzero(w[:, b]), w[w[:, b] > 0, b][:, None]) for b in bones}
        self.putter = Putter(b, head_pitch=rng.uniform(45, 68))
        self.of_head = w[:, b.bi["head"]] > 0.5

    def posed(self, pose):
        turn, lift, roll, sway, shoulders = pose
        q = self.putter.pose(shoulders, turn, sway, 0.0, lift)
        g, at = q["G"].copy(), q["P"]
        h = self.body.bi["head"]
        g[h] = g[h] @ rot([0, 1, 0], np.radians(roll))
        p, n = np.zeros_like(self.p), np.zeros_like(self.n)
        for b, (on, w) in self.held.items():
            turned = g[b].T.astype(np.float32)
            moved = (at[b] - g[b] @ self.body.head[b]).astype(np.float32)
            p[on] += w * (self.p[on] @ turned + moved)
            n[on] += w * (self.n[on] @ turned)
        return p, n, g[h], at[h] + g[h] @ (self.middle - self.body.head[h])

    def shots(self):
        rng, sky = self.rng, directions(SKY)
        p, n, rest, middle = self.posed((0, 0, 0, np.zeros(3), 0))
        camera, light = Camera(rng, middle), Light(rng)
        got = np.stack([np.clip(n @ d, 0, None) * lit(p, d) for d in sky], axis=1).astype(np.float32) * (4 / SKY)
        x, y, depth = camera.project(middle[None])
        shoulders = self.body.head[[self.body.bi["upperarm_l"], self.body.bi["upperarm_r"]]]
        half = 0.25 * np.linalg.norm(shoulders[0] - shoulders[1]) * camera.focus / depth[0]
        r = int(REACH_HALF_WIDTHS * half)
        x0, y0 = x[0] - r, y[0] - r
        wall = backdrop(rng, 2 * r * FINE, 2 * r * FINE)
        still = got @ light.around(sky).astype(np.float32)
        pictures, turns, centres, level = [], [], [], None
        for k in range(FRAMES):
            pose = any_pose(rng, k)
            p, n, g, middle = self.posed(pose)
            turned = light.around(sky @ (g @ rest.T).T).astype(np.float32)
            shade = np.where(self.of_head[:, None], got @ turned, still)
            if light.sun is not None:
                d, power = (np.float32(v) for v in light.sun)
                shade += (np.clip(n @ d, 0, None) * lit(p, d))[:, None] * power
            shade = self.colour * (shade + 0.06 * shade.mean(0))
            faces_us = np.flatnonzero(((camera.eye.astype(np.float32) - p) * n).sum(1) > 0)
            shade, (px, py, depth) = shade[faces_us], camera.project(p[faces_us])
            at = (px - x0) * FINE, (py - y0) * FINE, depth, 2 * r * FINE, 2 * r * FINE
            first = without_holes(in_front(*at), in_front(*at, spread=6))
            image = np.where((first >= 0)[..., None], shade[first], wall)
            image = cv2.resize(image, (2 * r, 2 * r), interpolation=cv2.INTER_AREA)
            if level is None:
                level = np.exp(rng.uniform(np.log(0.05), np.log(0.4))) / np.mean(shade[first[first >= 0]])
            image = np.clip(image * level, 0, 1) ** (1 / 2.2) * 255
            pictures.append(image[..., ::-1].astype(np.uint8))
            turns.append(pose[0])
            mx, my, _ = camera.project(middle[None])
            centres.append((mx[0] - x0, my[0] - y0))
        return {
            "picture": np.array(pictures),
            "turn_deg": np.array(turns),
            "centre": np.array(centres),
            "expected": (r, r, half),
        }


def run():
    out, first, many = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    os.makedirs(out, exist_ok=True)
    b = None
    for seed in range(first, first + many):
        if b is None or seed % BODY_OF == 0:
            b = any_body(np.random.default_rng(seed // BODY_OF))
        if not os.path.exists(f"{out}/{seed}.npz"):
            np.savez(f"{out}/{seed}.npz", **Head(b, seed).shots())


if __name__ == "__main__":
    run()
