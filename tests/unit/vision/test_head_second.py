"""The second outline of the head: heard while the head turns, asleep otherwise, harmless where it is wrong."""

from __future__ import annotations

import numpy as np
import pytest

from tests.unit.vision.test_head import CENTRE, HALF, OUTLINE, TALL, head_picture
from trainer.vision.head.follower import Follower, HeadOptions
from trainer.vision.head.fusion import FusionOptions, Turn, together
from trainer.vision.head.hypotheses import REST_FRAMES
from trainer.vision.head.outline import MEAN_HIGHER, HeadEllipse, place_twice
from trainer.vision.head.patch import Patch, PatchOptions, PatchSampler
from trainer.vision.head.registration import HeadRegistration
from trainer.vision.head.second import Second
from trainer.vision.head.solver import PoseSolver
from trainer.vision.head.witness import Seen

OTHER = HeadEllipse(CENTRE[0] + 1.5, CENTRE[1] - 4, 0.95 * HALF, HALF * TALL, 20.0)
REST, TURN, BACK = 20, 12, 30  # frames
TURNS = np.concatenate([np.zeros(REST), np.linspace(0, 30, TURN), np.linspace(30, 0, 10), np.zeros(BACK)])


class Heads:
    """First and second outline over the same patches; the witness says the truth, loosely."""

    def __init__(self, second: HeadEllipse = OTHER) -> None:
        self.noise = np.random.default_rng(5)
        self.sampler = PatchSampler(PatchOptions(), HALF, mirrored=False)
        image = head_picture(0.0, seed=2)
        self.sampler.learn_colours(image, np.array(CENTRE))
        patch = self.sampler.take(image, np.array(CENTRE))
        self.first = Follower(HeadOptions(), patch, OUTLINE)
        self.second = Second(HeadOptions(), patch, second)

    def patch(self, turn_deg: float) -> Patch:
        image = head_picture(turn_deg, seed=2) + self.noise.normal(0, 8, (240, 320, 3))
        return self.sampler.take(np.clip(image, 0, 255).astype(np.uint8), np.array(CENTRE))

    def step(self, turn_deg: float) -> float | None:
        patch, seen = self.patch(turn_deg), Seen(turn_deg, 10.0)
        self.first.follow(patch, None, lambda _: seen)
        found = self.second.follow(patch, None, seen, self.first, self.first.found.turn_deg)
        return None if found is None else found.turn_deg


def test_it_is_heard_while_the_head_turns_and_reads_the_turn() -> None:
    heads = Heads()
    heard = [heads.step(t) for t in TURNS]
    assert heard[:REST] == [None] * REST
    for turn, found in zip(TURNS[REST + 4 : REST + TURN], heard[REST + 4 : REST + TURN]):
        assert found == pytest.approx(turn, abs=4)
    assert heard[-10:] == [None] * 10
    again = [heads.step(t) for t in np.linspace(0, -25, 8)]
    assert again[-1] == pytest.approx(-25, abs=4)


def test_asleep_it_costs_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    solved, solve = [0], PoseSolver.solve

    def counted(self: PoseSolver, *given: object) -> object:
        solved[0] += 1
        return solve(self, *given)  # type: ignore[arg-type]

    monkeypatch.setattr(PoseSolver, "solve", counted)
    heads, steps = Heads(), []
    for _ in range(40):
        before = solved[0]
        heads.step(0.0)
        steps.append(solved[0] - before)
    assert steps[0] == 1  # not in the frame in which the reference is taken
    assert steps[1] == 3  # the first's, and the second's with the reference too
    assert set(steps[2:REST_FRAMES]) == {2}
    assert set(steps[REST_FRAMES:]) == {1}


def test_one_that_loses_the_head_is_not_heard() -> None:
    heads = Heads()
    heard = []
    for t in TURNS[: REST + TURN]:
        if t > 20 and heads.second._follower is not None:
            heads.second._follower._state[:, 3] += HALF  # it slips to the right
        heard.append(heads.step(t))
    assert heard[REST + 5] is not None
    assert heard[-1] is None


@pytest.mark.parametrize("mirrored", [False, True])
def test_with_it_a_known_turn_is_found_on_either_side(mirrored: bool) -> None:
    side = -1 if mirrored else 1

    def picture(turn_deg: float) -> np.ndarray:
        return np.ascontiguousarray(head_picture(turn_deg, seed=4)[:, ::side])

    head = HeadRegistration(picture(0.0), OUTLINE, mirrored=mirrored, second=OTHER)
    found = []
    for t in TURNS:
        head.follow(picture(float(t)))
        found.append(head.turn_deg)
    error = np.array(found) - TURNS
    assert np.sqrt(np.mean(error**2)) < 3.0
    assert np.abs(error[-10:]).max() < 1.0


@pytest.mark.parametrize("aside", [-0.3, 0.3])
def test_one_at_the_edge_of_what_is_tried_does_no_harm(aside: float) -> None:
    wrong = HeadEllipse(CENTRE[0] + aside * HALF, CENTRE[1] - 0.5 * HALF, 0.85 * HALF, 1.2 * HALF, 20.0)
    alone, both = (HeadRegistration(head_picture(0.0, seed=4), OUTLINE, second=s) for s in (None, wrong))
    for t in TURNS[: REST + TURN]:
        for head in (alone, both):
            head.follow(head_picture(float(t), seed=4))
    assert abs(both.turn_deg - 30) < abs(alone.turn_deg - 30) + 4


def test_the_mean_outline_lies_about_the_best_one_and_higher() -> None:
    image = head_picture(0.0, seed=8)
    placed = place_twice(image, CENTRE[0] + 4, CENTRE[1] + 8, 18.0)
    assert placed is not None
    best, mean = placed
    assert mean.x == pytest.approx(CENTRE[0], abs=3)
    assert mean.y + MEAN_HIGHER * mean.half_width == pytest.approx(best.y, abs=0.25 * HALF)
    assert mean.half_width == pytest.approx(HALF, rel=0.15)
    assert place_twice(image, 5.0, 110.0, 18.0) is None


def test_two_turns_are_weighed_by_precision_and_apart_they_are_doubted() -> None:
    o = FusionOptions()
    one, other = Turn(10.0, 1.0), Turn(16.0, 2.0)
    both = together(o, one, other)
    assert both.turn_deg == pytest.approx(11.2)
    assert both == together(o, other, one)
    assert together(o, one, one) == one
    assert both.error_deg > together(o, one, Turn(10.0, 2.0)).error_deg > one.error_deg
