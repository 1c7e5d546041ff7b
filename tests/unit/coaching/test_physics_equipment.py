"""Ball, hole, club and putter sizes against the rules of golf."""

from __future__ import annotations

import pytest

from trainer.coaching.distance import equipment as eq


def test_ball() -> None:
    """R&A / USGA Rules, Appendix III: at most 1.620 oz = 45.93 g, at least 1.680 in = 42.67 mm."""
    assert pytest.approx(1.620 * 28.349523125, abs=0.01) == eq.BALL_MASS_G
    assert pytest.approx(1.680 * 25.4, abs=0.005) == eq.BALL_DIAMETER_MM
    assert pytest.approx(0.021335) == eq.BALL_RADIUS_M


def test_hole() -> None:
    """4.25 in = 108 mm wide, at least 4 in (101.6 mm) deep."""
    assert pytest.approx(107.95) == eq.HOLE_DIAMETER_MM
    assert pytest.approx(eq.HOLE_DIAMETER_MM / 2000, abs=5e-5) == eq.HOLE_RADIUS_M
    assert pytest.approx(101.6) == eq.HOLE_DEPTH_MM


def test_club_length() -> None:
    """At least 18 in (0.457 m), at most 48 in (1.219 m) except putters."""
    assert pytest.approx((18 * 0.0254, 48 * 0.0254), abs=5e-4) == eq.CLUB_LENGTH_M
    assert not eq.can_be_putter_length(0.45)
    assert eq.can_be_putter_length(0.46)
    assert eq.can_be_putter_length(1.3)


def test_shaft_angle() -> None:
    """R&A Guide, Appendix II 1d: 10 deg or more from vertical toe to heel; 20 deg forward, 10 deg back at most."""
    assert eq.can_be_putter_lie(80.0)
    assert not eq.can_be_putter_lie(80.5)
    assert eq.can_be_shaft_lean(20.0)
    assert not eq.can_be_shaft_lean(20.5)
    assert eq.can_be_shaft_lean(-10.0)
    assert not eq.can_be_shaft_lean(-10.5)


def test_loft() -> None:
    """USGA Equipment Rules 2019: at most 10 deg; more negative than -15 deg is not customary."""
    assert eq.PUTTER_LOFT_DEG == (-15.0, 10.0)


def test_head() -> None:
    """Heel to toe more than face to back and at most 7 in; sole to crown at most 2.5 in (numbers from memory)."""
    assert pytest.approx(7 * 25.4) == eq.HEEL_TOE_MM
    assert pytest.approx(2.5 * 25.4) == eq.SOLE_CROWN_MM
    assert eq.can_be_putter_head(110, 60, 30)
    assert not eq.can_be_putter_head(180, 60, 30)
    assert not eq.can_be_putter_head(100, 110, 30)
    assert not eq.can_be_putter_head(110, 60, 64)
