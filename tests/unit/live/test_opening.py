"""While something is made ready the window moves and hears its keys; the work is ended with it."""

from __future__ import annotations

import threading
from itertools import pairwise
from typing import Iterator

import pygame
import pytest

from trainer.live.opening import LOOK_S, Opening, made_ready
from trainer.live.ports import QUIT
from trainer.testing.fakes import FakeClock, FakeDisplay
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.drawing.opening_view import draw_opening
from trainer.worker import Job, Progress, Stopped


def test_the_result_comes_and_the_window_has_shown_that_it_goes_on() -> None:
    clock, shown = FakeClock(), threading.Event()
    display = FakeDisplay(clock.now, on_show=lambda state: shown.set() if state.share == 0.5 else None)

    def work(progress: Progress) -> str:
        progress.tell(0.5, "reading a.mp4")
        assert shown.wait(20.0)  # the window looks while the work goes on
        return "done"

    assert made_ready(display, clock, "Opening", work) == "done"
    words = [(state.words, state.share) for _, state in display.shown]
    assert words[0] == ("Opening", None)  # at once
    assert words[-1] == ("reading a.mp4", 0.5)
    assert LOOK_S < 0.3


def test_what_the_work_raises_is_raised_here() -> None:
    def work(_: Progress) -> None:
        raise ValueError("no such clip")

    with pytest.raises(ValueError, match="no such clip"):
        made_ready(FakeDisplay(lambda: 0.0), FakeClock(), "Opening", work)


def test_the_user_ends_it_and_the_work_ends_too() -> None:
    ended: list[bool] = []

    def work(progress: Progress) -> None:
        try:
            while True:
                progress.tell(None)
        except Stopped:
            ended.append(True)
            raise

    display = FakeDisplay(lambda: 0.0, keys=[QUIT])
    assert made_ready(display, FakeClock(), "Opening", work) is None
    assert ended == [True]
    assert display.closed


def test_without_a_window_it_is_done_right_here() -> None:
    class Nowhere(FakeDisplay):
        visible = False

    display = Nowhere(lambda: 0.0)
    here = threading.get_ident()
    assert made_ready(display, FakeClock(), "Opening", lambda _: threading.get_ident()) == here
    assert not display.shown


def pictures(share: float | None, theme: str, size: tuple[int, int]) -> Iterator[bytes]:
    surface, canvas = pygame.Surface(size), Canvas()
    for k in range(12):
        draw_opening(canvas, surface, Opening("Reading the clip", 0.1 * k, share), theme)
        yield pygame.image.tobytes(surface, "RGB")


@pytest.mark.parametrize("share", [None, 0.0, 0.4, 1.0])
@pytest.mark.parametrize(("theme", "size"), [("dark", (1024, 600)), ("light", (1366, 768))])
def test_the_page_moves_whether_or_not_the_share_grows(share: float | None, theme: str, size: tuple[int, int]) -> None:
    drawn = list(pictures(share, theme, size))
    assert all(a != b for a, b in pairwise(drawn))


def test_a_job_that_failed_says_so_when_asked() -> None:
    def work(_: Progress) -> None:
        raise OSError("full")

    job = Job("x", work).start()
    assert job.wait(20.0)
    with pytest.raises(OSError, match="full"):
        job.result()
