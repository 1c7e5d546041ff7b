"""Players at address on many grounds and in many kinds of light: one picture each, its exact truth beside it.

Usage, beside the generator's own files: addresses.py OUT_DIR develop|report|NAME...

Every kind of ground comes four times, twice in either view. Of each pair one is of `develop` and one of `report`, drawn by SPLIT
before anything was rendered: the first may be looked at and tuned to, the others are run once when a piece of work is done.
"""

import json
import math
import os
import random
import sys
import tempfile

import bpy
import cv2
import numpy as np
from extras import _pattern
from mathutils import Vector
from rooms import HardRoom
from scenarios_more import AFRICAN_WOMAN, ASIAN_WOMAN, AVERAGE, LIME, MAN, OLD, ORANGE, WOMAN, YELLOW, body
from scene import mat, mesh_obj

DRAWN, SPLIT = 20261, 20262  # seeds: what is on the pictures, which are of which half
GROUNDS = (
    "lawn in the sun", "lawn, low sun behind", "lawn in shade", "concrete in the sun", "concrete in shade",
    "asphalt in the sun", "asphalt in shade", "dark planks", "pale planks", "plain carpet", "checked carpet",
    "blotched carpet", "mat", "mat, over-exposed", "carpet, dim",
)  # fmt: skip
VIEWS = ("face-on", "down-the-line")
BALLS = {"white": (0.9, 0.9, 0.9), "yellow": (0.85, 0.80, 0.05), "orange": (0.95, 0.28, 0.03)}
SHAFTS = ("bare", "bare", "black", "taped")
LIGHTS = {  # indoors: places of two lamps (m) and their power (W)
    "even": (((-1.5, -2.2, 3.0), 95), ((1.8, -1.0, 3.0), 70)),
    "left": (((-2.6, -0.6, 1.8), 130), ((1.8, -1.0, 3.0), 12)),
    "right": (((2.6, -0.6, 1.8), 130), ((-1.5, -2.2, 3.0), 12)),
    "behind": (((0.4, 1.9, 2.2), 150), ((-1.5, -2.2, 3.0), 18)),
    "front": (((0.2, -3.2, 1.4), 130), ((0.2, 0.5, 3.0), 15)),
}
STOUT, THIN = "averagemuscle-maxweight", "averagemuscle-minweight"
PLAYERS = {  # leggings, suits and overalls: narrow, wide; a tint makes them darker or paler
    "short woman in leggings": dict(ASIAN_WOMAN, targets=body("asian", "female", tall=-0.5), hair="bob02"),
    "tall man in overalls": dict(MAN, targets=body(tall=0.5)),
    "stout man": dict(MAN, suit="male_casualsuit04", targets=body(build=STOUT)),
    "thin old man in a wide suit": dict(OLD, targets=body(build=THIN, age="old")),
    "woman in pale trousers": dict(WOMAN, targets=body(sex="female"), hair="ponytail01", suit_tint=(1.7, 1.7, 1.7)),
    "strong woman in leggings": dict(AFRICAN_WOMAN, targets=body("african", "female"), hair=None, cap=(0.85, 0.85, 0.85)),
    "stout woman": dict(WOMAN, targets=body(sex="female", build=STOUT), hair="bob02"),
    "man in dark trousers": dict(MAN, suit="male_casualsuit02", targets=body(build=AVERAGE), suit_tint=(0.3, 0.3, 0.3)),
    "tall thin man in pale trousers": dict(
        MAN, shoes="shoes05", suit="male_casualsuit03", targets=body(build=THIN, tall=0.4), suit_tint=(1.8, 1.7, 1.5)
    ),
}  # fmt: skip
CARPETS = (
    (0.30, 0.26, 0.20),
    (0.22, 0.03, 0.03),
    (0.18, 0.19, 0.21),
    (0.05, 0.09, 0.22),
    (0.50, 0.47, 0.42),
    (0.06, 0.20, 0.12),
)


def listed():
    """name -> what is on the picture, all of it plain values."""
    draw, split, out = random.Random(DRAWN), random.Random(SPLIT), {}
    for k, (ground, view) in enumerate((g, v) for g in GROUNDS for v in VIEWS):
        halves = ["develop", "report"]
        split.shuffle(halves)
        for j, half in enumerate(halves):
            name = f"A{2 * k + j + 1:02d}"
            out[name] = dict(half=half, ground=ground, view=view, seed=2 * k + j, **_drawn(draw, ground))
    return out


def _drawn(r, ground):
    outdoors = any(w in ground for w in ("sun", "shade"))
    stoop = r.choice(("upright", "usual", "usual", "stooped"))
    hinge, spine = {"upright": (20, 8), "usual": (30, 12), "stooped": (38, 18)}[stoop]
    return {
        "hand": r.choice(("right", "right", "left")),
        "player": r.choice(tuple(PLAYERS)),
        "ball": r.choice(("white", "white", "yellow", "orange")),
        "shaft": r.choice(SHAFTS),
        "tape": r.choice((ORANGE, LIME, YELLOW)),
        "light": ("sun" if "sun" in ground else "sky") if outdoors else r.choice(tuple(LIGHTS)),
        "sun": (r.uniform(11, 20), r.uniform(-40, 40)) if "low" in ground else (r.uniform(25, 60), r.uniform(-180, 180)),
        "carpet": r.choice(CARPETS),
        "grass_mm": r.uniform(5, 22),
        "posture": {
            "hinge": hinge + r.uniform(-4, 4), "spine": spine + r.uniform(-3, 3),
            "knee": r.choice((0.995, 0.985, 0.97, 0.94, 0.92)),
            "stance": r.uniform(0.22, 0.48), "back": r.uniform(0.10, 0.16), "head_pitch": r.uniform(54, 68),
            "reach": r.uniform(-0.03, 0.09), "lie": r.uniform(70, 76),
        },
        "aside": (r.uniform(-0.3, 0.3), r.uniform(0.45, 1.2), r.uniform(2.6, 3.1), r.uniform(42.0, 48.0), r.uniform(-3, 3)),
        "ball_forward": r.uniform(-0.01, 0.07),
    }  # fmt: skip


def camera(s):
    x, z, far, fov, roll = s["aside"]
    if s["view"] == "face-on":
        return (x, -far, z), (0.6 * x, 0.0, 0.80), fov, roll
    return (-far, -0.35 + x, z), (0.0, -0.2 + 0.8 * x, 0.78), fov, roll


class Place(HardRoom):
    """The ground, the light and the putter of one listed picture."""

    def __init__(self, s):
        outdoors = s["light"] in ("sun", "sky")
        lit = 2.6 if "over" in s["ground"] else 0.22 if "dim" in s["ground"] else 1.0
        sun = None
        if s["light"] == "sun":
            up, about = s["sun"]
            against = 90.0 if s["view"] == "face-on" else 0.0  # where the camera looks to
            sun = (3.0 if "low" in s["ground"] else 4.0, up, against + about, 0)
        super().__init__(
            640, 480, "CYCLES", 8, light=lit, outdoors=outdoors, sun=sun, ball_color=BALLS[s["ball"]],
            tape=s["tape"] if s["shaft"] == "taped" else None, putter_kw=s["posture"], **PLAYERS[s["player"]],
        )  # fmt: skip
        if not outdoors:
            self._lamps(LIGHTS[s["light"]], lit)
        self._ground(s, 20.0 if outdoors else 1.0)
        if s["shaft"] == "black":
            self.shaft.data.materials[0] = mat("black", color=(0.02, 0.02, 0.02), rough=0.35)

    def _lamps(self, lamps, lit):
        for i, (at, power) in enumerate(lamps):
            lamp = bpy.data.objects[f"a{i}"]
            lamp.data.energy, lamp.location = power * lit, at
            lamp.rotation_euler = (Vector((0, -0.2, 0.6)) - Vector(at)).to_track_quat("-Z", "Y").to_euler()

    def _ground(self, s, stretched):
        """stretched: how many metres a unit of the floor's own coordinates is."""
        kind, floor = s["ground"], bpy.data.objects["floor"]
        if "mat" not in kind and "mat" in bpy.data.objects:
            bpy.data.objects.remove(bpy.data.objects["mat"])
        colours = {  # blotches of two colours, so many to a metre
            "lawn": (60, (0.015, 0.05, 0.008), (0.06, 0.15, 0.03)), "concrete": (25, (0.27, 0.26, 0.25), (0.42, 0.41, 0.39)),
            "asphalt": (110, (0.03, 0.03, 0.033), (0.17, 0.17, 0.17)),
        }  # fmt: skip
        for word, (scale, a, b) in colours.items():
            if word in kind:
                floor.data.materials[0] = mat("ground", noise=(scale * stretched, a, b), rough=0.95)
        if "lawn" in kind:
            self._blades(s)
        carpet = s["carpet"]
        pale = tuple(min(0.75, 0.18 + 1.4 * c) for c in carpet)
        if "carpet" in kind:
            soft = (160, tuple(0.75 * c for c in carpet), tuple(1.25 * c for c in carpet))
            floor.data.materials[0] = mat("carpet", noise=soft, rough=1.0)
        pattern = {
            "dark planks": ("planks", (0.16, 0.09, 0.05), (0.11, 0.06, 0.03), 1.0),
            "pale planks": ("planks", (0.52, 0.42, 0.30), (0.44, 0.34, 0.23), 1.0),
            "checked carpet": ("checker", carpet, pale, 9.0), "blotched carpet": ("blobs", carpet, pale, 14.0),
        }.get(kind)  # fmt: skip
        if pattern:
            floor.data.materials[0] = m = mat("patterned", rough=0.35 if "planks" in kind else 1.0)
            _pattern(m, *pattern)

    def _blades(self, s):
        """Blades of grass where player and ball stand: they hide the ball's foot and throw shadows."""
        rng, n, tall = np.random.default_rng(s["seed"]), 90000, s["grass_mm"] / 1000
        foot = np.column_stack((rng.uniform(-1.1, 1.1, n), rng.uniform(-1.3, 0.5, n), np.zeros(n)))
        turn, lean = rng.uniform(0, math.pi, n), rng.normal(0, 0.5, (n, 2))
        across = np.column_stack((np.cos(turn), np.sin(turn), np.zeros(n))) * 0.0016
        top = (
            foot
            + np.column_stack((lean * tall, np.ones(n))) * [1, 1, 0]
            + np.outer(rng.uniform(0.4, 1, n) * tall, [0, 0, 1])
        )
        for k, colour in enumerate(((0.03, 0.11, 0.012), (0.06, 0.17, 0.025), (0.13, 0.22, 0.05), (0.20, 0.20, 0.09))):
            at = np.flatnonzero(rng.integers(0, 4, n) == k)
            if k == 3:
                at = at[: len(at) // 3]  # dry ones
            v = np.stack((foot[at] - across[at], foot[at] + across[at], top[at]), 1).reshape(-1, 3)
            faces = np.arange(len(v)).reshape(-1, 3).tolist()
            mesh_obj(f"blades{k}", v, faces, material=mat(f"blade{k}", color=colour, rough=0.6), smooth=False)


def pixels(place, point, left):
    x, y = (float(c) for c in place.project(point)[0][:2])
    return [round(place.w - x if left else x, 2), round(y, 2)]


def truth(place, pose, s, cam):
    """The measures as the clip collection defines them, and places in the picture as it is."""
    putter, left = place.putter, s["hand"] == "left"
    k = putter.keypoints(pose)
    shoulder, hip, wrist, eye = ((k["left_" + a] + k["right_" + a]) / 2 for a in ("shoulder", "hip", "wrist", "eye"))
    spine, ball = pose["P"][putter.b.bi["neck_01"]] - hip, pose["ball"]

    def bend(a, b, c):
        u, v = k["right_" + a] - k["right_" + b], k["right_" + c] - k["right_" + b]
        return math.degrees(math.acos(u @ v / np.linalg.norm(u) / np.linalg.norm(v)))

    ankles = k["left_ankle"][0] - k["right_ankle"][0]
    setup = {
        "spine_tilt_deg": math.degrees(math.atan2(-spine[1], spine[2])), "eye_line_cm": 100 * (eye[1] - ball[1]),
        "hands_plumb_cm": 100 * (shoulder[1] - wrist[1]), "knee_flex_deg": 180 - bend("hip", "knee", "ankle"),
        "elbow_deg": bend("shoulder", "elbow", "wrist"), "ball_position": (ball[0] - k["right_ankle"][0]) / ankles,
        "stance_cm": 100 * ankles, "height_cm": 100 * place.body.v[:13380, 2].max(),
    }  # fmt: skip
    edge = [place.project(ball + np.array([0, 0, q * 0.0213]))[0][1] for q in (-1, 1)]
    return {
        **s, "setup": {n: round(float(v), 3) for n, v in setup.items()},
        "ball_px": pixels(place, ball, left), "ball_diameter_px": round(float(abs(edge[0] - edge[1])), 2),
        "putter_head_px": pixels(place, pose["head_pos"], left), "grip_px": pixels(place, pose["shaft"][1], left),
        "hands_px": pixels(place, wrist, left), "camera": {"eye_m": cam[0], "target_m": cam[1], "vertical_fov_deg": cam[2]},
        "over": [n for n, far in pose["over"].items() if far],
    }  # fmt: skip


def render(out, name, s):
    place = Place(s)
    cam = camera(s)
    place.camera(*cam)
    pose = place.putter.pose()
    pose["ball"] = pose["ball"] + np.array([s["ball_forward"] if s["ball_forward"] > 0.03 else 0.0, 0, 0])
    pose["t"] = 0.0
    place.set_pose(pose)
    part = os.path.join(tempfile.mkdtemp(), "f.png")
    place.render(part)
    picture = cv2.GaussianBlur(cv2.imread(part), (0, 0), 0.6)
    cv2.imwrite(f"{out}/{name}.png", picture[:, ::-1] if s["hand"] == "left" else picture)
    with open(f"{out}/{name}.json", "w", encoding="utf-8") as f:
        json.dump(truth(place, pose, s, cam), f, indent=1)


def main():
    out, *wanted = sys.argv[1:]
    os.makedirs(out, exist_ok=True)
    for name, s in listed().items():
        if s["half"] in wanted or name in wanted:
            render(out, name, s)
            print(name, s["ground"], s["view"], flush=True)


if __name__ == "__main__":
    main()
