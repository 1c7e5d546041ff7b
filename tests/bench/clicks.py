"""Impact by clicks at known times in made-up sound: ``python -m tests.bench.clicks``; kept in ``tests/bench/clicks.md``.

A session is a row of strokes before one ground: the picture puts impact a little off and so much late, the click is looked for
in the sound, and ``ImpactSound`` learns the delay and places impact, as in practice. The sessions of one kind of click are of one
camera and microphone, whose delay is kept from one to the next and drifts a little between them. The same sound is gone through
with many cameras, since what is learned of a delay is one draw for all strokes of a session.
"""

from __future__ import annotations

import argparse
from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from typing import Container, Sequence

import numpy as np

from tests.support.made_sounds import CLICKS, GROUNDS, RATE_HZ, heard
from tests.support.made_strokes import record
from trainer.domain.sound import Onset
from trainer.hearing.onset import OnsetFinder
from trainer.stroke.click_delay import Delay, expected
from trainer.stroke.impact_sound import NAME, ImpactSound

# Of impact by the picture at 30 frames a second, and what it says of itself: by path and ball together (the worse of the two on
# rendered clips: ``trainer/stroke/STUDY.md``), and by the path alone (``tests.bench.impact_sound``). BALL_SEEN: share of the
# strokes in which the ball is seen to leave (no source).
PICTURE_SD_S, TOLD_SD_S = 0.0020, 0.0018
PATH_SD_S, PATH_TOLD_SD_S = 0.0037, 0.0036
BALL_SEEN = 0.8
CAMERA_S = (0.03, 0.12)  # a camera is late by one of these
DRIFT_SD_S = 0.001  # from session to session (no source)
LEARNED_FROM = 5
NEAR_S = 0.002
BLOCK_S = 0.1
STROKE = record()


@dataclass
class Found:
    """Counts of strokes by what was said; errors_s: of impact as it was placed, by (session, stroke), both from 0."""

    said: Counter[str] = field(default_factory=Counter)
    onset_right: int = 0
    far: int = 0
    errors_s: dict[tuple[int, int], list[float]] = field(default_factory=lambda: defaultdict(list))
    onsets: int = 0
    sound_s: float = 0.0

    @property
    def strokes(self) -> int:
        return sum(self.said.values())

    def near(self, sessions: Container[int], strokes: Container[int]) -> float:
        """Share of these whose impact is within NEAR_S."""
        errors = [e for (n, k), es in self.errors_s.items() if n in sessions and k in strokes for e in es]
        return float(np.mean(np.abs(errors) <= NEAR_S)) if errors else float("nan")


class Asked:
    """The onsets of a session; windows: those that were asked for."""

    def __init__(self, onsets: Sequence[Onset]) -> None:
        self._onsets = onsets
        self.window = (0.0, 0.0)

    def __call__(self, first_s: float, last_s: float) -> list[Onset]:
        self.window = (first_s, last_s)
        return [o for o in self._onsets if first_s <= o.time_s <= last_s]


@dataclass(frozen=True)
class Session:
    """What was heard of its strokes."""

    clicks_s: Sequence[float]
    onsets: Sequence[Onset]


def listened(kind: str, ground: str, over_db: float, rng: np.random.Generator, strokes: int, into: Found) -> Session:
    made = heard(kind, ground, over_db, rng, strokes)
    finder, size = OnsetFinder(RATE_HZ), round(BLOCK_S * RATE_HZ)
    onsets = [
        onset
        for first in range(0, len(made.sound), size)
        for onset in finder.feed(made.sound[first : first + size], first / RATE_HZ)
    ]
    into.onsets += len(onsets) - len(made.clicks_s)
    into.sound_s += len(made.sound) / RATE_HZ
    return Session(made.clicks_s, onsets)


def seen(sessions: Sequence[Session], rng: np.random.Generator, into: Found) -> None:
    """By one camera, session after session."""
    usual_s, kept = rng.uniform(*CAMERA_S), list[Delay]()
    for number, one in enumerate(sessions):
        asked, camera_s = Asked(one.onsets), usual_s + rng.normal(0, DRIFT_SD_S)
        sound = ImpactSound(asked, expected(kept))
        for k, at in enumerate(one.clicks_s):
            true_s = at + camera_s
            ball = rng.random() < BALL_SEEN
            by_picture = true_s + rng.normal(0, PICTURE_SD_S if ball else PATH_SD_S)
            placed = sound.place(by_picture, TOLD_SD_S if ball else PATH_TOLD_SD_S)
            sound.learn(replace(STROKE, measures={**STROKE.measures, NAME: placed.later}))
            into.errors_s[number, k].append(placed.impact_s - true_s)
            if number or k < LEARNED_FROM:
                continue
            into.said[placed.later.reason or "placed"] += 1
            if placed.later.value is not None and not placed.later.reason:
                taken_s = by_picture + placed.later.value
                into.onset_right += abs(taken_s - at) <= NEAR_S
                into.far += not asked.window[0] <= taken_s <= asked.window[1]
        if sound.own is not None:
            kept.append(sound.own)


def measure(ground: str, over_db: float, asked: argparse.Namespace) -> Found:
    found = Found()
    for kind in CLICKS:
        which = [list(CLICKS).index(kind), list(GROUNDS).index(ground), int(over_db)]
        sessions = [
            listened(kind, ground, over_db, np.random.default_rng([asked.seed, n, *which]), asked.strokes, found)
            for n in range(asked.sessions)
        ]
        for n in range(asked.cameras):
            order = np.random.default_rng([asked.seed, 1000 + n, *which])
            seen([sessions[k] for k in order.permutation(len(sessions))], order, found)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--sessions", type=int, default=4, help="with each kind of click, one after the other")
    parser.add_argument("--strokes", type=int, default=45, help="of a session")
    parser.add_argument("--cameras", type=int, default=20, help="that see the same")
    parser.add_argument("--beside", nargs="*", choices=GROUNDS, default=list(GROUNDS), help="what is heard beside")
    asked = parser.parse_args()
    later, last = range(LEARNED_FROM, asked.strokes), range(asked.sessions - 1, asked.sessions)
    parts = (range(5), range(5, 10), range(10, 20), range(20, asked.strokes))
    print("First session, strokes from the sixth on:\n")
    print("| heard beside | dB | onsets/s | placed | and was the click's | more than one | none | outside", end="")
    print(" | impact within 2 ms | RMS, ms |\n|" + 10 * "---|")
    by_number = []
    for ground in asked.beside:
        for over_db in (30, 10):
            f = measure(ground, over_db, asked)
            placed, n = f.said["placed"], max(f.strokes, 1)
            errors = np.concatenate([es for (number, k), es in f.errors_s.items() if not number and k in later])
            print(
                f"| {ground} | {over_db} | {f.onsets / f.sound_s:.1f} | {placed / n:.3f} | "
                f"{f.onset_right / max(placed, 1):.3f} | {f.said['more than one sound at impact'] / n:.3f} | "
                f"{f.said['no click was heard at impact'] / n:.3f} | {f.far} | "
                f"{f.near([0], later):.3f} | {1000 * np.sqrt(np.mean(errors**2)):.2f} |",
                flush=True,
            )
            shares = [f.near([0], part) for part in parts] + [f.near(last, part) for part in parts]
            every = f.near([0], range(asked.strokes)), f.near(last, range(asked.strokes))
            by_number.append(
                f"| {ground} | {over_db} | " + " | ".join(f"{share:.3f}" for share in (*shares, *every)) + " |"
            )
    numbers = " | ".join(f"{part[0] + 1} to {part[-1] + 1}" for part in parts)
    print(f"\nImpact within 2 ms by the stroke's number, in the first session and in session {asked.sessions}:\n")
    print(f"| heard beside | dB | first: {numbers} | later: {numbers} | first: all | later: all |\n|" + 12 * "---|")
    print("\n".join(by_number))


if __name__ == "__main__":
    main()
