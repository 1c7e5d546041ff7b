"""Full strokes that no method was made with: people, hair, hats and rooms of the head clips' second set (heads_listed.py).

Usage, beside the generator's own files: strokes_report.py OUT_DIR NAME|all [--still T,T,... | --truth]
"""

import os
import sys

import clip
import scene
from extras import MoreClip
from figures import FormPutter
from head_clip import HeadRoom
from heads import ASSET_HAIR, LIGHTS, REPORT, ROOMS
from heads_listed import BANDANA, CURLS, FLAT, FRINGE, OVER_FACE, RING, SIDE_GREY, STRAW, STUBBLE, TAILS
from timeline import Stroke, Timeline

LILAC, CYAN = (0.55, 0.10, 0.75), (0.01, 0.55, 0.75)


def one(stroke, person, head, room, light="", **more):
    """Arguments of a clip with one stroke. head: (asset hair, tint) or None, then what is worn.

    more: camera (height m, bow deg, x m), tape colour, intended faults, and what the clip itself takes.
    """
    camera, tape, intended = more.pop("camera", (0.6, 60.0, 0.1)), more.pop("tape", None), more.pop("intended", ())
    hair, *wear = head
    look = dict(REPORT[person]) | ROOMS[room]
    own_light = look.get("light", 1.0)
    look |= LIGHTS[light]
    look["light"] = look.get("light", 1.0) * own_light
    look |= {"hair": None, "wear": wear}
    if hair:
        look |= {"hair": hair[0], "hair_tint": ASSET_HAIR[hair[1]]}
    if tape:
        look["tape"] = tape
    height, bow, x = camera
    return dict(
        timeline=Timeline([stroke]),
        cam=((x, -2.85 + 0.1 * abs(height - 0.7), height), (x / 3, 0, 0.81), 46.0),
        scene=look,
        putter={"head_pitch": float(bow)},
        intended=[list(intended)],
        **more,
    )


SCENARIOS = {
    "V01_thin_man_good": lambda: one(
        Stroke(0.9, look=1.5, back=12, through=14),
        "thin_man",
        STUBBLE,
        "checks",
        camera=(0.55, 58, -0.1),
        seed=901,
        dur=4.0,
        note="thin man, stubble, checked wall, no tape, good",
    ),
    "V02_curls_early": lambda: one(
        Stroke(0.9, look=0.16, turn=42, back=13, through=15, d_turn=0.5),
        "dark_woman",
        CURLS,
        "cream",
        "left",
        camera=(0.7, 61, 0.1),
        tape=CYAN,
        intended=["early_look"],
        seed=902,
        dur=3.6,
        note="curls, lamp at the left, cyan tape, looks early",
    ),
    "V03_fringe_stall": lambda: one(
        Stroke(0.9, look=1.6, stall=19.0, back=11, through=13),
        "asian_woman",
        FRINGE,
        "waves",
        camera=(0.5, 60, 0.0),
        intended=["hand_stall"],
        seed=903,
        dur=4.0,
        note="small woman, fringe, patterned wall, no tape, hands stop",
    ),
    "V04_hair_over_face_small_look": lambda: one(
        Stroke(0.9, look=0.14, turn=24, back=10, through=12, d_turn=0.4),
        "old_woman",
        OVER_FACE,
        "slate",
        camera=(0.6, 62, 0.15),
        intended=["early_look"],
        seed=904,
        dur=3.6,
        note="old woman, pale hair over the face, dark wall, no tape, a small early look",
    ),
    "V05_flat_cap_on_the_green": lambda: one(
        Stroke(0.9, look=1.5, back=14, through=16),
        "deep_skull",
        FLAT,
        "green",
        "sun left",
        camera=(0.65, 59, 0.0),
        tape=LILAC,
        seed=905,
        dur=4.0,
        note="old man, flat cap, on a green in the sun, lilac tape, good",
    ),
    "V06_straw_hat_recoil": lambda: one(
        Stroke(0.9, look=1.7, recoil_deg=2.6, back=12, through=14),
        "thin_man",
        STRAW,
        "cream",
        "window",
        camera=(0.9, 63, 0.1),
        intended=["recoil"],
        seed=906,
        dur=4.2,
        note="straw hat, window beside, no tape, putter comes back",
    ),
    "V07_tails_left_early": lambda: one(
        Stroke(0.9, look=0.05, turn=50, back=12, through=14),
        "dark_woman",
        TAILS,
        "checks",
        camera=(0.6, 58, -0.1),
        tape=LILAC,
        intended=["early_look"],
        handedness="left",
        seed=907,
        dur=3.6,
        note="left-hander, two tails, checked wall, lilac tape, looks early",
    ),
    "V08_small_slow_good": lambda: one(
        Stroke(0.9, look=1.6, back=6, through=7, d_back=0.95, d_fwd=0.45, d_follow=0.5, fwd="cos"),
        "old_woman",
        SIDE_GREY,
        "waves",
        "front",
        camera=(0.6, 60, 0.0),
        seed=908,
        dur=4.4,
        note="a small slow stroke, grey hair, lamp in front, no tape, good",
    ),
    "V09_long_sway_early": lambda: one(
        Stroke(0.9, look=0.22, back=23, through=25, d_back=0.8, d_follow=0.45, sway_cm=4.5),
        "deep_skull",
        RING,
        "slate",
        "top",
        camera=(0.6, 58, 0.0),
        tape=CYAN,
        intended=["early_look", "sway"],
        seed=909,
        dur=4.0,
        note="long putt, ring of hair, lamp above, cyan tape, sways and looks early",
    ),
    "V10_dtl_bandana": lambda: one(
        Stroke(0.9, look=1.5, back=12, through=14),
        "asian_woman",
        BANDANA,
        "cream",
        view="down-the-line",
        seed=910,
        dur=4.0,
        note="down the line, bandana, good",
    ),
}


class WholePicture(MoreClip):
    """The light moves with the player's shadow over the whole picture."""

    def _window(self, frames):
        return 0, 0, self.w, self.h


def render_chosen(scenarios):
    """What the command line asks for. scenarios: name -> what makes the clip's arguments."""
    out, wanted = sys.argv[1:3]
    os.makedirs(out, exist_ok=True)
    clip.Scene, scene.Putter = HeadRoom, FormPutter
    for name in [n for n in scenarios if wanted in (n, "all")]:
        if os.path.exists(f"{out}/{name}.mp4"):
            continue
        chosen = scenarios[name]()
        if chosen.get("view") == "down-the-line":
            chosen.pop("cam", None)  # the generator's own stands in the right place
        kind = WholePicture if chosen["scene"].get("outdoors") else MoreClip
        made = kind(name, **chosen)
        if "--truth" in sys.argv:
            made.write_truth(out)
        elif "--still" in sys.argv:
            made.stills(out, [float(x) for x in sys.argv[-1].split(",")])
        else:
            made.render(out)
            print(name, flush=True)


if __name__ == "__main__":
    render_chosen(SCENARIOS)
