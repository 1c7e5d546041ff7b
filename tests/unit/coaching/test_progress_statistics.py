"""The statistics against published values, other implementations, and simulation."""

from __future__ import annotations

import math
from datetime import datetime, timezone

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from trainer.coaching.progress import charts, compare, curve, proportions, turns, variability
from trainer.coaching.progress.facts import Session, StrokeFacts
from trainer.domain.robust import MAD_TO_SD


@pytest.mark.parametrize(
    ("good", "total", "low", "high"),
    [
        (7, 10, 0.3968, 0.8922),
        (15, 20, 0.5313, 0.8881),
        (0, 10, 0.0, 0.2775),
        (50, 100, 0.4038, 0.5962),
        (7, 50, 0.0695, 0.2619),
    ],
)
def test_wilson_published_values(good: int, total: int, low: float, high: float) -> None:
    assert proportions.wilson(good, total) == pytest.approx((low, high), abs=5e-5)


@given(st.integers(1, 400), st.data())
def test_wilson_is_scipys(total: int, data: st.DataObject) -> None:
    good = data.draw(st.integers(0, total))
    theirs = stats.binomtest(good, total).proportion_ci(method="wilson")
    assert proportions.wilson(good, total) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


def test_exact_interval_of_the_same_case_holds_the_score_interval() -> None:
    """Clopper and Pearson's published interval of 7 in 50, as a check on the library that checks us."""
    exact = stats.binomtest(7, 50).proportion_ci(method="exact")
    assert (exact.low, exact.high) == pytest.approx((0.05819170, 0.26739600), abs=1e-7)
    low, high = proportions.wilson(7, 50)
    assert exact.low < low < high < exact.high


def test_no_share_of_nothing_or_the_impossible() -> None:
    assert proportions.proportion_of(0, 0) is None
    for good, total in ((1, 0), (-1, 4), (5, 4)):
        with pytest.raises(ValueError, match="is no share"):
            proportions.wilson(good, total)


def test_difference_of_shares_covers_the_truth() -> None:
    """Newcombe's interval holds the true difference in about 95 of 100 trials."""
    rng = np.random.default_rng(4)
    hits = 0
    for a, b in zip(rng.binomial(30, 0.8, 3000), rng.binomial(12, 0.6, 3000), strict=True):
        one, two = proportions.proportion_of(int(a), 30), proportions.proportion_of(int(b), 12)
        assert one is not None
        assert two is not None
        found = proportions.proportion_difference(one, two)
        hits += found.low <= 0.2 <= found.high
    assert 0.93 < hits / 3000 < 0.98


def test_smallest_change_of_a_published_error() -> None:
    assert pytest.approx(2.772, abs=5e-4) == variability.MDC_FACTOR


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6, 7, 8, 9, 10, 15, 40])
def test_robust_spread_is_right_on_average(count: int) -> None:
    rng = np.random.default_rng(count)
    samples = rng.normal(size=(40_000, count))
    middles = np.median(samples, axis=1, keepdims=True)
    deviation = np.median(np.abs(samples - middles), axis=1).mean()
    assert MAD_TO_SD * variability.small_sample(count) * deviation == pytest.approx(1.0, abs=0.015)


def test_one_wild_stroke_moves_neither_level_nor_spread_much() -> None:
    calm = [10.0, 10.4, 9.7, 10.1, 9.9, 10.3, 10.2, 9.8]
    usual, wild = variability.variability_of(calm), variability.variability_of([*calm[:-1], 60.0])
    assert usual is not None
    assert wild is not None
    assert abs(wild.typical - usual.typical) < 0.3
    assert wild.sd < 2 * usual.sd
    assert variability.variability_of([1.0, None, math.nan]) is None
    assert variability.variability_of([1.0, None, 3.0]) == variability.variability_of([1.0, 3.0])


def test_step_sd_ignores_a_drift() -> None:
    rng = np.random.default_rng(1)
    noise = rng.normal(0, 2.0, 4000)
    assert variability.step_sd(list(noise)) == pytest.approx(2.0, rel=0.05)
    assert variability.step_sd(list(noise + np.linspace(0, 200, 4000))) == pytest.approx(2.0, rel=0.05)


def run_lengths_ewma(limit: float, shift: float, steady: bool, runs: int = 6000) -> float:
    """Mean number of values to the first alarm, with the very steps of the chart."""
    rng = np.random.default_rng(7)
    z, lengths = np.zeros(runs), []
    number = 0
    while z.size:
        number += 1
        z = charts.ewma_step(z, rng.normal(shift, 1.0, z.size))
        half = charts.ewma_half_width(None if steady else number, limit=limit)
        out = np.abs(z) > half
        lengths += [number] * int(out.sum())
        z = z[~out]
    return float(np.mean(lengths))


@pytest.mark.parametrize(("limit", "shift", "wanted"), [(3.0, 0.0, 559.8), (3.0, 1.0, 10.8), (2.962, 0.0, 499.7)])
def test_ewma_run_lengths(limit: float, shift: float, wanted: float) -> None:
    assert run_lengths_ewma(limit, shift, steady=True) == pytest.approx(wanted, rel=0.05)


def test_ewma_with_the_narrower_first_limits_has_about_the_same_false_alarms() -> None:
    assert run_lengths_ewma(3.0, 0.0, steady=False) == pytest.approx(559.8, rel=0.06)


def test_ewma_band() -> None:
    assert charts.ewma_half_width(1) == pytest.approx(0.600)
    assert charts.ewma_half_width(None) == pytest.approx(1.000)
    assert charts.ewma_half_width(500) == pytest.approx(1.000)


@pytest.mark.parametrize(
    ("limit", "shift", "wanted"), [(4.0, 0.0, 167.7), (4.0, 1.0, 8.38), (5.0, 0.0, 465.4), (5.0, 1.0, 10.38)]
)
def test_cusum_run_lengths(limit: float, shift: float, wanted: float) -> None:
    """By the chart itself: it starts anew after each change, so the mean gap between changes is the run length."""
    rng = np.random.default_rng(11)
    values = rng.normal(shift, 1.0, int(wanted * 2500) if wanted < 20 else 450_000)
    found = restart_lengths(values, limit)
    assert np.mean(found) == pytest.approx(wanted, rel=0.05)


def restart_lengths(values: np.ndarray, limit: float) -> list[int]:
    up = down = 0.0
    start, lengths = 0, []
    for i, z in enumerate(values.tolist()):
        up, down = charts.cusum_up(up, z), charts.cusum_down(down, z)
        if up > limit or down > limit:
            lengths.append(i + 1 - start)
            up, down, start = 0.0, 0.0, i + 1
    return lengths


def test_charts_see_a_real_change_and_not_the_usual() -> None:
    rng = np.random.default_rng(3)
    values = [*rng.normal(1.0, 0.2, 40), *rng.normal(1.4, 0.2, 30)]
    usual = charts.usual_of(values)
    assert usual is not None
    assert usual.level == pytest.approx(1.0, abs=0.15)
    moving, sums = charts.ewma(values, usual), charts.cusum(values, usual)
    assert moving.changes
    assert moving.changes[0].up
    assert 40 <= moving.changes[0].at <= 52
    assert 40 <= sums.changes[0].at <= 52
    assert abs(sums.began[0] - 40) <= 5
    assert not charts.ewma(values[:40], usual).changes
    assert charts.usual_of(values[:10]) is None
    assert charts.usual_of([1.0] * 30) is None


def test_learning_curve_is_found_again() -> None:
    rng = np.random.default_rng(5)
    n = np.arange(24)
    values = 1.5 - 1.2 * np.exp(-0.25 * n) + rng.normal(0, 0.05, 24)
    found, why = curve.fit_curve(list(values))
    assert found is not None, why
    assert found.end == pytest.approx(1.5, abs=0.06)
    assert found.rate == pytest.approx(0.25, rel=0.35)
    assert found.at(0) == pytest.approx(0.3, abs=0.1)
    assert found.misfit == pytest.approx(0.05, rel=0.5)
    assert found.half_after == pytest.approx(math.log(2) / found.rate)


def test_no_curve_from_little_or_from_noise() -> None:
    assert curve.fit_curve([0.5] * 7)[1] == "7 points so far; a curve needs 8"
    assert curve.fit_curve([0.5] * 12)[1] == "nothing has changed yet"
    rng = np.random.default_rng(2)
    drawn = sum(curve.fit_curve(list(rng.normal(1, 0.2, 12)))[0] is not None for _ in range(100))
    assert drawn <= 12  # a curve through pure noise is drawn seldom


def test_comparison_matches_scipys_welch() -> None:
    rng = np.random.default_rng(8)
    a, b = rng.normal(10, 1, 14), rng.normal(12, 3, 9)
    found = compare.mean_difference(list(a), list(b))
    theirs = stats.ttest_ind(b, a, equal_var=False).confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((theirs.low, theirs.high))


def test_comparison_says_what_changes_with_the_ball() -> None:
    rng = np.random.default_rng(9)
    rehearsal = list(rng.normal(6, 1, 12))
    changed = compare.compare("hinge_change_deg", rehearsal, list(rng.normal(14, 2, 12)))
    assert changed is not None
    assert changed.changes
    assert changed.difference.low < 8 < changed.difference.high
    same = compare.compare("hinge_change_deg", rehearsal, list(rng.normal(6, 1, 12)))
    assert same is not None
    assert not same.changes
    assert compare.compare("x", [1.0, 2.0, None], [1.0, 2.0, 3.0]) is None


def test_lengths_are_compared_with_the_rehearsal_just_before() -> None:
    strokes = [("ball", 20.0), ("rehearsal", 20.0), ("ball", 22.0), ("rehearsal", 20.0), ("ball", 25.0), ("ball", 40.0)]
    assert compare.lengths_apart(strokes) == ((2, pytest.approx(0.1)), (4, pytest.approx(0.25)))
    assert compare.length_apart(None, 3.0) is None
    assert compare.lengths_apart([("rehearsal", 20.0), ("rehearsal", None), ("ball", 15.0)]) == ((2, -0.25),)
    assert compare.lengths_apart([("rehearsal", 20.0), ("ball", None), ("rehearsal", None), ("ball", 20.0)]) == ()


def test_with_and_without_feedback_stand_side_by_side() -> None:
    both = compare.by_feedback(proportions.proportion_of(9, 10), proportions.proportion_of(3, 10))
    assert both.with_feedback is not None
    assert both.without_feedback is not None
    assert both.difference is not None
    assert both.difference.value == pytest.approx(0.6)
    assert both.difference.plain
    alone = compare.by_feedback(proportions.proportion_of(9, 10), None)
    assert alone.without_feedback is None
    assert alone.difference is None


def test_the_two_kinds_and_their_difference_add_up_however_skewed_they_are() -> None:
    found = compare.compare("back_cm", [20.0, 21.0, 40.0], [20.0, 22.0, 23.0, 60.0])
    assert found is not None
    assert found.means == (27.0, 31.25)
    assert found.means[1] - found.means[0] == pytest.approx(found.difference.value)


def one_session(uid: str, values: list[tuple[str, float]]) -> Session:
    at = datetime(2026, 11, 3, 18, 0, tzinfo=timezone.utc)
    return Session(
        uid,
        tuple(
            StrokeFacts(i, f"{uid}{i}", uid, at, kind, True, None, None, {"back_cm": value}, ())
            for i, (kind, value) in enumerate(values)
        ),
    )


def test_other_putts_on_another_day_are_no_difference_between_rehearsal_and_ball() -> None:
    # One day short putts, mostly rehearsed; another long ones, mostly with the ball. In each the ball stroke is its rehearsal's.
    noise = np.random.default_rng(3).normal(0, 0.4, 200)
    short = [("rehearsal", 20 + a) for a in noise[:9]] + [("ball", 20.0), ("rehearsal", 20.2), ("ball", 20.1)]
    long = [("rehearsal", 45.0), *(("ball", 45 + a) for a in noise[9:20]), ("rehearsal", 45.1), ("ball", 45.3)]
    sessions = [one_session("a", short), one_session("b", long)]
    pooled = compare.compare(
        "back_cm", *([v for one in (short, long) for k, v in one if k == kind] for kind in ("rehearsal", "ball"))
    )
    assert pooled is not None
    assert pooled.changes  # as it would be told with all strokes in one heap
    found = turns.compare_turns("back_cm", sessions)
    assert found is not None
    assert found.turns == 4
    assert not found.changes
    assert found.means[1] - found.means[0] == pytest.approx(found.difference.value)


def test_a_change_that_comes_with_the_ball_is_told_turn_by_turn() -> None:
    rng = np.random.default_rng(4)
    days = [
        one_session(d, [s for _ in range(4) for s in (("rehearsal", rng.normal(25, 1)), ("ball", rng.normal(31, 1)))])
        for d in "ab"
    ]
    found = turns.compare_turns("back_cm", days)
    assert found is not None
    assert found.changes
    assert found.difference.low < 6 < found.difference.high
    assert turns.compare_turns("back_cm", [one_session("c", [("rehearsal", 1.0), ("ball", 2.0)] * 2)]) is None


def test_no_change_is_seldom_called_one() -> None:
    rng = np.random.default_rng(5)
    called = 0
    for _ in range(400):
        day = [s for _ in range(6) for s in (("rehearsal", rng.normal(25, 2)), ("ball", rng.normal(25, 2)))]
        found = turns.compare_turns("back_cm", [one_session("d", day)])
        called += found is not None and found.changes
    assert called <= 32  # 5 % of 400, and three standard deviations of it
