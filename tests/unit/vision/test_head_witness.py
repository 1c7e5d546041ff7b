"""The learned witness of the head's turn: what it is shown, what it answers, how it is weighed."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from trainer.vision.head.doubt import DoubtOptions, Told, confidence
from trainer.vision.head.fusion import Found, FusionOptions, Turn, fuse, hard_deg, why_hard
from trainer.vision.head.look import CHANNELS, HEIGHT, WIDTH, head_contrast, head_look
from trainer.vision.head.witness import FILE, Rest, Seen, Witness

CENTRE, HALF = (60.0, 50.0), 16.0


def picture(seed: int = 0) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return cv2.resize(rng.integers(20, 235, (14, 16, 3), np.uint8), (128, 112), interpolation=cv2.INTER_CUBIC)


def sure(found: Found, seen: Seen, rest: Rest) -> tuple[Turn, float]:
    """The turn that both agree on, and the confidence in it."""
    turn = fuse(FusionOptions(), found, seen, rest)
    return turn, confidence(DoubtOptions(), Told(turn, found, found, seen, hard_deg(FusionOptions(), rest)))


def test_look_is_the_same_in_any_light_and_turned_over_with_the_picture() -> None:
    image = picture()
    look = head_look(image, CENTRE, HALF)
    assert look.shape == (HEIGHT, WIDTH, CHANNELS)
    darker = head_look((image * 0.5).astype(np.uint8), CENTRE, HALF)
    assert np.abs(darker - look).mean() < 0.12
    over = np.ascontiguousarray(image[:, ::-1])
    flipped = head_look(over, (image.shape[1] - 1 - CENTRE[0], CENTRE[1]), HALF, mirrored=True)
    assert np.abs(flipped - look).max() < 0.05


@pytest.mark.parametrize("centre", [(0.0, 0.0), (127.0, 111.0), (-40.0, 300.0)])
def test_a_head_at_or_over_the_edge_gives_a_look(centre: tuple[float, float]) -> None:
    assert np.isfinite(head_look(picture(), centre, HALF)).all()


def test_the_witness_has_no_side_it_prefers_and_sees_no_turn_in_the_picture_at_rest() -> None:
    image, other = picture(2), picture(3)
    width = image.shape[1]
    plain = Witness(image, CENTRE, HALF, mirrored=False)
    over = (width - 1 - CENTRE[0], CENTRE[1])
    turned = Witness(np.ascontiguousarray(image[:, ::-1]), over, HALF, mirrored=True)
    a, b = plain.see(other, CENTRE), turned.see(np.ascontiguousarray(other[:, ::-1]), over)
    assert a.turn_deg == pytest.approx(b.turn_deg, abs=0.3)
    assert abs(plain.see(image, CENTRE).turn_deg) < 4


def test_the_net_is_small() -> None:
    assert FILE.stat().st_size < 1_000_000


def test_a_sure_registration_of_a_head_with_structure_outweighs_a_witness_that_falls_short() -> None:
    found = Found(turn_deg=35.0, spread_deg=2.0, sigma_deg=1.0, misfit=2.0)
    turn = fuse(FusionOptions(), found, Seen(12.0, 6.0), Rest(1.6, 40.0))
    assert turn.turn_deg == pytest.approx(35, abs=2.5)


def test_a_registration_that_fell_to_the_other_side_yields_but_one_that_holds_a_turn_does_not() -> None:
    fallen, a = sure(Found(-3.0, 1.0, 1.0, 1.5), Seen(30.0, 4.0), Rest(1.3, 38.0))
    assert fallen.turn_deg > 18
    holds, b = sure(Found(30.0, 1.0, 1.0, 1.5), Seen(-35.0, 9.0, 6.0), Rest(1.5, 60.0))
    assert holds.turn_deg > 25
    assert max(a, b) < 0.55


def test_an_answer_that_changes_when_the_pictures_are_turned_over_weighs_less() -> None:
    found, rest = Found(12.0, 3.0, 1.0, 2.0), Rest(1.0, 40.0)
    steady, apart = (fuse(FusionOptions(), found, Seen(20.0, 4.0, a), rest).turn_deg for a in (0.5, 6.0))
    assert found.turn_deg < apart < steady - 0.5


def test_on_a_plain_head_the_witness_decides_and_the_difference_costs_confidence() -> None:
    found = Found(turn_deg=10.0, spread_deg=2.0, sigma_deg=1.0, misfit=2.0)
    turn, doubted = sure(found, Seen(34.0, 4.0), Rest(0.6, 40.0))
    assert turn.turn_deg > 28
    _, agreed = sure(found, Seen(11.0, 4.0), Rest(1.6, 40.0))
    assert doubted < 0.7 < agreed


def test_a_head_with_little_to_see_costs_confidence_at_rest_already() -> None:
    found, seen = Found(turn_deg=0.2, spread_deg=0.3, sigma_deg=1.0, misfit=1.0), Seen(0.1, 2.0)
    heads = [Rest(0.6, 30.0), Rest(1.4, 8.0), Rest(1.4, 35.0), Rest(1.4, 35.0, brim=True)]
    plain, backlit, fair, brimmed = (sure(found, seen, r)[1] for r in heads)
    assert brimmed < 0.35 < max(plain, backlit) < 0.8 < fair
    assert [why_hard(FusionOptions(), r) for r in heads] == ["plain", "faint", "", "brim"]


def test_a_dark_head_against_the_light_has_little_contrast() -> None:
    image = picture(4)
    flat = (100 + 0.1 * (image.astype(float) - 100)).astype(np.uint8)
    assert head_contrast(flat, CENTRE, HALF) < 8 < head_contrast(image, CENTRE, HALF)
