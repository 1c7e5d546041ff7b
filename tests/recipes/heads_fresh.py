"""The third set of head clips (N), written down before any was rendered: only reported on, nothing of it is learned from.

Its persons, hats, hair and rooms are on no head of the other two sets (the hair short01 was in the second, but is not learned
from); each skin is mixed from two of the others' pictures. Light comes from every side, as in the others, and in some new ways.

Usage, beside the generator's own files: heads_fresh.py OUT_DIR [NAME]
"""

import os
import sys

import clip
import cv2
import head_wear_report  # noqa: F401 -- makes its hats and hair known
import scene
from body import MH
from figures import FormPutter
from head_clip import HeadClip, HeadRoom
from heads import (
    BLACK,
    BLOND,
    BROWN,
    GREY,
    LIGHTS,
    ROOMS,
    WHITE,
    away,
    both,
    nods,
    scenario,
    sways,
    there_and_back,
    toward,
)
from scenarios_more import body

# Skins of this set: name: two pictures and the share of the first.
SKINS = {
    "mixed_matron": ("young_caucasian_female2", "middleage_caucasian_male", 0.5),
    "mixed_grey_man": ("middleage_caucasian_male", "young_asian_male", 0.6),
    "mixed_black_woman": ("young_african_male", "young_asian_female", 0.6),
    "mixed_tan_man": ("young_african_male", "young_caucasian_male2", 0.3),
    "mixed_small_woman": ("young_asian_female", "young_caucasian_female2", 0.5),
}


def mix_skins():
    """Puts the skins of this set beside the generator's."""

    def picture(name):
        folder = f"{MH}/skins/{name}"
        return cv2.imread(f"{folder}/{next(f for f in os.listdir(folder) if f.endswith('.png'))}")[..., :3]

    for name, (a, b, share) in SKINS.items():
        one, other = picture(a), picture(b)
        os.makedirs(f"{MH}/skins/{name}", exist_ok=True)
        other = cv2.resize(other, one.shape[1::-1])
        cv2.imwrite(f"{MH}/skins/{name}/{name}.png", cv2.addWeighted(one, share, other, 1 - share, 0))


MATRON = {
    "skin": "mixed_matron",
    "suit": "female_casualsuit01",
    "shoes": "shoes04",
    "targets": body(sex="female", build="averagemuscle-maxweight") | {"head/head-rectangular": 0.4},
}
GREY_MAN = {
    "skin": "mixed_grey_man",
    "suit": "male_casualsuit03",
    "shoes": "shoes01",
    "targets": body(age="old", build="averagemuscle-minweight") | {"head/head-scale-depth-incr": 0.4},
}
BLACK_WOMAN = {
    "skin": "mixed_black_woman",
    "suit": "female_sportsuit01",
    "shoes": "shoes05",
    "targets": body("african", "female") | {"head/head-diamond": 0.5},
}
TAN_MAN = {
    "skin": "mixed_tan_man",
    "skin_tint": (0.9, 0.8, 0.7),
    "suit": "male_worksuit01",
    "shoes": "shoes06",
    "targets": body("asian", build="maxmuscle-averageweight", tall=0.3) | {"head/head-rectangular": 0.6},
}
SMALL_WOMAN = {
    "skin": "mixed_small_woman",
    "skin_tint": (1.12, 1.08, 1.06),
    "suit": "female_sportsuit01",
    "shoes": "shoes06",
    "targets": body(sex="female", tall=-0.5) | {"head/head-diamond": 0.6},
}
PEOPLE = {
    "matron": MATRON,
    "grey_man": GREY_MAN,
    "black_woman": BLACK_WOMAN,
    "tan_man": TAN_MAN,
    "small_woman": SMALL_WOMAN,
}

TEAL, RUST, LINEN = (0.03, 0.25, 0.26), (0.45, 0.16, 0.06), (0.7, 0.66, 0.58)
HEADS = {
    "short": [("short01", "own")],
    "short_grey": [("short01", "pale")],
    "short_dark": [("short01", "dark")],
    "bald_moustache": [None, ("moustache", GREY), ("spectacles", BLACK)],
    "bald_headphones": [None, ("headphones", BLACK)],
    "trilby": [None, ("trilby", (0.2, 0.17, 0.14), BLACK), ("ring", GREY)],
    "trilby_pale": [None, ("trilby", LINEN, RUST)],
    "floppy": [None, ("floppy", LINEN)],
    "headscarf": [None, ("headscarf", TEAL)],
    "headscarf_pale": [None, ("headscarf", LINEN)],
    "plait": [None, ("plait", BROWN)],
    "plait_blond": [None, ("plait", BLOND, -1)],
    "top_knot": [None, ("top_knot", BLACK)],
    "one_sided": [None, ("one_sided", BLOND)],
    "one_sided_white": [None, ("one_sided", WHITE, -1)],
    "locks": [None, ("locks", BLACK)],
    "headband": [("short01", "dark"), ("headband", RUST)],
    "front_panel": [None, ("front_panel", (0.05, 0.05, 0.06), WHITE), ("ring", BROWN)],
    "front_panel_rust": [None, ("front_panel", LINEN, RUST), ("ring", GREY)],
}
ROOMS |= {
    "planks": {"wall_pattern": ("planks", (0.42, 0.30, 0.20), (0.34, 0.24, 0.16), 1.0), "floor": (0.2, 0.2, 0.2)},
    "teal": {"wall": (0.10, 0.30, 0.32), "floor": (0.25, 0.18, 0.12)},
    "blobs": {"wall_pattern": ("blobs", (0.55, 0.50, 0.44), (0.25, 0.30, 0.24), 5.0)},
    "mid grey": {"wall": (0.26, 0.26, 0.27), "floor": (0.15, 0.15, 0.15), "furniture": True},
    "park": {"floor": (0.10, 0.17, 0.05), "outdoors": True},
}
LIGHTS |= {
    "high left": {"light": 0.4, "lamp": (-1.6, -1.4, 2.6, 140, 0.4)},
    "low sun behind": {"sun": (5.0, 14.0, 100.0, 0)},
    "sun front": {"sun": (4.0, 45.0, -80.0, 0)},
    "wide window": {"light": 0.5, "window": (0.6, 1.4, 3.2, 1.9, 6.0)},
}

# Name: (person, head, room, light, (camera height m, bow deg, camera x m), moves[, left-hander]).
ROWS = {
    "N01": ("matron", "one_sided", "planks", "", (0.6, 60, 0.0), lambda: toward(48, 8)),
    "N02": ("grey_man", "short_grey", "teal", "high left", (0.55, 57, 0.1), lambda: both(30, 22, 3)),
    "N03": ("black_woman", "locks", "blobs", "", (0.6, 59, 0.0), lambda: toward(36, 6)),
    "N04": ("tan_man", "trilby", "park", "sun front", (0.7, 60, -0.1), lambda: toward(42, 5)),
    "N05": ("small_woman", "plait", "mid grey", "wide window", (0.5, 58, 0.1), lambda: there_and_back(32, 5)),
    "N06": ("grey_man", "bald_moustache", "blobs", "", (0.8, 62, 0.0), lambda: toward(52, 10)),
    "N07": ("black_woman", "headscarf", "teal", "right", (0.6, 60, 0.0), lambda: toward(30, 4)),
    "N08": ("tan_man", "front_panel", "planks", "", (0.9, 63, 0.1), lambda: both(26, 28, 4)),
    "N09": ("matron", "floppy", "park", "low sun behind", (0.6, 58, 0.0), lambda: toward(40, 6)),
    "N10": ("small_woman", "one_sided_white", "mid grey", "", (0.6, 61, -0.1), lambda: away(38, 5)),
    "N11": ("tan_man", "top_knot", "teal", "", (0.5, 55, 0.0), lambda: toward(60, 12)),
    "N12": ("black_woman", "headband", "mid grey", "high left", (0.6, 60, 0.0), lambda: toward(24, 3), True),
    "N13": ("grey_man", "front_panel_rust", "planks", "top", (0.6, 60, 0.1), lambda: toward(46, 6)),
    "N14": ("matron", "headscarf_pale", "blobs", "dim", (0.7, 62, 0.0), lambda: there_and_back(28, 4)),
    "N15": ("small_woman", "plait_blond", "teal", "behind", (0.6, 59, 0.0), lambda: toward(50, 8)),
    "N16": ("tan_man", "bald_headphones", "park", "sun left", (0.55, 58, 0.1), lambda: toward(35, 6)),
    "N17": ("matron", "short", "mid grey", "", (0.6, 60, 0.0), lambda: nods(9, 30)),
    "N18": ("grey_man", "trilby_pale", "blobs", "left", (1.0, 66, 0.0), lambda: toward(32, 4)),
    "N19": ("black_woman", "short_dark", "park", "low sun behind", (0.6, 58, 0.0), lambda: toward(44, 8)),
    "N20": ("small_woman", "floppy", "teal", "front", (0.45, 52, 0.0), lambda: both(34, 20, 5)),
    "N21": ("tan_man", "short_dark", "planks", "wide window", (0.6, 60, -0.1), lambda: sways(2.5, 38)),
    "N22": ("matron", "plait", "planks", "right", (0.8, 63, 0.1), lambda: toward(22, 3)),
    "N23": ("grey_man", "bald_moustache", "park", "sun right", (0.6, 60, 0.0), lambda: both(40, 20, 6)),
    "N24": ("small_woman", "top_knot", "blobs", "", (1.05, 67, 0.0), lambda: toward(55, 6)),
}


def arguments(row):
    person, head, room, light, camera, moves, *left = row
    note = f"{person}, {head}, {room}, {light or 'even light'}".replace("_", " ")
    made = scenario(PEOPLE[person], HEADS[head], room, light, camera, moves(), bool(left))
    return made | {"note": note, "seed": int.from_bytes(f"{person}{head}{room}".encode(), "big") % 99991}


def run():
    out, *wanted = sys.argv[1:]
    os.makedirs(out, exist_ok=True)
    mix_skins()
    clip.Scene, scene.Putter = HeadRoom, FormPutter
    for key, row in ROWS.items():
        name = f"{key}_{row[0]}_{row[1]}"
        if (not wanted or name in wanted) and not os.path.exists(f"{out}/{name}.mp4"):
            HeadClip(name, **arguments(row)).render(out)


if __name__ == "__main__":
    run()
