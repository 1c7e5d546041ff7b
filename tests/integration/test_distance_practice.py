"""The distance table, the rhythm, the ladder, the lag score and the chart."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.coaching.distance.chart import DISTANCES, cell, chart, ground_mark, mark_behind_ball_cm, sentence
from trainer.coaching.distance.distance_model import fit
from trainer.coaching.distance.distance_table import ADVICE, distance_table
from trainer.coaching.distance.green_speed import Green, entered_green
from trainer.coaching.distance.ladder import lag_score, order_of, place, window_m
from trainer.coaching.distance.putt import Putt
from trainer.coaching.distance.rhythm import frame_error_s, rhythm
from trainer.coaching.distance.skid import BALL_PUTTER_RATIO, launch_speed_m_s, run_m
from trainer.errors import UsageError
from trainer.report.distance_page import distance_page

GREEN_SPEED = 10.0
GREEN = Green(GREEN_SPEED, 9.7, 10.3, "the usual ramp both ways")


# --- the distance table --------------------------------------------------------------------------------------------------------


def stroked(
    rng: np.random.Generator,
    count: int,
    length_sd: float,
    rhythm_sd: float,
    strike_sd: float,
    time_error_s: float = 0.0,
) -> list[Putt]:
    """Putts whose spread is made of known parts. Sds of log length, log time and log ball speed."""
    putts = []
    for target in rng.permutation(np.resize([2.0, 3.0, 4.0, 6.0, 8.0], count)):
        wanted = 100 * launch_speed_m_s(float(target), GREEN_SPEED) / BALL_PUTTER_RATIO * 0.317 / 2
        back = wanted * math.exp(rng.normal(0, length_sd))
        time_s = 0.317 * math.exp(rng.normal(0, rhythm_sd))
        speed = BALL_PUTTER_RATIO * 2 * back / 100 / time_s * math.exp(rng.normal(0, strike_sd))
        seen_s = time_s + rng.normal(0, time_error_s)
        putts.append(Putt(back, run_m(speed, GREEN_SPEED), GREEN_SPEED, target_m=float(target), to_impact_s=seen_s))
    return putts


@pytest.mark.parametrize(
    ("sds", "dial"),
    [((0.06, 0.015, 0.015), "length"), ((0.015, 0.06, 0.015), "rhythm"), ((0.015, 0.015, 0.06), "rest")],
)
def test_the_dial_that_varies_is_found(sds: tuple[float, float, float], dial: str) -> None:
    putts = stroked(np.random.default_rng(1), 60, *sds)
    found = distance_table(putts, fit(putts))
    assert found.largest == dial
    assert found.confident
    assert sum(e.value for e in found.proportions.values()) == pytest.approx(1.0)
    assert found.proportions[dial].value == pytest.approx(0.06**2 / (0.06**2 + 2 * 0.015**2), abs=0.12)
    assert found.variability == pytest.approx(2 * math.sqrt(0.06**2 + 2 * 0.015**2), rel=0.2)


def test_shares_are_right_on_average_even_with_a_slow_camera() -> None:
    """Times off by 13.6 ms (30 frames/s without interpolation) scatter the shares but do not bend them."""
    rng = np.random.default_rng(2)
    shares = []
    for _ in range(60):
        putts = stroked(rng, 40, 0.03, 0.04, 0.02, frame_error_s(30))
        shares.append([e.value for e in distance_table(putts, fit(putts)).proportions.values()])
    true = np.array([0.03, 0.04, 0.02]) ** 2
    assert np.mean(shares, axis=0) == pytest.approx(true / true.sum(), abs=0.05)


def test_intervals_of_shares_can_be_and_hold_nine_of_ten() -> None:
    """Over students whose parts are known, few and many putts, exact and at 30 frames/s: near nine in ten, and never
    below 0 or above 1.
    """
    rng = np.random.default_rng(5)
    held = []
    for shares, count, time_error_s in (
        ((1 / 3, 1 / 3, 1 / 3), 10, 0.0),
        ((0.8, 0.1, 0.1), 30, 0.0),
        ((0.1, 0.1, 0.8), 20, frame_error_s(30)),
        ((0.5, 0.5, 0.0), 20, 0.0),
    ):
        sds = [0.05 * math.sqrt(share) for share in shares]
        for _ in range(50):
            putts = stroked(rng, count, sds[0], sds[1], sds[2], time_error_s)
            found = list(distance_table(putts, fit(putts)).proportions.values())
            assert all(0.0 <= e.low <= e.value <= e.high <= 1.0 for e in found)
            assert sum(e.value for e in found) == pytest.approx(1.0)
            held.append(
                [e.low <= share + 1e-9 and share <= e.high + 1e-9 for e, share in zip(found, shares, strict=True)]
            )
    assert np.mean(held, axis=0) == pytest.approx([0.92, 0.92, 0.92], abs=0.06)


def test_nothing_is_advised_from_what_is_not_explained() -> None:
    assert set(ADVICE) == {"length", "rhythm"}
    putts = stroked(np.random.default_rng(1), 60, 0.015, 0.015, 0.06)
    assert distance_table(putts, fit(putts)).largest not in ADVICE


def test_without_times_rhythm_and_the_rest_are_one() -> None:
    timed = stroked(np.random.default_rng(3), 20, 0.05, 0.02, 0.02)
    putts = [replace(p, to_impact_s=None) for p in timed]
    found = distance_table(putts, fit(putts))
    assert set(found.proportions) == {"length", "rhythm and rest"}


def test_too_few_putts_or_too_coarse_for_dials() -> None:
    putts = stroked(np.random.default_rng(4), 7, 0.05, 0.02, 0.02)
    with pytest.raises(UsageError, match="7 putts with a target"):
        distance_table(putts, fit(putts))
    coarse = [Putt(24, 4.0, GREEN_SPEED, target_m=4.0, rounded_to_m=1.0)] * 10
    with pytest.raises(UsageError, match="vary by less than they are rounded"):
        distance_table(coarse, fit(coarse))


def test_few_putts_are_not_called_sure() -> None:
    putts = stroked(np.random.default_rng(5), 9, 0.03, 0.03, 0.03)
    assert not distance_table(putts, fit(putts)).confident


# --- rhythm -------------------------------------------------------------------------------------------------------


def test_frame_error() -> None:
    """Derived: two events each known to a frame, 13.6 / 6.8 / 3.4 ms at 30 / 60 / 120 frames/s."""
    assert [frame_error_s(f) * 1000 for f in (30, 60, 120)] == pytest.approx([13.6, 6.8, 3.4], abs=0.05)


def test_one_rhythm_at_all_distances() -> None:
    """One published pro: 0.92 s at 4 ft and at 32 ft (R. Mann, trade blog)."""
    rng = np.random.default_rng(1)
    distances = np.resize([1.2, 2.4, 4.8, 9.8], 24)
    times = 0.92 * np.exp(rng.normal(0, 0.01, 24))
    found = rhythm(times, distances, 60)
    assert found.steady
    assert abs(found.change_share.value) < 0.02
    assert found.mean_s == pytest.approx(0.92, abs=0.01)
    assert "these 24 strokes at this frame rate can show a change of" in found.line()


def test_a_rhythm_that_slows_is_found() -> None:
    rng = np.random.default_rng(2)
    distances = np.resize([1.0, 2.0, 4.0, 8.0], 24)
    times = 0.9 * (distances / 3) ** (math.log(1.2) / math.log(8)) * np.exp(rng.normal(0, 0.02, 24))
    found = rhythm(times, distances, 60)
    assert found.steady is False
    assert found.change_share.value == pytest.approx(0.20, abs=0.04)
    assert found.change_share.low > 0.10


def test_the_rhythm_interval_holds_as_often_as_it_says() -> None:
    rng = np.random.default_rng(3)
    distances = np.resize([1.0, 2.0, 4.0, 8.0], 12)
    held = 0
    for _ in range(500):
        times = 0.95 * (distances / 3) ** (math.log(1.1) / math.log(8)) * np.exp(rng.normal(0, 0.04, 12))
        change = rhythm(times, distances, 30).change_share
        held += change.low <= 0.10 <= change.high
    assert held / 500 == pytest.approx(0.90, abs=0.03)


def test_a_slow_camera_is_said_to_see_less() -> None:
    distances = np.resize([1.0, 2.0, 4.0, 8.0], 12)
    times = np.full(12, 0.92)
    slow, fast = rhythm(times, distances, 30), rhythm(times, distances, 120)
    assert slow.resolved_share > 3 * fast.resolved_share
    assert slow.camera_share == pytest.approx(0.0136 / 0.92, abs=1e-4)


def test_rhythm_needs_near_and_far() -> None:
    with pytest.raises(UsageError, match="5 timed strokes"):
        rhythm([0.9] * 5, [1, 2, 3, 4, 5], 30)
    with pytest.raises(UsageError, match="about one distance"):
        rhythm([0.9] * 8, [4.0] * 8, 30)


# --- ladder -------------------------------------------------------------------------------------------------------


@settings(deadline=None)
@given(st.lists(st.floats(0.5, 20), min_size=2, max_size=8, unique=True), st.integers(1, 12), st.integers(0, 10**6))
def test_random_order(marks: list[float], each: int, seed: int) -> None:
    order = order_of(marks, each, "random", seed)
    assert all(order.count(mark) == each for mark in marks)
    assert len(order) == each * len(marks)
    assert all(a != b for a, b in pairwise(order))
    assert order == order_of(marks, each, "random", seed)


def test_random_order_is_random() -> None:
    firsts = [order_of([2, 4, 6, 8], 3, "random", seed)[0] for seed in range(400)]
    assert all(70 < firsts.count(mark) < 130 for mark in (2, 4, 6, 8))
    assert len({tuple(order_of([2, 4, 6, 8], 3, "random", seed)) for seed in range(50)}) > 45


def test_blocked_order_and_nonsense() -> None:
    assert order_of([2, 4], 2, "blocked", 0) == [2, 2, 4, 4]
    for marks, each, what in (([], 2, "each distance once"), ([2, 2], 2, "each distance once"), ([2], 3, "at random")):
        with pytest.raises(UsageError, match=what):
            order_of(marks, each, "random", 0)
    with pytest.raises(UsageError, match=r"distance: .*allowed"):
        order_of([2, -4], 2, "random", 0)
    with pytest.raises(UsageError, match="1 to 200 in all"):
        order_of([2, 4], 0, "blocked", 0)


def test_window() -> None:
    assert window_m(10.0) == pytest.approx((9.0, 11.0))
    assert window_m(1.0) == pytest.approx((0.7, 1.3))
    assert [place(r, 4.0) for r in (3.5, 3.7, 4.4, 4.5)] == ["short", "in", "in", "long"]


def test_lag_score() -> None:
    putts = [Putt(20, r, GREEN_SPEED, target_m=t) for t, r in ((4, 4.4), (4, 3.6), (4, 4.8), (8, 8.8))]
    found = lag_score([*putts, Putt(20, 5, GREEN_SPEED)])
    assert (found.putts, found.mixed, found.in_window) == (4, True, 0.75)
    assert found.mean.value == pytest.approx(0.075)
    assert found.variability is not None
    assert found.variability.value == pytest.approx(np.std([0.1, -0.1, 0.2, 0.1], ddof=1))
    assert found.variability.low < found.variability.value < found.variability.high
    assert found.by_target[8] == (1, pytest.approx(0.1), None)
    assert "not a target" in found.context()
    assert "10.6%" in found.context()
    assert "6.8%" in lag_score(putts[:3]).context()
    with pytest.raises(UsageError, match="no putt has a target"):
        lag_score([Putt(20, 5, GREEN_SPEED)])


def test_lag_intervals_hold_as_often_as_they_say() -> None:
    rng = np.random.default_rng(6)
    mean = spread = 0
    for _ in range(600):
        found = lag_score([Putt(20, 4 * (1.03 + rng.normal(0, 0.1)), GREEN_SPEED, target_m=4) for _ in range(10)])
        mean += found.mean.low <= 0.03 <= found.mean.high
        assert found.variability is not None
        spread += found.variability.low <= 0.10 <= found.variability.high
    assert mean / 600 == pytest.approx(0.90, abs=0.03)
    assert spread / 600 == pytest.approx(0.90, abs=0.03)


# --- chart --------------------------------------------------------------------------------------------------------

OWN_PUTTS = stroked(np.random.default_rng(7), 30, 0.03, 0.02, 0.02)
OWN = fit(OWN_PUTTS)


def test_chart_of_1_to_15_m() -> None:
    found = chart(OWN, GREEN, "m")
    assert found.distances_m == tuple(float(d) for d in range(1, 16))
    assert found.slopes_pct == (-2.0, -1.0, 0.0, 1.0, 2.0)
    for row in found.rows:
        lengths = [c.length_cm.value for c in row if c.length_cm]
        assert lengths == sorted(lengths), "the more uphill the longer"
    level = [row[2] for row in found.rows]
    assert [c.length_cm.value for c in level] == sorted(c.length_cm.value for c in level)
    ratio = level[3].length_cm.value / level[0].length_cm.value
    assert ratio == pytest.approx(4 ** (0.5 / OWN.exponent.value), rel=0.05)
    for cell_, distance in zip(level, found.distances_m, strict=True):
        assert cell_.length_cm.low < cell_.length_cm.value < cell_.length_cm.high
        assert cell_.stop_m.low < distance < cell_.stop_m.high
    longest = max(p.rolled_m for p in OWN_PUTTS)
    assert 8.0 < longest < 9.5
    assert [c.outside for c in level[1:]] == [d > longest * 1.02 for d in found.distances_m[1:]]
    assert any("beyond the distances of your own putts" in note for note in found.notes)


def test_chart_in_feet() -> None:
    found = chart(OWN, GREEN, "ft")
    assert found.distances_m == pytest.approx([d * 0.3048 for d in DISTANCES["ft"]])
    assert chart(OWN, GREEN, "ft", [10]).rows[0][2].length_cm == chart(OWN, GREEN, "m", [3.048]).rows[0][2].length_cm


def test_chart_says_what_cannot_be_believed() -> None:
    found = chart(OWN, entered_green(12), "m", [3], [-5.0, -3.5, 0.0])
    refused, doubtful, level = found.rows[0]
    assert refused.length_cm is None
    assert "may not stop" in refused.note
    assert (refused.trust, doubtful.trust, level.trust) == ("none", "doubtful", "good")
    assert doubtful.length_cm is not None
    assert any("may not stop" in note for note in found.notes)
    assert any("too steep to trust" in note for note in found.notes)
    far = chart(fit([]), entered_green(4), "m", [30], [8.0]).rows[0][0]
    assert far.length_cm is None
    assert "no putting stroke" in far.note
    with pytest.raises(UsageError, match="slope"):
        chart(OWN, GREEN, "m", [3], [30.0])
    with pytest.raises(UsageError, match="distance"):
        chart(OWN, GREEN, "m", [-3])
    with pytest.raises(UsageError, match="trail foot"):
        chart(OWN, GREEN, "m", [3], [0.0], 0.0)


def test_chart_without_own_putts_says_so() -> None:
    assert "no putts of your own" in chart(fit([]), GREEN, "m").notes[0]


def test_marks_on_the_ground() -> None:
    assert mark_behind_ball_cm(20.0) == pytest.approx(22.13, abs=0.01)
    assert ground_mark(23.0, 25.0) == "middle of trail foot"
    assert ground_mark(20.0, 25.0) == "inner half of trail foot"
    assert ground_mark(26.0, 25.0) == "outer half of trail foot"
    assert ground_mark(10.0, 25.0) == "8 cm short of trail foot"
    assert ground_mark(40.0, 25.0) == "12 cm beyond trail foot"


@settings(deadline=None)
@given(st.floats(3, 100), st.floats(5, 60))
def test_a_mark_is_always_in_words(length: float, foot: float) -> None:
    assert ground_mark(length, foot).endswith("trail foot")


def test_sentence_for_a_panel() -> None:
    length = cell(OWN, GREEN, 6.0, 2.0).length_cm
    assert length is not None
    text = sentence(OWN, GREEN, 6.0, 2.0, "m", 25.4)
    assert text.startswith(f"for 6.0 m, 2 % up: {length.value:.0f} cm, ")
    assert text.endswith("trail foot")
    assert sentence(OWN, GREEN, 6.0, 0.0, "ft", 25.4).startswith("for 19.7 ft, level: ")
    assert "may not stop" in sentence(OWN, GREEN, 6.0, -6.5, "m", 25.4)


def test_page_is_one_self_contained_sheet() -> None:
    text = distance_page(chart(OWN, GREEN, "m"), "Robin <b> & Co", "2026-03-01", 25.4)
    assert text.startswith("<!doctype html>")
    assert "Robin &lt;b&gt; &amp; Co" in text
    assert not re.search(r"(?:src|href)\s*=|https?://(?!www\.w3\.org/2000/svg)|@import|<script", text)
    assert text.count("<tr") == 1 + 15
    assert "10.0 ft" in text
    assert "4 m" in text
    assert "13 ft" in distance_page(chart(OWN, GREEN, "ft", [13]), "R", "2026-03-01", 25.4)
