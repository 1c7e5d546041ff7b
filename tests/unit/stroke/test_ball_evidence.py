"""A ball by the putter at address: how long it must have been seen, and how near."""

import math

import numpy as np

from trainer.stroke.ball_evidence import BEFORE_S, MIN_SHARE, NEAR_CM, BallAtAddress, ball_at_address

TAKEAWAY_S = 2.0
T = np.arange(0.0, 3.0, 0.02)


def seen_in(share: float) -> BallAtAddress | None:
    """The ball at (300, -420) in the last share of the stretch before takeaway, elsewhere long before and after it."""
    along, up = np.full(len(T), 100.0), np.full(len(T), -100.0)
    before = np.flatnonzero((T > TAKEAWAY_S - BEFORE_S) & (T < TAKEAWAY_S))
    lost = before[: len(before) - round(share * len(before))]
    along[before], up[before] = 300.0, -420.0
    along[lost] = up[lost] = math.nan
    return ball_at_address(T, along, up, TAKEAWAY_S)


def test_the_ball_lay_where_it_was_seen_just_before_takeaway() -> None:
    assert seen_in(1.0) == BallAtAddress(300.0, -420.0)
    assert seen_in(MIN_SHARE + 0.05) == BallAtAddress(300.0, -420.0)


def test_a_ball_seen_now_and_then_or_never_is_none() -> None:
    assert seen_in(MIN_SHARE - 0.05) is None
    assert seen_in(0.0) is None
    assert ball_at_address(T[T > TAKEAWAY_S], T[T > TAKEAWAY_S], T[T > TAKEAWAY_S], TAKEAWAY_S) is None


def test_beside_the_putter_head_by_centimetres_along_and_up() -> None:
    ball, cm_per_px = BallAtAddress(300.0, -420.0), 0.5
    along, up = (limit / cm_per_px for limit in NEAR_CM)
    assert ball.beside(cm_per_px, 300.0 + 0.9 * along, -420.0 - 0.9 * up)
    assert not ball.beside(cm_per_px, 300.0 - 1.1 * along, -420.0)
    assert not ball.beside(cm_per_px, 300.0, -420.0 + 1.1 * up)
    assert not ball.beside(cm_per_px, 300.0 + 1.1 * along)
    assert ball.beside(cm_per_px, math.nan, math.nan)
