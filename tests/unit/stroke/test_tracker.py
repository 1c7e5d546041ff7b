"""The live state machine over invented strokes: what is counted, what is not, at every rate, whatever is missing."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest

from tests.support.observations import watch
from trainer.domain.observation import Observation
from trainer.domain.phases import FOLLOWS, Phase
from trainer.testing.simulate import Scene, SimStroke, ordinary_stroke
from trainer.testing.simulate_moves import SimGlance, SimStep, SimWaggle
from trainer.testing.simulate_observations import EXACT, Noise, observations

EVENTS = ("takeaway_s", "top_s", "impact_s", "settle_s", "look_s")


# -- the table of phases -------------------------------------------------------------------------------------------------
def test_every_phase_is_reached_from_away_and_leaves() -> None:
    reached: set[Phase] = {Phase.AWAY}
    while more := {b for a in reached for b in FOLLOWS[a]} - reached:
        reached |= more
    assert reached == set(FOLLOWS)
    for phase, following in FOLLOWS.items():
        assert following, phase
        assert phase not in following
        onward, seen = set(following), {phase}
        while onward - seen:
            seen |= onward
            onward = {b for a in onward for b in FOLLOWS[a]}
        assert Phase.AWAY in seen, f"{phase} never comes back to away"


def test_the_tracker_only_takes_the_ways_of_the_table() -> None:
    taken = set()
    for seed in range(6):
        rng = np.random.default_rng(seed)
        s = ordinary_stroke(rng, 2.0)
        scene = Scene(
            (s,), s.finish_s + 3.5, waggles=(SimWaggle(0.8),), steps=(SimStep(s.finish_s + 2.5, 90.0),), seed=seed
        )
        names = [m.phase for m in watch(observations(scene, 30.0, Noise(), rng)).moments]
        taken |= {(a, b) for a, b in itertools.pairwise(names) if a != b}
    assert all(b in FOLLOWS[a] for a, b in taken)
    assert {
        (Phase.ADDRESS, Phase.BACKSTROKE),
        (Phase.BACKSTROKE, Phase.FORWARD),
        (Phase.FORWARD, Phase.FOLLOW),
        (Phase.FOLLOW, Phase.HOLD),
    } <= taken


def test_the_words_of_a_good_stroke_in_order() -> None:
    s = SimStroke(1.5, look_s=4.0)
    seen = watch(observations(Scene((s,), 6.0), noise=EXACT))
    want = [
        Phase.SETTING,
        Phase.ADDRESS,
        Phase.BACKSTROKE,
        Phase.FORWARD,
        Phase.FOLLOW,
        Phase.HOLD,
        Phase.LOOKED,
        Phase.SETTING,
    ]
    assert seen.phases[: len(want)] == want


# -- rates, dropped frames, gaps -----------------------------------------------------------------------------------------
@pytest.mark.parametrize(("fps", "gone"), [(15, 0.0), (24, 0.05), (30, 0.0), (30, 0.15), (60, 0.1), (120, 0.0)])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_events_are_found_at_every_rate(fps: int, gone: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    s = ordinary_stroke(rng)
    scene = Scene((s,), s.finish_s + 3.4, seed=seed)
    seen = watch(observations(scene, fps, replace(Noise(), gone=gone), rng))
    known = scene.known()[0]
    assert seen.record.kind == "ball"
    for name in EVENTS:
        true, found = known.events.named(name), seen.record.events.named(name)
        assert true is not None
        assert found is not None, name
        assert abs(found - true) < max(0.045, 1.2 / fps), name


def test_live_events_are_known_soon_after_they_happen() -> None:
    """Persist-to-confirm in seconds: at most this long after the event, at 15 to 120 frames a second."""
    late = {"takeaway_s": 0.05, "top_s": 0.25, "impact_s": 0.03, "settle_s": 0.28, "look_s": 0.20}
    for fps in (15, 30, 60, 120):
        s = SimStroke(1.5, back_deg=12, through_deg=14, look_s=4.2)
        scene = Scene((s,), 6.5, seed=fps)
        known = scene.known()[0].events
        told = {e: m.time_s for m in watch(observations(scene, fps, Noise(gone=0))).moments for e in m.new_events}
        for name, limit in late.items():
            true = known.named(name)
            assert true is not None
            assert -0.05 <= told[name] - true <= limit + 1.5 / fps, (name, fps)  # type: ignore[index]


def test_frames_in_any_portions_give_the_same_events() -> None:
    """Nothing but the observations and their times counts: two trackers fed in turns do not disturb each other."""
    rng = np.random.default_rng(4)
    s = ordinary_stroke(rng)
    frames = observations(Scene((s,), s.finish_s + 3.2), rng=rng)
    from trainer.stroke.tracker import Tracker

    whole, one, two = watch(frames), Tracker(), Tracker()
    moments = []
    for i in range(0, len(frames), 7):
        moments += [one.update(f) for f in frames[i : i + 7]]
        for f in frames[i : i + 7]:
            two.update(replace(f, time_s=f.time_s + 100.0))
    assert [m.events for m in moments] == [m.events for m in whole.moments]


def cut(frames: list[Observation], start_s: float, end_s: float) -> list[Observation]:
    return [f for f in frames if not start_s <= f.time_s < end_s]


def blind(frames: list[Observation], start_s: float, end_s: float) -> list[Observation]:
    return [replace(f, putter=None) if start_s <= f.time_s < end_s else f for f in frames]


def test_a_short_gap_at_impact_is_bridged() -> None:
    s = SimStroke(1.5, look_s=4.0)
    scene = Scene((s,), 6.0)
    record = watch(cut(observations(scene), s.impact_s - 0.05, s.impact_s + 0.05)).record
    assert record.events.impact_s == pytest.approx(s.impact_s, abs=0.02)


def test_a_gap_of_a_second_in_mid_stroke_gives_no_made_up_times() -> None:
    s = SimStroke(1.5, look_s=5.0)
    seen = watch(cut(observations(Scene((s,), 7.0)), s.top_s - 0.2, s.top_s + 0.9))
    for record in seen.records:
        for name in ("forward_s", "tempo_ratio"):
            assert record.measures[name].value is None or record.measures[name].confidence < 0.35


@pytest.mark.parametrize("at", range(0, 150, 6))
def test_after_a_gap_in_any_phase_the_next_stroke_is_found(at: int) -> None:
    frames = observations(Scene((SimStroke(2.0, look_s=4.0),), 6.0), 30.0, EXACT)
    moved_s = 20.0 + frames[at].time_s  # longer than anything is remembered
    again = [replace(f, index=f.index + at, time_s=f.time_s + moved_s) for f in frames]
    last = watch([*frames[:at], *again]).records[-1]
    assert last.events.impact_s == pytest.approx(moved_s + watch(frames).record.events.impact_s, abs=0.02)


def test_the_putter_out_of_sight_for_a_third_of_a_second_is_bridged_by_the_hands() -> None:
    s = SimStroke(1.5, back_deg=12, through_deg=14, look_s=4.0)
    scene = Scene((s,), 6.0)
    record = watch(blind(observations(scene), s.impact_s - 0.2, s.impact_s + 0.13)).record
    assert record.kind == "ball"
    assert record.events.impact_s == pytest.approx(s.impact_s, abs=0.05)
    confidence = record.measures["forward_s"].confidence
    assert confidence < watch(observations(scene)).record.measures["forward_s"].confidence


def test_a_putter_first_seen_in_the_backstroke_is_led_up_to_by_the_hands() -> None:
    s = SimStroke(1.5, back_deg=12, through_deg=14, look_s=4.0)
    scene = Scene((s,), 6.0)
    whole = watch(observations(scene)).record
    record = watch(blind(observations(scene), 0.0, s.top_s - 0.4)).record
    for name in ("back_cm", "through_cm"):
        assert record.measures[name].value == pytest.approx(whole.measures[name].value, abs=1.5)


def test_nobody_for_a_while_in_the_stroke_is_no_stroke() -> None:
    s = SimStroke(1.5, look_s=5.0)
    frames = [
        replace(f, body=None, putter=None, head=None) if 1.9 <= f.time_s < 3.2 else f
        for f in observations(Scene((s,), 7.0))
    ]
    assert Phase.AWAY in watch(frames).phases[1:]


# -- no putter: the hands stand in ---------------------------------------------------------------------------------------
@pytest.mark.parametrize("seed", range(4))
def test_without_a_putter_the_hands_stand_in(seed: int) -> None:
    rng = np.random.default_rng(seed)
    s = replace(ordinary_stroke(rng), back_deg=9.0, through_deg=11.0)
    s = replace(s, look_s=s.finish_s + 1.5)
    scene = Scene((s,), s.finish_s + 3.4, seed=seed)
    record = watch(observations(scene, 30.0, replace(Noise(), putter_seen=False, follow_px=0.0), rng)).record
    known = scene.known()[0]
    assert record.events.impact_s == pytest.approx(known.events.impact_s, abs=0.05)
    assert record.events.top_s == pytest.approx(known.events.top_s, abs=0.08)
    assert record.events.settle_s == pytest.approx(known.events.settle_s, abs=0.15)
    for name in ("back_cm", "through_cm", "recoil_cm", "hinge_change_deg", "putter_impact_cm_s"):
        measure = record.measures[name]
        assert measure.value is None
        assert "not seen" in measure.reason
    assert record.measures["hands_impact_cm_s"].value is not None


# -- sizes and speeds ----------------------------------------------------------------------------------------------------
STROKES = {
    "tap-in": SimStroke(1.5, back_deg=2.6, through_deg=3.4, backstroke_s=0.6, forward_s=0.33),
    "15 m lag": SimStroke(1.5, back_deg=26, through_deg=30, backstroke_s=0.85, forward_s=0.36),
    "very slow": SimStroke(1.5, back_deg=9, through_deg=11, backstroke_s=1.5, forward_s=0.85),
    "very quick": SimStroke(1.5, back_deg=7, through_deg=9, backstroke_s=0.36, forward_s=0.19),
    "long dwell": SimStroke(1.5, back_deg=8, through_deg=10, dwell_s=0.15),
}


@pytest.mark.parametrize("name", STROKES)
@pytest.mark.parametrize("seed", range(3))
def test_very_small_long_slow_and_quick_strokes(name: str, seed: int) -> None:
    s = replace(STROKES[name], look_s=STROKES[name].finish_s + 1.6)
    scene = Scene((s,), s.finish_s + 3.5, seed=seed)
    record = watch(observations(scene, 30.0, Noise(), np.random.default_rng(seed))).record
    known = scene.known()[0]
    assert record.kind == "ball"
    for event in EVENTS:
        true, found = known.events.named(event), record.events.named(event)
        assert found is not None, event
        assert true is not None
        assert abs(found - true) < (0.08 if name in ("very slow", "long dwell") else 0.05), event


def test_three_centimetres_of_wrist_travel_are_a_stroke() -> None:
    """Wrists 3 cm in all at about 7 cm/s, 0.15 s of dwell, hands fastest only after impact; with and without putter."""
    s = SimStroke(1.5, back_deg=1.5, through_deg=1.9, backstroke_s=0.5, dwell_s=0.15, forward_s=0.36, fade=2.4)
    s = replace(s, look_s=s.finish_s + 1.5)
    for seed in range(5):
        scene = Scene((s,), s.finish_s + 3.3, sway_mm=1.0, seed=seed)
        seen = watch(observations(scene, 30.0, replace(Noise(), putter_slow_px=0.2), np.random.default_rng(seed)))
        assert len(seen.records) == 1, seed
        assert seen.record.events.impact_s == pytest.approx(s.impact_s, abs=0.05)


# -- strokes in a row, rehearsals, what comes before ---------------------------------------------------------------------
def test_three_strokes_in_a_row_without_touching_anything() -> None:
    first = SimStroke(1.5, look_s=3.9, back_at_s=5.2)
    second = SimStroke(7.5, look_s=8.7, back_deg=14, through_deg=16, back_at_s=11.0)
    third = SimStroke(13.5, look_s=16.2, back_deg=8, through_deg=10)
    scene = Scene((first, second, third), 18.5, seed=3)
    seen = watch(observations(scene))
    assert [r.kind for r in seen.records] == ["ball"] * 3
    for record, known in zip(seen.records, scene.known()):
        assert record.events.impact_s == pytest.approx(known.events.impact_s, abs=0.02)
        assert record.events.settle_s == pytest.approx(known.events.settle_s, abs=0.04)


def test_rehearsals_are_told_from_ball_strokes() -> None:
    rehearsal = SimStroke(1.5, "rehearsal", back_at_s=4.0)
    again = SimStroke(6.0, "rehearsal", back_deg=12, back_at_s=8.6)
    ball = SimStroke(11.0, look_s=13.5)
    frames = observations(Scene((rehearsal, again, ball), 15.5))
    assert [r.kind for r in watch(frames).records] == ["rehearsal", "rehearsal", "ball"]


def test_a_ball_that_is_hidden_for_moments_has_not_left() -> None:
    """A rehearsal over a ball: the putter hides it now and then; it lies there afterwards."""
    s = SimStroke(1.5, "rehearsal", look_s=4.2)
    frames = observations(Scene((replace(s, kind="ball"),), 6.5))
    at = frames[5].ball
    assert at is not None
    hidden = [replace(f, ball=None if s.impact_s - 0.3 < f.time_s < s.impact_s + 0.35 else at) for f in frames]
    assert watch(hidden).record.kind == "rehearsal"


def test_a_rehearsal_beside_the_ball() -> None:
    """The ball is in view, 12 cm across from the putter."""
    s = SimStroke(1.5, look_s=None)
    frames = observations(Scene((s,), 5.0))
    ball = frames[5].ball
    assert ball is not None
    aside = replace(ball, centre=ball.centre._replace(up_px=ball.centre.up_px - 22))
    assert watch([replace(f, ball=aside) for f in frames]).record.kind == "rehearsal"


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("deg", [2.5, -2.5])
def test_a_waggle_and_a_glance_before_the_stroke_count_for_nothing(deg: float, seed: int) -> None:
    s = SimStroke(5.0, look_s=7.5)
    scene = Scene((s,), 9.5, waggles=(SimWaggle(1.0, deg),), glances=(SimGlance(2.4),), seed=seed)
    seen = watch(observations(scene, 30.0, Noise(), np.random.default_rng(seed)))
    assert seen.record.events.impact_s == pytest.approx(s.impact_s, abs=0.02)
    assert [c.name for c in seen.cues[0]] == ["hold_done"]


@pytest.mark.parametrize(("deg", "cycles", "lasts_s"), [(2.0, 3, 1.5), (-3.0, 2, 1.4), (-1.5, 1, 0.8), (3.5, 2, 0.8)])
def test_waggles_of_other_kinds_are_no_ball_strokes(deg: float, cycles: int, lasts_s: float) -> None:
    s = SimStroke(5.0, look_s=7.5)
    for seed in range(4):
        scene = Scene((s,), 9.5, waggles=(SimWaggle(1.2, deg, cycles, lasts_s),), seed=seed)
        seen = watch(observations(scene, 30.0, Noise(), np.random.default_rng(seed)))
        assert len(seen.records) == 1, (seed, seen.phases)


def test_a_step_back_and_forward_again_is_no_stroke() -> None:
    s = SimStroke(6.0, look_s=8.5)
    for along in (-25.0, -8.0, 12.0):
        scene = Scene((s,), 10.5, steps=(SimStep(1.0, along), SimStep(3.2, -along)))
        assert len(watch(observations(scene)).records) == 1


def test_walking_off_toward_the_target_is_no_stroke() -> None:
    """A dip back and then on and on: the whole figure moves with the putter."""
    scene = Scene((), 6.0, steps=(SimStep(1.5, -6.0, 0.6), SimStep(2.2, 120.0, 1.6)))
    assert watch(observations(scene)).records == []


@pytest.mark.parametrize("seed", range(6))
def test_only_standing_and_swaying_is_no_stroke(seed: int) -> None:
    assert watch(observations(Scene((), 40.0, sway_mm=12.0, seed=seed))).records == []


# -- ends ----------------------------------------------------------------------------------------------------------------
def test_a_clip_that_ends_in_the_hold_gives_its_stroke() -> None:
    s = SimStroke(1.5)
    record = watch(observations(Scene((s,), s.finish_s + 0.6))).record
    assert record.events.settle_s is not None
    assert record.events.look_s is None
    assert record.measures["hold_s"].value is None


def test_a_clip_that_ends_in_the_follow_through_gives_what_was_seen() -> None:
    s = SimStroke(1.5)
    record = watch(observations(Scene((s,), s.impact_s + 0.12))).record
    assert record.events.impact_s == pytest.approx(s.impact_s, abs=0.03)
    assert record.events.settle_s is None


@pytest.mark.parametrize("end", ["in the backstroke", "at the top", "in the forward stroke"])
def test_a_clip_that_ends_before_impact_gives_none(end: str) -> None:
    s = SimStroke(1.5)
    at = {"in the backstroke": s.start_s + 0.4, "at the top": s.top_s, "in the forward stroke": s.impact_s - 0.05}[end]
    assert watch(observations(Scene((s,), at))).records == []


def test_a_player_who_never_settles() -> None:
    s = SimStroke(1.5, shake_deg=1.0, look_s=3.6)
    record = watch(observations(Scene((s,), 9.0))).record
    assert record.events.settle_s is None
    assert record.measures["hold_s"].reason
    assert record.events.look_s is not None


def test_a_very_long_hold_is_not_lost() -> None:
    s = SimStroke(1.5)
    seen = watch(observations(Scene((s,), 16.0)))
    assert len(seen.records) == 1
    assert seen.cues[0] == []  # praise follows the look


def test_reset_forgets_the_player() -> None:
    from trainer.stroke.tracker import Tracker

    tracker = Tracker()
    frames = observations(Scene((SimStroke(1.5),), 5.0))
    for f in frames[:90]:
        tracker.update(f)
    tracker.reset()
    assert tracker.phase == Phase.AWAY
    assert tracker.finish() is None
    assert len(watch(frames, tracker=tracker).records) == 1


def test_a_putter_held_out_after_a_stroke_is_no_address() -> None:
    s = SimStroke(1.5)
    s = replace(s, look_s=s.finish_s + 1.3)
    seen = watch(observations(Scene((s,), 9.0), noise=EXACT))
    assert len(seen.records) == 1
    assert Phase.ADDRESS not in {m.phase for m in seen.moments if m.time_s > s.finish_s}


@pytest.mark.parametrize("through_deg", [0.9, 1.1])
def test_after_the_smallest_stroke_the_ball_is_addressed_anew_close_to_where_the_putter_was_held_out(
    through_deg: float,
) -> None:
    first = SimStroke(1.5, back_deg=2.6, through_deg=through_deg, backstroke_s=0.6, forward_s=0.33)
    first = replace(first, back_at_s=first.finish_s + 1.0)
    second = SimStroke(first.finish_s + 3.2)
    second = replace(second, look_s=second.finish_s + 1.5)
    seen = watch(observations(Scene((first, second), 10.5), 30.0, Noise(), np.random.default_rng(2)))
    assert len(seen.records) == 2
