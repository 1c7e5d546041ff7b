"""Confidence in a turn that is told: what it hangs on makes it less."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from trainer.vision.head.doubt import DoubtOptions, Told, confidence
from trainer.vision.head.fusion import Found, FusionOptions, Turn, fuse, hard_deg
from trainer.vision.head.witness import Rest, Seen

OPTIONS = DoubtOptions()
FIRST = Found(turn_deg=20.0, spread_deg=1.0, sigma_deg=0.8, misfit=1.5, range_deg=3.0)
AGREED = Told(Turn(20.0, 3.0), FIRST, replace(FIRST, turn_deg=21.0), Seen(19.0, 4.0, 0.5), 0.0)


def test_a_turn_that_all_agree_on_is_sure() -> None:
    assert confidence(OPTIONS, AGREED) > 0.8


@pytest.mark.parametrize(
    "worse",
    [
        replace(AGREED, first=replace(FIRST, range_deg=20.0)),
        replace(AGREED, other=replace(FIRST, turn_deg=30.0)),
        replace(AGREED, other=None),
        replace(AGREED, seen=Seen(19.0, 4.0, 8.0)),
        replace(AGREED, turn=Turn(20.0, 12.0)),
        replace(AGREED, first=replace(FIRST, misfit=4.5)),
    ],
    ids=["shapes differ", "outlines differ", "one outline lost", "turned over", "error expected", "fits badly"],
)
def test_whatever_it_hangs_on_makes_it_unsure(worse: Told) -> None:
    assert confidence(OPTIONS, worse) < 0.8 * confidence(OPTIONS, AGREED) + 0.08


def test_it_falls_as_the_outlines_part_and_on_without_a_step() -> None:
    said = [
        confidence(OPTIONS, replace(AGREED, other=replace(FIRST, turn_deg=20.0 + apart))) for apart in range(0, 30, 2)
    ]
    falls = [a - b for a, b in pairwise(said)]
    assert min(falls) >= 0
    assert max(falls) < 0.2
    assert said[-1] < 0.1


def test_what_is_a_lot_for_a_small_turn_is_little_for_a_large_one() -> None:
    small = replace(AGREED, first=replace(FIRST, turn_deg=8.0, range_deg=8.0), other=replace(FIRST, turn_deg=8.5))
    small = replace(small, seen=Seen(8.0, 4.0, 0.5))
    large = replace(AGREED, first=replace(FIRST, range_deg=8.0))
    assert confidence(OPTIONS, small) < confidence(OPTIONS, large)


def test_a_head_at_rest_is_sure_without_a_second_outline() -> None:
    rest = Found(turn_deg=0.2, spread_deg=0.3, sigma_deg=0.5, misfit=1.0, range_deg=0.8)
    assert confidence(OPTIONS, Told(Turn(0.2, 1.0), rest, None, Seen(0.1, 2.0), 0.0)) > 0.85


def test_no_head_is_surer_than_what_is_known_of_it_at_rest_and_one_under_a_brim_whose_rim_is_lost_is_not_judged() -> (
    None
):
    fusion, rest = FusionOptions(), replace(FIRST, turn_deg=0.0, range_deg=0.2, misfit=1.0)
    seen, fair = Seen(0.0, 1.0), Rest(1.5, 40.0)

    def at_rest(r: Rest) -> float:
        turn = fuse(fusion, rest, seen, r)
        return confidence(OPTIONS, Told(turn, rest, None, seen, hard_deg(fusion, r)))

    assert at_rest(replace(fair, brim=True)) < 0.35 < at_rest(replace(fair, structure=0.6)) < 0.8 < at_rest(fair)
