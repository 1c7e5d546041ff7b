"""A player's own scale: recovered from invented students whose law is known."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.support.published_stroke import published_length_cm
from trainer.coaching.distance.checks import LEVEL
from trainer.coaching.distance.distance_model import DistanceModel, fit
from trainer.coaching.distance.published import GOOD_SPREAD_MIXED, GOOD_SPREAD_REPEATED
from trainer.coaching.distance.putt import Putt
from trainer.coaching.distance.skid import launch_speed_m_s, run_m

DISTANCES = tuple(range(1, 9))
GREEN_SPEED = 10.0


@dataclass(frozen=True)
class Student:
    """log launch speed = log k + g x + c x^2 / (1 + |x|), x = log(length / 24 cm); parabola: c x^2 in its place."""

    k: float
    g: float
    c: float = 0.0
    parabola: bool = False

    def log_speed(self, x: float) -> float:
        return math.log(self.k) + self.g * x + self.c * x * x / (1.0 if self.parabola else 1.0 + abs(x))

    def length_cm(self, distance_m: float, stimp: float = GREEN_SPEED, slope: float = 0.0) -> float:
        wanted, low, high = math.log(launch_speed_m_s(distance_m, stimp, slope)), -2.5, 2.5
        for _ in range(50):
            middle = (low + high) / 2.0
            low, high = (middle, high) if self.log_speed(middle) < wanted else (low, middle)
        return 24.0 * math.exp(low)

    def run_m(self, back_cm: float, stimp: float = GREEN_SPEED, slope: float = 0.0) -> float:
        return run_m(math.exp(self.log_speed(math.log(back_cm / 24.0))), stimp, slope)


def invented(rng: np.random.Generator) -> Student:
    """Length at one speed varies over tour players by 16 % (241 +- 38 mm); their ball leaves at 1.6 times 1.51 m/s.
    Students' timing with length varies too, and not by one power throughout.
    """
    return Student(2.42 * math.exp(rng.normal(0, 0.2)), rng.normal(1.0, 0.1), rng.normal(0.0, 0.1))


def practice(
    student: Student,
    rng: np.random.Generator,
    spread: float,
    rounded_m: float,
    count: int = 15,
    stimp: float = GREEN_SPEED,
    farthest: int = DISTANCES[-1],
) -> list[Putt]:
    """Putts to marks from 1 to 8 m, or to the farthest, in any order; each length a little off; distances paced, so rounded."""
    targets = rng.permutation(np.resize(range(1, farthest + 1), count))
    putts = []
    for target in targets:
        back = student.length_cm(float(target), stimp) * math.exp(rng.normal(0, 0.03))
        rolled = student.run_m(back, stimp) * max(0.3, 1.0 + rng.normal(0, spread))
        rolled = max(rounded_m, round(rolled / rounded_m) * rounded_m)
        putts.append(Putt(back, rolled, stimp, target_m=float(target), rounded_to_m=rounded_m))
    return putts


@dataclass
class Tally:
    """Of many students: share within 10 % at all distances, and how often the intervals hold the truth."""

    within: float
    held: float
    held_one_putt: float


def tally(students: int, seed: int, spread: float, rounded_m: float) -> Tally:
    rng = np.random.default_rng(seed)
    within = held = held_putt = 0
    for _ in range(students):
        student = invented(rng)
        scale = fit(practice(student, rng, spread, rounded_m))
        found = [(scale.length_cm(d, GREEN_SPEED), student.length_cm(d)) for d in DISTANCES]
        within += all(abs(e.value / true - 1.0) < 0.10 for e, true in found)
        held += sum(e.low <= true <= e.high for e, true in found)
        for _ in range(4):
            back = student.length_cm(rng.uniform(1, 8))
            stops = scale.distance_m(back, GREEN_SPEED)
            held_putt += stops.low <= student.run_m(back) * (1.0 + rng.normal(0, spread)) <= stops.high
    return Tally(within / students, held / students / len(DISTANCES), held_putt / students / 4)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("spread", "rounded_m"),
    [
        (GOOD_SPREAD_REPEATED, 0.1),
        (GOOD_SPREAD_MIXED, 0.1),
        (GOOD_SPREAD_MIXED, 0.5),
        (GOOD_SPREAD_MIXED, 1.0),  # single putts of 1 m then carry no more than "between 0.5 and 1.5 m"
    ],
)
def test_after_15_putts_lengths_and_intervals_hold(spread: float, rounded_m: float) -> None:
    """Spreads of 43 good players (Karlsen and Nilsson 2008): 6.8 % repeated, 10.6 % mixed. 500 students each."""
    found = tally(500, 11, spread, rounded_m)
    assert found.within >= 0.90
    assert found.held == pytest.approx(LEVEL, abs=0.03)
    assert found.held_one_putt == pytest.approx(LEVEL, abs=0.03)


@pytest.mark.slow
@pytest.mark.parametrize("count", [15, 60])
@pytest.mark.parametrize("parabola", [False, True])
def test_nine_of_ten_lie_in_the_interval_beyond_the_own_putts_too(count: int, parabola: bool) -> None:
    """Putts from 1 to 6 m; asked up to 15 m. A law of one power held 45 to 66 of 100 at 15 m. The parabola is a law of
    another family than the one fitted.
    """
    rng = np.random.default_rng(3)
    asked = (1.0, 3.0, 6.0, 8.0, 10.0, 15.0)
    held: dict[float, list[tuple[bool, bool]]] = {distance: [] for distance in asked}
    for _ in range(150):
        bent = replace(invented(rng), parabola=parabola)
        student = replace(bent, c=bent.c * 0.67) if parabola else bent  # as much bent between its ends
        scale = fit(practice(student, rng, 0.08, 0.1, count, farthest=6))
        for distance in asked:
            true = student.length_cm(distance)
            length, stops = scale.length_cm(distance, GREEN_SPEED), scale.distance_m(true, GREEN_SPEED)
            ran = distance * (1.0 + rng.normal(0, 0.08))
            held[distance].append((length.low <= true <= length.high, stops.low <= ran <= stops.high))
    for distance, pairs in held.items():
        assert np.mean(pairs, axis=0) == pytest.approx([LEVEL, LEVEL], abs=0.075), distance
    assert np.mean(list(held.values()), axis=(0, 1)) == pytest.approx([LEVEL, LEVEL], abs=0.03)


def test_rounding_is_not_taken_for_a_steady_hand() -> None:
    """Putts paced to whole metres cannot show how small a spread is: the fit must not settle on none."""
    rng = np.random.default_rng(4)
    student = Student(2.4, 1.0)
    coarse = [fit(practice(student, rng, 0.08, 1.0)).variability for _ in range(60)]
    assert np.median([s.value for s in coarse]) == pytest.approx(0.08, rel=0.15)
    assert np.mean([s.low <= 0.08 <= s.high for s in coarse]) >= 0.85


@pytest.mark.timed
def test_fit_is_fast() -> None:
    putts = practice(Student(2.4, 1.0), np.random.default_rng(1), 0.1, 0.5)
    fit(putts)
    took = []
    for _ in range(7):
        begun = time.perf_counter()
        fit(putts)
        took.append(time.perf_counter() - begun)
    assert min(took) < 0.05


def test_many_putts_are_as_fast_and_the_last_ones_count() -> None:
    rng = np.random.default_rng(2)
    old, new = Student(2.0, 1.0), Student(2.5, 1.0)
    putts = practice(old, rng, 0.07, 0.1, 300) + practice(new, rng, 0.07, 0.1, 60)
    scale = fit(putts)
    assert scale.putts == 60
    assert scale.length_cm(4, GREEN_SPEED).value == pytest.approx(new.length_cm(4), rel=0.03)


def test_one_mishit_does_not_move_it() -> None:
    rng = np.random.default_rng(5)
    student = Student(2.4, 1.05)
    putts = practice(student, rng, 0.05, 0.1)
    clean = fit(putts)
    worst = fit([*putts[:7], replace(putts[7], rolled_m=putts[7].rolled_m * 0.35), *putts[8:]])
    assert worst.mishits == (7,)
    assert clean.mishits == ()
    for d in DISTANCES:
        assert worst.length_cm(d, GREEN_SPEED).value == pytest.approx(clean.length_cm(d, GREEN_SPEED).value, rel=0.03)
    assert worst.variability.value < 1.5 * clean.variability.value


def test_without_putts_it_is_the_published_stroke() -> None:
    scale = fit([])
    assert scale.putts == 0
    assert scale.reach_m is None
    for d in (1.0, 4.0, 8.0):
        found = scale.length_cm(d, GREEN_SPEED)
        assert found.value == pytest.approx(published_length_cm(d, GREEN_SPEED), rel=0.02)
        assert found.high / found.low > 2.0, "with no putts it must not claim to know"


def test_the_interval_shrinks_with_putts() -> None:
    rng = np.random.default_rng(6)
    putts = practice(Student(2.1, 0.95), rng, 0.1, 0.5, 60)
    widths = [e.high / e.low for e in (fit(putts[:n]).length_cm(4, GREEN_SPEED) for n in (0, 2, 5, 15, 60))]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 1.06


def test_one_putt_moves_the_published_stroke_toward_the_player() -> None:
    short = Student(3.2, 1.0)  # a quick stroke: shorter than the tour's for the same distance
    scale = fit([Putt(short.length_cm(4), 4.0, GREEN_SPEED)])
    assert short.length_cm(4) * 0.95 < scale.length_cm(4, GREEN_SPEED).value < fit([]).length_cm(4, GREEN_SPEED).value


def test_exponent_and_spread_are_found() -> None:
    rng = np.random.default_rng(7)
    for g in (0.8, 1.0, 1.25):
        scale = fit(practice(Student(2.4, g), rng, 0.08, 0.1, 60))
        assert scale.exponent.value == pytest.approx(g, abs=0.05)
        assert scale.exponent.high - scale.exponent.low < 0.12
        assert scale.variability.value == pytest.approx(0.08, rel=0.25)


def test_putts_of_several_greens_and_slopes_make_one_scale() -> None:
    rng = np.random.default_rng(8)
    student = Student(2.4, 1.1)
    putts = []
    for i in range(30):
        stimp, slope = (8.0, 10.0, 12.0)[i % 3], (-1.0, 0.0, 2.0)[i % 2]
        back = student.length_cm(rng.uniform(1, 8), stimp, slope)
        putts.append(Putt(back, student.run_m(back, stimp, slope) * (1 + rng.normal(0, 0.05)), stimp, slope))
    scale = fit(putts)
    assert not scale.one_green
    for stimp, slope in ((8.0, 0.0), (12.0, 1.0), (10.0, -1.5)):
        assert scale.length_cm(5, stimp, slope).value == pytest.approx(student.length_cm(5, stimp, slope), rel=0.05)


def test_an_unsure_green_widens_the_band_only_where_it_matters() -> None:
    scale = fit(practice(Student(2.4, 1.0), np.random.default_rng(9), 0.07, 0.1))

    def width(slope: float, error: float, stimp: float = GREEN_SPEED) -> float:
        found = scale.length_cm(4, stimp, slope, error)
        return found.high / found.low

    assert width(0.0, 0.1) == pytest.approx(width(0.0, 0.0)), "the putts ran on this very green"
    assert width(-2.0, 0.1) > width(-2.0, 0.0)
    assert width(0.0, 0.1, 12.0) > width(0.0, 0.0, 12.0)
    assert width(-3.0, 0.1) > width(3.0, 0.1)


FITTED: DistanceModel = fit(practice(Student(2.3, 1.1), np.random.default_rng(10), 0.08, 0.25))


@settings(max_examples=60, deadline=None)
@given(st.floats(0.5, 15), st.floats(6, 13), st.floats(-1.5, 4))
def test_longer_putts_and_uphill_need_longer_strokes(distance: float, stimp: float, slope: float) -> None:
    here = FITTED.length_cm(distance, stimp, slope)
    assert here.low < here.value < here.high
    assert FITTED.length_cm(distance * 1.2, stimp, slope).value > here.value
    assert FITTED.length_cm(distance, stimp, slope + 0.5).value > here.value
    assert FITTED.length_cm(distance, stimp * 1.1, slope).value < here.value
    back = FITTED.distance_m(here.value, stimp, slope)
    assert back.value == pytest.approx(distance, rel=0.02)
    assert back.low < back.value < back.high


def test_the_same_putts_give_the_same_numbers() -> None:
    putts = practice(Student(2.4, 1.0), np.random.default_rng(1), 0.1, 0.5)
    assert fit(putts).length_cm(3, GREEN_SPEED) == fit(putts).length_cm(3, GREEN_SPEED)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(2, 120), st.floats(0.1, 40), st.floats(4, 16), st.floats(-1, 8), st.floats(0, 1.5)),
        max_size=8,
    )
)
@example(
    [(91.0, 27.0, 10.0, 8.0, 0.0), (91.0, 27.0, 10.0, 8.0, 0.25), (2.25, 7.0, 13.0, 6.0, 0.0)]
)  # a far step of the search
def test_any_allowed_putts_give_finite_numbers(rows: list[tuple[float, float, float, float, float]]) -> None:
    scale = fit([Putt(back, rolled, stimp, slope, rounded_to_m=r) for back, rolled, stimp, slope, r in rows])
    found = scale.length_cm(4.0, 10.0)
    assert all(math.isfinite(v) and v > 0 for v in (found.value, found.low, found.high))
    assert found.low <= found.value <= found.high
