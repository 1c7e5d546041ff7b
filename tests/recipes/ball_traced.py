"""Balls at rest by a putter, ray-traced in light from anywhere, to learn their diameter from (ball_learn.py).

Usage, beside the generator's own files: ball_traced.py OUT_DIR FIRST_SEED HOW_MANY
Each scene gives OUT_DIR/SEED.npz: picture (n, side, side, 3) BGR around the ball; centre (n, 2) and diameter (n,) of it, px.
Two seconds of processor time a scene.
"""

import os
import tempfile

import numpy as np
from figures import FormPutter
from head_clip import HeadClip, HeadMoves, run_seeds
from heads import DEVELOP, LIGHTS, REPORT, ROOMS

SHOTS = 10
SIDE = 56  # px of a picture 640 wide
SAMPLES = 6
BALL_M = 0.04267


def any_light(rng, outdoors):
    if outdoors:
        return {"light": 1.0, "sun": (rng.uniform(2.0, 5.0), rng.uniform(12, 65), rng.uniform(-180, 180), 0)}
    kind = rng.random()
    if kind < 0.25:
        return {"light": rng.uniform(0.25, 1.2)}
    if kind < 0.5:
        names = [n for n in LIGHTS if not n.startswith("sun")]
        return dict(LIGHTS[names[rng.integers(len(names))]])
    a = rng.uniform(-2.8, 2.8)  # 0: from the camera
    far = rng.uniform(1.2, 3.0)
    at = (far * np.sin(a), -0.3 - far * np.cos(a), rng.uniform(0.6, 3.0))
    lamp = (*(float(v) for v in at), rng.uniform(50, 190), rng.uniform(0.2, 1.1))
    look = {"light": rng.uniform(0.2, 0.6), "lamp": lamp}
    if kind > 0.85:
        look["window"] = (
            rng.uniform(-1, 1),
            rng.uniform(1.2, 1.7),
            rng.uniform(1, 2.5),
            rng.uniform(1, 1.9),
            rng.uniform(4, 11),
        )
    return look


def any_colour(rng):
    kind = rng.random()
    if kind < 0.55:
        return tuple(rng.uniform(0.75, 0.92) * rng.uniform(0.96, 1.0, 3))
    base = ((0.85, 0.75, 0.05), (0.9, 0.3, 0.05), (0.8, 0.25, 0.45), (0.45, 0.8, 0.1), (0.85, 0.1, 0.08))[
        rng.integers(5)
    ]
    return tuple(np.clip(np.array(base) * rng.uniform(0.8, 1.1, 3), 0.02, 0.95))


def any_scenario(seed):
    rng = np.random.default_rng(seed)
    people = DEVELOP | REPORT
    look = dict(people[list(people)[rng.integers(len(people))]])
    room = dict(ROOMS[list(ROOMS)[rng.integers(len(ROOMS))]])
    outdoors = room.get("outdoors", False)
    room |= any_light(rng, outdoors)
    look |= room
    if outdoors:
        g = rng.uniform(0.03, 0.25)
        look["floor"] = tuple(g * np.array([rng.uniform(0.25, 0.8), 1.0, rng.uniform(0.1, 0.4)]))
    elif rng.random() < 0.6:
        look["mat_color"] = tuple(np.clip(rng.uniform(0.03, 0.45) * rng.uniform(0.2, 1.0, 3), 0.01, 0.6))
    look |= {"hair": None, "wear": [], "ball_color": any_colour(rng)}
    if rng.random() < 0.5:
        look["tape"] = any_colour(rng)
    big = float(np.exp(rng.uniform(0, np.log(2.1)))) if rng.random() < 0.5 else 1.0
    height, x, away = rng.uniform(0.35, 1.15), rng.uniform(-0.3, 0.3), rng.uniform(2.4, 3.4)
    made = {
        "timeline": HeadMoves(),
        "dur": 0.1,
        "handedness": "right",
        "cam": ((x, -away, height), (x / 3, 0, 0.81), rng.uniform(42, 52), float(rng.choice([0.0, 0.0, -3.0, 3.0]))),
        "scene": look,
        "putter": {"head_pitch": 60.0, "stance": rng.uniform(0.26, 0.4), "lie": rng.uniform(70, 77)},
        "intended": [],
        "sensor": 4.0,
        "note": "",
        "w": int(640 * big),
        "h": int(480 * big),
    }
    return made, rng


def shots(seed, out):
    made, rng = any_scenario(seed)
    c = HeadClip(str(seed), seed=seed, **made)
    room, tmp = c.S, os.path.join(tempfile.mkdtemp(), "f.png")
    pictures, centres, sizes = [], [], []
    for k in range(SHOTS):
        u = rng.random()
        angle = 0.0 if u < 0.75 else -rng.uniform(1, 14)
        q = room.putter.pose(angle, 0.0, np.zeros(3), 0.0, 0.0)
        q["t"] = 0.0
        ball = np.array(q["ball"], float)
        if rng.random() < 0.7:
            ball += np.array([rng.uniform(-0.008, 0.03), rng.uniform(-0.018, 0.018), 0])
        if rng.random() < 0.3:
            ball += np.array([rng.uniform(0, 0.3), 0, 0])
        q["ball"] = ball
        room.set_pose(q)
        x, y, depth = room.project(ball)[0]
        focus = room.proj[2]
        r = int(SIDE * made["w"] / 640 / 2)
        cx, cy = x + rng.uniform(-2, 2), y + rng.uniform(-2, 2)
        box = [int(cx - r), int(cy - r), int(cx - r) + 2 * r, int(cy - r) + 2 * r]
        if box[0] < 0 or box[1] < 0 or box[2] >= made["w"] or box[3] >= made["h"]:
            continue
        c._look_at(box)
        p = c._shot(tmp, seed * 100 + k, SAMPLES)
        pictures.append(p)
        centres.append((x - box[0], y - box[1]))
        sizes.append(focus * BALL_M / depth)
    if pictures:
        np.savez_compressed(
            f"{out}/{seed}.npz", picture=np.array(pictures), centre=np.array(centres), diameter=np.array(sizes)
        )


if __name__ == "__main__":
    run_seeds(shots, FormPutter)
