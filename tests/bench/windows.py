"""The ladder's window over the player's spread: what is called out though it was not. `python -m tests.bench.windows`.

The camera tells a ball's run by its speed, twice whose error is the run's: a window inside that error punishes good putts.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.coaching.distance.green_speed import BALL_SPEED_ERROR
from trainer.coaching.distance.ladder import WINDOW_SHARE, window_share

CAMERA_SD = 2.0 * BALL_SPEED_ERROR
SPREADS = (0.0, 0.04, 0.06, 0.08, 0.10, 0.13, 0.16, 0.20, 0.30)


@dataclass(frozen=True)
class InWindow:
    """Of putts about the mark with this true spread: share called in; share of those truly in that is called out."""

    called_in: float
    wrongly_out: float


def simulate(true_spread: float, share: float, putts: int = 200_000, seed: int = 1) -> InWindow:
    rng = np.random.default_rng(seed)
    true = rng.normal(0.0, true_spread, putts)
    read = true + rng.normal(0.0, CAMERA_SD, putts)
    inside, called = np.abs(true) <= share, np.abs(read) <= share
    return InWindow(float(called.mean()), float((inside & ~called).mean() / inside.mean()))


def new_share(true_spread: float) -> float:
    """By the player's own spread as the camera reads it."""
    return window_share(float(np.hypot(true_spread, CAMERA_SD)), by_camera=True)


def main() -> None:
    print("# The ladder's window\n\nPrinted by `python -m tests.bench.windows`. Goal before: 6 of 10; now: 8 of 10.\n")
    print(
        "| true spread | old window | called in | good ones called out | new window | called in | good ones called out |"
    )
    print("|---|---|---|---|---|---|---|")
    for spread in SPREADS:
        old, now = simulate(spread, WINDOW_SHARE), simulate(spread, new_share(spread))
        print(
            f"| {spread:.0%} | {WINDOW_SHARE:.0%} | {old.called_in:.2f} | {old.wrongly_out:.2f}"
            f" | {new_share(spread):.0%} | {now.called_in:.2f} | {now.wrongly_out:.2f} |"
        )


if __name__ == "__main__":
    main()
