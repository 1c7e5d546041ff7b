"""What touches the picture's edge, and which way the camera must go."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.domain.picture_edge import EDGE_SHARE, edge_passed, out_advice

SIZE = (640, 480)


@pytest.mark.parametrize(
    ("place", "edge"),
    [((320, 240), None), ((2, 240), "left"), ((700, 240), "right"), ((320, -9), "top"), ((320, 479), "bottom")],
)
def test_edges(place: tuple[float, float], edge: str | None) -> None:
    assert edge_passed(*place, SIZE) == edge


def test_the_farthest_passed_is_told() -> None:
    assert edge_passed(650, 900, SIZE) == "bottom"
    assert edge_passed(900, 490, SIZE) == "right"


@given(st.floats(-900, 1500), st.floats(-900, 1500), st.floats(0, 200))
def test_a_thing_is_inside_when_all_of_it_is(x: float, y: float, reach: float) -> None:
    inside = reach + EDGE_SHARE * 640 <= x <= 640 - EDGE_SHARE * 640 - reach
    inside &= reach + EDGE_SHARE * 480 <= y <= 480 - EDGE_SHARE * 480 - reach
    assert (edge_passed(x, y, SIZE, reach) is None) == inside


def test_words_say_the_side_and_what_to_do() -> None:
    assert out_advice("putter", "right").startswith("putter out of the picture on its right: turn the camera")
    assert "tilt the camera down" in out_advice("feet", "bottom")


@pytest.mark.parametrize(
    ("place", "edge"),
    [((30, 240), "left"), ((610, 240), "right"), ((320, 30), "top"), ((320, 450), "bottom"), ((320, 240), None)],
)
def test_half_a_thing_past_the_edge_is_past_it(place: tuple[float, float], edge: str | None) -> None:
    assert edge_passed(*place, SIZE, 40.0) == edge
