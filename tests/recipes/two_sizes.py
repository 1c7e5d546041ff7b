"""Clips that exist at 640x480 once more at 1280x720: the same camera, light, player and stroke, so that only the pixels differ.

Usage, beside the generator's own files: two_sizes.py OUT_DIR [NAME]
The heads are twelve of `develop` (D) and four that nothing was learned from (N); the strokes two of the collection's own.
"""

import os
import sys

import clip
import scene
from figures import FormPutter
from head_clip import HeadClip, HeadRoom
from heads_fresh import ROWS, arguments, mix_skins
from heads_listed import CLIPS
from scenarios import SCENARIOS

WIDTH, HEIGHT = 1280, 720
HEADS = (
    "N01_matron_one_sided", "D01_pale_man_short", "N04_tan_man_trilby", "D28_dark_man_bald",
    "N06_grey_man_bald_moustache", "D34_pale_woman_bob_pale", "N12_black_woman_headband", "D07_pale_man_cap_navy",
    "D17_asian_man_visor", "D38_pale_woman_knot", "D21_asian_man_beanie", "D31_dark_man_glasses",
    "D41_pale_woman_long_pale", "D54_stout_old_man_bucket", "D51_stout_old_man_bald", "D48_stout_old_man_short_pale",
)  # fmt: skip
STROKES = ("T02_early_look", "T03_hand_stall")


def head(name):
    if name[0] == "N":
        made = arguments(ROWS[name[:3]])
    else:
        from heads import seed_of

        note, make = CLIPS[name]
        made = {"note": note, "seed": seed_of(name)} | make()
    return HeadClip(name, w=WIDTH, h=HEIGHT, **made)


def run():
    out, *wanted = sys.argv[1:]
    os.makedirs(out, exist_ok=True)
    mix_skins()
    plain = clip.Scene, scene.Putter
    for name in (*HEADS, *STROKES):
        if (wanted and name not in wanted) or os.path.exists(f"{out}/{name}.mp4"):
            continue
        if name in STROKES:
            clip.Scene, scene.Putter = plain
            clip.Clip(name, w=WIDTH, h=HEIGHT, **SCENARIOS[name]()).render(out)
        else:
            clip.Scene, scene.Putter = HeadRoom, FormPutter
            head(name).render(out)


if __name__ == "__main__":
    run()
