"""Ball, hole and club as the rules have them, and plain checks whether a seen size can be true."""

from __future__ import annotations

# R&A / USGA Rules, Appendix III: mass at most 1.620 oz, diameter at least 1.680 in; balls are made to these limits.
BALL_MASS_G = 45.93
BALL_DIAMETER_MM = 42.67
BALL_RADIUS_M = BALL_DIAMETER_MM / 2000.0

# Hole 4.25 in wide, at least 4 in deep (Rules; read in a summary of them).
HOLE_DIAMETER_MM = 4.25 * 25.4
HOLE_RADIUS_M = 0.054  # the rules' rounded metric size, 108 mm, halved
HOLE_DEPTH_MM = 4.0 * 25.4

# Clubs (R&A / USGA): length at least 18 in; at most 48 in, from which putters are excepted.
CLUB_LENGTH_M = (0.457, 1.219)
# R&A Guide, Appendix II 1d: the shaft leans at least 10 deg from vertical seen along the line; seen face-on at most
# 20 deg forward and 10 deg back.
MIN_TOE_HEEL_LEAN_DEG = 10.0
FORWARD_LEAN_DEG = (-10.0, 20.0)
# USGA Equipment Rules, part 2, interpretations: at most 10 deg; more negative than -15 deg is not customary.
PUTTER_LOFT_DEG = (-15.0, 10.0)
# Size limits of a putter head; the numbers are from memory, the notice of 2004 that brought them was seen.
HEEL_TOE_MM = 177.8
SOLE_CROWN_MM = 63.5


def can_be_putter_length(length_m: float) -> bool:
    """A putter has a least length but, alone among clubs, no greatest one."""
    return length_m >= CLUB_LENGTH_M[0]


def can_be_putter_lie(lie_deg: float) -> bool:
    """lie_deg: shaft above the ground, seen along the target line; the rules leave less than 80 deg."""
    return 0.0 < lie_deg <= 90.0 - MIN_TOE_HEEL_LEAN_DEG


def can_be_shaft_lean(forward_deg: float) -> bool:
    """forward_deg: of the shaft as built, grip toward the target +, seen face-on."""
    return FORWARD_LEAN_DEG[0] <= forward_deg <= FORWARD_LEAN_DEG[1]


def can_be_putter_head(heel_toe_mm: float, face_back_mm: float, sole_crown_mm: float) -> bool:
    """Heel to toe the longest side, all within the rules."""
    return 0.0 < face_back_mm < heel_toe_mm <= HEEL_TOE_MM and 0.0 < sole_crown_mm <= SOLE_CROWN_MM
