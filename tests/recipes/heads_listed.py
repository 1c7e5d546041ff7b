"""The head clips by name: what is in them. D: to develop on. Q: only measured, never looked at while something is tuned."""

from heads import (
    BLACK,
    BLOND,
    BROWN,
    CREAM,
    DEVELOP,
    GREEN,
    GREY,
    NAVY,
    RED,
    REPORT,
    WHITE,
    away,
    both,
    nods,
    scenario,
    sways,
    there_and_back,
    toward,
)

PALE, ASIAN, DARK, WOMAN, STOUT = (
    DEVELOP[k] for k in ("pale_man", "asian_man", "dark_man", "pale_woman", "stout_old_man")
)
THIN, DARK_W, ASIAN_W, OLD_W, DEEP = (
    REPORT[k] for k in ("thin_man", "dark_woman", "asian_woman", "old_woman", "deep_skull")
)

# Heads to develop on.
SHORT, SHORT_PALE, SHORT_DARK = [("short02", "own")], [("short02", "pale")], [("short02", "dark")]
CROP, CROP_DARK = [("short04", "own")], [("short04", "dark")]
BOB, BOB_PALE, BOB_DARK = [("bob02", "own")], [("bob02", "pale")], [("bob02", "dark")]
TAIL, TAIL_RED = [("ponytail01", "own")], [("ponytail01", "red")]
BALD = [None]
SHAVED = [None, ("scalp", BLACK, 0.003)]
KNOT = [None, ("bun", BROWN)]
LONG, LONG_PALE, LONG_DARK = ([None, ("hanging", c, 32.0, 0.2)] for c in (BROWN, WHITE, BLACK))
LONG_NARROW = [None, ("hanging", BLOND, 18.0, 0.17)]
BEARD = [("short02", "own"), ("beard", BROWN, 0.014)]
WHITE_BEARD = [None, ("beard", WHITE, 0.016)]
GLASSES = [("short04", "own"), ("spectacles", BLACK)]
CAP_WHITE, CAP_NAVY, CAP_RED = ([None, ("hat", "peak", c), ("ring", BROWN)] for c in (WHITE, NAVY, RED))
BEANIE = [None, ("hat", "beanie", GREY), ("ring", BLACK)]
BUCKET = [None, ("hat", "bucket", CREAM)]
VISOR = [("short04", "own"), ("hat", "visor", WHITE)]

# Heads that are only reported on.
SIDE, SIDE_GREY, SIDE_DARK = [("short01", "own")], [("short01", "pale")], [("short01", "dark")]
RING, RING_GREY = [None, ("ring", BROWN, 0.01)], [None, ("ring", GREY, 0.012)]
CURLS, CURLS_GREY = [None, ("scalp", BLACK, 0.04, 0.35)], [None, ("scalp", GREY, 0.028, 0.4)]
FRINGE, FRINGE_WHITE = ([None, ("hanging", c, 40.0, 0.14, 0.045)] for c in (BROWN, WHITE))
OVER_FACE = [None, ("hanging", WHITE, 12.0, 0.16)]
TAILS, TAILS_BLOND = ([None, ("tails", c)] for c in (BLACK, BLOND))
STUBBLE = [("short01", "own"), ("beard", BLACK, 0.005)]
SUNGLASSES = [None, ("ring", GREY, 0.01), ("spectacles", BLACK, True)]
FLAT = [None, ("hat", "flat", (0.25, 0.2, 0.15)), ("ring", GREY)]
STRAW = [None, ("hat", "straw", (0.72, 0.58, 0.34))]
PANELS = [None, ("hat", "peak", GREEN, (WHITE, 6)), ("ring", BLACK)]
BANDANA = [None, ("hat", "bandana", RED, ((0.75, 0.7, 0.6), 10))]
BACKWARD = [None, ("hat", "back", (0.08, 0.09, 0.1))]

# Name: (person, head, room, light, (camera height m, bow deg, camera x m), moves[, left-hander]).
_ROWS = {
    "D01": (PALE, SHORT, "beige", "", (0.6, 60, 0.1), lambda: toward(50, 10)),
    "D02": (PALE, SHORT_PALE, "white", "", (0.8, 56, -0.1), lambda: both(22, 18)),
    "D03": (PALE, SHORT_DARK, "black", "", (0.5, 62, 0.0), lambda: toward(38)),
    "D04": (PALE, CROP, "blue", "left", (1.0, 64, 0.1), lambda: there_and_back(28, 5)),
    "D05": (PALE, CAP_WHITE, "beige", "", (1.0, 65, 0.0), lambda: toward(42, 4)),
    "D06": (PALE, CAP_WHITE, "white", "behind", (0.6, 58, 0.2), lambda: toward(35, 6)),
    "D07": (PALE, CAP_NAVY, "blue", "right", (0.7, 60, -0.2), lambda: both(30, 25, 4)),
    "D08": (PALE, BEARD, "black", "front", (0.4, 52, 0.0), lambda: toward(55, 12)),
    "D09": (PALE, BEANIE, "blue", "", (0.9, 60, 0.1), lambda: toward(30, 6)),
    "D10": (PALE, SHORT, "lawn", "sun behind", (0.6, 60, 0.0), lambda: toward(52, 10)),
    "D11": (PALE, BALD, "beige", "top", (0.6, 62, 0.0), lambda: away(35)),
    "D12": (PALE, BUCKET, "lawn", "sun left", (0.8, 58, 0.1), lambda: toward(40, 5)),
    "D13": (ASIAN, CROP, "beige", "", (0.55, 58, 0.0), lambda: toward(20, 3), True),
    "D14": (ASIAN, CROP_DARK, "white", "window", (0.7, 60, 0.1), lambda: toward(45, 8)),
    "D15": (ASIAN, GLASSES, "blue", "", (0.6, 55, -0.15), lambda: both(35, 15, 5)),
    "D16": (ASIAN, CAP_RED, "white", "", (0.6, 60, 0.0), lambda: toward(32, 5)),
    "D17": (ASIAN, VISOR, "beige", "left", (0.9, 63, 0.0), lambda: toward(48, 6)),
    "D18": (ASIAN, SHAVED, "black", "", (0.6, 60, 0.1), lambda: there_and_back(24)),
    "D19": (ASIAN, CROP, "lawn", "sun right", (0.5, 57, 0.1), lambda: away(40, 5)),
    "D20": (ASIAN, SHORT, "beige", "dim", (0.7, 62, 0.0), lambda: toward(40, 8)),
    "D21": (ASIAN, BEANIE, "white", "behind", (0.5, 55, 0.0), lambda: there_and_back(35, 10)),
    "D22": (ASIAN, CROP, "blue", "", (1.1, 68, 0.0), lambda: toward(55, 5)),
    "D23": (DARK, SHAVED, "beige", "", (0.6, 60, 0.0), lambda: toward(45, 8)),
    "D24": (DARK, SHAVED, "black", "right", (0.8, 64, 0.1), lambda: both(25, 20)),
    "D25": (DARK, CROP_DARK, "white", "behind", (0.6, 58, -0.1), lambda: toward(50, 12)),
    "D26": (DARK, CAP_WHITE, "black", "", (0.7, 62, 0.0), lambda: toward(28, 4), True),
    "D27": (DARK, CAP_NAVY, "black", "dim", (0.6, 60, 0.0), lambda: toward(45, 6)),
    "D28": (DARK, BALD, "lawn", "sun behind", (0.6, 58, 0.1), lambda: toward(40, 8)),
    "D29": (DARK, BUCKET, "beige", "", (0.9, 60, -0.1), lambda: both(35, 30, 5)),
    "D30": (DARK, SHORT_DARK, "blue", "front", (0.5, 52, 0.0), lambda: nods(8, 30)),
    "D31": (DARK, GLASSES, "white", "", (0.6, 60, 0.0), lambda: sways(2.5, 35)),
    "D32": (WOMAN, BOB, "beige", "", (0.6, 60, 0.1), lambda: toward(50, 10)),
    "D33": (WOMAN, BOB_PALE, "white", "", (0.6, 59, -0.1), lambda: toward(50, 10)),
    "D34": (WOMAN, BOB_PALE, "blue", "right", (0.8, 62, 0.0), lambda: both(30, 25)),
    "D35": (WOMAN, BOB_DARK, "black", "dim", (0.6, 60, 0.0), lambda: toward(35, 5)),
    "D36": (WOMAN, TAIL, "beige", "left", (0.7, 60, 0.0), lambda: toward(25, 4), True),
    "D37": (WOMAN, TAIL_RED, "lawn", "sun left", (0.55, 57, 0.1), lambda: both(40, 20, 8)),
    "D38": (WOMAN, KNOT, "white", "", (0.6, 60, 0.0), lambda: toward(60, 12)),
    "D39": (WOMAN, LONG, "beige", "", (0.6, 58, 0.0), lambda: toward(45, 8)),
    "D40": (WOMAN, LONG_PALE, "blue", "", (0.6, 60, 0.1), lambda: toward(50, 10)),
    "D41": (WOMAN, LONG_PALE, "white", "window", (0.8, 64, 0.0), lambda: there_and_back(32, 5)),
    "D42": (WOMAN, LONG_DARK, "black", "top", (0.6, 60, 0.0), lambda: both(28, 28)),
    "D43": (WOMAN, LONG_NARROW, "beige", "front", (0.6, 60, 0.0), lambda: toward(40, 8)),
    "D44": (WOMAN, CAP_RED, "lawn", "sun behind", (0.6, 60, -0.1), lambda: toward(35, 5)),
    "D45": (WOMAN, TAIL, "blue", "", (0.5, 50, 0.0), lambda: nods(10)),
    "D46": (STOUT, BALD, "white", "", (0.6, 60, 0.0), lambda: toward(48, 8)),
    "D47": (STOUT, WHITE_BEARD, "beige", "", (0.5, 54, 0.1), lambda: toward(36, 8)),
    "D48": (STOUT, SHORT_PALE, "blue", "left", (0.7, 62, 0.0), lambda: both(32, 20, 3)),
    "D49": (STOUT, CAP_NAVY, "white", "", (1.0, 66, 0.0), lambda: toward(22, 3)),
    "D50": (STOUT, BEANIE, "black", "", (0.6, 58, 0.0), lambda: toward(52, 10), True),
    "D51": (STOUT, BALD, "black", "right", (0.4, 48, 0.0), lambda: there_and_back(30, 6)),
    "D52": (STOUT, SHORT_PALE, "lawn", "sun right", (0.6, 60, 0.0), lambda: sways(3, 40, 6)),
    "D53": (STOUT, VISOR, "beige", "dim", (0.8, 62, 0.0), lambda: toward(70, 12)),
    "D54": (STOUT, BUCKET, "white", "behind", (0.6, 57, 0.0), lambda: away(30, 4)),
    "Q01": (THIN, SIDE, "checks", "", (0.6, 60, 0.0), lambda: toward(48, 10)),
    "Q02": (THIN, SIDE_DARK, "slate", "", (0.5, 57, 0.1), lambda: toward(30, 5)),
    "Q03": (THIN, RING, "cream", "", (0.7, 62, 0.0), lambda: both(28, 22, 3)),
    "Q04": (THIN, FLAT, "waves", "left", (0.6, 60, -0.1), lambda: toward(40, 5)),
    "Q05": (THIN, PANELS, "green", "sun left", (0.8, 60, 0.0), lambda: toward(34, 5)),
    "Q06": (THIN, STUBBLE, "cream", "behind", (0.6, 58, 0.1), lambda: toward(45, 8)),
    "Q07": (THIN, BACKWARD, "slate", "right", (0.9, 63, 0.0), lambda: there_and_back(26, 4)),
    "Q08": (THIN, BALD, "waves", "", (0.6, 60, 0.0), lambda: toward(20, 3), True),
    "Q09": (DARK_W, CURLS, "cream", "", (0.6, 59, 0.0), lambda: toward(45, 8)),
    "Q10": (DARK_W, TAILS, "checks", "top", (0.7, 60, 0.1), lambda: both(32, 20)),
    "Q11": (DARK_W, STRAW, "green", "sun right", (0.6, 58, 0.0), lambda: toward(42, 6)),
    "Q12": (DARK_W, BANDANA, "slate", "", (0.6, 60, 0.0), lambda: toward(35, 6)),
    "Q13": (DARK_W, SIDE_DARK, "slate", "dim", (0.6, 62, 0.0), lambda: toward(38, 6)),
    "Q14": (DARK_W, PANELS, "cream", "window", (0.8, 64, -0.1), lambda: there_and_back(30, 4), True),
    "Q15": (DARK_W, CURLS, "green", "sun behind", (0.55, 58, 0.0), lambda: toward(50, 10)),
    "Q16": (ASIAN_W, TAILS, "waves", "", (0.55, 58, 0.0), lambda: toward(52, 10)),
    "Q17": (ASIAN_W, FRINGE, "cream", "", (0.6, 60, 0.0), lambda: toward(45, 8)),
    "Q18": (ASIAN_W, FRINGE, "checks", "right", (0.9, 64, 0.1), lambda: both(25, 25)),
    "Q19": (ASIAN_W, STRAW, "cream", "front", (0.5, 52, 0.0), lambda: toward(35, 6)),
    "Q20": (ASIAN_W, SIDE, "slate", "behind", (0.6, 60, 0.0), lambda: toward(40, 8), True),
    "Q21": (ASIAN_W, BACKWARD, "waves", "", (0.7, 62, 0.0), lambda: away(36, 4)),
    "Q22": (OLD_W, FRINGE_WHITE, "cream", "", (0.6, 60, 0.0), lambda: toward(50, 10)),
    "Q23": (OLD_W, FRINGE_WHITE, "waves", "window", (0.7, 60, 0.1), lambda: there_and_back(28, 5)),
    "Q24": (OLD_W, OVER_FACE, "checks", "", (0.6, 60, 0.0), lambda: toward(48, 8)),
    "Q25": (OLD_W, OVER_FACE, "slate", "left", (0.8, 63, 0.0), lambda: toward(30, 4)),
    "Q26": (OLD_W, CURLS_GREY, "cream", "dim", (0.6, 60, 0.0), lambda: both(30, 18, 4)),
    "Q27": (OLD_W, SIDE_GREY, "green", "sun left", (0.5, 56, 0.0), lambda: toward(42, 6)),
    "Q28": (OLD_W, STRAW, "waves", "", (1.1, 67, 0.0), lambda: toward(38, 4)),
    "Q29": (DEEP, SUNGLASSES, "checks", "", (0.6, 58, 0.0), lambda: toward(55, 12)),
    "Q30": (DEEP, RING_GREY, "slate", "top", (0.6, 62, 0.1), lambda: toward(26, 3)),
    "Q31": (DEEP, FLAT, "cream", "", (0.9, 64, 0.0), lambda: both(30, 25, 4)),
    "Q32": (DEEP, BALD, "green", "sun behind", (0.6, 60, 0.0), lambda: toward(44, 8)),
    "Q33": (DEEP, STUBBLE, "waves", "right", (0.4, 50, 0.0), lambda: nods(9, 28)),
    "Q34": (DEEP, BANDANA, "cream", "", (0.6, 60, 0.0), lambda: sways(2.5, 40)),
    "Q35": (DEEP, SIDE_GREY, "checks", "front", (0.7, 60, 0.0), lambda: toward(68, 12)),
    "Q36": (DEEP, RING_GREY, "cream", "behind", (0.6, 55, -0.1), lambda: nods(10)),
}


def _named(rows):
    people = {id(v): k for k, v in (DEVELOP | REPORT).items()}
    heads = {id(v): k.lower() for k, v in globals().items() if isinstance(v, list)}
    made = {}
    for key, (person, head, room, light, camera, moves, *left) in rows.items():
        name = f"{key}_{people[id(person)]}_{heads[id(head)]}"
        note = f"{people[id(person)]}, {heads[id(head)]}, {room}, {light or 'even light'}"
        made[name] = (
            note.replace("_", " "),
            lambda p=person, h=head, r=room, li=light, c=camera, m=moves, le=left: scenario(
                p, h, r, li, c, m(), bool(le)
            ),
        )
    return made


CLIPS = _named(_ROWS)
