"""The rule of passing over invented players: the old one let through who must not pass, the new one does not."""

from __future__ import annotations

import pytest

from tests.bench.pass_rule import GOALS, Player, simulate
from trainer.coaching.pass_rule import at_least_good, silent_test
from trainer.resources import data_path
from trainer.settings.drill_file import known_drills, load_drill

BUNDLED = data_path("config", "drills")


@pytest.mark.parametrize(("good", "of"), GOALS)
def test_fifteen_below_fail_and_ten_above_pass(good: int, of: int) -> None:
    goal = good / of
    below = simulate(Player(goal - 0.15, goal - 0.15), good, of, 400)
    above = simulate(Player(goal + 0.10, goal + 0.10), good, of, 400)
    assert below.old_first > 0.6  # what any window of a block let through
    assert below.one_test <= 0.13  # 0.10 and the chance of 400 runs
    assert below.new <= 0.05
    assert above.one_test >= 0.77
    assert above.new >= 0.85


def test_good_only_when_told_never_passes() -> None:
    got = simulate(Player(0.8, 0.2), 8, 10, 400)
    assert got.old_first > 0.9
    assert got.new == 0.0


def test_every_bundled_drills_test_tells_them_apart() -> None:
    for drill_id in known_drills([BUNDLED]):
        rule = load_drill(drill_id, [BUNDLED]).rule
        goal, test = rule.good / rule.of, silent_test(rule.good, rule.of)
        assert at_least_good(test.good, test.strokes, goal - 0.15) <= 0.10
        assert at_least_good(test.good, test.strokes, min(goal + 0.10, 0.97)) >= 0.80
        shorter = [silent_test(rule.good, rule.of, n).strokes for n in range(1, test.strokes + 1)]
        assert set(shorter) == {test.strokes}  # none is shorter
