"""Praise names what is better, with its number, and hardly ever where nothing has changed."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import numpy as np

from trainer.coaching.progress.facts import StrokeFacts
from trainer.coaching.progress.praise import praise_of

START = datetime(2026, 3, 2, 9, tzinfo=timezone.utc)


def session(
    day: int,
    rng: np.random.Generator,
    strokes: int = 20,
    hold_s: float = 0.8,
    hinge_deg: float = 9.0,
    told: bool = True,
) -> list[StrokeFacts]:
    """Strokes of one day with a player's own spread."""
    out = []
    for i in range(strokes):
        measures = {
            "hold_s": float(rng.normal(hold_s, 0.25)),
            "hinge_change_deg": float(rng.normal(hinge_deg, 2.5)),
            "recoil_cm": abs(float(rng.normal(1.0, 0.5))),
            "sway_cm": float(rng.normal(0.5, 1.0)),
            "lift_cm": float(rng.normal(0.8, 0.5)),
        }
        at = START + timedelta(days=day, minutes=i)
        uid = f"{day:02d}{i:02d}"
        out.append(StrokeFacts(day * 100 + i, uid, f"s{day}", at, "ball", told, None, None, measures, ()))
    return out


def test_a_real_change_is_praised_with_its_number() -> None:
    rng = np.random.default_rng(1)
    found = praise_of(session(0, rng) + session(1, rng) + session(2, rng, hold_s=1.5))
    assert [praise.measure for praise in found] == ["look_after_s"]
    words = found[0].words
    assert words.startswith("Better: you look later")
    was, now = found[0].comparison.first.typical, found[0].comparison.second.typical
    assert abs(was - 0.8) < 0.15
    assert abs(now - 1.5) < 0.2
    assert f"{now:.2f} s, was {was:.2f} s" in words
    assert "20 strokes against 40, with and without feedback" in words


def test_what_got_worse_is_not_praised() -> None:
    rng = np.random.default_rng(2)
    assert praise_of(session(0, rng) + session(1, rng, hold_s=0.2, hinge_deg=16.0)) == ()


def test_strokes_without_feedback_are_compared_with_their_like() -> None:
    rng = np.random.default_rng(3)
    before = session(0, rng) + session(0, rng, told=False)
    # Only with feedback it is better: that is help, not learning.
    helped = session(1, rng, hold_s=1.6) + session(1, rng, 10, told=False)
    assert [praise.measure for praise in praise_of(before + helped)] == []
    learned = session(1, rng) + session(1, rng, 10, hold_s=1.6, told=False)
    found = praise_of(before + learned)
    assert [praise.measure for praise in found] == ["look_after_s"]
    assert found[0].silent


def test_praise_without_a_change_is_rare_and_a_large_change_is_hardly_ever_missed() -> None:
    rng = np.random.default_rng(4)
    runs = 400
    false = sum(bool(praise_of(session(0, rng) + session(1, rng) + session(2, rng))) for _ in range(runs))
    right = sum(
        "look_after_s" in {praise.measure for praise in praise_of(session(0, rng) + session(1, rng, hold_s=1.2))}
        for _ in range(runs)
    )
    assert false / runs < 0.05
    assert right / runs > 0.8


def test_few_strokes_give_none() -> None:
    rng = np.random.default_rng(5)
    assert praise_of([]) == ()
    assert praise_of(session(0, rng) + session(1, rng, 7, hold_s=3.0)) == ()
