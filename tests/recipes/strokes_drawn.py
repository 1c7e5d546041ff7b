"""Full strokes to develop on, W to Z and A, drawn by a seed from all the generator can do: people, rooms, light, motion, faults.

Usage, beside the generator's own files: strokes_drawn.py OUT_DIR NAME|all [--still T,T,... | --truth]
What kind of stroke each clip holds is listed (KINDS); everything else about it is drawn. Persons and what they wear are those of
heads_listed.py, never in a combination that strokes_report.py has.
"""

from functools import partial

import habits
import numpy as np
import strokes_report
from habits import SWING_M
from heads import ASSET_HAIR, DEVELOP, LIGHTS, REPORT, ROOMS
from heads_listed import (
    BACKWARD,
    BALD,
    BANDANA,
    BEANIE,
    BEARD,
    BOB,
    BUCKET,
    CAP_NAVY,
    CAP_RED,
    CAP_WHITE,
    CROP_DARK,
    CURLS_GREY,
    FLAT,
    FRINGE_WHITE,
    GLASSES,
    KNOT,
    LONG_DARK,
    LONG_PALE,
    PANELS,
    RING_GREY,
    SHAVED,
    SHORT,
    SIDE,
    STRAW,
    SUNGLASSES,
    TAIL_RED,
    TAILS_BLOND,
    VISOR,
    WHITE_BEARD,
)
from scenarios_more import LIME, ORANGE, YELLOW, body
from surroundings import FullRoom
from timeline import Stroke, Timeline, ease

SEED = 41
PERSONS = DEVELOP | REPORT
ON_MEN = [SHORT, CROP_DARK, BALD, SHAVED, BEARD, WHITE_BEARD, GLASSES, RING_GREY, SIDE, SUNGLASSES]
ON_WOMEN = [BOB, TAIL_RED, KNOT, LONG_PALE, LONG_DARK, FRINGE_WHITE, TAILS_BLOND, CURLS_GREY]
ON_ANY = [CAP_WHITE, CAP_NAVY, CAP_RED, BEANIE, BUCKET, VISOR, PANELS, BACKWARD, FLAT, STRAW, BANDANA]
NOT_THESE = [("thin_man", STRAW), ("deep_skull", FLAT), ("asian_woman", BANDANA)]  # of strokes_report.py
PINK, BLUE = (0.85, 0.06, 0.32), (0.03, 0.12, 0.65)
TAPES = [None, None, None, ORANGE, LIME, YELLOW, PINK, BLUE]
BALLS = [(0.9, 0.9, 0.9), (0.9, 0.9, 0.9), (0.85, 0.75, 0.05), (0.9, 0.3, 0.05), (0.8, 0.25, 0.45)]
INDOORS = ["", "", "left", "right", "top", "front", "behind", "window", "dim"]
OUTDOORS = ["sun behind", "sun left", "sun right"]
AT_REST_CM_S = 5.0  # the collection's own word for rest (clip.py)


class LooseStroke(Stroke):
    """A stroke in which the wrists move: `lag` deg of cocking by the top, `loose` deg past the hands in the follow-through."""

    def __init__(self, at, lag=0.0, loose=0.0, **kw):
        super().__init__(at, **kw)
        self.lag, self.loose = lag, loose

    def shaft(self, t):
        cocked = ease((t - self.at) / self.d_back) * (1 - ease((t - self.top) / self.d_fwd))
        return super().shaft(t) - self.lag * cocked + self.loose * ease((t - self.impact) / self.d_follow)


# Kinds of stroke: ranges that are drawn from. `after`: the look, s from the putter's rest (below 0: early).
_GOOD = {"back": (10, 15), "more_through": (1, 3), "after": (0.9, 1.3)}
_LONG = {"back": (23, 29), "more_through": (0, 4), "d_back": (0.68, 0.9), "d_follow": (0.40, 0.5)}
KINDS = {
    "W01_long_lag_good": _GOOD | _LONG | {"lag": (8, 13)},
    "W02_loose_wrists_good": _GOOD | {"loose": (2, 4)},
    "W03_small_turn_early": _GOOD | {"after": (-0.30, -0.12), "turn": (14, 22), "lookup": (2, 5)},
    "W04_tiny_good": _GOOD
    | {"back": (3.2, 5), "more_through": (0.5, 1.5), "d_back": (0.5, 0.7), "d_follow": (0.3, 0.42)},
    "W05_small_stall": _GOOD | {"stall": (14, 17)},
    "W06_look_just_after": _GOOD | {"after": (0.09, 0.15)},
    "W07_small_recoil": _GOOD | {"recoil_cm": (3.6, 5)},
    "W08_long_sway_lag": _GOOD | _LONG | {"lag": (4, 9), "sway_cm": (4, 6)},
    "W09_very_early": _GOOD | {"after": (-0.40, -0.30), "turn": (35, 45)},
    "W10_big_stall": _GOOD | {"stall": (22, 30)},
    "W11_quick_sixty_good": _GOOD | {"d_back": (0.45, 0.55), "fps": 60},
    "W12_slow_large_recoil": _GOOD | {"recoil_cm": (8, 10), "d_back": (0.9, 1.1), "d_fwd": (0.42, 0.5)},
    "W13_sixty_just_early": _GOOD | {"after": (-0.13, -0.09), "fps": 60},
    "W14_dtl_good": _GOOD | {"view": "down-the-line"},
    "X01_good": _GOOD,
    "X02_early": _GOOD | {"after": (-0.35, -0.12), "turn": (25, 50)},
    "X03_stall": _GOOD | {"stall": (16, 22)},
    "X04_recoil": _GOOD | {"recoil_cm": (4, 8)},
    "X05_look_soon_good": _GOOD | {"after": (0.25, 0.5)},
    "X06_sway": _GOOD | {"sway_cm": (4.5, 7)},
    "X07_look_at_impact": _GOOD | {"after": (-0.6, -0.45), "turn": (40, 60)},
    "X08_dtl_good": _GOOD | {"view": "down-the-line"},
    "X09_never_looks": _GOOD | {"after": None},
    "X10_short_stall_early": _GOOD | {"back": (7, 9), "stall": (16, 22), "after": (-0.35, -0.2), "turn": (30, 50)},
    "X11_long_good": _GOOD | _LONG,
    "X12_small_look_early": _GOOD | {"after": (-0.3, -0.15), "turn": (16, 24), "lookup": (0, 4)},
    "Y01_prelook_good": _GOOD | {"before": "prelook"},
    "Y02_waggle_early": _GOOD | {"before": "waggle", "after": (-0.3, -0.1)},
    "Y03_rehearsal_recoil": _GOOD | {"before": "rehearsal", "recoil_cm": (4, 8)},
    "Y04_from_the_side_good": _GOOD | {"x": (0.75, 1.0)},
    "Y05_from_the_side_stall": _GOOD | {"x": (-1.0, -0.75), "stall": (16, 24)},
    "Y06_far_early": _GOOD | {"away": (3.4, 3.8), "after": (-0.3, -0.1)},
    "Y07_low_camera_good": _GOOD | {"height": (0.2, 0.35)},
    "Y08_high_camera_early": _GOOD | {"height": (1.2, 1.5), "after": (-0.3, -0.1), "turn": (25, 45)},
    "Y09_lift_early": _GOOD | {"rise_deg": (3.2, 4.5), "after": (-0.3, -0.1)},
    "Y10_stall_recoil": _GOOD | {"stall": (16, 24), "recoil_cm": (4, 8)},
    "Y11_dtl_prelook_good": _GOOD | {"view": "down-the-line", "before": "prelook"},
    "Y12_short_follow_good": _GOOD | {"more_through": (-6, -4)},
    "Z01_spare_balls_early": _GOOD | {"about": ["spare_balls"], "after": (-0.3, -0.1)},
    "Z02_printed_mat_good": _GOOD | {"about": ["printed_mat"]},
    "Z03_sticks_stall": _GOOD | {"about": ["sticks"], "stall": (16, 24)},
    "Z04_coach_beside_good": _GOOD | {"onlooker": (-1.15, 0.2)},
    "Z05_white_mallet_recoil": _GOOD | {"head": ("white", True), "recoil_cm": (4, 8)},
    "Z06_upright_picture_early": _GOOD | {"size": (480, 640), "after": (-0.3, -0.1)},
    "Z07_black_shaft_stall": _GOOD | {"shaft": "black", "head": ("red", False), "stall": (16, 24)},
    "Z08_dtl_sticks_good": _GOOD | {"view": "down-the-line", "about": ["sticks", "spare_balls"]},
    "Z09_checked_clothes_early": _GOOD | {"dress": ("checker", "white", "blue"), "after": (-0.3, -0.1)},
    "Z10_gate_good": _GOOD | {"about": ["gate"]},
    "Z11_clutter_stall": _GOOD | {"about": ["clutter"], "stall": (16, 24)},
    "Z12_wide_picture_good": _GOOD | {"size": (848, 480), "fps": 25, "head": ("black", True)},
    "Z13_two_strokes": _GOOD | {"stall": (16, 24), "before": "good stroke"},
    "Z14_coach_behind_early": _GOOD | {"onlooker": (0.7, 1.1), "after": (-0.3, -0.1)},
    "A01_forward_press_good": _GOOD | {"before": "forward press"},
    "A02_pause_at_top_early": _GOOD | {"dwell": (0.3, 0.5), "after": (-0.3, -0.1)},
    "A03_false_start_stall": _GOOD | {"before": "false start", "stall": (16, 24)},
    "A04_pushes_ball_into_place_good": _GOOD | {"before": "pushed ball"},
    "A05_ball_comes_back_early": _GOOD | {"before": "ball comes back", "after": (-0.3, -0.1)},
    "A06_cross_handed_good": _GOOD | {"putter": {"grip": "cross-handed"}},
    "A07_split_hands_early": _GOOD | {"putter": {"grip": "split", "arm": 0.84}, "after": (-0.3, -0.1)},
    "A08_long_grip_recoil": _GOOD | {"putter": {"longer_m": 0.2}, "recoil_cm": (4, 8)},
    "A09_mirror_on_ground_good": _GOOD | {"about": ["ground_mirror"]},
    "A10_marked_ball_stall": _GOOD | {"about": ["marked_ball"], "stall": (16, 24)},
    "A11_camera_on_shelf_early": _GOOD | {"height": (1.65, 1.9), "after": (-0.3, -0.1), "turn": (25, 45)},
    "A12_camera_on_ground_good": _GOOD | {"height": (0.08, 0.14), "away": (2.2, 2.4), "aim_m": 0.72, "fov": 58.0},
    "A13_stands_up_soon_good": _GOOD | {"before": "stands up", "after": (0.25, 0.4)},
    "A14_upright_wide_stance_early": _GOOD
    | {"putter": {"hinge": 20.0, "spine": 8.0, "head_pitch": 50.0, "stance": 0.54}, "after": (-0.3, -0.1)},
    "A15_deep_narrow_recoil": _GOOD
    | {"putter": {"hinge": 40.0, "spine": 16.0, "head_pitch": 70.0, "stance": 0.14, "arm": 0.82}, "recoil_cm": (4, 8)},
    "A16_child_good": _GOOD | {"child": True},
    "A17_bows_to_the_ball_early": _GOOD | {"before": "bows to the ball", "after": (-0.3, -0.1)},
    "A19_comes_from_the_camera_early": _GOOD
    | {"before": "comes from the camera", "after": (-0.3, -0.1), "turn": (35, 50)},
    "A20_lays_down_the_ball_stall": _GOOD | {"before": "lays down the ball", "stall": (16, 24)},
    "A18_dtl_forward_press_good": _GOOD | {"view": "down-the-line", "before": "forward press"},
}
BEFORE_S = {
    "prelook": 2.0,
    "waggle": 1.6,
    "rehearsal": 5.0,
    "good stroke": 4.6,
} | habits.BEFORE_S  # by which the stroke begins later for what comes before it
CAMERA_M = {"height": (0.45, 0.95), "x": (-0.25, 0.25), "away": (2.75, 3.1)}
FAULTS = {"stall": "hand_stall", "recoil_cm": "recoil", "sway_cm": "sway", "rise_deg": "lift"}
ROOM = ("about", "onlooker", "head", "shaft", "dress")  # of a kind, that the room takes (surroundings.py)
FIRST = {"W": 0, "X": 100, "Y": 200, "Z": 300, "A": 400}  # of a set's numbers


def rest_s(s):
    """When the putter's head is slower than AT_REST_CM_S for good, s from impact."""
    t = np.arange(s.impact, s.impact + 2.0, 0.002)
    angle = np.radians([s.hands(x) + s.shaft(x) for x in t])
    fast = np.abs(np.gradient(angle, 0.002)) * SWING_M * 100 > AT_REST_CM_S
    return float(t[np.flatnonzero(fast)[-1]] - s.impact)


def stroke_of(rng, kind):
    """A stroke drawn from a kind's ranges."""
    drawn = {
        "at": rng.uniform(0.85, 1.0) + BEFORE_S.get(kind.get("before", ""), 0.0),
        "back": rng.uniform(*kind["back"]),
        "d_back": rng.uniform(*kind.get("d_back", (0.6, 0.85))),
        "dwell": rng.uniform(*kind.get("dwell", (0.02, 0.09))),
        "d_fwd": rng.uniform(*kind.get("d_fwd", (0.27, 0.36))),
        "d_follow": rng.uniform(*kind.get("d_follow", (0.32, 0.42))),
        "fwd": str(rng.choice(["accel", "cos"])),
        "turn": rng.uniform(*kind.get("turn", (35, 55))),
        "d_turn": rng.uniform(0.38, 0.55),
        "lookup": rng.uniform(*kind.get("lookup", (3, 12))),
    }
    drawn["through"] = drawn["back"] + rng.uniform(*kind["more_through"])
    drawn |= {k: rng.uniform(*kind[k]) for k in ("lag", "loose", "stall", "sway_cm", "rise_deg") if k in kind}
    if "recoil_cm" in kind:
        drawn["recoil_deg"] = float(np.degrees(rng.uniform(*kind["recoil_cm"]) / 100 / SWING_M))
    if kind["after"] is None:
        return LooseStroke(**drawn)
    return LooseStroke(**drawn, look=rest_s(LooseStroke(**drawn)) + rng.uniform(*kind["after"]))


def look_of(rng, person, view):
    """What the person wears, room and light, as a scene's keywords, and in words."""
    heads = (ON_WOMEN if "woman" in person else ON_MEN) + ON_ANY
    heads = [h for h in heads if (person, h) not in NOT_THESE]
    head = heads[rng.integers(len(heads))]
    hair, *wear = head
    room = str(rng.choice(list(ROOMS)))
    outdoors = ROOMS[room].get("outdoors", False)
    light = str(rng.choice(OUTDOORS if outdoors else INDOORS))
    look = dict(PERSONS[person]) | ROOMS[room]
    own_light = look.get("light", 1.0)
    look |= LIGHTS[light]
    look["light"] = look.get("light", 1.0) * own_light
    look |= {"hair": None, "wear": wear, "ball_color": BALLS[rng.integers(len(BALLS))]}
    if hair:
        look |= {"hair": hair[0], "hair_tint": ASSET_HAIR[hair[1]]}
    tape = TAPES[rng.integers(len(TAPES))]
    if tape and view == "face-on":
        look["tape"] = tape
    worn = next((k.lower() for k, v in globals().items() if v is head), "")
    return (
        look,
        f"{person}, {worn}, {room}, {light or 'even light'}, {'tape' if 'tape' in look else 'no tape'}".replace(
            "_", " "
        ),
    )


def timeline_of(rng, stroke, before):
    """The stroke and what comes before it."""
    if before == "prelook":
        return Timeline([stroke], prelook=[(rng.uniform(0.6, 0.8), rng.uniform(0.2, 0.5))])
    if before == "waggle":
        return Timeline([stroke], waggle=[(rng.uniform(0.5, 0.7), rng.uniform(2, 4), 2)])
    if before == "rehearsal":
        tried = LooseStroke(0.7, kind="rehearsal", back=stroke.back, through=stroke.through, back_to=2.6)
        nearer_m = rng.uniform(0.10, 0.14)
        return Timeline([tried, stroke], start_dy=-nearer_m, shift=[(rng.uniform(3.5, 3.8), nearer_m)])
    if before == "good stroke":
        first = LooseStroke(0.9, back=stroke.back * 0.9, through=stroke.through * 0.9, look=1.3, back_to=3.7)
        return Timeline([first, stroke])
    return habits.timeline(rng, stroke, before) if before else Timeline([stroke])


def scenario(name):
    """Everything about one clip, from its own draw of the seed."""
    kind = KINDS[name]
    number = int(name[1:3]) + FIRST[name[0]]
    rng = np.random.default_rng([SEED, number])
    view = kind.get("view", "face-on")
    stroke = stroke_of(rng, kind)
    person = str(np.random.default_rng(SEED).permutation(list(PERSONS))[number % len(PERSONS)])  # each in turn
    look, words = look_of(rng, person, view)
    look |= {k: kind[k] for k in ROOM if k in kind} | {"about_seed": SEED + number}
    if "child" in kind:
        look["targets"] = body(sex="female" if "woman" in person else "male", age="child")
    width, tall = kind.get("size", (640, 480))
    height, x, away = (rng.uniform(*kind.get(k, usual)) for k, usual in CAMERA_M.items())
    roll = float(rng.choice([0.0, 0.0, 0.0, -3.0, 3.0]))
    intended = [fault for key, fault in FAULTS.items() if key in kind]
    intended += ["early_look"] if kind["after"] and kind["after"][1] < 0 else []
    timeline = timeline_of(rng, stroke, kind.get("before"))
    seen_s = stroke.look_at + stroke.d_turn + 0.35 if stroke.look_at is not None else 0.0
    made = {
        "timeline": timeline,
        "scene": look,
        "putter": {"head_pitch": rng.uniform(56, 64), "stance": rng.uniform(0.26, 0.40), "lie": rng.uniform(71, 76)}
        | kind.get("putter", {}),
        "handedness": str(rng.choice(["right", "right", "right", "left"])),
        "fps": kind.get("fps", 30),
        "w": width,
        "h": tall,
        "dur": round(
            max(seen_s, stroke.impact + rest_s(stroke) + (2.6 if isinstance(timeline, habits.Habits) else 1.0)), 1
        ),
        "seed": 1000 + number,
        "sensor": 7.0 if look["light"] < 0.35 else rng.uniform(3, 6),
        "blur": rng.uniform(0.3, 0.8),
        "sway_mm": rng.uniform(3, 9),
        "head_wobble": rng.uniform(0.4, 1.1),
        "intended": [[]] * (len(timeline.strokes) - 1) + [intended],
        "note": f"{name[4:].replace('_', ' ')}: {words}",
    }
    if view == "face-on":  # down-the-line the generator's own camera stands in the right place
        made["cam"] = ((x, -away, height), (x / 3, 0, kind.get("aim_m", 0.81)), kind.get("fov", 46.0), roll)
    else:
        made["view"] = view
    return made


if __name__ == "__main__":
    strokes_report.HeadRoom, strokes_report.FormPutter = FullRoom, habits.HabitPutter
    strokes_report.render_chosen({name: partial(scenario, name) for name in KINDS})
