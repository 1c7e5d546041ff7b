"""Head turns on many heads: two sets, split by person, hair, hat and room. Which clip is of which set was written first.

Usage, beside the generator's own files: heads.py OUT_DIR NAME|develop|report [--still T,T,...]
Clips of `develop` (names with D) may be looked at; those of `report` (Q) are only measured. README.md lists what differs.
"""

import os
import sys

import clip
import numpy as np
import scene
from figures import FormPutter
from head_clip import HeadClip, HeadMoves, HeadRoom
from scenarios_more import body

# Persons: body, skin, clothes. Those of one set are not in the other.
DEVELOP = {
    "pale_man": {"skin": "young_caucasian_male2", "suit": "male_casualsuit04", "shoes": "shoes06", "targets": body()},
    "asian_man": {
        "skin": "young_asian_male",
        "suit": "male_casualsuit02",
        "shoes": "shoes05",
        "targets": body("asian"),
    },
    "dark_man": {
        "skin": "young_african_male",
        "suit": "male_casualsuit05",
        "shoes": "shoes04",
        "targets": body("african", build="maxmuscle-averageweight"),
    },
    "pale_woman": {
        "skin": "young_caucasian_female2",
        "suit": "female_casualsuit01",
        "shoes": "shoes05",
        "targets": body(sex="female"),
    },
    "stout_old_man": {
        "skin": "young_caucasian_male2",
        "skin_tint": (0.95, 0.84, 0.78),
        "suit": "male_elegantsuit01",
        "shoes": "shoes01",
        "targets": body(age="old", build="averagemuscle-maxweight") | {"head/head-square": 0.6},
    },
}
REPORT = {
    "thin_man": {
        "skin": "middleage_caucasian_male",
        "suit": "male_worksuit01",
        "shoes": "shoes01",
        "targets": body(build="averagemuscle-minweight") | {"head/head-oval": 0.7},
    },
    "dark_woman": {
        "skin": "young_asian_female",
        "skin_tint": (0.30, 0.20, 0.15),
        "suit": "female_sportsuit01",
        "shoes": "shoes06",
        "targets": body("african", "female", tall=0.2) | {"head/head-round": 0.6},
    },
    "asian_woman": {
        "skin": "young_asian_female",
        "suit": "female_sportsuit01",
        "shoes": "shoes05",
        "targets": body("asian", "female", tall=-0.3),
    },
    "old_woman": {
        "skin": "middleage_caucasian_male",
        "skin_tint": (1.15, 1.1, 1.1),
        "suit": "female_casualsuit01",
        "shoes": "shoes04",
        "targets": body(sex="female", age="old", build="averagemuscle-maxweight") | {"head/head-diamond": 0.5},
    },
    "deep_skull": {
        "skin": "middleage_caucasian_male",
        "skin_tint": (0.72, 0.58, 0.48),
        "suit": "male_casualsuit03",
        "shoes": "shoes05",
        "targets": body("asian", age="old") | {"head/head-scale-depth-incr": 0.8, "head/head-rectangular": 0.5},
    },
}

BLACK, BROWN, BLOND, GREY, WHITE = (
    (0.02, 0.017, 0.015),
    (0.10, 0.05, 0.025),
    (0.5, 0.36, 0.17),
    (0.3, 0.3, 0.31),
    (0.75, 0.74, 0.71),
)
RED, NAVY, CREAM, GREEN = (0.6, 0.06, 0.05), (0.03, 0.04, 0.12), (0.8, 0.75, 0.6), (0.05, 0.22, 0.08)
ASSET_HAIR = {"pale": (1.9, 1.9, 1.95), "dark": (0.25, 0.25, 0.27), "own": None, "red": (1.4, 0.7, 0.4)}

# Rooms of the two sets: walls, floors, what stands about.
ROOMS = {
    "beige": {"wall": (0.60, 0.55, 0.48)},
    "white": {"wall": (0.80, 0.80, 0.78), "floor": (0.45, 0.44, 0.42)},
    "black": {"wall": (0.03, 0.03, 0.035), "floor": (0.03, 0.03, 0.03), "light": 0.8},
    "blue": {"wall": (0.30, 0.38, 0.50), "floor": (0.2, 0.12, 0.07), "furniture": True},
    "lawn": {"floor": (0.05, 0.16, 0.025), "outdoors": True},
    "checks": {"wall_pattern": ("checker", (0.5, 0.46, 0.4), (0.3, 0.33, 0.36), 3.0)},
    "waves": {"wall_pattern": ("waves", (0.45, 0.40, 0.30), (0.24, 0.28, 0.34), 2.0), "furniture": True},
    "cream": {"wall": (0.74, 0.70, 0.60), "floor": (0.30, 0.20, 0.12)},
    "slate": {"wall": (0.07, 0.08, 0.09), "floor": (0.10, 0.10, 0.11)},
    "green": {"floor": (0.06, 0.13, 0.03), "outdoors": True, "wall": (0.5, 0.5, 0.5)},
}
LIGHTS = {
    "": {},
    "left": {"light": 0.35, "lamp": (-2.6, -0.6, 1.6, 160, 0.7)},
    "right": {"light": 0.35, "lamp": (2.6, -0.5, 1.6, 160, 0.7)},
    "top": {"light": 0.3, "lamp": (0.1, -0.3, 2.9, 150, 0.5)},
    "front": {"light": 0.4, "lamp": (0.3, -2.7, 1.3, 90, 0.4)},
    "behind": {"light": 0.45, "window": (0.2, 1.3, 2.4, 1.7, 7.0)},
    "window": {"light": 0.6, "window": (-0.9, 1.5, 1.3, 1.5, 10.0), "lamp": (-1.6, 2.0, 2.0, 80, 1.0)},
    "dim": {"light": 0.3},
    "sun behind": {"sun": (4.5, 22.0, 75.0, 0)},
    "sun left": {"sun": (4.0, 35.0, 200.0, 0)},
    "sun right": {"sun": (4.0, 40.0, -30.0, 0)},
}


def toward(deg, lift=0.0, wait=0.7, d=0.45):
    """Turns toward the target and stays."""
    return HeadMoves(heads=[(wait, d, deg)], lifts=[(wait, d, lift)]), 1.9


def away(deg, lift=0.0):
    """Turns away from the target and stays."""
    return toward(-deg, lift)


def both(deg, back, lift=0.0):
    """Toward the target, then away from it."""
    return HeadMoves(heads=[(0.7, 0.4, deg), (1.3, 0.6, -back)], lifts=[(0.7, 0.4, lift), (1.3, 0.5, 0.0)]), 2.2


def there_and_back(deg, lift=0.0):
    """A slow look and back to rest."""
    return HeadMoves(heads=[(0.7, 0.6, deg), (1.5, 0.5, 0.0)], lifts=[(0.7, 0.6, lift), (1.5, 0.5, 0.0)]), 2.3


def nods(deg=8.0, after=0.0):
    """Nods without turning, then perhaps turns."""
    return HeadMoves(nods=[(0.7, 1.0, deg, 2)], heads=[(1.75, 0.4, after)]), 2.4


def sways(cm, deg, lift=4.0):
    """The whole player sways with the putter, then turns."""
    s = [(0.6, 0.5, -cm / 100), (1.1, 0.4, cm / 100)]
    return HeadMoves(sways=s, heads=[(1.25, 0.45, deg)], lifts=[(1.25, 0.45, lift)]), 2.2


def scenario(person, head, room, light, camera, moves, left=False):
    """Arguments of a HeadClip. head: (asset hair, tint) or None, then what is worn; camera: (height m, bow deg, x m)."""
    hair, *wear = head
    timeline, dur = moves
    look = dict(person) | ROOMS[room]
    dimmed = look.get("light", 1.0)
    look |= LIGHTS[light]
    look["light"] = look.get("light", 1.0) * dimmed
    look |= {"hair": None, "wear": wear}
    if hair:
        look |= {"hair": hair[0], "hair_tint": ASSET_HAIR[hair[1]]}
    height, bow, x = camera
    return {
        "timeline": timeline,
        "dur": dur,
        "handedness": "left" if left else "right",
        "cam": ((x, -2.85 + 0.1 * abs(height - 0.7), height), (x / 3, 0, 0.81), 46.0),
        "scene": look,
        "putter": {"head_pitch": float(bow)},
        "whole": bool(timeline.sways),
        "intended": [],
        "sensor": 7.0 if light == "dim" else 4.0,
    }


def seed_of(name):
    """Of a clip's noise."""
    return int(np.frombuffer(name.encode().ljust(8)[:8], np.uint32)[0]) % 100000


def run():
    from heads_listed import CLIPS

    out, wanted = sys.argv[1:3]
    os.makedirs(out, exist_ok=True)
    clip.Scene, scene.Putter = HeadRoom, FormPutter
    groups = {"develop": "D", "report": "Q"}
    names = [n for n in CLIPS if n == wanted or n[0] == groups.get(wanted)]
    names.sort(key=lambda n: int(n[1:3]) * 29 % 97)  # a run that is cut short has something of everything
    for name in names:
        if os.path.exists(f"{out}/{name}.mp4"):
            continue
        note, make = CLIPS[name]
        made = HeadClip(name, seed=seed_of(name), note=note, **make())
        if "--still" in sys.argv:
            made.stills(out, [float(x) for x in sys.argv[-1].split(",")])
        else:
            made.render(out)


if __name__ == "__main__":
    run()
