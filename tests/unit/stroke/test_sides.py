"""Left and right of a player seen face-on: what the pose model says of them is kept only where it can be."""

from __future__ import annotations

import math

import pytest

from trainer.domain.observation import Observation
from trainer.domain.player_frame import Point
from trainer.stroke.signals import sample_of, sides_told

# Along (+ toward the target), up, in px.
PLACES = {
    "lead_shoulder": (35, 140), "trail_shoulder": (-35, 140), "lead_hip": (20, 0), "trail_hip": (-20, 0),
    "lead_ankle": (35, -160), "trail_ankle": (-35, -160), "lead_elbow": (40, 80), "lead_wrist": (5, 20), "trail_wrist": (3, 10),
}  # fmt: skip


def body(**moved: float) -> dict[str, Point]:
    """A player over a ball; names of ``moved``: how far along they are instead."""
    return {n: Point(moved.get(n, along), up, 0.9, math.nan) for n, (along, up) in PLACES.items()}


MIXED = [
    body(**{n: -along for n, (along, _) in PLACES.items()}),  # seen as from behind
    body(lead_shoulder=4, trail_shoulder=-4),  # edge on
    body(lead_ankle=-20, trail_ankle=5),  # legs crossed
]


@pytest.mark.parametrize("mixed", MIXED)
def test_a_body_that_faces_away_stands_edge_on_or_crosses_its_legs_has_hands_and_no_sides(
    mixed: dict[str, Point],
) -> None:
    assert not sides_told(mixed)
    row = sample_of(Observation(0, 0.0, mixed))
    assert all(math.isnan(row[n]) for n in ("lead_shoulder_along_px", "lead_wrist_up_px", "forearm_conf"))
    assert row["hands_conf"] == 0.9


def test_a_body_that_faces_the_camera_has_both() -> None:
    row = sample_of(Observation(0, 0.0, body()))
    assert (row["lead_shoulder_along_px"], row["forearm_conf"]) == (35, 0.9)
    assert sides_told(body(lead_shoulder=20, trail_shoulder=-30))  # turned a little


def test_what_is_not_seen_speaks_for_neither() -> None:
    assert sides_told({})
    assert sides_told({n: p for n, p in body().items() if "ankle" not in n})
    assert not sides_told({n: p for n, p in MIXED[0].items() if "ankle" not in n})
