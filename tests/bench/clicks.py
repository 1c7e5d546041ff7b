"""Impact by clicks at known times in made-up sound: ``python -m tests.bench.clicks``; kept in ``tests/bench/clicks.md``.

A session is a row of strokes before one ground: the picture puts impact a little off and so much late, the click is looked for
in the sound, and ``ImpactSound`` learns the delay and places impact, as in practice. Counted are the strokes from the sixth on.
"""

from __future__ import annotations

import argparse
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import Sequence

import numpy as np

from tests.support.made_sounds import CLICKS, GROUNDS, RATE_HZ, heard
from tests.support.made_strokes import record
from trainer.domain.sound import Onset
from trainer.hearing.onset import OnsetFinder
from trainer.stroke.impact_sound import NAME, ImpactSound

PICTURE_SD_S = 0.0037  # of impact by the picture alone at 30 frames a second (``tests.bench.impact_sound``)
TOLD_SD_S = 0.003  # what it says of itself
CAMERA_S = (0.03, 0.12)  # a session's camera is late by one of these
NEAR_S = 0.002
BLOCK_S = 0.1


@dataclass
class Found:
    """Counts of strokes; errors_s: of impact as it was placed."""

    said: Counter[str] = field(default_factory=Counter)
    onset_right: int = 0
    far: int = 0
    errors_s: list[float] = field(default_factory=list)
    onsets: int = 0
    sound_s: float = 0.0

    @property
    def strokes(self) -> int:
        return sum(self.said.values())


class Asked:
    """The onsets of a session; windows: those that were asked for."""

    def __init__(self, onsets: Sequence[Onset]) -> None:
        self._onsets = onsets
        self.window = (0.0, 0.0)

    def __call__(self, first_s: float, last_s: float) -> list[Onset]:
        self.window = (first_s, last_s)
        return [o for o in self._onsets if first_s <= o.time_s <= last_s]


def session(kind: str, ground: str, over_db: float, rng: np.random.Generator, strokes: int, into: Found) -> None:
    made = heard(kind, ground, over_db, rng, strokes)
    finder, size = OnsetFinder(RATE_HZ), round(BLOCK_S * RATE_HZ)
    onsets = [
        onset
        for first in range(0, len(made.sound), size)
        for onset in finder.feed(made.sound[first : first + size], first / RATE_HZ)
    ]
    into.onsets += len(onsets) - len(made.clicks_s)
    into.sound_s += len(made.sound) / RATE_HZ
    asked, camera_s = Asked(onsets), rng.uniform(*CAMERA_S)
    sound = ImpactSound(asked)
    for at in made.clicks_s:
        true_s = at + camera_s
        by_picture = true_s + rng.normal(0, PICTURE_SD_S)
        known = sound.delay is not None
        placed = sound.place(by_picture, TOLD_SD_S)
        sound.learn(replace(record(), measures={**record().measures, NAME: placed.later}))
        if not known:
            continue
        into.said[placed.later.reason or "placed"] += 1
        into.errors_s.append(placed.impact_s - true_s)
        if placed.later.value is not None:
            taken_s = by_picture + placed.later.value
            into.onset_right += abs(taken_s - at) <= NEAR_S
            into.far += not asked.window[0] <= taken_s <= asked.window[1]


def measure(ground: str, over_db: float, seed: int, sessions: int, strokes: int) -> Found:
    found = Found()
    for number in range(sessions):
        for kind in CLICKS:
            rng = np.random.default_rng(
                [seed, number, list(CLICKS).index(kind), list(GROUNDS).index(ground), int(over_db)]
            )
            session(kind, ground, over_db, rng, strokes, found)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--sessions", type=int, default=2, help="of each kind of click")
    parser.add_argument("--strokes", type=int, default=45, help="of a session")
    asked = parser.parse_args()
    print(
        "| heard beside | dB | onsets/s | strokes | click placed it | and was the click's | more than one | none | outside |",
        end="",
    )
    print(" impact within 2 ms | RMS, ms |\n|" + 11 * "---|")
    for ground in GROUNDS:
        for over_db in (30, 10):
            f = measure(ground, over_db, asked.seed, asked.sessions, asked.strokes)
            placed, n, errors = f.said["placed"], max(f.strokes, 1), np.array(f.errors_s)
            print(
                f"| {ground} | {over_db} | {f.onsets / f.sound_s:.1f} | {f.strokes} | {placed / n:.3f} | "
                f"{f.onset_right / max(placed, 1):.3f} | {f.said['more than one sound at impact'] / n:.3f} | "
                f"{f.said['no click was heard at impact'] / n:.3f} | {f.far} | "
                f"{np.mean(np.abs(errors) <= NEAR_S):.3f} | {1000 * np.sqrt(np.mean(errors**2)):.2f} |",
                flush=True,
            )


if __name__ == "__main__":
    main()
