"""Pictures of a stroke that never came: nothing in it is sure then, the reason is said, and nothing is sounded."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.observations import Watched, watch
from trainer.coaching.faults import indeterminate, judge
from trainer.domain.record import doubt
from trainer.feedback.signs import NOT_JUDGED_WORD, result_sign
from trainer.settings.limits import Limits
from trainer.stroke.lost_pictures import LONGEST_S, WHY, too_far_apart
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_observations import EXACT, observations

FPS = 30.0
STALL = SimStroke(2.0, look_s=3.0, stall_deg=20.0)


def without(first_s: float, lasts_s: float) -> Watched:
    """The stroke, with the pictures of that stretch lost on their way."""
    seen = observations(Scene((STALL,)), FPS, EXACT)
    return watch([one for one in seen if not first_s <= one.time_s < first_s + lasts_s])


def test_every_picture_came() -> None:
    run = without(0.0, 0.0)
    assert {fault.name for fault in judge(run.record, Limits())} >= {"early_look", "hand_stall"}
    assert doubt(run.record) == ""
    assert run.cues[0]


@pytest.mark.parametrize("at", ["takeaway_s", "top_s", "impact_s", "settle_s"])
def test_lost_about_any_of_its_events(at: str) -> None:
    when = dict(without(0.0, 0.0).record.events)[at]  # type: ignore[call-overload]
    for record in without(when - 0.09, 2 * LONGEST_S).records:
        assert judge(record, Limits()) == ()
        assert {"early_look", "hand_stall", "recoil", "sway", "lift"} <= set(indeterminate(record, Limits()))
        assert doubt(record) == WHY
        sign = result_sign(record, ())
        assert (sign.word, sign.detail) == (NOT_JUDGED_WORD, WHY)


def test_nothing_is_sounded_after_a_loss() -> None:
    impact_s = without(0.0, 0.0).record.events.at("impact_s")
    run = without(impact_s - 0.05, 2 * LONGEST_S)
    assert run.records
    assert not any(run.cues)


def test_one_lost_here_and_there_costs_nothing() -> None:
    """As the page leaves them out where it is short of time for a moment."""
    seen = observations(Scene((STALL,)), FPS, EXACT)
    record = watch([one for one in seen if one.index % 5]).record
    assert doubt(record) == ""
    assert {fault.name for fault in judge(record, Limits())} >= {"early_look", "hand_stall"}


def test_lost_before_it_or_after_it_is_not_of_it() -> None:
    record = without(0.0, 0.0).record
    after = record.events.at("settle_s") + 0.5
    assert doubt(without(after, 0.3).record) == ""
    assert doubt(without(0.3, 0.3).record) == ""


@pytest.mark.parametrize("share", [0.3, 0.5, 0.8])
def test_a_stall_is_found_or_said_to_be_unsure_never_missed(share: float) -> None:
    """As a page that is short of time lets pictures through, and no stroke at all where hardly any come."""
    seen = observations(Scene((STALL,)), FPS, EXACT)
    for seed in range(4):
        come = np.random.default_rng(seed).random(len(seen)) < share
        for record in watch([one for one, comes in zip(seen, come) if comes]).records:
            found = {fault.name for fault in judge(record, Limits())}
            assert "hand_stall" in found | set(indeterminate(record, Limits()))
            assert found <= {"early_look", "hand_stall"}


@pytest.mark.parametrize("before_s", np.arange(0.06, 2 * LONGEST_S, 0.04))
def test_lost_on_both_sides_of_where_it_counts_from(before_s: float) -> None:
    takeaway_s = without(0.0, 0.0).record.events.at("takeaway_s")
    for record in without(takeaway_s - before_s, 2 * LONGEST_S).records:
        assert doubt(record) == WHY


def test_a_slow_camera_has_lost_none() -> None:
    assert not too_far_apart([(0, 0.0), (1, 0.25), (2, 0.5)])
    assert too_far_apart([(0, 0.0), (1, 0.25), (3, 0.5)])
