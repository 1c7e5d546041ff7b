"""What would help is said once, and not of somebody who only walks in."""

from __future__ import annotations

from trainer.domain.observation import Observation
from trainer.domain.phases import Phase
from trainer.live.advice import SHOWN_S, AdviceTeller

LINE = "feet out of the picture at its bottom: tilt the camera down"


def seen(time_s: float, *lines: str, faulty: str = "") -> Observation:
    return Observation(0, time_s, advice=lines, faulty=faulty)


def test_at_the_ball_soon_and_once() -> None:
    teller = AdviceTeller()
    said = [teller.see(seen(k / 30, LINE), Phase.ADDRESS) for k in range(60)]
    assert [k for k, lines in enumerate(said) if lines] == [3]
    assert teller.shown == (LINE,)
    teller.see(seen(2.0 + SHOWN_S), Phase.ADDRESS)
    assert teller.shown == ()


def test_walking_in_is_let_pass() -> None:
    teller = AdviceTeller()
    for k in range(45):
        teller.see(seen(k / 30, LINE), Phase.SETTING)
    teller.see(seen(1.5), Phase.SETTING)
    for k in range(45, 100):
        teller.see(seen(k / 30, LINE), Phase.SETTING)
    assert teller.said == []
    for k in range(100, 112):
        teller.see(seen(k / 30, LINE), Phase.SETTING)
    assert teller.said == [LINE]


def test_a_fault_of_ours_is_said_at_once() -> None:
    teller = AdviceTeller()
    assert teller.see(seen(0.0, "a fault", faulty="of ours"), Phase.AWAY) == ("a fault",)
