"""Filters against published formulas, scipy and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.interpolate
import scipy.optimize
import scipy.signal

from trainer.stroke.filters import (
    TWO_PASS,
    crossing_s,
    even,
    first_crossing_s,
    rate_of,
    robust_fit,
    slope,
    smooth,
    zero_lag,
)


# -- zero-lag Butterworth ------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("rate", "cutoff"), [(30.0, 5.0), (30.0, 8.0), (60.0, 8.0), (120.0, 10.0)])
def test_zero_lag_equals_scipys_filtfilt_with_winters_cut_off(rate: float, cutoff: float) -> None:
    """Two passes of a second-order Butterworth; scipy's b, a form is independent of the sections that we use."""
    x = np.cumsum(np.random.default_rng(1).normal(0, 1, 200))
    raised = math.atan(math.tan(math.pi * cutoff / rate) / (math.sqrt(2) - 1) ** 0.25) * rate / math.pi
    b, a = scipy.signal.butter(2, raised / (rate / 2))
    assert zero_lag(x, rate, cutoff) == pytest.approx(scipy.signal.filtfilt(b, a, x, padlen=15), abs=1e-9)


@pytest.mark.parametrize("count", [4, 5, 15, 16, 17, 200])
def test_zero_lag_is_scipys_sosfiltfilt_however_short(count: int) -> None:
    x = np.cumsum(np.random.default_rng(3).normal(0, 1, count))
    sections = scipy.signal.butter(2, 2 * math.atan(math.tan(math.pi / 6) / TWO_PASS) / math.pi, output="sos")
    wanted = scipy.signal.sosfiltfilt(sections, x, padlen=min(15, count - 1))
    assert zero_lag(x, 30.0, 5.0) == pytest.approx(wanted, abs=1e-12)


@pytest.mark.parametrize("rate", [30.0, 60.0])
def test_amplitude_at_the_cut_off_is_one_over_root_two(rate: float) -> None:
    """With Winter's correction; 0.5 without it."""
    t = np.arange(0, 20, 1 / rate)
    out = zero_lag(np.sin(2 * np.pi * 5 * t), rate, 5.0)
    middle = out[len(t) // 4 : -len(t) // 4]
    assert math.sqrt(2) * np.std(middle) == pytest.approx(math.sqrt(0.5), abs=0.005)


def test_the_peak_of_a_symmetric_pulse_stays_where_it_is() -> None:
    """Zero phase: scipy.signal.sosfiltfilt's documentation."""
    t = np.arange(0, 2, 1 / 30)
    pulse = np.exp(-(((t - 1.0) / 0.08) ** 2))
    out = zero_lag(pulse, 30.0, 6.0)
    assert np.argmax(out) == np.argmax(pulse)
    assert out[10:51] == pytest.approx(out[10:51][::-1], abs=1e-3)


def test_too_few_samples_pass_unchanged() -> None:
    x = np.array([1.0, 5.0, 2.0])
    assert zero_lag(x, 30.0, 6.0) == pytest.approx(x)
    assert smooth(np.arange(3) / 30, x, 6.0) == pytest.approx(x)


# -- uneven and missing samples ------------------------------------------------------------------------------------------
def test_even_grid_equals_scipys_interpolation() -> None:
    rng = np.random.default_rng(2)
    t = np.cumsum(rng.uniform(0.02, 0.05, 60))
    x = np.sin(3 * t)
    x[[7, 8, 30]] = np.nan
    grid, got = even(t, x, 30.0)
    seen = np.isfinite(x)
    wanted = scipy.interpolate.interp1d(t[seen], x[seen], bounds_error=False, fill_value=(x[0], x[-1]))(grid)
    assert got == pytest.approx(wanted, abs=1e-12)
    assert np.diff(grid) == pytest.approx(1 / 30)


def test_nothing_seen_stays_so() -> None:
    for count in (0, 1, 5):
        assert np.isnan(smooth(np.arange(count) / 30, np.full(count, np.nan), 6.0)).all()


def test_smooth_bridges_gaps_and_says_nothing_beyond_what_was_seen() -> None:
    t = np.arange(60) / 30
    x = 2 + 3 * t
    x[:4] = x[-3:] = np.nan
    x[20:24] = np.nan
    out = smooth(t, x, 6.0)
    assert np.isnan(out[:4]).all()
    assert np.isnan(out[-3:]).all()
    assert out[10:50] == pytest.approx((2 + 3 * t)[10:50], abs=0.02)


def test_the_rate_is_not_lowered_by_dropped_frames() -> None:
    t = np.delete(np.arange(100) / 30, [10, 11, 12, 40, 77])
    assert rate_of(t) == pytest.approx(30.0)


@pytest.mark.parametrize("fps", [15, 30, 60, 120])
def test_crossing_agrees_with_a_cubic_spline(fps: int) -> None:
    """Linear between samples against scipy's spline root, on a pendulum's swing: under a tenth of a frame."""
    t = np.arange(0, 1, 1 / fps) + 0.007
    x = -np.cos(2 * np.pi * 0.8 * t)
    root = scipy.interpolate.CubicSpline(t, x - 0.2).roots(extrapolate=False)[0]
    found = first_crossing_s(t, x, 0.2, 0, len(t))
    assert found is not None
    assert abs(found - root) < 0.1 / fps
    falling = first_crossing_s(t, -x, -0.2, 0, len(t), rising=False)
    assert falling == pytest.approx(found)


def test_a_level_passed_between_two_samples_or_not() -> None:
    assert crossing_s((1.0, 0.0), (2.0, 4.0), 1.0) == 1.25
    assert crossing_s((1.0, 4.0), (2.0, 0.0), 1.0) == 1.75
    for a, b in ((0.0, 0.5), (2.0, 3.0), (1.0, 1.0), (float("nan"), 2.0), (0.0, float("nan"))):
        assert crossing_s((1.0, a), (2.0, b), 1.0) == 2.0, (a, b)


def test_no_crossing_is_none() -> None:
    t = np.arange(10) / 10
    assert first_crossing_s(t, t, 5.0, 0, 10) is None
    assert first_crossing_s(t, t, 0.5, 6, 10) is None
    assert first_crossing_s(t, np.full(10, np.nan), 0.5, 0, 10) is None


def test_slope_of_a_parabola_on_uneven_times() -> None:
    t = np.cumsum(np.random.default_rng(5).uniform(0.01, 0.05, 50))
    assert slope(t, t * t)[1:-1] == pytest.approx(2 * t[1:-1], abs=1e-9)
    assert slope(t[:2], t[:2]) == pytest.approx([0.0, 0.0])


# -- robust fit ----------------------------------------------------------------------------------------------------------
def test_robust_fit_equals_scipys_soft_l1() -> None:
    """scipy.optimize.least_squares with loss="soft_l1" is the definition; a line with a tenth of wild samples."""
    rng = np.random.default_rng(8)
    x = np.linspace(0, 1, 60)
    y = 2 + 3 * x + rng.normal(0, 0.02, 60)
    y[::10] += 4

    def residual(q: np.ndarray) -> np.ndarray:
        return q[0] + q[1] * x - y

    wanted = scipy.optimize.least_squares(residual, [0.0, 0.0], loss="soft_l1", f_scale=0.05).x
    found = robust_fit(residual, [0.0, 0.0], 0.05)
    assert found == pytest.approx(wanted, abs=1e-4)
    assert found == pytest.approx([2, 3], abs=0.05)
