"""Sounds that are not the putter on the ball: they make no stroke, and move no impact but for what falls into its very moment."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.made_sounds import GROUNDS, RATE_HZ, Floats, click
from tests.support.made_strokes import record
from trainer.domain.record import Measure, StrokeRecord
from trainer.domain.sound import Onset
from trainer.hearing.onset import OnsetFinder
from trainer.stroke.click_delay import LEARNED_FROM
from trainer.stroke.impact_sound import NAME, ImpactSound
from trainer.stroke.tracker import Tracker
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_observations import Noise, observations

CAMERA_S, IMPACT_S, LASTS_S = 0.06, 1.2, 2.4
LEVEL = 0.02  # of the ball's click; a fan is 20 dB under it
UNHEARD = {"no click was heard at impact", "more than one sound at impact"}


def dropped_club(rng: np.random.Generator) -> Floats:
    """A thud, a shaft that rings, two bounces; 12 dB over the ball's click."""
    t = np.arange(round(0.6 * RATE_HZ)) / RATE_HZ
    out = np.zeros(len(t))
    for at, share in ((0.0, 1.0), (0.14, 0.5), (0.22, 0.3)):
        u = np.maximum(t - at, 0.0)
        ring = np.exp(-u / 0.03) * np.sin(2 * np.pi * 180 * u)
        ring += sum(0.4 * np.exp(-u / 0.12) * np.sin(2 * np.pi * hz * u) for hz in (2200.0, 3700.0, 5300.0))
        out += share * ring * (t >= at)
    return 4.0 * out


def anothers_click(rng: np.random.Generator) -> Floats:
    return 10 ** (rng.uniform(-6, 6) / 20) * click("hard ball, steel")


SUDDEN = {"a dropped club": dropped_club, "another's click": anothers_click}


def room(rng: np.random.Generator, ground: str = "fan", under_db: float = 20.0) -> Floats:
    return LEVEL * 10 ** (-under_db / 20) * GROUNDS[ground](round(LASTS_S * RATE_HZ), rng)


def put(into: Floats, sound: Floats, at_s: float) -> None:
    first = round(at_s * RATE_HZ)
    into[first : first + len(sound)] += LEVEL * sound[: len(into) - first]


def onsets_in(sound: Floats) -> list[Onset]:
    finder, size = OnsetFinder(RATE_HZ), RATE_HZ // 10
    return [o for k in range(0, len(sound), size) for o in finder.feed(sound[k : k + size], k / RATE_HZ)]


def knowing(onsets: list[Onset]) -> ImpactSound:
    """One that has learned how late the camera is."""
    sound = ImpactSound(lambda first, last: [o for o in onsets if first <= o.time_s <= last])
    for k in range(LEARNED_FROM + 5):
        later_s = -CAMERA_S + 0.003 * (-1) ** k
        sound.learn(replace(record(), measures={**record().measures, NAME: Measure(later_s, "s", 0.9)}))
    return sound


@pytest.mark.parametrize("what", SUDDEN)
@pytest.mark.parametrize("off_s", [-0.4, -0.05, 0.05, 0.3])
def test_beside_the_balls_own_click_another_changes_nothing(what: str, off_s: float) -> None:
    rng = np.random.default_rng(11)
    alone = room(rng)
    put(alone, click("soft ball, insert"), IMPACT_S)
    beside = alone.copy()
    put(beside, SUDDEN[what](rng), IMPACT_S + off_s)
    by_picture = IMPACT_S + CAMERA_S + 0.004
    one, other = (knowing(onsets_in(s)).place(by_picture, 0.003) for s in (alone, beside))
    assert one.impact_s == pytest.approx(IMPACT_S + CAMERA_S, abs=0.002)
    if other.later.value is None:  # a club that still rings hides the click
        assert (what, other.impact_s) == ("a dropped club", by_picture)
        assert other.later.reason in UNHEARD
    else:
        assert other.impact_s == pytest.approx(one.impact_s, abs=0.001)


def test_two_clicks_within_what_the_picture_allows_are_not_sure() -> None:
    """As plain as each other: nobody knows which."""
    rng = np.random.default_rng(12)
    sound = room(rng)
    put(sound, click("hard ball, steel"), IMPACT_S - 0.008)
    put(sound, click("on stone"), IMPACT_S + 0.009)
    by_picture = IMPACT_S + CAMERA_S
    placed = knowing(onsets_in(sound)).place(by_picture, 0.003)
    assert placed.impact_s == by_picture
    assert placed.later.reason == "more than one sound at impact"


@pytest.mark.parametrize("what", [*SUDDEN, "music", "speech"])
def test_where_the_ball_is_not_heard_others_seldom_move_impact_and_never_far(what: str) -> None:
    rng = np.random.default_rng(13)
    sound = room(rng, what, 0.0) if what in GROUNDS else room(rng)
    if what in SUDDEN:
        put(sound, SUDDEN[what](rng), IMPACT_S)
    knows, moved_s = knowing(onsets_in(sound)), []
    for by_picture in IMPACT_S + CAMERA_S + rng.uniform(-0.5, 0.5, 60):
        placed = knows.place(by_picture, 0.003)
        moved_s.append(abs(placed.impact_s - by_picture))
        assert placed.later.value is not None or placed.later.reason in UNHEARD
    assert np.count_nonzero(moved_s) <= 12
    assert max(moved_s) < 0.017


def record_of(scene: Scene, sound: ImpactSound | None) -> StrokeRecord | None:
    tracker, made = Tracker(sound=sound), None
    for seen in observations(scene, 30.0, Noise(), np.random.default_rng(14)):
        made = tracker.update(seen).closed or made
    return made or tracker.finish()


def test_with_a_microphone_that_hears_nothing_all_is_as_without_one() -> None:
    putt = SimStroke(2.0)
    scene = Scene((putt,), putt.finish_s + 1.0)
    alone, deaf = record_of(scene, None), record_of(scene, knowing([]))
    assert alone is not None
    assert deaf is not None
    assert alone.events == deaf.events
    assert dict(deaf.measures).pop(NAME).reason == "no click was heard at impact"
    assert {name: m for name, m in deaf.measures.items() if name != NAME} == dict(alone.measures)


def test_clicks_make_no_stroke_and_no_rehearsal_a_ball_stroke() -> None:
    """All the time, as plain as can be."""
    clicks = [Onset(0.1 * k, 40.0) for k in range(100)]
    assert record_of(Scene(lasts_s=3.0), knowing(clicks)) is None
    rehearsal = SimStroke(2.0, kind="rehearsal")
    scene = Scene((rehearsal,), rehearsal.finish_s + 1.0)
    alone, beside = record_of(scene, None), record_of(scene, knowing(clicks))
    assert alone is not None
    assert beside is not None
    assert alone.kind == beside.kind == "rehearsal"
    assert alone.events == beside.events
    assert NAME not in beside.measures
