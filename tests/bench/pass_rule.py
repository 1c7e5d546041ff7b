"""Who passes a drill: invented players over the old rule and the new one. `python -m tests.bench.pass_rule` prints the tables.

A player is a share of good strokes, told and in silence, day by day about his own mean. The old rule: any so many of so many
strokes of a block, with feedback or without. The new one: the day's first strokes in silence, on two test days running.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from trainer.coaching.pass_rule import DayTest, passed_for_good, silent_test, with_marks

GOALS = ((8, 10), (6, 8), (6, 10))
DAYS = 4  # a week of homework as it is usually set
BLOCK, OLD_SILENT = 20, 5
FIRST_DAY = date(2026, 1, 5)


@dataclass(frozen=True)
class Player:
    """told, silent: share of good strokes; by_day: standard deviation of both from day to day."""

    told: float
    silent: float
    by_day: float = 0.0


def passed_old(strokes: np.ndarray, good: int, of: int) -> bool:
    """Any window of the strokes so far: the rule up to release 0.1."""
    return any(int(strokes[i : i + of].sum()) >= good for i in range(len(strokes) - of + 1))


@dataclass(frozen=True)
class Passes:
    """Share of players: by the old rule on the first day and on any; one silent test; for good in two days and in all."""

    old_first: float
    old: float
    one_test: float
    two_days: float
    new: float


def simulate(player: Player, good: int, of: int, runs: int = 4000, days: int = DAYS, seed: int = 1) -> Passes:
    rng, test = np.random.default_rng(seed), silent_test(good, of)
    count = np.zeros(5)
    for _ in range(runs):
        old, marks = [], []
        for number in range(days):
            shift = rng.normal(0.0, player.by_day)
            told, silent = (min(max(p + shift, 0.0), 1.0) for p in (player.told, player.silent))
            block, quiet = rng.random(BLOCK) < told, rng.random(test.strokes) < silent
            old.append(passed_old(np.concatenate([block, quiet[:OLD_SILENT]]), good, of))
            marks += [(FIRST_DAY + timedelta(days=number), bool(one)) for one in quiet]
        tests: tuple[DayTest, ...] = with_marks((), test, marks)
        count += (
            old[0],
            any(old),
            bool(tests[0].passed(test)),
            passed_for_good(tests[:2], test) is not None,
            passed_for_good(tests, test) is not None,
        )
    return Passes(*(count / runs))


def table(good: int, of: int, by_day: float, runs: int) -> list[str]:
    """A curve, in lines of markdown."""
    goal, test = good / of, silent_test(good, of)
    out = [
        "",
        f"Goal {good} of {of}; test {test.good} of {test.strokes} in silence;"
        f" from day to day the share varies by {100 * by_day:.0f} points (standard deviation)",
        "",
        f"| good strokes | old, one block | old, {DAYS} days | one test | two days | {DAYS} days, for good |",
        "|---|---|---|---|---|---|",
    ]
    for step in (-0.30, -0.20, -0.15, -0.10, -0.05, 0.0, 0.05, 0.10, 0.15):
        skill = min(goal + step, 0.97)
        got = simulate(Player(skill, skill, by_day), good, of, runs)
        cells = (got.old_first, got.old, got.one_test, got.two_days, got.new)
        out.append(
            f"| {skill:.2f} ({100 * (skill - goal):+.0f}) | " + " | ".join(f"{cell:.2f}" for cell in cells) + " |"
        )
    return out


def main(runs: int = 4000) -> None:
    print("# Who passes a drill\n\nPrinted by `python -m tests.bench.pass_rule`. Shares of invented players who pass.")
    got = simulate(Player(0.8, 0.2), 8, 10, runs)
    print(
        f"\nGood in 80 % when told and in 20 % in silence, goal 8 of 10: by the old rule {got.old_first:.2f} pass in one block"
        f" of 25, {got.old:.2f} within {DAYS} days; by the new one {got.one_test:.4f} pass a test, {got.new:.4f} for good."
    )
    for good, of in GOALS:
        for by_day in (0.0, 0.05):
            print("\n".join(table(good, of, by_day, runs)))


if __name__ == "__main__":
    main()
