"""Posture against rendered stills whose truth is exact, none of which the method was made with (tests/data/stills/README.md).

Thirty-three pictures: bodies of both sexes from 145 to 195 cm, clothes, both hands, cameras 0.45 to 1.4 m high, off the axis by
up to ten degrees and rolled by up to four. The pose model's points were recorded once; a few pictures run the model itself.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from tests.support.made_address import Still, picture, points, truths
from trainer.coaching.posture.address_measures import faults, measure, scale_hints, scale_reference, setup
from trainer.coaching.posture.ranges import DEFAULTS
from trainer.posture.analysis import Given, Looked, ball_in_picture, look
from trainer.vision.ball.occluded_ball import ball_behind_putter

# What the measures must hold to, each in its own unit.
TARGETS = {
    "spine_tilt_deg": 4.0,
    "knee_flex_deg": 6.0,
    "eye_line_cm": 3.0,
    "hands_plumb_cm": 3.0,
    "ball_position": 0.05,
}
NAMES = sorted(truths())
SIDE = [n for n in NAMES if truths()[n]["view"] == "down-the-line"]
FRONT = [n for n in NAMES if truths()[n]["view"] == "face-on"]
CUT_OFF = [n for n in NAMES if truths()[n]["ball_px"][1] > 474]  # the ball lies on the picture's lower border
# Two comparisons in eighty lie beyond: a knee whose ankle the model marks 2 cm off, and a ball (feet 13 cm farther behind it than
# usual, with the camera ten degrees off). By so much, and no more:
BEYOND = {("s09", "ball_position"): 0.065, ("s20", "knee_flex_deg"): 8.5}


def limit(name: str, measured: str) -> float:
    return BEYOND.get((name, measured), TARGETS[measured])


@cache
def looked(name: str, height: bool = True) -> Looked:
    image, tall = picture(name), truths()[name]["setup"]["height_cm"]
    return look(Still(points(name), image), image, Given(height_cm=tall if height else None), find_ball=True)


def error(name: str, measured: str, height: bool = True) -> float | None:
    found = looked(name, height)
    assert found.seen is not None, (name, found.hints)
    value = measure(found.seen)[measured].value
    return None if value is None else value - truths()[name]["setup"][measured]


@pytest.mark.parametrize("name", NAMES)
def test_view_and_hand_are_recognised_in_every_picture(name: str) -> None:
    found = looked(name).detected
    assert found is not None
    assert (found.view, found.handedness) == (truths()[name]["view"], truths()[name]["handedness"])


@pytest.mark.parametrize("name", SIDE)
def test_down_the_line_within_the_targets(name: str) -> None:
    for measured in ("spine_tilt_deg", "knee_flex_deg", "eye_line_cm", "hands_plumb_cm"):
        off = error(name, measured)
        assert off is not None, measured
        assert abs(off) <= limit(name, measured), (measured, off)


@pytest.mark.parametrize("name", [n for n in FRONT if n not in CUT_OFF])
def test_face_on_within_the_targets(name: str) -> None:
    off = error(name, "ball_position")
    assert off is not None
    assert abs(off) <= limit(name, "ball_position"), off
    width = error(name, "stance_cm")
    assert width is not None
    assert abs(width) <= 4.5


@pytest.mark.parametrize("measured", sorted(TARGETS))
def test_errors_have_no_lean_and_fit_the_doubt_that_is_told(measured: str) -> None:
    """The doubt behind every verdict and every 'real change' is the spread on pictures that it was not made with."""
    names = SIDE if measured != "ball_position" else [n for n in FRONT if n not in CUT_OFF]
    off = np.array([error(n, measured) for n in names])
    bounds = next(getattr(table, measured) for _, table in DEFAULTS if hasattr(table, measured))
    assert abs(off.mean()) < bounds.doubt
    assert 0.3 * bounds.doubt < off.std() < 1.6 * bounds.doubt


def test_without_the_players_height_angles_stay_and_lengths_hardly_change() -> None:
    for name in SIDE[::3]:
        spine, eyes = error(name, "spine_tilt_deg", height=False), error(name, "eye_line_cm", height=False)
        assert spine is not None
        assert abs(spine) <= 4.0
        assert eyes is not None
        assert abs(eyes) <= 5.0


@pytest.mark.parametrize("name", NAMES)
def test_the_rulers_agree_or_the_tool_says_which_it_distrusts(name: str) -> None:
    seen = looked(name).seen
    if seen is None:
        assert name in CUT_OFF
        return
    found, said = scale_reference(seen), scale_hints(seen)
    if seen.ball is None:
        assert name in CUT_OFF
        assert found is None
        return
    assert found is not None
    assert found.ball_to_height is not None
    assert (abs(found.ball_to_height - 1) <= 0.05) == (not said)
    assert not said or "not trusted" in said[0].what or "the height is not" in said[0].what


def test_the_ruler_that_is_trusted_is_right() -> None:
    """How far away the player or the ball is, by the trusted scale reference, against where the camera truly stood."""
    off = []
    for name in NAMES:
        seen = looked(name).seen
        found = scale_reference(seen) if seen is not None else None
        if found is None:
            continue
        eye = np.array(truths()[name]["camera"]["eye_m"]) * 100
        true = -eye[0] if truths()[name]["view"] == "down-the-line" else abs(eye[1]) - 45.0
        # A wrong guess of the lens scales every distance alike; what is left is the scale reference.
        lens = np.tan(np.radians(truths()[name]["camera"]["vertical_fov_deg"]) / 2) * seen.camera.focal_px / 240
        off.append(found.distance_cm / lens / true - 1)
    assert len(off) >= 28
    assert np.std(off) < 0.05, np.round(off, 3)


def test_a_ball_on_the_border_gives_no_number_but_a_hint() -> None:
    assert CUT_OFF
    for name in CUT_OFF:
        found = looked(name)
        assert found.seen is not None or any(hint.what == "no ball seen" for hint in found.hints)


@pytest.mark.parametrize("name", SIDE)
def test_a_ball_half_hidden_by_the_putter_is_found_where_it_is(name: str) -> None:
    marks = {n: tuple(p) for n, p in points(name).items()}
    found = ball_behind_putter(picture(name), marks)
    assert found is not None
    true = truths()[name]["ball_px"]
    assert abs(found.x - true[0]) < 5
    assert abs(found.y - true[1]) < 5


@pytest.mark.parametrize("name", SIDE)
def test_no_ball_is_made_up(name: str) -> None:
    """The same picture with the ball's pixels taken by the mat around it."""
    image = picture(name)
    x, y = (round(v) for v in truths()[name]["ball_px"])
    mat = np.median(image[y - 22 : y - 14, x - 14 : x + 15].reshape(-1, 3), axis=0)
    image[y - 11 : y + 8, x - 9 : x + 10] = mat
    hand = truths()[name]["handedness"]
    assert ball_in_picture(points(name), image, "down-the-line", hand) is None


def test_without_a_ball_there_is_a_hint_and_what_needs_none() -> None:
    image = picture("s02")
    x, y = (round(v) for v in truths()["s02"]["ball_px"])
    image[y - 11 : y + 8, x - 9 : x + 10] = np.median(image[y - 22 : y - 14, x - 14 : x + 15].reshape(-1, 3), axis=0)
    found = look(Still(points("s02"), image), image, find_ball=True)
    assert found.seen is not None
    assert str(found.hints[0]) == "no ball seen: lay one down, not behind a shoe or the putter as the camera sees it"
    numbers = measure(found.seen)
    assert numbers["eye_line_cm"].value is None
    assert numbers["eye_line_cm"].reason == "no ball seen"
    with_ball = looked("s02").seen
    assert with_ball is not None
    whole = measure(with_ball)
    for name in ("spine_tilt_deg", "knee_flex_deg"):
        assert numbers[name].value == pytest.approx(whole[name].value, abs=4.0)


def test_a_rehearsals_address_still_has_its_angles() -> None:
    """A stroke without a ball: what does not need one is measured, what does is not."""
    image = picture("s02")
    x, y = (round(v) for v in truths()["s02"]["ball_px"])
    image[y - 11 : y + 8, x - 9 : x + 10] = np.median(image[y - 22 : y - 14, x - 14 : x + 15].reshape(-1, 3), axis=0)
    found = look(Still(points("s02"), image), image, Given(height_cm=truths()["s02"]["setup"]["height_cm"]))
    assert found.seen is not None
    assert measure(found.seen)["eye_line_cm"].value is None
    spine = measure(found.seen)["spine_tilt_deg"].value
    assert spine is not None
    assert abs(spine - truths()["s02"]["setup"]["spine_tilt_deg"]) < 5


def test_nothing_is_called_a_fault_that_is_well_inside_and_nothing_is_missed_that_is_far_out() -> None:
    for name in NAMES:
        seen = looked(name).seen
        if seen is None:
            assert name in CUT_OFF
            continue
        truth = truths()[name]["setup"]
        named = {c.name for c in faults(setup(seen))}
        for measured, bounds in DEFAULTS[seen.view].items():
            if measured not in TARGETS:
                continue
            margin = TARGETS[measured] + bounds.doubt
            if bounds.low <= truth[measured] <= bounds.high:
                room = min(truth[measured] - bounds.low, bounds.high - truth[measured])
                assert measured not in named or room < TARGETS[measured] - bounds.doubt, (name, measured)
            elif truth[measured] < bounds.low - margin or truth[measured] > bounds.high + margin:
                assert measured in named, (name, measured)


@pytest.fixture(scope="module")
def model() -> Any:
    from trainer.vision.body.pose import PoseBody

    body = PoseBody()
    yield body
    body.close()


@pytest.mark.parametrize("name", ["s01", "s02", "s12", "s17"])
def test_the_true_model_gives_what_was_recorded(name: str, model: Any) -> None:
    truth = truths()[name]
    found = look(model, picture(name), Given(height_cm=truth["setup"]["height_cm"]), find_ball=True, others=True)
    assert found.points is not None
    assert found.seen is not None
    apart = [np.linalg.norm(found.points[n][:2] - p[:2]) for n, p in points(name).items()]
    assert np.median(apart) < 1.0
    assert found.detected is not None
    assert (found.detected.view, found.detected.handedness) == (truth["view"], truth["handedness"])
    for measured, most in TARGETS.items():
        value = measure(found.seen).get(measured)
        if value is not None and value.value is not None:
            assert abs(value.value - truth["setup"][measured]) <= most, measured


def test_two_people_get_a_hint_and_no_numbers(model: Any) -> None:
    """Two stills side by side in one picture."""
    a, b = picture("s03"), picture("s17")
    pair = np.concatenate([a[:, 170:490], b[:, 170:490]], axis=1)
    found = look(model, np.ascontiguousarray(pair), find_ball=True, others=True)
    assert found.seen is None
    assert "two people" in found.hints[0].what


def test_half_out_of_view_gets_a_hint_and_no_numbers(model: Any) -> None:
    image = picture("s02")
    found = look(model, np.ascontiguousarray(image[:330]), find_ball=True, others=True)
    assert found.seen is None
    assert len(found.hints) == 1
    assert "out of view" in found.hints[0].what
    nobody = look(model, np.full((480, 640, 3), 120, np.uint8), find_ball=True)
    assert nobody.seen is None
    assert "nobody" in nobody.hints[0].what
