"""The click places impact: only inside what the picture allows, only once its delay is known, never where two sounds compete."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.bench.impact_sound import errors
from tests.support.made_strokes import record
from trainer.domain.record import Measure, StrokeRecord
from trainer.domain.sound import Onset
from trainer.stroke.click_delay import DRIFT_S, LEARNED_FROM, Delay, Sound, expected, learned, together
from trainer.stroke.impact_sound import NAME, ImpactSound

CAMERA_S = 0.06


def with_later(made: StrokeRecord, later: Measure) -> StrokeRecord:
    return replace(made, measures={**made.measures, NAME: later})


def with_click(made: StrokeRecord, later_s: float) -> StrokeRecord:
    return with_later(made, Measure(later_s, "s", 0.0))


def taught(onsets: list[Onset], later_s: float = -CAMERA_S, strokes: int = LEARNED_FROM) -> ImpactSound:
    """One that has learned this delay."""
    sound = ImpactSound(lambda first, last: [o for o in onsets if first <= o.time_s <= last])
    for k in range(strokes):
        sound.learn(with_click(record(), later_s + 0.001 * (k % 2)))
    return sound


def test_a_plain_click_moves_impact_and_another_time_does_not() -> None:
    sound = taught([Onset(9.945, 20.0)])
    placed = sound.place(10.0, 0.0036)
    assert placed.later.value == pytest.approx(-0.055)
    assert 10.002 < placed.impact_s < 10.005
    for at in (9.8, 9.9, 10.0, 10.1):  # music, speech, a dropped club, the ball in the hole
        placed = taught([Onset(at, 40.0)]).place(10.0, 0.0036)
        assert placed.impact_s == 10.0
        assert placed.later.value is None
        assert placed.later.reason == "no click was heard at impact"


def test_two_sounds_alike_leave_impact_to_the_picture() -> None:
    alike = [Onset(9.941, 20.0), Onset(9.944, 18.0)]
    placed = taught(alike).place(10.0, 0.005)
    assert (placed.impact_s, placed.later.reason) == (10.0, "more than one sound at impact")
    plain = [Onset(9.941, 27.0), Onset(9.944, 17.0)]
    assert taught(plain).place(10.0, 0.005).later.value is not None
    apart = [Onset(9.941, 20.0), Onset(9.951, 21.0)]  # a little louder, and where the picture hardly allows it
    assert taught(apart).place(10.0, 0.005).later.value == pytest.approx(-0.059)


def test_until_three_strokes_agree_impact_stays_where_it_is() -> None:
    few = taught([Onset(9.93, 20.0)], strokes=LEARNED_FROM - 1)
    assert few.delay is None
    placed = few.place(10.0, 0.0036)
    assert (placed.impact_s, placed.later.value) == (10.0, pytest.approx(-0.07))
    assert placed.later.confidence == 0.0
    rng = np.random.default_rng(1)
    for count in (3, 5, 12, 30):  # sounds at any time, of any loudness, are no delay
        assert sum(learned(others(rng, count, 1.0)) is not None for _ in range(40)) <= 2, count


def others(rng: np.random.Generator, strokes: int, a_stroke: float) -> list[list[Sound]]:
    """Sounds that are not the ball's."""
    return [
        [
            Sound(rng.uniform(-0.2, 0.1), rng.uniform(8, 30), tuple(rng.uniform(-70, -30, 3)))
            for _ in range(rng.poisson(a_stroke))
        ]
        for _ in range(strokes)
    ]


def test_the_delay_and_the_kind_of_click_are_learned_beside_other_sounds() -> None:
    """Two to a stroke, as plain as the ball's; in one stroke of five the ball is not heard."""
    rng = np.random.default_rng(2)
    heard = others(rng, 20, 2.0)
    for k, sounds in enumerate(heard):
        if k % 5:
            levels = tuple(np.array([-40.0, -48.0, -60.0]) + rng.normal(0, 3.0, 3))
            sounds.append(Sound(-CAMERA_S + rng.normal(0, 0.002), 18.0, levels))
    found = learned(heard)
    assert found is not None
    assert found.delay.value_s == pytest.approx(-CAMERA_S, abs=0.0015)
    assert 0.0015 < found.delay.spread_s < 0.0035
    assert 14 <= found.delay.strokes <= 18
    assert found.kind is not None
    gain_db = found.kind.gain_db(np.array([(-40, -48, -60), (-50, -58, -70), (-60, -48, -40)], float))
    assert gain_db[0] > 5
    assert gain_db[1] > -10  # a shorter putt
    assert gain_db[2] < -15


def test_of_two_sounds_the_one_that_is_like_the_clicks_before_is_the_balls() -> None:
    heard = [Onset(9.94, 20.0, (-40.0, -48.0, -60.0))]
    sound = ImpactSound(lambda first, last: [o for o in heard if first <= o.time_s <= last])
    for _ in range(8):
        sound.learn(with_later(record(), sound.place(10.0, 0.0036).later))
    heard.append(Onset(9.944, 29.0, (-55.0, -37.0, -40.0)))  # louder, and as near
    assert sound.place(10.002, 0.0036).later.value == pytest.approx(-0.062)
    del heard[0]
    assert sound.place(10.0, 0.0036).later.reason == "no click was heard at impact"


BEFORE = Delay(-CAMERA_S, 0.003, 0.003, 40)


def test_the_first_stroke_of_a_later_session_is_placed_and_three_that_contradict_are_believed() -> None:
    heard = [Onset(9.943, 20.0)]
    sound = ImpactSound(lambda first, last: [o for o in heard if first <= o.time_s <= last], BEFORE)
    placed = sound.place(10.0, 0.0036)
    assert 10.000 < placed.impact_s < 10.003
    assert placed.later.confidence > 0
    heard[:] = [Onset(9.90, 20.0)]  # another mode of the camera: 100 ms late
    for _ in range(LEARNED_FROM):
        placed = sound.place(10.0, 0.0036)
        assert (placed.impact_s, placed.later.value) == (10.0, None)
        sound.learn(with_later(record(), placed.later))
    delay = sound.delay
    assert delay is not None
    assert delay.value_s == pytest.approx(-0.1)
    assert sound.place(10.001, 0.0036).impact_s < 10.001


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
    fast = errors(120.0, False, hidden=True, strokes=14, seed=9)
    assert min(heard.strokes, alone.strokes, fast.strokes) >= 8
    assert heard.impact_ms <= fast.impact_ms
    assert heard.impact_ms < 0.8 * alone.impact_ms
    assert heard.tempo <= 1.05 * alone.tempo
