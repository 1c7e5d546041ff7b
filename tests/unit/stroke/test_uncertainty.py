"""Confidence says how far a measure may be off: it falls with noise, gaps, few frames, a coarse scale; and it is borne out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.observations import watch
from trainer.domain.measures import MEASURES, confident_value
from trainer.domain.observation import Observation
from trainer.domain.record import Measure, StrokeRecord, doubt
from trainer.stroke.late_frames import in_time, lateness_s
from trainer.stroke.record_builder import NO_BACKSTROKE
from trainer.stroke.uncertainty import jump_cm, sure
from trainer.testing.simulate import Scene, SimStroke, ordinary_stroke
from trainer.testing.simulate_observations import Noise, observations

STROKE = SimStroke(1.5, look_s=4.2)


def frames(fps: float = 30.0, noise: Noise | None = None, stroke: SimStroke = STROKE) -> list[Observation]:
    scene = Scene((stroke,), 6.2, seed=3)
    return observations(scene, fps, noise or Noise(gone=0.0, misses=0.0), np.random.default_rng(3))


def confidence(name: str, seen: list[Observation]) -> float:
    return watch(seen).record.measures[name].confidence


def hidden(seen: list[Observation], first_s: float, last_s: float) -> list[Observation]:
    return [replace(f, putter=None) if first_s <= f.time_s < last_s else f for f in seen]


def test_frames_that_come_late_are_told_from_frames_that_are_lost() -> None:
    even, numbers = np.arange(60) / 30, np.arange(60)
    late = even.copy()
    late[20:24] = even[20] + 0.12 + 0.004 * np.arange(4)  # one is late, those behind it come in a bunch
    assert lateness_s(even, numbers) == 0.0
    assert lateness_s(late, numbers) > 0.015
    assert in_time(even, numbers) is even
    assert np.abs(in_time(late, numbers) - even).max() < 0.002
    lost = np.delete(even, [7, 8, 21, 40])
    assert in_time(lost, np.arange(lost.size)) is lost
    half = np.sort(np.random.default_rng(5).permutation(60)[:33])  # the usual step is of two beats, some are of one
    assert np.abs(in_time(even[half], np.arange(33)) - even[half]).max() == 0.0
    assert np.abs(in_time(late[half], half) - even[half]).max() < 0.002


def test_jittering_stamps_stay_in_order_and_come_no_further_off() -> None:
    numbers = np.arange(200)
    even, apart = numbers / 30, 0.001 * numbers
    jitter = np.maximum.accumulate(even + np.random.default_rng(3).normal(0.0, 0.015, even.size) - apart) + apart
    better = in_time(jitter, numbers)
    assert (np.diff(better) > 0).all()
    assert np.std(better - even) < 0.5 * np.std(jitter - even)
    assert abs(float(np.mean(better - even))) < 0.004  # nor all of them sooner
    assert np.abs(in_time(better, numbers) - better).max() == 0.0


def test_of_few_frames_a_second_no_rest_is_told() -> None:
    assert confidence("hold_s", frames(15.0)) > 0.6
    assert confidence("hold_s", frames(10.0)) < 0.35


@pytest.mark.parametrize(
    ("after_rest_s", "seen", "believed"), [(0.0, 0.55, False), (0.0, 0.9, True), (1.2, 0.55, True)]
)
def test_a_look_about_rest_that_is_seen_the_other_way_round_is_not_believed(
    after_rest_s: float, seen: float, believed: bool
) -> None:
    rest_s = watch(frames()).record.events.settle_s
    assert rest_s is not None
    look_s = rest_s + after_rest_s
    turned = [
        replace(f, head=replace(f.head, turn_deg=-f.head.turn_deg, confidence=seen))
        if f.head and f.time_s > look_s
        else f
        for f in frames(stroke=replace(STROKE, look_s=look_s))
    ]
    assert (confidence("head_turn_deg", turned) > 0.5) == believed


def test_few_frames_cost_the_tempo() -> None:
    assert confidence("tempo_ratio", frames(60.0)) > confidence("tempo_ratio", frames(15.0)) + 0.05


def test_of_a_small_slow_stroke_the_tempo_is_less_sure() -> None:
    small = SimStroke(1.5, back_deg=3.5, through_deg=5.0, backstroke_s=1.0, forward_s=0.52, look_s=4.4)
    assert confidence("tempo_ratio", frames(60.0)) > confidence("tempo_ratio", frames(60.0, stroke=small)) + 0.03


@pytest.mark.parametrize("name", ["tempo_ratio", "recoil_cm", "back_cm", "hold_s", "look_from_impact_s"])
def test_noise_costs(name: str) -> None:
    calm, shaky = frames(), frames(noise=Noise(gone=0.0, misses=0.0).times(4.0))
    assert confidence(name, calm) > confidence(name, shaky)


def test_a_gap_costs_times_and_angle() -> None:
    seen = frames()
    gap = hidden(seen, STROKE.impact_s - 0.12, STROKE.impact_s + 0.12)
    for name in ("tempo_ratio", "hinge_change_deg"):
        assert confidence(name, seen) > confidence(name, gap) + 0.1, name


def test_a_putter_first_seen_on_its_way_back_tells_no_length_nor_tempo() -> None:
    """Its address place is only the hands', and how far it went from there."""
    seen = frames()
    late = hidden(seen, 0.0, STROKE.start_s + 0.45)
    for name in ("back_cm", "tempo_ratio"):
        assert confidence(name, seen) > 0.6
        assert confidence(name, late) < 0.35, name


def test_a_jump_that_no_putter_makes_leaves_the_stroke_not_sure() -> None:
    seen = frames()
    aside = [
        replace(f, putter=replace(f.putter, head=f.putter.head._replace(along_px=f.putter.head.along_px - 25.0)))
        if f.putter is not None and STROKE.start_s + 0.5 <= f.time_s < STROKE.start_s + 0.7
        else f
        for f in seen
    ]
    assert doubt(watch(seen).record) == ""
    assert doubt(watch(aside).record) == NO_BACKSTROKE


@pytest.mark.parametrize("fps", [15.0, 30.0, 60.0, 120.0])
def test_no_swing_jumps_nor_does_one_that_hits_a_ball(fps: float) -> None:
    """The longest: 60 cm back and 3.5 m/s, which the ball takes a fifth of."""
    t = np.arange(-0.9, 0.5, 1 / fps)
    back = -60.0 * np.cos(np.pi / 2 * np.clip(t + 0.27, 0.0, 0.27) / 0.27)
    place = np.where(t < 0, back, 280.0 * t * np.exp(-3 * t))
    noise = np.random.default_rng(4).normal(0.0, 0.2, t.size)
    assert jump_cm(t, place + noise, 0.2, 0.0) == 0.0
    found = np.where((t > -0.6) & (t < -0.4), place - 15.0, place)
    assert jump_cm(t, found + noise, 0.2, 0.0) > (10.0 if fps > 20 else -1.0)


def test_a_putter_whose_length_was_never_seen_tells_no_lengths() -> None:
    faint = [replace(f, putter=replace(f.putter, confidence=0.45)) if f.putter is not None else f for f in frames()]
    for name in ("back_cm", "through_cm", "recoil_cm"):
        assert confidence(name, faint) < 0.35, name
    assert confidence("tempo_ratio", faint) > 0.35


def test_hands_alone_tell_no_tempo() -> None:
    alone = watch([replace(f, putter=None) for f in frames()]).record
    assert confident_value(alone.measures["tempo_ratio"]) is None
    assert confident_value(watch(frames()).record.measures["tempo_ratio"]) is not None


def test_a_bare_shaft_and_a_long_swing_cost_the_angle() -> None:
    seen = frames()
    bare = [replace(f, putter=replace(f.putter, source="shaft")) if f.putter else f for f in seen]
    long = frames(stroke=replace(STROKE, back_deg=24.0, through_deg=28.0))
    plain = confidence("hinge_change_deg", seen)
    assert plain > confidence("hinge_change_deg", bare)
    assert plain > confidence("hinge_change_deg", long)


def test_a_ball_of_few_pixels_is_a_coarse_ruler() -> None:
    seen = frames()
    small = [replace(f, ball=replace(f.ball, diameter_px=4.0)) if f.ball else f for f in seen]
    assert confidence("back_cm", seen) > confidence("back_cm", small) + 0.1


@pytest.mark.parametrize("name", [n for n, spec in MEASURES.items() if spec.tolerance is not None])
def test_a_deviation_as_large_as_the_tolerance_halves_the_confidence_and_changes_no_value(name: str) -> None:
    before = {name: Measure(0.5, "1", 0.9)}
    wanted = MEASURES[name].wanted(0.5)
    after = sure(before, {name: wanted})[name]
    assert after.confidence == pytest.approx(0.45)
    assert after.value == 0.5


def test_a_plain_fault_stays_plain() -> None:
    """However large a fault is, its confidence does not fall below the floor of judging for its size."""
    stall = replace(STROKE, stall_deg=28.0, stop_s=0.12)
    assert confidence("hinge_change_deg", frames(stroke=stall)) > 0.6
    assert confidence("lift_cm", frames(stroke=replace(STROKE, lift_cm=6.0))) > 0.4


def _tempo_errors(records: list[tuple[SimStroke, StrokeRecord]]) -> list[tuple[float, float]]:
    out = []
    for s, r in records:
        m = r.measures["tempo_ratio"]
        if m.value is not None:
            out.append((m.confidence, abs(m.value - (s.top_s - s.start_s) / (s.impact_s - s.top_s))))
    return out


@pytest.mark.slow
def test_tempo_is_as_sure_as_it_says() -> None:
    """Strokes at 15 to 60 frames a second: the sure ones err by half as much as the others, at most."""
    records = []
    for number in range(45):
        rng = np.random.default_rng([number, 31])
        s = ordinary_stroke(rng)
        scene = Scene((s,), (s.look_s or 0) + 1.0, seed=number)
        seen = watch(observations(scene, (15.0, 30.0, 60.0)[number % 3], Noise(), rng))
        records += [(s, r) for r in seen.records]
    errors = _tempo_errors(records)
    high, rest = [e for c, e in errors if c > 0.8], [e for c, e in errors if c <= 0.8]
    assert len(high) >= 5
    assert len(rest) >= 8
    assert np.sqrt(np.mean(np.square(high))) <= 0.5 * np.sqrt(np.mean(np.square(rest)))
