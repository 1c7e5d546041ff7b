"""Many heads at random, only to learn from: people, hair, hats, rooms of the set `develop`, freely put together.

Usage, beside the generator's own files: head_crops.py OUT_DIR FIRST_SEED HOW_MANY
Each head gives OUT_DIR/SEED.npz: picture (n, h, w, 3) BGR around the head, the first two at rest; turn_deg (n,); centre (n, 2)
of the skull; expected (3,): x, y, half-width where pose points would look for the head at rest, all px of the pictures.
"""

import os
import tempfile

import numpy as np
from figures import FormPutter
from head_clip import HeadClip, HeadMoves, run_seeds
from heads import BLACK, BLOND, BROWN, DEVELOP, GREY, LIGHTS, WHITE, scenario

FRAMES = 16
REACH_HALF_WIDTHS = 2.7
SHAPES = ("head-oval", "head-round", "head-square", "head-triangular", "head-invertedtriangular")
ROOMS_OF_DEVELOP = ("beige", "white", "black", "blue", "lawn")
HAIR = ("short02", "short04", "bob02", "ponytail01")


def any_head(rng):
    """(asset hair and tint, or None; then what is worn)."""

    def colour(spread=0.35):
        base = np.array([BLACK, BROWN, BLOND, GREY, WHITE][rng.integers(5)])
        return tuple(np.clip(base * rng.uniform(1 - spread, 1 + spread, 3), 0.01, 0.9))

    cloth = tuple(rng.uniform(0.02, 0.9) * np.clip(rng.uniform(0.2, 1.2, 3), 0, 1))
    asset = (HAIR[rng.integers(len(HAIR))], ("pale", "dark", "own", "red")[rng.integers(4)])
    kinds = {
        "asset": [asset],
        "bald": [None],
        "shaved": [None, ("scalp", colour(), rng.uniform(0.002, 0.006))],
        "knot": [None, ("bun", colour())],
        "long": [None, ("hanging", colour(), rng.uniform(16, 55), rng.uniform(0.12, 0.24))],
        "cap": [None, ("hat", "peak", cloth), ("ring", colour())],
        "beanie": [None, ("hat", "beanie", cloth), ("ring", colour())],
        "bucket": [None, ("hat", "bucket", cloth)],
        "visor": [("short04", asset[1]), ("hat", "visor", cloth)],
    }
    share = np.array([0.27, 0.08, 0.1, 0.06, 0.19, 0.13, 0.06, 0.06, 0.05])
    head = list(kinds[list(kinds)[rng.choice(len(share), p=share / share.sum())]])
    if rng.random() < 0.15:
        head.append(("spectacles", colour()))
    if rng.random() < 0.12:
        head.append(("beard", colour(), rng.uniform(0.006, 0.016)))
    return head


def any_scenario(seed):
    rng = np.random.default_rng(seed)
    person = dict(DEVELOP[list(DEVELOP)[rng.integers(len(DEVELOP))]])
    person["targets"] = person["targets"] | {f"head/{SHAPES[rng.integers(len(SHAPES))]}": rng.uniform(0, 0.8)}
    tint = np.array(person.get("skin_tint", (1, 1, 1))) * rng.uniform(0.55, 1.1)
    person["skin_tint"] = tuple(tint)
    room = ROOMS_OF_DEVELOP[rng.integers(len(ROOMS_OF_DEVELOP))]
    lights = [k for k in LIGHTS if (room == "lawn") == k.startswith("sun")] + [""]
    camera = (rng.uniform(0.4, 1.1), rng.uniform(48, 68), rng.uniform(-0.3, 0.3))
    made = scenario(person, any_head(rng), room, lights[rng.integers(len(lights))], camera, (HeadMoves(), 0.1))
    if "wall" in made["scene"]:
        made["scene"]["wall"] = tuple(np.array(made["scene"]["wall"]) * rng.uniform(0.5, 1.15, 3))
    return made, rng


def any_pose(rng, k):
    """(turn, lift, sway): the first two of a head at rest."""
    if k < 2:
        return rng.normal(0, 0.5), rng.normal(0, 0.5), np.zeros(3)
    turn = -72 + 144 * (k - 2 + rng.random()) / (FRAMES - 2)
    lift = rng.normal(0, 3) + rng.uniform(0, 0.28) * abs(turn)
    return turn, lift, rng.normal(0, 0.008, 3)


def crops(seed, out):
    made, rng = any_scenario(seed)
    c = HeadClip(str(seed), seed=seed, **made)
    room, tmp = c.S, os.path.join(tempfile.mkdtemp(), "f.png")
    skull = room.body.bi["head"]
    middle = np.array([0, room.body.v[:, 1].min() * 0 - 0.005, room.body.cube["joint-l-eye"][2] + 0.02])
    pictures, turns, centres, box = [], [], [], None
    for k in range(FRAMES):
        turn, lift, sway = any_pose(rng, k)
        q = room.putter.pose(0.0, turn, sway, 0.0, lift)
        q["t"] = 0.0
        room.set_pose(q)
        at = q["P"][skull] + q["G"][skull] @ (middle - room.body.head[skull])
        xy = room.project(at)[0, :2]
        if box is None:
            points = {n: room.project(p)[0, :2] for n, p in room.putter.keypoints(q).items()}
            shoulders = np.linalg.norm(points["left_shoulder"] - points["right_shoulder"])
            half = 0.25 * shoulders
            r = REACH_HALF_WIDTHS * half
            x0, y0, _x1, _y1 = box = [int(v) for v in (xy[0] - r, max(xy[1] - r, 0), xy[0] + r, xy[1] + r)]
            c._look_at(box)
            expected = (xy[0] - x0, xy[1] - y0, half)
        pictures.append(c._shot(tmp, seed * 100 + k, 3))
        turns.append(turn)
        centres.append(xy - [x0, y0])
    found = {
        "picture": np.array(pictures),
        "turn_deg": np.array(turns),
        "centre": np.array(centres),
        "expected": expected,
    }
    np.savez_compressed(f"{out}/{seed}.npz", **found)


if __name__ == "__main__":
    run_seeds(crops, FormPutter)
