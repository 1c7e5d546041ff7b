"""A putter that leaves the picture: what comes after is not sure, live as afterwards, and nothing is called by it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.observations import Watched, watch
from trainer.coaching.faults import indeterminate, judge
from trainer.domain.measures import MIN_CONFIDENCE, confident_value
from trainer.domain.record import doubt, unsure
from trainer.settings.limits import Limits
from trainer.stroke.sight import Sight, gap_certainty
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_observations import CM_PER_PX, Noise, observations

BY_REST = {"early_look", "short_hold", "recoil"}


def stroke(edge_cm: float, **more: float) -> Watched:
    """The putter is seen as far as edge_cm past the ball."""
    seen = observations(Scene((SimStroke(2.0, **more),)))  # type: ignore[arg-type]
    first = [s.putter.head.along_px for s in seen[:30] if s.putter is not None]
    edge_px = float(np.median(first)) + edge_cm / CM_PER_PX
    return watch([s if s.putter is None or s.putter.head.along_px < edge_px else replace(s, putter=None) for s in seen])


def test_seen_all_the_way() -> None:
    whole = stroke(1000.0, look_s=4.8).record
    assert whole.measures["rest_sight"].value == pytest.approx(0.9, abs=0.1)
    assert not BY_REST & set(indeterminate(whole, Limits()))


@pytest.mark.parametrize("look_s", [None, 3.2, 3.6, 4.8])
@pytest.mark.parametrize("edge_cm", [3.0, 8.0, 14.0])
def test_out_of_the_picture_before_it_rests(edge_cm: float, look_s: float | None) -> None:
    run = stroke(edge_cm, look_s=look_s)  # type: ignore[arg-type]
    for record in run.records:
        assert set(indeterminate(record, Limits())) >= BY_REST
        assert not BY_REST & {f.name for f in judge(record, Limits())}
        assert not any(confident_value(record.measures[n]) for n in ("hold_s", "early_by_s", "recoil_cm"))
    assert not BY_REST & {cue.name for cues in run.cues for cue in cues}


def test_nothing_is_sure_in_a_stroke_that_was_doubted() -> None:
    record = stroke(1000.0, look_s=3.0).record
    assert "early_look" in {f.name for f in judge(record, Limits())}
    doubted = unsure(record, "it was doubted")
    assert doubt(record) == ""
    assert doubt(doubted) == "it was doubted"
    assert judge(doubted, Limits()) == ()
    assert {"early_look", "hand_stall", "recoil", "sway", "lift"} <= set(indeterminate(doubted, Limits()))


@given(st.lists(st.booleans(), min_size=1, max_size=60), st.floats(0.1, 1.0))
def test_never_surer_than_what_was_seen(seen: list[bool], confidence: float) -> None:
    sight = Sight()
    for k, one in enumerate(seen):
        sight.add(k / 30, confidence if one else float("nan"))
    assert 0.0 <= sight.confidence <= confidence * np.mean(seen) + 1e-9


def test_gaps() -> None:
    assert gap_certainty(0.1) == 1.0
    assert gap_certainty(0.5) == 0.0
    assert 0.9 * gap_certainty(0.29) >= MIN_CONFIDENCE > 0.9 * gap_certainty(0.31)


@pytest.mark.parametrize(("shakes_px", "told"), [(0.15, True), (0.4, True), (1.5, False), (2.0, False)])
def test_a_putter_that_shakes_is_not_told_to_rest(shakes_px: float, told: bool) -> None:
    scene = Scene((SimStroke(2.0, look_s=3.0),))
    run = watch(observations(scene, noise=replace(Noise(), putter_px=shakes_px)))
    for record in run.records:
        assert ("early_look" not in indeterminate(record, Limits())) == told
        assert ("early_look" in {f.name for f in judge(record, Limits())}) == told
    assert told or not BY_REST & {cue.name for cues in run.cues for cue in cues}
    assert not told or run.records
