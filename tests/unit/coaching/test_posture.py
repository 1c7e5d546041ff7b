"""Geometry of posture: angles against scipy, triangles worked by hand, plumb lines of a tilted camera, ranges, changes."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from tests.support.made_address import (
    DOWN_THE_LINE,
    FACE_ON,
    HEIGHT_CM,
    SIDE_ON,
    Stand,
    address,
    camera,
    seen_at,
    side_places,
)
from trainer.coaching.posture import body_model as model
from trainer.coaching.posture import face_on
from trainer.coaching.posture.address_measures import faults, measure, scale_hints, scale_reference, setup, stand_hints
from trainer.coaching.posture.compare import SMALLEST_CHANGE, changes
from trainer.coaching.posture.down_the_line import angle_deg
from trainer.coaching.posture.hints import people_hint, player_hints
from trainer.coaching.posture.ranges import DEFAULTS, check
from trainer.domain.observation import View
from trainer.domain.perspective import CameraView, on_plane, sphere_distance_cm, world_axes
from trainer.domain.record import Measure
from trainer.errors import SettingsError
from trainer.posture.guidance import change_verdict
from trainer.settings.load import load, read_file
from trainer.settings.model import Settings
from trainer.vision.camera_geometry.tilt import stand_from_edges

VIEWS = ("face-on", "down-the-line")
TILTS = [(0.0, 0.0, 0.0), (5.0, 0.0, 0.0), (-6.0, 3.0, 4.0), (3.0, 8.0, -8.0), (-2.0, -6.0, 9.0), (8.0, 10.0, 10.0)]


# --- angles


def test_the_angle_at_a_joint_is_the_rotation_between_its_bones() -> None:
    random = np.random.default_rng(3)
    for _ in range(200):
        turn = float(random.uniform(0.5, 179.5))
        thigh = random.normal(size=3) * [1, 1, 0]
        shin = Rotation.from_rotvec([0, 0, turn], degrees=True).apply(thigh) * random.uniform(0.3, 3)
        knee = random.normal(size=2) * 100
        assert angle_deg(knee + thigh[:2], knee, knee + shin[:2]) == pytest.approx(turn, abs=1e-6)


@pytest.mark.parametrize(
    ("a", "b", "c", "expected"),
    [
        ((3, 4), (3, 0), (0, 0), 90.0),  # right angle of 3-4-5
        ((3, 4), (0, 0), (3, 0), 53.130102),
        ((0, 0), (3, 4), (3, 0), 36.869898),
        ((0, 1), (0, 0), (0, -1), 180.0),
        ((0, 2), (0, 0), (0, 5), 0.0),
        ((1, 0), (0, 0), (-1, math.sqrt(3)), 120.0),
    ],
)
def test_triangles_worked_by_hand(a: tuple, b: tuple, c: tuple, expected: float) -> None:
    assert angle_deg(*(np.array(p, dtype=float) for p in (a, b, c))) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize("view", VIEWS)
def test_axes_of_a_tilted_camera_are_the_rotated_ones(view: str) -> None:
    random = np.random.default_rng(4)
    for _ in range(100):
        roll, pitch, azimuth = random.uniform([-30, -40, -45], [30, 40, 45])
        down, along, across = world_axes(roll, pitch, azimuth, view)
        # Turn the camera about the plumb line, nod it, roll it: what it sees turns the other way round.
        matrix = (
            Rotation.from_euler("z", roll, degrees=True)
            * Rotation.from_euler("x", pitch, degrees=True)
            * Rotation.from_euler("y", -azimuth if view == "face-on" else azimuth, degrees=True)
        )
        level = {"face-on": ([1, 0, 0], [0, 0, -1]), "down-the-line": ([0, 0, 1], [1, 0, 0])}[view]
        np.testing.assert_allclose(down, matrix.apply([0, 1, 0]), atol=1e-12)
        np.testing.assert_allclose(along, matrix.apply(level[0]), atol=1e-12)
        np.testing.assert_allclose(across, matrix.apply(level[1]), atol=1e-12)


def test_a_ray_meets_the_plane_it_is_cut_with() -> None:
    view = CameraView(600.0, (320.0, 240.0), "face-on", 3.0, 5.0, -7.0)
    place = np.array([30.0, -20.0, 250.0])
    normal = view.axes[1]
    np.testing.assert_allclose(
        on_plane(view.ray(*view.project(place)), normal, float(normal @ place)), place, atol=1e-9
    )
    assert np.isnan(on_plane(np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0]), 5.0)).all()


def test_the_size_of_a_ball_tells_how_far_away_it_is() -> None:
    view = camera("face-on", FACE_ON)
    for x in (320.0, 100.0, 600.0):
        for depth in (150.0, 300.0):
            centre = view.ray(x, 400.0) * depth
            # The outline of a sphere: a cone with half angle asin(r / distance); its mean width in the picture.
            half = math.asin(model.BALL_RADIUS_CM / float(np.linalg.norm(centre)))
            axis = centre / np.linalg.norm(centre)
            side = np.cross(axis, [0.0, 1.0, 0.0])
            side /= np.linalg.norm(side)
            rim = [
                view.project(Rotation.from_rotvec(a * axis).apply(axis * math.cos(half) + side * math.sin(half)))
                for a in np.linspace(0, 2 * np.pi, 361)
            ]
            xs, ys = np.array(rim).T
            area = 0.5 * abs(np.sum(xs[:-1] * ys[1:] - xs[1:] * ys[:-1]))
            told = sphere_distance_cm(view, x, 400.0, math.sqrt(4 * area / math.pi), model.BALL_CM)
            assert told == pytest.approx(depth, rel=0.01)


# --- the side view, worked by hand


def side(stand: Stand = DOWN_THE_LINE, **moved: tuple[float, float]) -> dict[str, Measure]:
    return measure(address("down-the-line", stand, side_places({**SIDE_ON, **moved}, along_cm=-3.0)))


def test_side_view_gives_what_the_triangle_says() -> None:
    found = side()
    # Across and up of the made player: hip (-55, 88), neck half way from shoulder (-20, 128) to ear (-6, 142).
    tilt = math.degrees(math.atan2(-13.0 - -55.0, 135.0 - 88.0))
    assert found["spine_tilt_deg"].value == pytest.approx(tilt + model.SPINE_TILT_OFF_DEG, abs=0.2)
    thigh, shin = math.atan2(-15.0, 40.0), math.atan2(-5.0, -40.0)
    bend = 180.0 - abs(math.degrees(thigh - shin)) % 360
    expected = abs((bend + 180) % 360 - 180)
    assert found["knee_flex_deg"].value == pytest.approx(expected + model.KNEE_FLEX_OFF_DEG, abs=2.0)
    scale = model.CHAIN_PER_HEIGHT * HEIGHT_CM / chain_of_the_made_player()
    assert found["eye_line_cm"].value == pytest.approx(4.0 * scale, abs=0.5)
    assert found["hands_plumb_cm"].value == pytest.approx(-1.0 * scale + model.HANDS_PLUMB_OFF * HEIGHT_CM, abs=0.2)
    back = (10.0 * scale) + model.HIPS_BACK_OFF * HEIGHT_CM
    assert found["hips_back_cm"].value == pytest.approx(back, abs=0.3)


def chain_of_the_made_player() -> float:
    def apart(a: str, b: str) -> float:
        return math.dist(SIDE_ON[a], SIDE_ON[b])

    return apart("ankle", "knee") + apart("knee", "hip") + apart("hip", "shoulder")


@pytest.mark.parametrize("tilt", TILTS)
def test_plumb_lines_follow_gravity_not_the_picture(tilt: tuple[float, float, float]) -> None:
    level = side()
    roll, pitch, azimuth = tilt
    tilted = side(Stand((-290.0, -20.0 + 290 * math.sin(math.radians(azimuth)) * 0.5, 100.0), roll, pitch, azimuth))
    for name in ("spine_tilt_deg", "eye_line_cm", "hands_plumb_cm", "hips_back_cm"):
        assert tilted[name].value == pytest.approx(level[name].value, abs=0.5), name


def test_a_tilt_that_is_ignored_shows() -> None:
    """The test above must be able to fail: the same marks under a camera taken to stand level."""
    stand = replace(DOWN_THE_LINE, roll_deg=5.0)
    seen = address("down-the-line", stand, side_places(along_cm=-3.0))
    ignored = measure(replace(seen, camera=camera("down-the-line", DOWN_THE_LINE)))
    assert abs(ignored["spine_tilt_deg"].value - side()["spine_tilt_deg"].value) > 4.0
    assert abs(ignored["eye_line_cm"].value - side()["eye_line_cm"].value) > 5.0


def test_a_camera_of_unknown_tilt_gives_numbers_but_no_fault() -> None:
    far = {**SIDE_ON, "wrist": (10.0, 78.0)}
    seen = address("down-the-line", DOWN_THE_LINE, side_places(far, along_cm=-3.0))
    assert "hands_plumb_cm" in {c.name for c in faults(setup(seen))}
    unsure = replace(seen, tilt_confidence=0.0, azimuth_confidence=0.0)
    checks = {c.name: c for c in setup(unsure)}
    assert checks["hands_plumb_cm"].inside is False
    assert not checks["hands_plumb_cm"].fault


def test_eyes_move_the_eye_line_and_nothing_else() -> None:
    before, after = side(), side(eye=(6.0, 135.0))
    assert after["eye_line_cm"].value - before["eye_line_cm"].value == pytest.approx(-10.0, abs=0.7)
    for name in ("hands_plumb_cm", "spine_tilt_deg", "knee_flex_deg", "elbow_deg"):
        assert after[name].value == pytest.approx(before[name].value, abs=1e-9)


def test_a_left_hander_is_the_mirrored_right_hander() -> None:
    from trainer.coaching.posture.address import BallMark, mirrored, mirrored_ball

    points = {"left_wrist": (100.0, 50.0, 0.9), "right_wrist": (110.0, 60.0, 0.8), "nose": (320.0, 10.0, 1.0)}
    right, left = mirrored(points, 640, "right"), mirrored(points, 640, "left")
    assert right["lead_wrist"].x == 100.0
    assert left["lead_wrist"].x == 639 - 110.0
    assert left["nose"].x == 319.0
    ball = BallMark(200.0, 300.0, 9.0, 1.0)
    assert mirrored_ball(ball, 640, "left").x == 439.0
    assert mirrored_ball(ball, 640, "right") == ball


# --- face-on


def front_places(
    ball_from_trail: float = 0.6, stance: float = 36.0, lift_lead_cm: float = 0.0
) -> dict[str, np.ndarray]:
    """A player seen from the front; the ball at the origin, at this share of the stance from the trail ankle."""
    trail = -ball_from_trail * stance
    middle = trail + stance / 2
    out = {"nose": np.array([middle, -5.0, 132.0])}
    widths = {"ankle": stance, "toe": stance + 6, "heel": stance - 4, "knee": 34, "hip": 22, "shoulder": 34, "elbow": 36,
              "wrist": 4, "eye": 6, "ear": 15}  # fmt: skip
    behind = {"shoulder": face_on.SHOULDERS_BEHIND_BALL_CM, "eye": face_on.HEAD_BEHIND_BALL_CM,
              "ear": face_on.HEAD_BEHIND_BALL_CM, "wrist": face_on.HANDS_BEHIND_BALL_CM, "ankle": 45.0,
              "toe": 45.0 - face_on.TOE_BEFORE_ANKLE_CM, "hip": 55.0, "knee": 45.0}  # fmt: skip
    for part, wide in widths.items():
        up = face_on.TOE_HEIGHT_CM if part == "toe" else SIDE_ON[part][1]
        lift = lift_lead_cm if part in ("shoulder", "eye", "ear") else 0.0
        for name, sign in (("lead", 1.0), ("trail", -1.0)):
            across = -behind.get(part, 45.0)
            out[f"{name}_{part}"] = np.array([middle + sign * wide / 2, across, up + sign * lift * wide / 34 / 2])
    return out


@pytest.mark.parametrize("tilt", TILTS)
@pytest.mark.parametrize("ball", [0.3, 0.5, 0.75])
def test_ball_position_by_hand_under_any_tilt(ball: float, tilt: tuple[float, float, float]) -> None:
    roll, pitch, azimuth = tilt
    out = math.radians(azimuth)
    eye = (-280.0 * math.sin(out), 280.0 * math.cos(out), 60.0)
    found = measure(address("face-on", Stand(eye, roll, pitch, azimuth), front_places(ball)))
    assert found["ball_position"].value == pytest.approx(ball, abs=0.01)
    assert found["stance_cm"].value == pytest.approx(36.0, abs=0.5)
    assert found["ball_widths"].value == pytest.approx((ball - 0.5) * 36.0 / model.BALL_CM, abs=0.1)
    assert found["shoulder_level_deg"].value == pytest.approx(0.0, abs=0.3)


@pytest.mark.parametrize(
    ("view", "azimuth_deg", "sure", "said"),
    [
        ("face-on", -12.0, 1.0, "12° off the line"),
        ("face-on", 12.0, 0.2, ""),
        ("face-on", 5.0, 1.0, ""),
        ("down-the-line", 12.0, 1.0, ""),  # no lengths along the line are measured there
    ],
)
def test_a_camera_off_the_line_is_told_of(view: View, azimuth_deg: float, sure: float, said: str) -> None:
    seen = address("face-on", FACE_ON, front_places(0.5))
    seen = replace(seen, view=view, camera=replace(seen.camera, azimuth_deg=azimuth_deg), azimuth_confidence=sure)
    told = stand_hints(seen)
    assert bool(told) == bool(said)
    assert said in " ".join(map(str, told))


def test_shoulders_that_lean_are_measured_from_level() -> None:
    places = front_places(lift_lead_cm=6.0)  # the lead shoulder 6 cm higher than the trail one, 34 cm apart
    found = measure(address("face-on", replace(FACE_ON, roll_deg=7.0), places))
    assert found["shoulder_level_deg"].value == pytest.approx(math.degrees(math.atan2(6.0, 34.0)), abs=0.3)
    assert found["eyes_level_deg"].value == pytest.approx(math.degrees(math.atan2(6.0, 34.0)), abs=0.3)


def test_face_on_without_a_ball_tells_only_what_is_level() -> None:
    found = measure(replace(address("face-on", FACE_ON, front_places()), ball=None))
    assert found["shoulder_level_deg"].value is not None
    for name in ("ball_position", "stance_cm", "hands_ahead_cm"):
        assert found[name].value is None
        assert found[name].reason == "no ball seen"


def test_feet_together_have_no_ball_position() -> None:
    found = measure(address("face-on", FACE_ON, front_places(stance=3.0)))
    assert found["ball_position"].value is None
    assert "together" in (found["ball_position"].reason or "")


# --- the camera's stand


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("tilt", [(0.0, 2.0, 0.0), (4.0, 6.0, -7.0), (-3.0, -5.0, 9.0)])
def test_the_stand_is_read_from_straight_edges(view: str, tilt: tuple[float, float, float]) -> None:
    stand = Stand((-290.0, -20.0, 100.0) if view == "down-the-line" else (0.0, 280.0, 60.0), *tilt)
    eye = camera(view, stand)
    random = np.random.default_rng(11)
    if view == "down-the-line":
        lines = [((-60, y, 0), (240, y, 0)) for y in (-60, 18.0, -12.0)]
        lines += [((240, -100, 0), (240, 120, 0)), ((200, 60, 0), (200, 60, 150)), ((200, -80, 20), (200, -80, 160))]
    else:
        lines = [((-120, y, 0), (120, y, 0)) for y in (-18.0, 18.0, -160.0)]
        lines += [
            ((90, -150, 10), (90, -150, 160)),
            ((-100, -150, 10), (-100, -150, 150)),
            ((80, -150, 0), (80, 20, 0)),
        ]
    edges = [[*seen_at(eye, stand, a)[:2], *seen_at(eye, stand, b)[:2]] for a, b in lines]
    edges = np.array(edges) + random.normal(0, 0.2, (len(edges), 4))
    ball = seen_at(eye, stand, (0, 0, model.BALL_RADIUS_CM))[:2]
    found = stand_from_edges(edges, view, (640, 480), eye.focal_px, ball)
    assert found is not None
    assert found.confidence > 0.5
    assert found.camera.roll_deg == pytest.approx(tilt[0], abs=0.5)
    assert found.camera.pitch_deg == pytest.approx(tilt[1], abs=1.5)
    assert found.camera.azimuth_deg == pytest.approx(tilt[2], abs=0.7)


def test_no_edges_no_stand() -> None:
    assert stand_from_edges(np.zeros((0, 4)), "face-on", (640, 480), 579.0, None) is None


# --- two scale references


@pytest.mark.parametrize("height_cm", [160.0, 168.0, HEIGHT_CM, 182.0, 195.0])
def test_rulers_agree_within_five_per_cent_or_say_which_is_distrusted(height_cm: float) -> None:
    for seen in (
        address("face-on", FACE_ON, front_places(), height_cm=height_cm),
        address("down-the-line", DOWN_THE_LINE, side_places(along_cm=-3.0), height_cm=height_cm),
    ):
        found, said = scale_reference(seen), scale_hints(seen)
        assert found is not None
        assert found.ball_to_height is not None
        if abs(found.ball_to_height - 1) <= 0.05:
            assert found.agree
            assert not said
        else:
            assert found.agree is False
            assert any(word in said[0].what for word in ("not trusted", "the height is not"))


def test_the_rulers_notice_a_wrong_height() -> None:
    true = scale_reference(address("face-on", FACE_ON, front_places())).height_cm
    assert scale_reference(address("face-on", FACE_ON, front_places(), height_cm=true)).agree is True
    wrong = scale_reference(address("face-on", FACE_ON, front_places(), height_cm=true * 1.12))
    assert wrong.agree is False
    assert "shorter than the height given" in wrong.note


# --- ranges


def of_student(folder: Path, text: str) -> Settings:
    file = folder / "robin.toml"
    file.write_text(text, encoding="utf-8")
    return load([read_file(file)])


def test_a_students_file_changes_the_ranges_that_it_names(tmp_path: Path) -> None:
    found = of_student(tmp_path, "[posture.down_the_line.spine_tilt_deg]\nlow = 20.0\nhigh = 28.0\n").posture
    changed = found["down-the-line"]["spine_tilt_deg"]
    assert (changed.low, changed.high) == (20.0, 28.0)
    assert found["face-on"] == DEFAULTS["face-on"]
    assert load().posture == DEFAULTS


def test_ranges_survive_being_stored() -> None:
    assert Settings.checked(load().values()).posture == DEFAULTS


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[posture.down_the_line.spine_tilt]\nlow = 20.0\n", "did you mean .*spine_tilt_deg"),
        ("[posture.down_the_line.spine_tilt_deg]\nlow = 200.0\n", "line 2.*a number from 0 to 90 deg"),
        ("[posture.down_the_line.spine_tilt_deg]\nlow = 40.0\nhigh = 30.0\n", "low .40. lies above high .30."),
        ("[posture.face_on.stance_cm]\nlow = 'wide'\n", "stance_cm"),
    ],
)
def test_a_wrong_range_is_refused_in_words(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(SettingsError, match=said):
        of_student(tmp_path, text)


def test_a_fault_is_outside_by_more_than_the_doubt_and_sure() -> None:
    bounds = DEFAULTS["down-the-line"]["spine_tilt_deg"]

    def of(value: float | None, sure: float = 0.9) -> tuple[bool | None, bool]:
        found = check({"spine_tilt_deg": Measure(value, "deg", sure)}, "down-the-line")[0]
        return found.inside, found.fault

    assert of((bounds.low + bounds.high) / 2) == (True, False)
    assert of(bounds.high + bounds.doubt / 2) == (False, False)
    assert of(bounds.high + 1.5 * bounds.doubt) == (False, True)
    assert of(bounds.high + 20, sure=0.2) == (False, False)
    assert of(None) == (None, False)


# --- what changed


def test_only_a_change_beyond_the_smallest_one_is_called_real() -> None:
    assert pytest.approx(2.772, abs=1e-3) == SMALLEST_CHANGE
    doubt = DEFAULTS["down-the-line"]["spine_tilt_deg"].doubt

    def change(first: float | None, second: float | None, sure: float = 0.9):  # type: ignore[no-untyped-def]
        table = changes(
            {"spine_tilt_deg": Measure(first, "deg", sure)},
            {"spine_tilt_deg": Measure(second, "deg", 0.9)},
            "down-the-line",
        )
        return next(c for c in table if c.name == "spine_tilt_deg")

    assert not change(50.0, 50.0 + 2.7 * doubt).real
    better = change(55.0, 55.0 - 2.8 * doubt)
    assert better.real
    assert better.nearer is True
    assert better.smallest == pytest.approx(2.772 * doubt, abs=1e-3)
    assert change(40.0, 40.0 + 4 * doubt).nearer in (False, None)
    low, high = DEFAULTS["down-the-line"]["spine_tilt_deg"].low, DEFAULTS["down-the-line"]["spine_tilt_deg"].high
    middle = (low + high) / 2
    said = {
        (high + 20, high + 10): "changed, nearer to its range",
        (high + 20, middle): "changed, now in its range",
        (middle, high + 20): "changed, now out of its range",
        (high + 10, high + 20): "changed, farther from its range",
        (low, high): "changed, in its range both times",
        (None, high): "not seen both times",
        (middle, middle): "no sure change",
    }
    assert {pair: change_verdict(change(*pair)) for pair in said} == said
    assert change(None, 40.0).change is None
    assert change(40.0, 60.0, sure=0.1).change is None


# --- hints


def upright() -> dict[str, np.ndarray]:
    eye = camera("face-on", FACE_ON)
    named = {}
    for name, place in front_places().items():
        key = name.replace("lead_", "left_").replace("trail_", "right_")
        named[key] = np.array([*seen_at(eye, FACE_ON, place)[:2], 0.99])
    return named


def test_a_player_at_address_gets_no_hint() -> None:
    assert player_hints(upright(), (640, 480)) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda p: None, "nobody seen"),
        (lambda p: {n: np.add(v, [0, 90, 0]) for n, v in p.items()}, "feet out of view"),
        (lambda p: {n: np.add(v, [0, -260, 0]) for n, v in p.items()}, "head"),
        (lambda p: {n: v * [1, 1, 0.1 if "ankle" in n or "toe" in n else 1] for n, v in p.items()}, "feet"),
        (lambda p: {n: (v - [320, 240, 0]) * [0.3, 0.3, 1] + [320, 240, 0] for n, v in p.items()}, "too far away"),
        (lambda p: {**p, "left_wrist": p["left_wrist"] + [0, 110, 0]}, "bending"),
        (lambda p: {**p, "left_wrist": p["left_wrist"] + [110, 0, 0]}, "both hands"),
    ],
    ids=["nobody", "feet", "head", "hidden", "far", "bending", "apart"],
)
def test_a_player_not_at_address_gets_one_plain_hint(change, said: str) -> None:  # type: ignore[no-untyped-def]
    found = player_hints(change(upright()), (640, 480))
    assert len(found) == 1
    assert said in found[0].what


def test_two_people_are_too_many() -> None:
    assert people_hint(1) == []
    assert "two people" in people_hint(2)[0].what
