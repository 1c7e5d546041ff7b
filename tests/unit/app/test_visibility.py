"""Why no stroke was found: what is to be looked at first."""

from __future__ import annotations

import pytest

from trainer.app.likely_view import LikelyView
from trainer.app.visibility import Visibility
from trainer.domain.observation import Observation, PutterObservation
from trainer.domain.phases import Phase
from trainer.domain.player_frame import Point
from trainer.settings.model import Player, Settings


def reason(fps: float, advice: tuple[str, ...] = ()) -> str:
    seen = Visibility()
    for k in range(40):
        seen.add(Observation(k, 5.0 + k / fps, advice=advice), Phase.ADDRESS)
    return seen.no_stroke(Settings())


def test_too_few_frames_come_first() -> None:
    assert reason(7.5, ("too dark: put light on the player",)).startswith("no stroke found; 8 frames/s are too few")


@pytest.mark.parametrize("fps", [15.0, 30.0])
def test_else_what_would_have_helped(fps: float) -> None:
    assert reason(fps, ("too dark: put light on the player",)) == "no stroke found; too dark: put light on the player"
    assert "nobody is seen" in reason(fps)


@pytest.mark.parametrize(("seen_frames", "why"), [(10, "not made out in 75% of the frames"), (38, "--handedness")])
def test_a_putter_that_was_hardly_seen_is_said(seen_frames: int, why: str) -> None:
    at, seen = Point(0.0, 0.0, 1.0), Visibility()
    for k in range(40):
        putter = PutterObservation(at, at, 0.0, 0.9 if k < seen_frames else 0.4, "shaft")
        seen.add(Observation(k, k / 30, {"lead_hip": at}, putter=putter), Phase.ADDRESS)
    assert why in seen.no_stroke(Settings())
    if why.startswith("--"):
        of_second = seen.no_stroke(Settings(), option_names=("--other-handedness", "--other-view"))
        assert "`--other-handedness` and `--other-view`" in of_second


def test_nothing_is_suggested_of_what_is_not_plain() -> None:
    likely = LikelyView()
    assert likely.suggested(Player(), "face-on") is None
    for k in range(40):
        likely.see(Observation(k, k / 30), Phase.ADDRESS)
    assert likely.suggested(Player(), "face-on") is None


def test_no_frames_at_all_say_nothing_of_their_rate() -> None:
    assert "frames a second" not in Visibility().no_stroke(Settings())
