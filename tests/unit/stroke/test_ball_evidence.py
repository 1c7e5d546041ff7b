"""A ball by the putter at address: how long it must have been seen, and how near."""

import math

import numpy as np
import pytest

from trainer.domain.observation import View
from trainer.domain.player_frame import PlayerFrame
from trainer.domain.record import Events, signal_names
from trainer.stroke.ball_evidence import BEFORE_S, LAST_S, MIN_SHARE, NEAR_CM, BallAtAddress, ball_at_address
from trainer.stroke.record_builder import kind_of
from trainer.stroke.signals import signals_of

TAKEAWAY_S = 2.0
T = np.arange(0.0, 3.0, 0.02)


def seen_in(share: float, every: int = 1) -> BallAtAddress | None:
    """The ball at (300, -420) in the last share of the stretch before takeaway, elsewhere long before and after it.

    every: in one sample of so many only.
    """
    along, up = np.full(len(T), 100.0), np.full(len(T), -100.0)
    before = np.flatnonzero((T > TAKEAWAY_S - BEFORE_S) & (T < TAKEAWAY_S))
    lost = before[: len(before) - round(share * len(before))]
    along[before], up[before] = 300.0, -420.0
    lost = np.union1d(lost, before[np.arange(len(before)) % every > 0])
    along[lost] = up[lost] = math.nan
    return ball_at_address(T, along, up, TAKEAWAY_S)


def test_the_ball_lay_where_it_was_seen_just_before_takeaway() -> None:
    assert seen_in(1.0) == BallAtAddress(300.0, -420.0)
    assert seen_in(MIN_SHARE + 0.05) == BallAtAddress(300.0, -420.0)


def test_a_ball_seen_now_and_then_or_never_is_none() -> None:
    assert seen_in(1.0, every=3) is None
    assert seen_in(MIN_SHARE, every=2) is None
    assert seen_in(0.0) is None
    assert ball_at_address(T[T > TAKEAWAY_S], T[T > TAKEAWAY_S], T[T > TAKEAWAY_S], TAKEAWAY_S) is None


def test_a_ball_found_late_but_seen_steadily_since_lay_there() -> None:
    assert seen_in(1.1 * LAST_S / BEFORE_S) == BallAtAddress(300.0, -420.0)
    assert seen_in(0.6 * LAST_S / BEFORE_S) is None


def test_beside_the_putter_head_by_centimetres_along_and_up() -> None:
    ball, cm_per_px = BallAtAddress(300.0, -420.0), 0.5
    along, up = (limit / cm_per_px for limit in NEAR_CM)
    assert ball.beside(cm_per_px, 300.0 + 0.9 * along, -420.0 - 0.9 * up)
    assert not ball.beside(cm_per_px, 300.0 - 1.1 * along, -420.0)
    assert not ball.beside(cm_per_px, 300.0, -420.0 + 1.1 * up)
    assert not ball.beside(cm_per_px, 300.0 + 1.1 * along)
    assert ball.beside(cm_per_px, math.nan, math.nan)


@pytest.mark.parametrize(("view", "kind"), [("down-the-line", "ball"), ("face-on", "rehearsal")])
def test_a_ball_that_the_putter_hid_at_address_is_one_down_the_line(view: View, kind: str) -> None:
    """There it shows once the putter has gone back; face-on one that comes into sight then was not what lay by the putter."""
    frame = PlayerFrame(view, "right", 640)
    rows = []
    for k, t in enumerate(T):
        columns = dict.fromkeys(signal_names(view), math.nan)
        if TAKEAWAY_S + 0.1 < t < TAKEAWAY_S + 0.8:
            columns[f"ball_{frame.aside}_px"], columns["ball_up_px"] = 300.0, -420.0
        rows.append((k, float(t), columns))
    events = Events(takeaway_s=TAKEAWAY_S, top_s=TAKEAWAY_S + 0.6, impact_s=TAKEAWAY_S + 0.8)
    assert kind_of(signals_of(rows, frame), events, events) == kind


def test_a_row_of_another_view_was_not_seen() -> None:
    behind, front = PlayerFrame("down-the-line"), PlayerFrame()
    rows = [(k, k / 30, dict.fromkeys(signal_names(frame.view), 1.0)) for k, frame in enumerate((behind, front))]
    assert np.isnan(signals_of(rows, behind)["putter_across_px"]).tolist() == [False, True]
