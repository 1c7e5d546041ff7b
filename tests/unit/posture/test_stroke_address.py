"""Which picture stands for the address of a stroke."""

from __future__ import annotations

import numpy as np

from trainer.coaching.posture.ranges import check
from trainer.domain.observation import BallObservation, Frame, Observation
from trainer.domain.phases import Phase
from trainer.domain.player_frame import Point
from trainer.domain.record import Events, LiveState, Measure, Signals, StrokeRecord
from trainer.posture.stroke_address import AddressRecorder, Setup

BALL = BallObservation(Point(320.0, 400.0, 0.9), 10.0)
NO_SIGNALS = Signals(np.zeros(0), np.zeros(0, np.int64), {})


def recorded(balls: dict[float, bool], takeaway_s: float) -> float | None:
    """Time of the picture that is kept; balls: whether a ball was seen, by time (s)."""
    recorder = AddressRecorder()
    for k, (time_s, there) in enumerate(balls.items()):
        frame = Frame(k, time_s, np.zeros((4, 4, 3), np.uint8))
        seen = Observation(k, time_s, ball=BALL if there else None)
        recorder.add(frame, seen, LiveState(time_s, Phase.ADDRESS, Events()))
    recorder.end_stroke(StrokeRecord("ball", Events(takeaway_s=takeaway_s), {}, NO_SIGNALS))
    kept = recorder.addresses[-1]
    return None if kept is None else kept.time_s


def test_the_last_one_well_before_the_takeaway() -> None:
    assert recorded({0.0: True, 0.2: True, 0.4: True, 0.6: True}, takeaway_s=0.65) == 0.4


def test_one_with_the_ball_where_the_last_one_is_without() -> None:
    assert recorded({0.0: True, 0.2: True, 0.4: False, 0.6: False}, takeaway_s=0.65) == 0.2


def test_without_any_ball_the_last_one_and_without_any_picture_none() -> None:
    assert recorded({0.0: False, 0.4: False}, takeaway_s=0.65) == 0.4
    assert recorded({0.6: True}, takeaway_s=0.65) is None


def test_what_is_to_be_mended_first_is_told_where_something_is() -> None:
    def stood(spine_deg: float, eyes_cm: float) -> Setup:
        found = {"eye_line_cm": Measure(eyes_cm, "cm", 0.9), "spine_tilt_deg": Measure(spine_deg, "deg", 0.9)}
        return Setup(tuple(check(found, "down-the-line")))

    assert stood(38.0, 4.0).to_mend is None
    upright = stood(20.0, 20.0).to_mend
    assert upright is not None
    assert upright.what == "Too upright"
    assert "then see: eyes and ball" in upright.todo
