"""What players do between strokes gives no stroke, and the smallest real strokes still count, with and without a ball seen."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.observations import watch
from tests.support.practice_stage import QUIET, joined, stroke
from trainer.coaching.live_judge import LiveJudge
from trainer.settings.limits import Limits
from trainer.stroke.tracker import Tracker
from trainer.testing.simulate import Scene, SimStroke, ordinary_stroke
from trainer.testing.simulate_idle import DOINGS, Idle, idle, idle_observations
from trainer.testing.simulate_observations import Noise, observations


def counted(scene: Idle, fps: float = 30.0, noise: Noise | None = None) -> list[str]:
    """What was going on at each stroke that was counted and each cue that was told."""
    tracker, live, out = Tracker(), LiveJudge(Limits()), []
    for observation in idle_observations(scene, fps, noise or Noise(), np.random.default_rng(scene.seed)):
        moment = tracker.update(observation)
        cue = live.update(moment)
        if moment.closed is not None or cue is not None:
            out.append(f"{cue.name if cue else 'stroke'}: {scene.doing_at(moment.time_s)} at {moment.time_s:.1f} s")
    return out


@pytest.mark.parametrize("doing", DOINGS)
def test_nothing_of_it_is_a_stroke(doing: str) -> None:
    assert counted(idle(60.0, 11, (doing,))) == []


@pytest.mark.parametrize("fps", [15, 24, 60])
def test_nor_at_other_rates(fps: int) -> None:
    assert counted(idle(60.0, fps), fps) == []


def test_nor_where_the_hands_stand_in_for_the_putter() -> None:
    assert counted(idle(120.0, 5), 30.0, Noise(putter_seen=False)) == []


def test_who_sets_off_while_the_hands_swing_hears_nothing() -> None:
    """Hands that stand in come forward as in a stroke, the head turns, and the hips have moved by 5 cm so far."""
    scene = idle(113.0, 365456202)
    walk = [o for o in idle_observations(scene, 30.0, QUIET, np.random.default_rng(1)) if 89 < o.time_s < 101.5]
    tracker, live = Tracker(), LiveJudge(Limits())
    moments = [(moment, live.update(moment)) for moment in map(tracker.update, walk)]
    assert [m.uncounted for m, _ in moments if m.uncounted] == ["the whole player moved along with it"]
    assert [cue for _, cue in moments if cue is not None] == []


def test_the_next_stroke_counts_where_something_that_was_none_came_to_rest() -> None:
    """A walk of hands that stand in ends, as a stroke would, where the putter is then put down."""
    walk = idle_observations(idle(11.0, 9, ("walking",)), 30.0, QUIET, np.random.default_rng(9))
    assert len(watch(joined(walk, stroke(0.8))).records) == 1


def test_the_next_stroke_counts_where_a_slow_swing_that_was_none_came_to_rest_before_the_ball() -> None:
    """Somebody who talked over the ball takes the putter back slowly and puts it down there; two seconds on he putts."""
    talk = idle_observations(idle(113.0, 787461625), 30.0, QUIET, np.random.default_rng(1))
    last = [o for o in talk if o.time_s > 108]
    assert len(watch(joined(last, stroke(0.8))).records) == 1


@pytest.mark.slow
def test_half_an_hour_of_it_gives_no_stroke() -> None:
    found = {seed: f for seed in range(1000, 1015) if (f := counted(idle(120.0, seed)))}
    assert found == {}


def unseen_ball(stroke: SimStroke, seed: int, noise: Noise | None = None) -> int:
    """Strokes counted of one whose ball vision never saw."""
    stroke = replace(stroke, look_s=stroke.finish_s + 1.5)
    scene = Scene((stroke,), stroke.finish_s + 3.3, sway_mm=1.0, seed=seed)
    frames = [replace(f, ball=None) for f in observations(scene, 30.0, noise or Noise(), np.random.default_rng(seed))]
    return len(watch(frames).records)


@pytest.mark.parametrize("seed", range(6))
def test_a_tap_in_without_a_ball_in_sight_counts(seed: int) -> None:
    assert unseen_ball(SimStroke(1.5, back_deg=2.6, through_deg=3.4, backstroke_s=0.6, forward_s=0.33), seed) == 1


@pytest.mark.parametrize("seed", range(6))
def test_three_centimetres_of_wrist_travel_without_a_ball_in_sight_count(seed: int) -> None:
    smallest = SimStroke(1.5, back_deg=1.5, through_deg=1.9, backstroke_s=0.5, dwell_s=0.15, forward_s=0.36, fade=2.4)
    assert unseen_ball(smallest, seed, replace(Noise(), putter_slow_px=0.2)) == 1


@pytest.mark.parametrize("seed", range(12))
def test_ordinary_strokes_without_a_ball_in_sight_count(seed: int) -> None:
    assert unseen_ball(ordinary_stroke(np.random.default_rng(seed)), seed) == 1


def test_a_tap_in_is_over_once_the_putter_is_back_and_the_next_one_counts() -> None:
    """The putter comes back by less than would be off its rest, and is taken back again within the longest hold."""
    first = SimStroke(1.5, back_deg=2.6, through_deg=2.1, backstroke_s=0.6, forward_s=0.33)
    first = replace(first, back_at_s=first.finish_s + 1.0)
    second = SimStroke(first.finish_s + 3.2)
    second = replace(second, look_s=second.finish_s + 1.5)
    seen = watch(observations(Scene((first, second), 10.5), 30.0, Noise(), np.random.default_rng(2)))
    assert [r.events.takeaway_s for r in seen.records] == pytest.approx([1.6, second.start_s + 0.1], abs=0.15)


@pytest.mark.parametrize("after_s", [-0.4, -0.35])
def test_an_early_look_at_a_tap_in_is_told(after_s: float) -> None:
    """A slow putter with a ball before it: as soon as the ball has gone, it is plain that this was a stroke."""
    tap_in = SimStroke(1.5, back_deg=3.0, through_deg=4.0, backstroke_s=0.6, forward_s=0.33)
    tap_in = replace(tap_in, look_s=tap_in.finish_s + after_s)
    seen = watch(observations(Scene((tap_in,), 5.0), 30.0, Noise(), np.random.default_rng(2)))
    assert [c.name for c in seen.cues[0]] == ["early_look"]
    assert seen.cues[0][0].at_s < (tap_in.look_s or 0) + 0.3


def test_the_putter_out_of_sight_as_a_slow_backstroke_begins_is_no_new_address() -> None:
    """The hands have hardly moved by then."""
    stroke = SimStroke(1.5, back_deg=8.7, through_deg=14.7, backstroke_s=0.78, forward_s=0.4, look_s=5.0)
    frames = observations(Scene((stroke,), 7.0))
    for first in range(48, 54):
        seen = [replace(f, putter=None) if f.index in (first, first + 1) else f for f in frames]
        assert len(watch(seen).records) == 1, first
