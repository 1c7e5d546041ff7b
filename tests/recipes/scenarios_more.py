"""Further clips by name: other people, rooms, caps, camera heights and strokes. Rendered by extras.py."""

from timeline import Stroke, Timeline
from timelines import Gait, RolledIn

ORANGE, LIME, YELLOW = (0.95, 0.18, 0.01), (0.25, 0.85, 0.02), (0.95, 0.75, 0.02)
AVERAGE = "averagemuscle-averageweight"


def body(race="caucasian", sex="male", build=AVERAGE, age="young", tall=0.0):
    """Body targets; tall: -1..1 of the way to the data's smallest or largest height."""
    out = {f"macrodetails/{race}-{sex}-{age}": 1.0, f"macrodetails/universal-{sex}-{age}-{build}": 1.0}
    if tall:
        out[f"macrodetails/height/{sex}-{age}-{build}-{'max' if tall > 0 else 'min'}height"] = abs(tall)
    return out


def one(stroke, prelook=(), waggle=(), **kw):
    return dict(timeline=Timeline([stroke], prelook=prelook, waggle=waggle), **kw)


MAN = {"skin": "middleage_caucasian_male", "suit": "male_worksuit01", "shoes": "shoes01", "hair": "short04"}
WOMAN = {"skin": "young_caucasian_female2", "suit": "female_casualsuit01", "shoes": "shoes05"}
OLD = {"skin": "middleage_caucasian_male", "suit": "male_elegantsuit01", "shoes": "shoes01", "hair": None}
ASIAN_WOMAN = {
    "skin": "young_asian_female",
    "suit": "female_sportsuit01",
    "shoes": "shoes06",
    "targets": body("asian", "female"),
}
AFRICAN_WOMAN = {"skin": "young_african_male", "suit": "female_sportsuit01", "shoes": "shoes05"}
C = {"skin": "young_caucasian_female2", "suit": "female_casualsuit01", "shoes": "shoes06", "hair": "ponytail01"}


SCENARIOS = {
    "H06_three_strokes": lambda: {
        "timeline": RolledIn(
            [
                Stroke(1.3, look=0.06, turn=52, back=12, through=14, back_to=4.4),
                Stroke(7.0, look=1.70, stall=22.0, back=13, through=15, back_to=10.3),
                Stroke(12.9, look=1.95, back=12, through=14, d_back=0.72),
            ],
            balls=[0.0, 4.9, 10.8],
        ),
        "seed": 206,
        "cam": ((0.12, -2.85, 0.6), (0, 0, 0.80), 46.0),
        "scene": dict(
            C,
            targets=body(sex="female"),
            tape=ORANGE,
            wall=(0.62, 0.52, 0.40),
            floor=(0.20, 0.11, 0.06),
            floor_pattern=("planks", (0.30, 0.24, 0.18), (0.23, 0.18, 0.13), 1.0),
            furniture=True,
            mat_color=(0.04, 0.20, 0.06),
        ),
        "putter": {"head_pitch": 59.0},
        "dur": 17.4,
        "intended": [["early_look"], ["hand_stall"], []],
        "note": "three strokes: looks early, lets the hands stop, then holds; balls are rolled in",
    },
    "H01_good_ponytail": lambda: one(
        Stroke(1.25, look=1.70, back=11, through=13, d_back=0.74),
        seed=201,
        cam=((-0.2, -2.75, 0.6), (0, 0, 0.78), 46.0),
        scene=dict(
            ASIAN_WOMAN,
            hair="ponytail01",
            hair_tint=(0.3, 0.28, 0.3),
            wall=(0.42, 0.50, 0.44),
            floor=(0.22, 0.20, 0.18),
        ),
        putter={"head_pitch": 61.0},
        dur=5.0,
        intended=[[]],
        note="good, no tape, dark ponytail",
    ),
    "H02_small_look_dark_cap": lambda: one(
        Stroke(1.0, look=0.10, turn=30, lookup=5, back=14, through=15, d_turn=0.40),
        seed=202,
        cam=((0.1, -2.95, 1.0), (0, 0, 0.82), 44.0),
        scene=dict(MAN, targets=body(build="averagemuscle-maxweight"), cap=(0.03, 0.03, 0.05), wall=(0.66, 0.64, 0.60)),
        putter={"head_pitch": 66.0, "lie": 73.0},
        dur=4.6,
        intended=[["early_look"]],
        note="hard: only 30 degrees of turn, bowed head, dark cap, camera at 1 m, no tape",
    ),
    "H03_left_stall_white_cap": lambda: one(
        Stroke(1.15, look=1.85, stall=20.0, back=12, through=14, d_back=0.66),
        seed=203,
        handedness="left",
        cam=((0.25, -2.8, 0.8), (0, 0, 0.80), 45.0),
        scene=dict(
            AFRICAN_WOMAN,
            targets=body("african", "female"),
            hair=None,
            cap=(0.88, 0.88, 0.86),
            wall=(0.55, 0.47, 0.40),
            floor=(0.10, 0.12, 0.16),
        ),
        putter={"head_pitch": 60.0},
        dur=5.0,
        intended=[["hand_stall"]],
        note="left-hander, hands stop, no tape, white cap, camera at 0.8 m",
    ),
    "H04_bowed_white_cap_good": lambda: one(
        Stroke(1.2, look=1.50, turn=55, back=13, through=15),
        seed=204,
        cam=((-0.12, -3.05, 1.0), (0, 0, 0.82), 43.0),
        scene=dict(
            MAN,
            suit="male_casualsuit03",
            shoes="shoes04",
            targets=body(tall=0.25),
            cap=(0.92, 0.92, 0.92),
            tape=LIME,
            wall=(0.50, 0.52, 0.60),
        ),
        putter={"head_pitch": 64.0},
        dur=5.0,
        intended=[[]],
        note="hard: good, then looks; bowed head, white cap, camera at 1 m",
    ),
    "H05_tap_in": lambda: one(
        Stroke(1.3, look=1.70, back=4, through=5, d_back=0.55, dwell=0.10, d_fwd=0.27, d_follow=0.32),
        seed=205,
        cam=((0.0, -2.6, 0.5), (0, 0, 0.80), 49.0),
        scene=dict(
            OLD,
            targets=body(age="old"),
            hair="short01",
            hair_tint=(1.6, 1.6, 1.6),
            tape=ORANGE,
            wall=(0.60, 0.55, 0.58),
        ),
        putter={"head_pitch": 57.0, "stance": 0.30},
        dur=5.0,
        intended=[[]],
        note="tiny tap-in, good",
    ),
    "H07_60fps_early_look": lambda: one(
        Stroke(0.9, look=0.12, turn=48, back=12, through=14, fwd="cos"),
        seed=207,
        fps=60,
        cam=((-0.15, -2.9, 0.45), (0, 0, 0.84), 46.0),
        scene={
            "skin": "young_african_male",
            "suit": "male_casualsuit02",
            "shoes": "shoes05",
            "hair": "short04",
            "targets": body("african", tall=0.2),
            "tape": YELLOW,
            "wall": (0.48, 0.42, 0.38),
        },
        putter={"head_pitch": 60.0},
        dur=4.0,
        intended=[["early_look"]],
        note="60 frames a second, looks early",
    ),
    "H08_recoil_dark": lambda: one(
        Stroke(1.1, look=1.85, recoil_deg=2.4, back=14, through=15, d_back=0.68),
        seed=208,
        cam=((0.1, -2.85, 0.7), (0, 0, 0.80), 45.0),
        scene=dict(
            MAN,
            suit="male_casualsuit03",
            suit_tint=(0.55, 0.55, 0.6),
            shoes="shoes04",
            hair="short02",
            wall=(0.045, 0.045, 0.055),
            floor=(0.06, 0.055, 0.05),
        ),
        putter={"head_pitch": 59.0},
        dur=5.0,
        intended=[["recoil"]],
        note="putter comes back 5 cm after the finish, no tape, dark clothes before a darker wall",
    ),
    "H09_two_rehearsals": lambda: {
        "timeline": Timeline(
            [
                Stroke(0.7, kind="rehearsal", back=10, through=12, d_back=0.62, back_to=2.5),
                Stroke(3.8, kind="rehearsal", back=11, through=13, d_back=0.66, back_to=5.7),
                Stroke(9.4, look=1.60, back=12, through=14),
            ],
            start_dy=-0.13,
            shift=[(6.3, -0.12), (7.25, 0.25)],
            waggle=[(8.2, 3.0, 2)],
        ),
        "seed": 209,
        "cam": ((0.2, -2.9, 0.65), (0, 0, 0.80), 46.0),
        "scene": dict(WOMAN, targets=body(sex="female", age="old"), hair="bob02", wall=(0.36, 0.46, 0.55)),
        "putter": {"head_pitch": 60.0},
        "dur": 12.6,
        "intended": [[], [], []],
        "note": "two rehearsals beside the ball, step back, step in, waggle, good ball stroke; no tape",
    },
    "H10_long_lag_sway": lambda: one(
        Stroke(1.1, look=1.80, back=30, through=16, d_back=0.56, dwell=0.03, d_fwd=0.27, d_follow=0.46, sway_cm=5.0),
        seed=210,
        cam=((0.05, -3.1, 0.6), (0, 0, 0.82), 46.0),
        scene=dict(
            MAN,
            suit="male_casualsuit04",
            suit_tint=(1.0, 0.55, 0.5),
            shoes="shoes05",
            hair="short02",
            tape=LIME,
            wall=(0.58, 0.60, 0.52),
        ),
        putter={"head_pitch": 58.0, "arm": 0.96},
        dur=5.2,
        intended=[["sway"]],
        note="long lag putt, quick, sways 5 cm, then holds and looks",
    ),
    "H11_no_stroke": lambda: {
        "timeline": Gait(
            [Stroke(1000.0)],
            balls=[4.0],
            start_up=1.0,
            upright=[(2.6, 1.0, 0.0), (4.5, 0.9, 1.0), (6.5, 0.9, 0.0)],
            stoop=[(2.6, 1.0, 1.0), (4.5, 0.9, 0.0)],
            heads=[(0.2, 0.5, 38.0), (1.2, 0.6, -24.0), (2.1, 0.4, 0.0), (5.3, 0.5, 50.0), (6.3, 0.6, 0.0)],
            nods=[(0.4, 1.6, 7.0, 3), (5.4, 0.8, 5.0, 1)],
            small_waggle=[(7.7, 3.5)],
            waggle=[(9.0, 3.0, 2)],
        ),
        "setup_at": 7.5,
        "seed": 211,
        "cam": ((-0.1, -3.0, 0.6), (0, 0, 0.86), 48.0),
        "scene": dict(MAN, suit="male_casualsuit05", shoes="shoes05", tape=ORANGE, wall=(0.52, 0.50, 0.42)),
        "putter": {"head_pitch": 60.0},
        "dur": 10.2,
        "intended": [],
        "note": "stands, talks, places a ball, looks, addresses and waggles; no stroke",
    },
    "H12_bald_glare_early": lambda: one(
        Stroke(1.0, look=0.14, turn=46, back=13, through=14),
        seed=212,
        cam=((-0.55, -2.8, 0.5), (-0.4, 0, 0.80), 47.0, 4.0),
        scene=dict(OLD, suit="male_casualsuit04", targets=body(age="old"), light=1.6, wall=(0.66, 0.66, 0.64)),
        putter={"head_pitch": 60.0},
        dur=4.6,
        intended=[["early_look"]],
        note="bald head, glare, camera tilted 4 degrees at 0.5 m, player 0.4 m off centre, no tape",
    ),
    "H13_low_light_good": lambda: one(
        Stroke(1.2, look=1.70, back=12, through=14),
        seed=213,
        sensor=9.0,
        blur=0.9,
        cam=((0.1, -2.8, 0.65), (0, 0, 0.80), 46.0),
        scene=dict(
            WOMAN,
            targets=body(sex="female"),
            hair="bob02",
            hair_tint=(0.4, 0.3, 0.25),
            light=0.35,
            tape=ORANGE,
            wall=(0.48, 0.50, 0.56),
        ),
        putter={"head_pitch": 60.0},
        dur=5.0,
        intended=[[]],
        note="low light and a noisy sensor, good",
    ),
    "H14_passer_by_good": lambda: one(
        Stroke(1.2, look=1.75, back=13, through=15),
        seed=214,
        cam=((0.15, -2.9, 0.6), (0, 0, 0.82), 46.0),
        scene={
            "skin": "young_asian_male",
            "suit": "male_worksuit01",
            "shoes": "shoes04",
            "hair": "short04",
            "targets": body("asian"),
            "tape": LIME,
            "wall": (0.56, 0.50, 0.50),
            "bystander": {
                "x0": -2.5,
                "speed_mps": 1.05,
                "y": 1.35,
                "skin": "middleage_caucasian_male",
                "suit": "male_casualsuit04",
                "hair": "short02",
            },
        },
        putter={"head_pitch": 60.0},
        dur=5.0,
        intended=[[]],
        note="someone walks past behind during the stroke, good",
    ),
    "H15_busy_room_stall": lambda: one(
        Stroke(1.2, look=1.85, stall=25.0),
        seed=215,
        cam=((-0.15, -2.8, 0.6), (0, 0, 0.80), 46.0),
        scene=dict(
            AFRICAN_WOMAN,
            targets=body("african", "female", tall=0.2),
            hair="ponytail01",
            hair_tint=(0.35, 0.35, 0.35),
            wall_pattern=("waves", (0.50, 0.42, 0.30), (0.24, 0.30, 0.36), 2.2),
            floor_pattern=("checker", (0.28, 0.24, 0.20), (0.10, 0.10, 0.11), 4.0),
            furniture=True,
        ),
        putter={"head_pitch": 59.0},
        dur=5.0,
        intended=[["hand_stall"]],
        note="patterned wall and floor, hands stop, no tape",
    ),
}
