"""Does the habit pay: by distance, with intervals, and no more claimed than they allow."""

from __future__ import annotations

from datetime import datetime, timezone

from trainer.coaching.outcome import pays
from trainer.coaching.progress.facts import StrokeFacts
from trainer.domain.outcome import PuttOutcome, Where

AT = datetime(2026, 3, 2, 9, tzinfo=timezone.utc)
Putts = list[tuple[StrokeFacts, PuttOutcome]]


def putts(
    count: int, where: Where, *faults: str, putt_m: float | None = 2.0, seen: bool = True, too_close: bool = False
) -> Putts:
    measures = {"head_turn_deg": 3.0} if seen else {}
    one = StrokeFacts(1, "u", "s", AT, "ball", False, None, None, measures, faults, too_close=too_close)
    return [(one, PuttOutcome(where, putt_m))] * count


def test_with_and_without_the_hold_side_by_side() -> None:
    given = putts(16, "holed") + putts(4, "left") + putts(5, "holed", "early_look") + putts(15, "right", "early_look")
    (row,) = pays(given)
    assert row.words == "1.5 to 3 m"
    assert row.held is not None
    assert row.not_held is not None
    assert (row.held.good, row.held.total) == (16, 20)
    assert (row.not_held.good, row.not_held.total) == (5, 20)
    assert (row.misses_held, row.misses_not) == ({"left": 4}, {"right": 15})
    assert "more holed putts, and that is more than chance" in row.sentence


def test_few_putts_say_nothing_and_other_faults_are_no_habit() -> None:
    with_hold = putts(2, "holed", "sway") + putts(1, "short")
    (row,) = pays(with_hold + putts(2, "short", "short_hold") + putts(1, "holed", "early_look"))
    assert row.held is not None
    assert (row.held.good, row.held.total) == (2, 3)
    assert "no difference that can be told from chance" in row.sentence
    (alone,) = pays(putts(3, "holed"))
    assert alone.difference is None
    assert alone.sentence.startswith("Holed, 1.5 to 3 m: with the hold 3 of 3")


def test_distances_apart_nearest_first_and_those_not_said_last() -> None:
    given = putts(1, "short", putt_m=None) + putts(1, "long", putt_m=9.0) + putts(1, "holed", putt_m=1.5)
    assert [row.words for row in pays(given)] == ["up to 1.5 m", "over 6 m", "distance not said"]


def test_a_stroke_whose_head_was_not_seen_is_in_no_share() -> None:
    assert pays(putts(5, "holed", seen=False) + putts(5, "holed", too_close=True)) == ()
