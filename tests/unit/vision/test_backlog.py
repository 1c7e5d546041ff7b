"""What waits between a camera and its reader, and what is lost."""

from __future__ import annotations

from trainer.domain.observation import Frame
from trainer.vision.sources.backlog import BEHIND_S, LONGEST_S, Backlog


def came(backlog: Backlog, indices: range, fps: float = 60.0) -> int:
    """How many are lost while these come and nobody takes any."""
    return sum(backlog.put(Frame(k, k / fps, None)) for k in indices)


def taken(backlog: Backlog) -> list[int]:
    found = []
    while (frame := backlog.take()) is not None:
        found.append(frame.index)
    return found


def test_before_anybody_takes_only_the_newest_waits_and_nothing_is_lost() -> None:
    backlog = Backlog()
    assert came(backlog, range(30)) == 0
    assert taken(backlog) == [29]


def test_a_frame_that_takes_long_now_and_then_loses_nothing() -> None:
    backlog, lost = Backlog(), 0
    seen: list[int] = []
    taken(backlog)
    for begin in range(0, 60, 6):  # six at a time: a tenth of a second
        lost += came(backlog, range(begin, begin + 6))
        seen += taken(backlog)
    assert lost == 0
    assert seen == list(range(60))


def test_a_reader_who_is_too_slow_is_shown_the_newest_and_no_frame_late() -> None:
    backlog, lost, waited = Backlog(), 0, []
    taken(backlog)
    for k in range(240):
        lost += backlog.put(Frame(k, k / 60, None))
        if k % 2 and (frame := backlog.take()) is not None:  # half as many as come
            waited.append((k - frame.index) / 60)
    assert max(waited) <= LONGEST_S
    assert set(waited[len(waited) // 2 :]) == {0.0}
    assert lost + len(waited) + len(backlog) == 240


def test_one_long_wait_loses_no_more_than_has_waited_too_long() -> None:
    backlog = Backlog()
    taken(backlog)
    lost = came(backlog, range(20))
    assert taken(backlog) == list(range(lost, 20))
    assert (19 - lost) / 60 <= LONGEST_S < (19 - lost + 1.01) / 60  # all that came since then still wait
    assert came(backlog, range(20, 25)) == 0  # and so do the next ones
    assert taken(backlog) == list(range(20, 25))


def test_a_reader_who_keeps_up_again_is_waited_for_again() -> None:
    backlog = Backlog()
    taken(backlog)
    assert came(backlog, range(12)) > 0
    taken(backlog)
    then = 12 + round(BEHIND_S * 60) + 1
    for k in range(12, then):
        assert backlog.put(Frame(k, k / 60, None)) == 0
        backlog.take()
    assert came(backlog, range(then, then + 5)) == 0
    assert taken(backlog) == list(range(then, then + 5))
