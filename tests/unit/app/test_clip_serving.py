"""How far a process that reads clips is ahead of who judges them."""

from __future__ import annotations

import multiprocessing
from threading import Thread

import pytest

from trainer.app.clip_serving import ENOUGH, TAKEN, Waiting


def test_frames_that_wait_are_those_found_and_not_yet_taken() -> None:
    ours, theirs = multiprocessing.Pipe()
    waiting = Waiting(ours)
    waiting.hear()
    assert waiting.count == 0
    waiting.count += 3
    for _ in range(2):
        theirs.send_bytes(TAKEN)
    waiting.hear()
    assert (waiting.count, waiting.enough) == (1, False)


def test_it_waits_for_room_and_ends_with_enough() -> None:
    ours, theirs = multiprocessing.Pipe()
    waiting = Waiting(ours)
    waiting.count = 5
    waiting.hear(5)  # there is room: nothing to wait for
    taking = Thread(target=lambda: [theirs.send_bytes(said) for said in (TAKEN, TAKEN, ENOUGH)])
    taking.start()
    waiting.hear(3)
    assert waiting.count <= 3
    waiting.hear(-1)
    taking.join()
    assert waiting.enough
    waiting.hear(-1)  # and once it is enough it does not wait for more


def test_who_is_there_no_more_is_no_room() -> None:
    ours, theirs = multiprocessing.Pipe()
    theirs.close()
    waiting = Waiting(ours)
    with pytest.raises(EOFError):
        waiting.hear()
