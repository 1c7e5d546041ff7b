"""Nonsense gets one line with what is wrong and what range is allowed; units are always printed."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from trainer.coaching.distance.checks import BACKSTROKE, GREEN_SPEED, PUTT, ROLLED, SLOPE, in_range, like_the_target
from trainer.coaching.distance.green_speed import entered_green
from trainer.coaching.distance.putt import Putt, checked, putt_words
from trainer.domain.units import from_m, shown, to_m, unit_named
from trainer.errors import UsageError

GOOD = Putt(
    back_cm=24, rolled_m=4.1, green_speed_ft=10, target_m=4.0, back_s=0.67, to_impact_s=0.32, ball_speed_m_s=2.4
)


@pytest.mark.parametrize("stimp", [0, 40, -3, math.nan, math.inf, None, "10", True])
def test_green_speeds_that_cannot_be(stimp: object) -> None:
    with pytest.raises(UsageError, match=r"^green speed: .*allowed: 4 to 16 ft") as caught:
        entered_green(stimp)  # type: ignore[arg-type]
    assert "\n" not in str(caught.value)


def test_green_speed_given_in_metres() -> None:
    with pytest.raises(UsageError, match=r"by the look of it metres: 3 m is 9\.8 ft"):
        entered_green(3.0)


@pytest.mark.parametrize("slope", [30, -30, 8.1, math.nan])
def test_slopes_that_cannot_be(slope: float) -> None:
    with pytest.raises(UsageError, match=r"slope: .*allowed: -8 to 8 % \(\+ uphill\)"):
        in_range(slope, SLOPE)


@pytest.mark.parametrize("distance", [-1.0, 0.0, None, math.nan])
def test_distances_that_cannot_be(distance: float | None) -> None:
    with pytest.raises(UsageError, match=r"distance: .*allowed: 0\.3 to 30 m"):
        in_range(distance, PUTT)


def test_ranges_are_told_in_the_unit_in_use() -> None:
    with pytest.raises(UsageError, match=r"roll-out: 656\.2 ft cannot be; allowed: 0\.328 to 131 ft"):
        in_range(200.0, ROLLED, "ft")


def test_feet_given_for_metres() -> None:
    with pytest.raises(UsageError, match=r"distance: 50 m cannot be; .*by the look of it feet: 50 ft is 15\.2 m"):
        in_range(50.0, PUTT)
    with pytest.raises(
        UsageError, match=r"13 m for a target of 4 m: by the look of it feet given for metres \(13 ft is 4"
    ):
        checked(replace(GOOD, rolled_m=13.0), "m")
    with pytest.raises(UsageError, match=r"4 ft for a target of 13 ft: .* metres given for feet \(4 m is 13\.1 ft"):
        checked(replace(GOOD, rolled_m=to_m(4, "ft"), target_m=to_m(13, "ft")), "ft")
    assert checked(replace(GOOD, rolled_m=13.0), "m", sure=True).rolled_m == 13.0
    like_the_target(3.3, 1.0, "m")  # one metre run three and a bit happens
    like_the_target(1.3, 4.0, "m")  # a stubbed one
    like_the_target(8.0, 4.0, "m")
    with pytest.raises(UsageError, match="by the look of it metres"):
        in_range(0.24, BACKSTROKE)


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"back_cm": -5.0}, "backstroke length"),
        ({"back_cm": 200.0}, "backstroke length"),
        ({"rolled_m": -4.0}, "roll-out"),
        ({"rolled_m": 0.0}, "roll-out"),
        ({"green_speed_ft": 0.0}, "green speed"),
        ({"green_speed_ft": 40.0}, "green speed"),
        ({"slope_pct": 30.0}, "slope"),
        ({"slope_pct": -7.9, "green_speed_ft": 12.0}, "slope"),
        ({"target_m": -2.0}, "distance"),
        ({"target_m": 60.0}, "distance"),
        ({"back_s": 0.0}, "backstroke time"),
        ({"to_impact_s": 5.0}, "time from top to impact"),
        ({"ball_speed_m_s": -1.0}, "ball speed"),
        ({"rounded_to_m": 4.0}, "rounding"),
    ],
)
def test_a_putt_with_nonsense_in_it(change: dict[str, float], what: str) -> None:
    assert checked(GOOD, "m") == GOOD
    with pytest.raises(UsageError, match=f"^{what}: ") as caught:
        checked(replace(GOOD, **change), "m")  # type: ignore[arg-type]
    assert "\n" not in str(caught.value)


def test_units() -> None:
    assert to_m(10, "ft") == pytest.approx(3.048)
    assert from_m(to_m(7.0, "ft"), "ft") == pytest.approx(7.0)
    assert (shown(3.048, "m"), shown(3.048, "ft")) == ("3.05 m", "10.0 ft")
    assert putt_words(GOOD, "m") == "24 cm back, ran 4.1 m for 4.0 m"
    assert "13.5 ft for 13.1 ft" in putt_words(GOOD, "ft")
    assert unit_named("ft") == "ft"
    with pytest.raises(UsageError, match="must be m or ft, not 'yd'"):
        unit_named("yd")


def test_stimp_range_in_print() -> None:
    """Penner 2002 quotes greens from 4 ft on."""
    assert GREEN_SPEED.low == 4.0
