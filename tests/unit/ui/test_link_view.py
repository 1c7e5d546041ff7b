"""The page that tells how to link a phone: its code is read off the window, its letters say the same, nothing sticks out."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import pygame
import pytest

from tests.support.approved_pictures import assert_approved
from trainer.feedback.signs import THEMES
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.drawing.link_view import draw_link, in_lines
from trainer.vision.sources.base import Waiting
from trainer.vision.sources.phone.place import Link, link_to

LINK: Link = link_to("https://192.168.100.200:8443", "abcd-efgh-jkmn-pqrs-tuvw-xyz2-34")
WAITING = Waiting(
    "Open this on the phone", "it warns of a certificate made at home: go on all the same", LINK.address, LINK.qr
)


def drawn(size: tuple[int, int], theme: str, waiting: Waiting = WAITING) -> np.ndarray:
    surface = pygame.Surface(size)
    draw_link(Canvas(), surface, waiting, theme)
    return pixels(surface)


def pixels(surface: pygame.Surface) -> np.ndarray:
    return np.ascontiguousarray(pygame.surfarray.array3d(surface).swapaxes(0, 1)[:, :, ::-1])


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("size", [(1280, 720), (640, 480), (800, 1000)])
def test_the_code_is_read_off_the_window(size: tuple[int, int], theme: str) -> None:
    assert cv2.QRCodeDetector().detectAndDecode(drawn(size, theme))[0] == LINK.address


def test_on_a_small_part_of_a_window_it_is_still_read() -> None:
    letters: list[float] = []

    class Watched(Canvas):
        def text(self, *given: Any, **more: Any) -> Any:
            if given[1]:
                letters.append(given[3])
            return super().text(*given, **more)

    surface = pygame.Surface((988, 230))
    draw_link(Watched(), surface, WAITING, "dark", keys="")
    assert min(letters) >= 18
    assert cv2.QRCodeDetector().detectAndDecode(pixels(surface))[0] == LINK.address


@pytest.mark.parametrize("theme", THEMES)
def test_as_it_was_approved(theme: str) -> None:
    assert_approved(drawn((1280, 720), theme), f"phone-link-{theme}")


def test_the_letters_are_the_address() -> None:
    lines = in_lines(LINK.address)
    assert lines == ["https://192.168.100.200:8443/", "abcd-efgh-jkmn-pqrs-", "tuvw-xyz2-34"]
    assert "".join(lines) == LINK.address


def test_a_page_without_a_code() -> None:
    assert drawn((640, 480), "dark", Waiting("Wait", "a moment")).any()
