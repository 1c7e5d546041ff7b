"""Many heads to learn from without a ray tracer: surfaces as clouds of points, lit from all round, thrown on a picture.

Usage, beside the generator's own files (numpy and OpenCV are enough): head_points.py OUT_DIR FIRST_SEED HOW_MANY
Each head gives OUT_DIR/SEED.npz as head_crops.py does. Nothing that heads_fresh.py names is on any of them.
About a second of processor time a head of 16 pictures.
"""

import functools
import os
import sys
import types

import cv2
import numpy as np

FRAMES = 16
TAKES = 4  # of one head: other dyes, light and background
BODY_OF = 5  # heads in a row that share one body
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
# Pairs of opposite changes of the head, and how far each may go.
FEATURES = {
    "head/head-age": 0.6, "head/head-angle": ("in", "out", 0.5), "head/head-fat": 0.7, "head/head-scale-horiz": 0.5,
    "head/head-scale-vert": 0.4, "head/head-back-scale-depth": 0.5, "chin/chin-bones": 0.7, "chin/chin-height": 0.7,
    "chin/chin-prognathism": 0.7, "nose/nose-scale-depth": 0.8, "nose/nose-scale-horiz": 0.7, "nose/nose-scale-vert": 0.7,
    "nose/nose-hump": 0.7, "ears/l-ear-scale": 0.8, "ears/r-ear-scale": 0.8, "forehead/forehead-temple": 0.7,
}  # fmt: skip


class Stuff:
    """A material: one colour, a picture, or strands."""

    def __init__(self, name, color=(0.8, 0.8, 0.8), tex=None, tint=None, noise=None, alpha=False, **_):
        self.name, self.colour, self.tex, self.tint, self.noise, self.alpha = name, color, tex, tint, noise, alpha
        self.paint = None  # function of places and skull


class Mesh:
    """What the modelled hats and hair are put into; stands in for the ray tracer's object."""

    def __init__(self, name, points, faces, uv=None, uvf=None, material=None, **_):
        self.name, self.points, self.faces, self.uv, self.uvf = name, np.asarray(points, float), faces, uv, uvf
        self.materials = [material]
        self.polygons = [types.SimpleNamespace(material_index=0) for _ in faces]
        self.data, self.modifiers = self, self
        self.closed = name in ("body", *SUITS)

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
import head_any  # noqa: E402
import head_wear  # noqa: E402
from head_any import hair_colour  # noqa: E402
from head_cloud import FINE, SKY, Camera, Light, backdrop, cloud, directions, in_front, lit, shown  # noqa: E402
from putt import Putter, rot  # noqa: E402

head_wear.strands = _strands
_read = functools.lru_cache(maxsize=40)(figure.read_obj)
figure.read_obj = lambda path, groups=None: tuple(p.copy() if isinstance(p, np.ndarray) else p for p in _read(path))


def texture(folder):
    names = [f for f in os.listdir(folder) if f.endswith(".png") and "normal" not in f and "_ao" not in f]
    return os.path.join(folder, sorted(names, key=lambda f: "diffuse" not in f)[0])


def any_body(rng):
    """A body between the generator's races, ages, weights and muscles, with a head of its own."""
    sex = ("male", "female")[rng.integers(2)]
    old = rng.choice([0.0, rng.uniform(0, 1), 1.0], p=(0.45, 0.35, 0.2))
    race = rng.dirichlet([0.4, 0.4, 0.4])
    targets = {}
    for age, of_age in (("young", 1 - old), ("old", old)):
        for name, share in zip(("caucasian", "asian", "african"), race):
            targets[f"macrodetails/{name}-{sex}-{age}"] = share * of_age
        build = rng.dirichlet([0.5, 0.5, 0.5, 0.3, 0.3])
        builds = ("average-average", "average-max", "average-min", "max-average", "min-average")
        for (muscle, weight), share in zip((x.split("-") for x in builds), build):
            targets[f"macrodetails/universal-{sex}-{age}-{muscle}muscle-{weight}weight"] = share * of_age
    targets[f"head/head-{SHAPES[rng.integers(len(SHAPES))]}"] = rng.uniform(0, 0.9)
    for name, how in FEATURES.items():
        less, more, most = how if isinstance(how, tuple) else ("decr", "incr", how)
        if rng.random() < 0.5:
            targets[f"{name}-{(less, more)[rng.integers(2)]}"] = rng.uniform(0, most)
    there = {k: v for k, v in targets.items() if v > 0.02 and os.path.exists(f"{figure.MPFB}/targets/{k}.target.gz")}
    return figure.Body(there)


class Scene:
    """Stands in for the ray tracer's scene: a body and what is on it."""

    def __init__(self, b):
        self.body, self.parts = b, []


def dress(scene, rng):
    """Skin, clothes, hair and what is worn; the meshes are in scene.parts as (mesh, points, weights)."""
    b = scene.body
    skin = Stuff("skin", tex=texture(f"{figure.MH}/skins/{SKINS[rng.integers(len(SKINS))]}"))
    skin.tint = tuple(rng.uniform(0.25, 1.25) * rng.uniform(0.88, 1.12, 3))
    if "african" in skin.tex:
        skin.tint = tuple(np.array(skin.tint) * 1.3)

    def fitted(kind, name, **how):
        path = f"{figure.MH}/{kind}/{name}"
        c = figure.Cloth(b, f"{path}/{name}.mhclo")
        tex = f"{figure.MH}/eyes/materials/brown_eye.png" if kind == "eyes" else texture(path)
        m = Stuff(name, tex=tex, **how)
        scene.parts.append((Mesh(name, c.v, c.faces, c.uv, c.uvfaces, m), c.v, c.w))
        return c.delete

    hidden = fitted(
        "clothes",
        SUITS[rng.integers(len(SUITS))],
        tint=tuple(np.exp(rng.uniform(-1.6, 0.9)) * rng.uniform(0.6, 1.4, 3)),
    )
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

    skull = scene.skull = head_wear.Skull(scene)
    skull.rx, skull.ry = skull.rx * rng.uniform(0.98, 1.07), skull.ry * rng.uniform(0.98, 1.07)
    _grow(skull, rng, asset)
    if rng.random() < 0.2:
        head_wear.spectacles(skull, hair_colour(rng), rng.random() < 0.4)
    if rng.random() < 0.18:
        head_wear.beard(skull, hair_colour(rng), rng.uniform(0.002, 0.02))


def _grow(skull, rng, asset):
    """Hair, and on four heads of ten something over it."""
    worn = rng.random()
    if worn < 0.28:
        opened = head_any.any_hat(skull, rng)
    elif worn < 0.36:
        head_any.any_scarf(skull, rng)
        opened = False
    elif worn < 0.40:
        head_any.any_band(skull, rng)
        opened = True
    else:
        opened = True
    (_show if opened else _show_below)(skull, rng, asset)


def _show_below(skull, rng, asset):
    """What shows of hair under a hat."""
    kind = rng.random()
    if kind < 0.35:
        head_wear.ring(skull, hair_colour(rng), rng.uniform(0.003, 0.016))
    elif kind < 0.5:
        head_any.any_hanging(skull, rng, least_gap=35.0)
    elif kind < 0.6:
        head_any.any_tails(skull, rng)


def _show(skull, rng, asset):
    kind = rng.random()
    if kind < 0.2:
        asset()
    elif kind < 0.27:
        pass
    elif kind < 0.33:
        head_wear.ring(skull, hair_colour(rng), rng.uniform(0.003, 0.015))
    elif kind < 0.56:
        head_any.any_scalp(skull, rng)
    elif kind < 0.84:
        head_any.any_hanging(skull, rng)
    else:
        head_any.any_tails(skull, rng)


def any_pose(rng, k):
    """(turn, lift, roll, sway, shoulders): the first two of a head at rest."""
    if k < 2:
        return rng.normal(0, 0.4), rng.normal(0, 0.4), 0.0, rng.normal(0, 0.002, 3), rng.normal(0, 0.4)
    most = 74 if k % 2 else 45
    turn = -most + 2 * most * (k - 2 + rng.random()) / (FRAMES - 2)
    lift = rng.normal(0, 3) + rng.uniform(-0.03, 0.28) * abs(turn)
    roll = rng.normal(0, 2) + rng.uniform(-0.05, 0.05) * turn
    return turn, lift, roll, rng.normal(0, 0.01, 3), rng.normal(0, 4)


class Head:
    """One head, dressed, as points; ``shots`` puts it in many poses before one camera."""

    def __init__(self, b, seed):
        self.rng = rng = np.random.default_rng(seed)
        self.body = b
        scene = Scene(b)
        dress(scene, rng)
        self.middle = np.array([0, -0.005, b.cube["joint-l-eye"][2] + 0.02])
        self.p, self.n, self.colour, w, self.part = cloud(scene, self.middle, rng)
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

    def recoloured(self):
        """Colours of the points with another dye for each part."""
        dye = np.exp(
            self.rng.normal(0, 0.35, (self.part.max() + 1, 3)) + self.rng.normal(0, 0.5, (self.part.max() + 1, 1))
        )
        return np.clip(self.colour * dye[self.part], 0, 0.95).astype(np.float32)

    def shots(self):
        """A dictionary of pictures and truth for each of TAKES: the same moves, other dyes, light and background."""
        rng, sky = self.rng, directions(SKY)
        p, n, rest, middle = self.posed((0, 0, 0, np.zeros(3), 0))
        camera = Camera(rng, middle)
        base = rng.normal(0, 6), rng.normal(0, 2.5)  # turn and lean of this head at rest
        got = np.stack([np.clip(n @ d, 0, None) * lit(p, d) for d in sky], axis=1).astype(np.float32) * (4 / SKY)
        x, y, depth = camera.project(middle[None])
        shoulders = self.body.head[[self.body.bi["upperarm_l"], self.body.bi["upperarm_r"]]]
        half = 0.25 * np.linalg.norm(shoulders[0] - shoulders[1]) * camera.focus / depth[0]
        r = int(REACH_HALF_WIDTHS * half)
        x0, y0 = x[0] - r, y[0] - r
        takes = [Take(self, rng, r, (got, sky)) for _ in range(TAKES)]
        turns, centres = [], []
        for k in range(FRAMES):
            turn, lift, roll, sway, shoulders = any_pose(rng, k)
            p, n, g, middle = self.posed((turn + base[0], lift, roll + base[1], sway, shoulders))
            faces_us = np.flatnonzero(((camera.eye.astype(np.float32) - p) * n).sum(1) > 0)
            px, py, depth = camera.project(p[faces_us])
            first = in_front((px - x0) * FINE, (py - y0) * FINE, depth, 2 * r * FINE, 2 * r * FINE)
            for take in takes:
                take.shoot((p, n, sky @ (g @ rest.T).T), faces_us, first)
            turns.append(turn)
            mx, my, _ = camera.project(middle[None])
            centres.append((mx[0] - x0, my[0] - y0))
        truth = {"turn_deg": np.array(turns), "centre": np.array(centres), "expected": (r, r, half)}
        return [{"picture": np.array(t.pictures)} | truth for t in takes]


class Take:
    """One light and one background. got: how much of the light from each direction of the sky reaches each point."""

    def __init__(self, head, rng, reach, lit_by):
        self.light, self.wall, self.rng = Light(rng), backdrop(rng, 2 * reach * FINE, 2 * reach * FINE), rng
        self.colour, self.of_head, (self.got, sky) = head.recoloured(), head.of_head[:, None], lit_by
        self.still = self.got @ self.light.around(sky).astype(np.float32)
        self.pictures, self.level, self.size = [], None, 2 * reach

    def shoot(self, posed, faces_us, first):
        p, n, sky_for_head = posed
        shade = np.where(self.of_head, self.got @ self.light.around(sky_for_head).astype(np.float32), self.still)
        if self.light.sun is not None:
            d, power = (np.float32(v) for v in self.light.sun)
            shade += (np.clip(n @ d, 0, None) * lit(p, d))[:, None] * power
        shade = (self.colour * (shade + 0.06 * shade.mean(0)))[faces_us].astype(np.float32)
        image = cv2.resize(shown(first, shade, self.wall), (self.size, self.size), interpolation=cv2.INTER_AREA)
        if self.level is None:
            bright = np.exp(self.rng.uniform(np.log(0.04), np.log(0.5)))
            self.level = bright / np.mean(shade[first[first >= 0]])
        image = np.clip(image * self.level + self.light.veil, 0, 1) ** (1 / 2.2) * 255
        self.pictures.append(image[..., ::-1].astype(np.uint8))


def run():
    out, first, many = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    os.makedirs(out, exist_ok=True)
    body_of = functools.lru_cache(maxsize=1)(lambda which: any_body(np.random.default_rng(which)))
    for seed in range(first, first + many, TAKES):
        b = body_of(seed // (BODY_OF * TAKES))
        if not os.path.exists(f"{out}/{seed}.npz"):
            for k, found in enumerate(Head(b, seed).shots()):
                np.savez(f"{out}/{seed + k}.npz", **found)


if __name__ == "__main__":
    run()
