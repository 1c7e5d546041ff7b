"""The click places impact: only inside what the picture allows, only once its delay is known, never where two sounds compete."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.bench.impact_sound import errors
from tests.support.made_strokes import record
from trainer.domain.record import Measure, StrokeRecord
from trainer.domain.sound import Onset
from trainer.stroke.impact_sound import (
    DRIFT_S,
    LEARNED_FROM,
    NAME,
    Delay,
    ImpactSound,
    delay_of,
    expected,
    together,
)

CAMERA_S = 0.06


def with_click(made: StrokeRecord, later_s: float) -> StrokeRecord:
    return replace(made, measures={**made.measures, NAME: Measure(later_s, "s", 0.0)})


def taught(onsets: list[Onset], later_s: float = -CAMERA_S, strokes: int = LEARNED_FROM) -> ImpactSound:
    """One that has learned this delay."""
    sound = ImpactSound(lambda first, last: [o for o in onsets if first <= o.time_s <= last])
    for k in range(strokes):
        sound.learn(with_click(record(), later_s + 0.001 * (k % 2)))
    return sound


def test_a_plain_click_moves_impact_and_another_time_does_not() -> None:
    sound = taught([Onset(9.945, 20.0)])
    placed = sound.place(10.0, 0.002)
    assert placed.later.value == pytest.approx(-0.055)
    assert 10.002 < placed.impact_s < 10.005
    for at in (9.8, 9.9, 10.0, 10.1):  # music, speech, a dropped club, the ball in the hole
        placed = taught([Onset(at, 40.0)]).place(10.0, 0.002)
        assert placed.impact_s == 10.0
        assert placed.later.value is None
        assert placed.later.reason == "no click was heard at impact"


def test_two_sounds_alike_leave_impact_to_the_picture() -> None:
    alike = [Onset(9.941, 20.0), Onset(9.944, 18.0)]
    placed = taught(alike).place(10.0, 0.004)
    assert (placed.impact_s, placed.later.reason) == (10.0, "more than one sound at impact")
    plain = [Onset(9.941, 27.0), Onset(9.944, 17.0)]
    assert taught(plain).place(10.0, 0.004).later.value is not None
    apart = [Onset(9.941, 20.0), Onset(9.951, 21.0)]  # a little louder, and where the picture hardly allows it
    assert taught(apart).place(10.0, 0.004).later.value == pytest.approx(-0.059)


def test_until_five_strokes_agree_impact_stays_where_it_is() -> None:
    few = taught([Onset(9.93, 20.0)], strokes=LEARNED_FROM - 1)
    assert few.delay is None
    placed = few.place(10.0, 0.002)
    assert (placed.impact_s, placed.later.value) == (10.0, pytest.approx(-0.07))
    assert placed.later.confidence == 0.0
    rng = np.random.default_rng(1)
    assert delay_of(list(rng.uniform(-0.2, 0.1, 12))) is None  # sounds at any time are no delay


def test_the_delay_is_not_moved_by_other_sounds() -> None:
    rng = np.random.default_rng(2)
    clicks, others = rng.normal(-CAMERA_S, 0.002, 9), rng.uniform(-0.2, 0.1, 5)
    delay = delay_of([*clicks, *others])
    assert delay is not None
    assert delay.value_s == pytest.approx(-CAMERA_S, abs=0.002)


BEFORE = Delay(-CAMERA_S, 0.003, 0.003, 40)


def test_the_first_stroke_of_a_later_session_is_placed_and_five_that_contradict_are_believed() -> None:
    heard = [Onset(9.943, 20.0)]
    sound = ImpactSound(lambda first, last: [o for o in heard if first <= o.time_s <= last], BEFORE)
    placed = sound.place(10.0, 0.002)
    assert 10.000 < placed.impact_s < 10.003
    assert placed.later.confidence > 0
    heard[:] = [Onset(9.90, 20.0)]  # another mode of the camera: 100 ms late
    for _ in range(LEARNED_FROM):
        placed = sound.place(10.0, 0.002)
        assert (placed.impact_s, placed.later.confidence) == (10.0, 0.0)
        sound.learn(with_click(record(), placed.later.value or 0.0))
    delay = sound.delay
    assert delay is not None
    assert delay.value_s == pytest.approx(-0.1)
    assert sound.place(10.001, 0.002).impact_s < 10.001


def test_few_strokes_and_the_sessions_before_are_weighed_by_what_they_know() -> None:
    sound = ImpactSound(lambda first, last: [], BEFORE)
    sds = []
    for _ in range(LEARNED_FROM + 3):
        assert sound.delay is not None
        sds.append(sound.delay.sd_s)
        sound.learn(with_click(record(), -CAMERA_S - 0.002))
    assert sds == sorted(sds, reverse=True)
    assert sound.delay is not None
    assert -CAMERA_S - 0.002 <= sound.delay.value_s < -CAMERA_S - 0.001
    near = together(BEFORE, Delay(-CAMERA_S + 0.004, 0.003, 0.003, 5))
    assert (near.value_s, near.sd_s) == (pytest.approx(-CAMERA_S + 0.002), pytest.approx(0.003 / 2**0.5))
    far = Delay(-CAMERA_S - 0.02, 0.001, 0.003, 5)
    assert together(BEFORE, far) == far


def test_what_is_expected_is_as_wide_as_sessions_differed() -> None:
    def after(*values_s: float) -> Delay:
        found = expected([Delay(v, 0.0005, 0.003, 40) for v in values_s])
        assert found is not None
        return found

    assert expected([]) is None
    assert after(-0.06).sd_s > DRIFT_S
    alike, apart = after(*[-0.06] * 6), after(-0.06, -0.054, -0.06, -0.066, -0.06, -0.054)
    assert alike.sd_s < 0.0015 < apart.sd_s
    assert after(-0.06, -0.06, -0.06, -0.11).value_s == pytest.approx(-0.11)  # another mode since


def test_rehearsals_and_strokes_without_a_microphone_teach_nothing() -> None:
    sound = ImpactSound(lambda first, last: [])
    sound.learn(with_click(record(kind="rehearsal"), -0.06))
    sound.learn(record())
    assert (sound.strokes, sound.heard) == (0, 0)


@pytest.mark.slow
def test_with_the_click_thirty_frames_are_as_good_as_a_hundred_and_twenty() -> None:
    """The kept table is in ``trainer/stroke/STUDY.md``."""
    heard = errors(30.0, True, hidden=True, strokes=18, seed=9)
    alone = errors(30.0, False, hidden=True, strokes=18, seed=9)
    fast = errors(120.0, False, hidden=True, strokes=18, seed=9)
    assert heard.strokes >= 10
    assert heard.impact_ms <= fast.impact_ms
    assert heard.impact_ms < 0.8 * alone.impact_ms
    assert heard.tempo <= 1.15 * alone.tempo
