"""The player's own tempo and pace: what a hurried stroke is, and whom a sound in mid-stroke is kept from."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from typing import Sequence

import numpy as np
import pytest

from trainer.coaching.drill_words import description
from trainer.coaching.drills import Run, judged
from trainer.coaching.own_rhythm import FEWEST, OwnRhythm, at_own_rhythm, own_rhythm
from trainer.coaching.progress.facts import StrokeFacts
from trainer.coaching.verdict import Verdict
from trainer.domain.record import Measure
from trainer.feedback.make_sounds import RATE_HZ
from trainer.feedback.rhythm import RAMP_S, rhythm_sound, turns_s
from trainer.resources import data_path
from trainer.settings.drill_file import Drill, load_drill

DRILL = load_drill("unhurried-backstroke", [data_path("config", "drills")])
BEGUN = datetime(2026, 3, 2, 17, 0, tzinfo=timezone.utc)


def made(times: Sequence[tuple[float, float]], kind: str = "ball", drill: str | None = None) -> list[StrokeFacts]:
    """times: backstroke and forward (s) of each stroke."""
    return [
        StrokeFacts(
            k, f"u{k}", "s", BEGUN + timedelta(seconds=20 * k), kind, None, drill, None,
            {"backstroke_s": back, "tempo_ratio": back / forward}, (),
        )
        for k, (back, forward) in enumerate(times)
    ]  # fmt: skip


def player(
    back_s: float, forward_s: float, spread: float = 0.05, count: int = 200, seed: int = 1
) -> list[tuple[float, float]]:
    rng = np.random.default_rng(seed)
    return [(back_s * b, forward_s * f) for b, f in rng.normal(1, spread, (count, 2))]


def good(drill: Drill, times: Sequence[tuple[float, float]]) -> float:
    """Share of strokes that the drill calls good."""
    marks = [
        judged(
            Run(drill),
            {"backstroke_s": Measure(b, "s", 0.9), "tempo_ratio": Measure(b / f, "1", 0.9)},
            Verdict(),
            None,
        ).good
        for b, f in times
    ]
    return sum(bool(mark) for mark in marks) / len(marks)


def test_a_stroke_hurried_back_and_through_is_no_good_one_though_its_ratio_is() -> None:
    usual = player(0.72, 0.33)
    hurried = player(0.45, 0.21, 0.04)
    fitted = at_own_rhythm(DRILL, own_rhythm(made(usual)))
    assert good(DRILL, hurried) > 0.9  # by the ratio alone
    assert good(fitted, hurried) < 0.02
    assert good(fitted, usual) > 0.75  # his ordinary strokes: one standard deviation quicker is what is asked


def test_an_own_tempo_outside_the_trades_range_is_no_fault() -> None:
    """Nobody's way is more accurate: who goes back three times as long as forward keeps to that."""
    usual = player(0.93, 0.31)
    fitted = at_own_rhythm(DRILL, own_rhythm(made(usual)))
    assert good(DRILL, usual) < 0.1
    assert good(fitted, usual) > 0.7


def test_a_habit_of_hurrying_back_is_no_baseline() -> None:
    """Under the drill's own ratio the backstroke is what that asks for at the player's own pace forward."""
    fitted = at_own_rhythm(DRILL, own_rhythm(made(player(0.40, 0.33))))
    assert fitted.rhythm.ratio == pytest.approx(1.6)
    assert fitted.rhythm.backstroke_s == pytest.approx(1.6 * 0.33, abs=0.02)
    assert fitted.rhythm.until == "ball"
    assert good(fitted, player(0.40, 0.33, seed=2)) < 0.05


def test_too_few_strokes_rehearsals_and_the_drills_own_make_no_rhythm() -> None:
    times = player(0.7, 0.33, count=FEWEST)
    assert own_rhythm(made(times[:-1])) is None
    assert own_rhythm(made(times, kind="rehearsal")) is None
    assert own_rhythm(made(times, drill=DRILL.drill_id), DRILL.drill_id) is None
    assert at_own_rhythm(DRILL, None) is DRILL
    own = own_rhythm(made(times), DRILL.drill_id)
    assert own is not None
    assert own.strokes == FEWEST
    plain = DRILL.model_copy(update={"rhythm": DRILL.rhythm.model_copy(update={"own": False})})
    assert at_own_rhythm(plain, own) is plain


def test_who_has_a_rhythm_hears_nothing_between_top_and_ball() -> None:
    steady, loose = OwnRhythm(2.1, 0.68, 0.02, 40), OwnRhythm(2.1, 0.68, 0.08, 40)
    assert at_own_rhythm(DRILL, loose).rhythm.until == "ball"
    fitted = at_own_rhythm(DRILL, steady)
    assert fitted.rhythm.until == "top"
    assert any("no sound from the top on" in line for line in description(fitted))
    _, top, ball = turns_s(2.1, 0.68)
    whole, back = rhythm_sound(2.1, 0.68), rhythm_sound(2.1, 0.68, to_top=True)
    assert len(whole) == pytest.approx((ball + RAMP_S) * RATE_HZ, abs=2)
    assert len(back) == pytest.approx(top * RATE_HZ, abs=2)
    assert abs(back[-1]) < 1e-3  # it has died away: no click at the top
    assert np.abs(whole[round(top * RATE_HZ) : round(ball * RATE_HZ)]).max() > 0.3


def test_goals_and_tone_stay_within_what_a_drill_file_may_say() -> None:
    for ratio, back in ((5.0, 2.9), (0.6, 0.15), (2.0, 0.7)):
        fitted = at_own_rhythm(DRILL, OwnRhythm(ratio, back, 0.05, 40))
        assert 1.0 <= fitted.rhythm.ratio <= 4.0
        assert 0.3 <= fitted.rhythm.backstroke_s <= 2.0
        assert {name for name, _ in fitted.goals.given()} == {"tempo_ratio", "backstroke_s"}
