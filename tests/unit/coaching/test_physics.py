"""The roll, the green and the ball against published numbers; the source stands beside each."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.green_ramp import green_speed_on_slope_ft, rolling_coefficient, rolling_speed_m_s
from trainer.coaching.distance import roll, skid
from trainer.coaching.distance.model_validity import (
    FIELD_SHARE,
    PUBLISHED_LIMIT_PCT,
    WARN_SHARE,
    model_validity,
)
from trainer.domain.units import FOOT_M
from trainer.errors import UsageError

GREENS = st.floats(4.0, 16.0)
SPEEDS = st.floats(0.2, 4.0)
GENTLE = st.floats(-2.0, 8.0)  # slopes on which a ball stops on every green up to 16 ft
SPINS = st.floats(0.0, 1.0)


# --- the ramp -----------------------------------------------------------------------------------------------------


def test_release_speed() -> None:
    """6.00 ft/s = 72 in/s, attributed to Penner 2002."""
    assert pytest.approx(1.8288, abs=1e-12) == roll.RELEASE_SPEED_M_S
    assert pytest.approx(72 * 0.0254) == roll.RELEASE_SPEED_M_S


def test_competing_release_speed() -> None:
    """A USGA classroom sheet has 6.4 ft/s: the deceleration rises by (6.4/6)^2 = 1.138."""
    competing = 6.4 * FOOT_M
    ratio = roll.deceleration_m_s2(10, competing) / roll.deceleration_m_s2(10)
    assert ratio == pytest.approx(1.138, abs=5e-4)


@pytest.mark.parametrize(("green_ft", "expected"), [(8, 0.6858), (10, 0.5486), (12, 0.4572)])
def test_deceleration(green_ft: float, expected: float) -> None:
    """a = v0^2/(2 * 0.3048 * S) = 5.486/S m/s^2, a/g = 0.559/S."""
    assert roll.deceleration_m_s2(green_ft) == pytest.approx(expected, abs=1e-4)
    assert roll.deceleration_m_s2(green_ft) * green_ft == pytest.approx(5.486, abs=1e-3)
    assert roll.deceleration_m_s2(green_ft) / roll.GRAVITY_M_S2 * green_ft == pytest.approx(0.559, abs=1e-3)
    assert roll.green_speed_from_deceleration_ft(roll.deceleration_m_s2(green_ft)) == pytest.approx(green_ft)


PENNER = dict(zip(range(6, 14), (0.131, 0.1125, 0.0985, 0.0875, 0.0785, 0.0715, 0.0655, 0.0605), strict=True))


@pytest.mark.parametrize(("green_ft", "rho"), PENNER.items())
def test_rolling_coefficient(green_ft: int, rho: float) -> None:
    """A. R. Penner (2002) "The physics of putting", Can. J. Phys. 80(2), 83-96: table for S = 6 to 13 ft."""
    assert rolling_coefficient(green_ft) == pytest.approx(rho, abs=0.002)
    assert rolling_coefficient(green_ft) * green_ft == pytest.approx(0.783, abs=1e-3)


def test_range_of_rolling_coefficients() -> None:
    """Penner 2002 (from memory): 0.065 on a fast green (12 ft) to 0.196 on a slow one (4 ft)."""
    assert rolling_coefficient(12) == pytest.approx(0.0652, abs=1e-4)
    assert rolling_coefficient(4) == pytest.approx(0.1957, abs=2e-4)
    assert rolling_coefficient(12) == pytest.approx(0.065, abs=5e-4)
    assert rolling_coefficient(4) == pytest.approx(0.196, abs=5e-4)


# --- rolling on the level and on a slope --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("distance", "speed"), [(1, 1.048), (2, 1.481), (3, 1.814), (4, 2.095), (6, 2.566), (8, 2.963)]
)
def test_speed_needed_on_the_level(distance: float, speed: float) -> None:
    """v = sqrt(2 a d), green of 10 ft, derived."""
    assert rolling_speed_m_s(distance, roll.deceleration_m_s2(10)) == pytest.approx(speed, abs=0.002)


@pytest.mark.parametrize(("slope", "pull"), [(1, 0.0701), (2, 0.1401), (3, 0.2101)])
def test_pull_of_a_slope(slope: float, pull: float) -> None:
    """(5/7) g sin(theta) for a rigid sphere that rolls without slipping, derived."""
    assert roll.slope_pull_m_s2(slope) == pytest.approx(pull, abs=1e-4)
    assert roll.slope_pull_m_s2(-slope) == -roll.slope_pull_m_s2(slope)


@pytest.mark.parametrize(("slope", "plays", "speed"), [(2, 5.02, 2.347), (-2, 2.98, 1.808)])
def test_a_4_m_putt_up_and_down(slope: float, plays: float, speed: float) -> None:
    """Level equivalent d (a +- b)/a, green of 10 ft, derived."""
    assert roll.level_equivalent_m(4, 10, slope) == pytest.approx(plays, abs=0.005)
    assert rolling_speed_m_s(4, roll.line_deceleration_m_s2(10, slope)) == pytest.approx(speed, abs=0.001)


SLOPED_READINGS = {1: (8.87, 11.46, 10.17), 2: (7.97, 13.43, 10.70), 3: (7.23, 16.21, 11.72)}


@pytest.mark.parametrize(("slope", "readings"), SLOPED_READINGS.items())
def test_the_ramp_on_a_slope(slope: int, readings: tuple[float, float, float]) -> None:
    """Derived for a 10 ft green; A. D. Brede (1990), USGA Green Section Record 28(6), 10-12, takes the slope out
    again.
    """
    up, down = green_speed_on_slope_ft(10, slope), green_speed_on_slope_ft(10, -slope)
    assert (up, down) == (pytest.approx(readings[0], abs=0.01), pytest.approx(readings[1], abs=0.01))
    assert roll.level_green_speed_ft(up, down) == pytest.approx(10.0, abs=1e-12)
    assert (up + down) / 2 == pytest.approx(readings[2], abs=0.01)


@settings(deadline=None)
@given(GREENS, st.floats(-2.0, 2.0))
def test_brede_mean_recovers_the_level_reading(green_ft: float, slope: float) -> None:
    up, down = green_speed_on_slope_ft(green_ft, slope), green_speed_on_slope_ft(green_ft, -slope)
    assert roll.level_green_speed_ft(up, down) == pytest.approx(green_ft, rel=1e-12)


def test_a_slope_on_which_no_ball_stops() -> None:
    """tan = rho: 4.49 deg (7.85 %) at 10 ft, 3.21 deg (5.6 %) at 14 ft, derived from Penner's table."""
    assert roll.runaway_slope_pct(10) == pytest.approx(7.85, abs=0.03)
    assert math.degrees(roll.slope_angle_rad(roll.runaway_slope_pct(10))) == pytest.approx(4.49, abs=0.02)
    assert roll.runaway_slope_pct(14) == pytest.approx(5.6, abs=0.02)
    assert math.degrees(roll.slope_angle_rad(roll.runaway_slope_pct(14))) == pytest.approx(3.21, abs=0.02)
    assert math.degrees(math.atan(PENNER[10])) == pytest.approx(4.49, abs=0.005)
    # A model without the 5/7 on gravity would say 2.29 deg at 14 ft.
    assert math.degrees(math.asin(roll.deceleration_m_s2(14) / roll.GRAVITY_M_S2)) == pytest.approx(2.29, abs=0.005)
    for green_ft in (6, 10, 14):
        limit = roll.runaway_slope_pct(green_ft)
        assert roll.line_deceleration_m_s2(green_ft, -limit + 0.01) > 0
        for slope in (-limit - 0.01, -limit - 1e-9):
            with pytest.raises(roll.RunawayError, match="does not stop") as caught:
                roll.line_deceleration_m_s2(green_ft, slope)
            assert isinstance(caught.value, UsageError)
            assert "\n" not in str(caught.value)


def test_the_field_limit_is_lower_than_the_models() -> None:
    """J. Lemons, USGA Green Section: 2.4 deg, 4.2 % at 14 ft, against 3.2 deg of the model. The warning comes well
    below.
    """
    assert math.tan(math.radians(2.4)) * 100 == pytest.approx(PUBLISHED_LIMIT_PCT, abs=0.05)
    assert roll.runaway_slope_pct(14) > PUBLISHED_LIMIT_PCT
    assert 0 < WARN_SHARE < FIELD_SHARE < 1
    assert model_validity(14, -4.2).trust == "none"
    assert model_validity(14, -4.0).trust == "doubtful"
    assert model_validity(14, -2.8).trust == "doubtful"
    assert model_validity(14, -2.7).trust == model_validity(14, 6).trust == "good"
    assert model_validity(14, -2.7).why == ""
    assert "may not stop" in model_validity(14, -4.2).why
    assert "runs away" in model_validity(14, -3).why


@settings(deadline=None)
@given(GREENS, st.floats(-8.0, 8.0))
def test_what_is_believed_can_be_computed(green_ft: float, slope: float) -> None:
    if model_validity(green_ft, slope).trust != "none":
        assert roll.line_deceleration_m_s2(green_ft, slope) > 0.2 * roll.deceleration_m_s2(green_ft)


# --- skid and launch spin -----------------------------------------------------------------------------------------


def test_skid_without_spin() -> None:
    """A. Cochran and J. Stobbs (1968): v_roll = 5/7 of v0; 24/49 = 49 % of v0^2 are lost."""
    assert skid.skid(1.0, skid.Launch(0.0)).roll_m_s == pytest.approx(5 / 7, abs=1e-12)
    assert 1 - skid.skid(1.0, skid.Launch(0.0)).roll_m_s ** 2 == pytest.approx(24 / 49)
    assert pytest.approx(0.49, abs=0.001) == 24 / 49


@pytest.mark.parametrize(("spin", "share"), [(0, 0.7143), (0.5, 0.8571), (1, 1.0)])
def test_launch_spin(spin: float, share: float) -> None:
    """v_roll = (5 + 2 s)/7 v0, derived from angular momentum about the contact."""
    assert share == pytest.approx((5 + 2 * spin) / 7, abs=5e-5)
    assert skid.skid(2.0, skid.Launch(spin)).roll_m_s == pytest.approx(2 * (5 + 2 * spin) / 7, abs=1e-12)


def test_skid_length_and_time() -> None:
    """x = 12 v0^2/(49 mu g), t = 2 v0/(7 mu g): 0.2496 m, 0.1456 s, then 1.4286 m/s for mu 0.4 and 2 m/s."""
    found = skid.skid(2.0, skid.Launch(0.0, 0.4))
    assert found.length_m == pytest.approx(0.2496, abs=1e-3)
    assert found.time_s == pytest.approx(0.1456, abs=1e-3)
    assert found.roll_m_s == pytest.approx(1.4286, abs=1e-3)
    # S. K. Perry (2002) and the trade have 15 to 20 % of the putt; this model has 11.8 % on 10 ft.
    assert found.length_m / skid.run_m(2.0, 10, 0.0, skid.Launch(0.0, 0.4)) == pytest.approx(0.118, abs=0.001)


@pytest.mark.parametrize(("spin", "distance"), [(0, 2.11), (1, 3.65)])
def test_whole_distance(spin: float, distance: float) -> None:
    """v0 = 2.0 m/s, 10 ft, mu 0.4, derived: the spin matters by 70 %."""
    assert skid.run_m(2.0, 10, 0.0, skid.Launch(spin, 0.4)) == pytest.approx(distance, abs=0.01)


def test_spin_matters_by_70_percent() -> None:
    ratio = skid.run_m(2.0, 10, 0.0, skid.ROLLING) / skid.run_m(2.0, 10, 0.0, skid.Launch(0.0))
    assert ratio == pytest.approx(1.73, abs=0.01)


@settings(deadline=None)
@given(SPEEDS, GREENS, GENTLE, SPINS)
def test_twice_the_speed_runs_four_times_as_far(speed: float, green_ft: float, slope: float, spin: float) -> None:
    launch = skid.Launch(spin)
    ratio = skid.run_m(2 * speed, green_ft, slope, launch) / skid.run_m(speed, green_ft, slope, launch)
    assert ratio == pytest.approx(4.0, rel=1e-12)


@settings(deadline=None)
@given(st.floats(0.3, 30.0), GREENS, GENTLE, SPINS)
def test_launch_speed_is_the_reverse_of_the_run(distance: float, green_ft: float, slope: float, spin: float) -> None:
    launch = skid.Launch(spin)
    speed = skid.launch_speed_m_s(distance, green_ft, slope, launch)
    assert skid.run_m(speed, green_ft, slope, launch) == pytest.approx(distance, rel=1e-12)


@settings(deadline=None)
@given(SPEEDS, GENTLE, SPINS)
def test_a_skid_conserves_angular_momentum_and_energy(speed: float, slope: float, spin: float) -> None:
    """Per unit mass and radius: surface speed w, moment of inertia 2/5. The slip between ball and ground times
    friction is the heat; gravity does work along the slope.
    """
    launch = skid.Launch(spin)
    found = skid.skid(speed, launch, slope)
    angle = roll.slope_angle_rad(slope)
    pull = roll.GRAVITY_M_S2 * math.sin(angle)
    # About the contact only gravity has a moment.
    before = speed + 0.4 * spin * speed
    assert 1.4 * found.roll_m_s == pytest.approx(before - pull * found.time_s, rel=1e-9)
    slip_m = (1 - spin) * speed * found.time_s / 2  # slip falls linearly to 0
    heat = launch.friction * roll.GRAVITY_M_S2 * math.cos(angle) * slip_m
    kinetic = 0.5 * speed**2 + 0.2 * (spin * speed) ** 2
    assert 0.7 * found.roll_m_s**2 == pytest.approx(kinetic - heat - pull * found.length_m, rel=1e-9)


@settings(deadline=None)
@given(SPEEDS, GREENS, SPINS)
def test_a_downhill_ball_runs_further(speed: float, green_ft: float, spin: float) -> None:
    launch = skid.Launch(spin)
    runs = [skid.run_m(speed, green_ft, slope, launch) for slope in (2.0, 0.0, -2.0)]
    assert runs == sorted(runs)


@settings(deadline=None)
@given(st.floats(1.2, 4.0), SPINS, st.floats(-1.0, 2.0))
def test_mean_speed_over_the_first_metres(speed: float, spin: float, slope: float) -> None:
    """What a camera sees in the first 60 cm gives the launch speed back."""
    launch = skid.Launch(spin)
    time_s = skid.time_over_s(speed, 0.6, 10, slope, launch)
    assert time_s is not None
    assert skid.launch_from_mean_speed_m_s(0.6 / time_s, 0.6, 10, slope, launch) == pytest.approx(speed, rel=1e-6)


def test_time_over_a_place_is_that_of_small_steps() -> None:
    launch, dt = skid.Launch(0.2), 1e-5
    x, v, w, t = 0.0, 2.0, 0.4, 0.0
    while x < 0.6:
        grip = launch.friction * roll.GRAVITY_M_S2
        if w < v:
            v, w = v - grip * dt, w + 2.5 * grip * dt
        else:
            v -= roll.deceleration_m_s2(10) * dt
            w = v
        x, t = x + v * dt, t + dt
    assert skid.time_over_s(2.0, 0.6, 10, 0.0, launch) == pytest.approx(t, abs=2e-4)
    assert skid.time_over_s(2.0, 0.05, 10, 0.0, launch) == pytest.approx(0.05 / 2.0, rel=0.06)
    assert skid.time_over_s(0.5, 0.6, 10, 0.0, launch) is None
    assert skid.launch_from_mean_speed_m_s(0.05, 0.6, 10) is None


def test_ball_and_putter_speed() -> None:
    """Korean J. Appl. Biomech. (goal setting in slope putting): ratio 1.6; (1 + e) M/(M + m) with the ball's 45.93
    g.
    """
    assert skid.BALL_PUTTER_RATIO == 1.6
    for head_g, restitution in ((350, 0.80), (370, 0.83)):
        assert (1 + restitution) * head_g / (head_g + 45.93) == pytest.approx(skid.BALL_PUTTER_RATIO, abs=0.03)
