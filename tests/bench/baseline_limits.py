"""What limits from short quiet rehearsals do to faultless long strokes, and how large a fault they let pass: a table.

    python -m tests.bench.baseline_limits [--players N] [--page FILE.md]

A player makes eight rehearsals with little in them; the limit that follows judges strokes of every length without the fault.
What such a stroke shows grows with its length (hand stall: 9.2 deg at 55 cm back on rendered clips, read with an error of 1.4
deg and 0.08 deg for each degree of the swing). "Before": the rule that knew the quiet strokes alone.
"""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import Sequence

import numpy as np

from trainer.coaching.baseline import BOUNDS, proposals
from trainer.coaching.faults import DOUBT
from trainer.coaching.progress.variability import variability_of
from trainer.domain.measures import LIMITED
from trainer.domain.record import Measure
from trainer.settings.limits import Limits
from trainer.stroke.uncertainty import HINGE_DEG, HINGE_PER_DEG, PENDULUM_CM

LENGTHS_CM = (25.0, 35.0, 45.0, 55.0)
SHOWN_DEG_PER_CM = 9.2 / 55.0
STALL = "hand_stall"


def faultless_deg(back_cm: float, rng: np.random.Generator, count: int) -> np.ndarray:
    """Wrist angle changes as measured of strokes in which the hands do not stop."""
    swing = math.degrees(math.asin(1.1 * back_cm / PENDULUM_CM))
    error = math.hypot(HINGE_DEG["shaft"], HINGE_PER_DEG * swing)
    return np.asarray(SHOWN_DEG_PER_CM * back_cm + rng.normal(0, error, count))


def before(seen: Sequence[float]) -> float:
    """The limit that the rule before proposed of these values."""
    spread = variability_of(seen)
    assert spread is not None
    finest = 3.0 * (LIMITED[STALL].repeatability or 0.0)
    return max(min(spread.typical + max(spread.smallest_change, finest), 20.0), finest)


def now(seen: Sequence[float]) -> float:
    """The limit that is proposed of them."""
    strokes = [{LIMITED[STALL].name: Measure(value, "deg", 0.9)} for value in seen]
    return {p.fault: p.value for p in proposals(strokes, Limits())}[STALL]


def called(back_cm: float, players: int, seed: int = 1) -> tuple[float, float, float]:
    """Share of faultless strokes of this length that are called a stall: limits as before, as proposed now, the default."""
    rng = np.random.default_rng([seed, round(back_cm)])
    shares = np.zeros(3)
    for _ in range(players):
        quiet = [abs(float(v)) for v in rng.normal(2.0, 0.8, 8)]
        strokes = faultless_deg(back_cm, rng, 50)
        for k, limit in enumerate((before(quiet), now(quiet), Limits().hand_stall.value)):
            shares[k] += float((strokes > limit + DOUBT[STALL]).mean())
    one, two, three = shares / players
    return float(one), float(two), float(three)


def let_pass_deg(habit_deg: float, players: int = 200) -> tuple[float, float]:
    """The limit proposed to somebody whose rehearsals stall by this much already: as before, now (middle)."""
    rng = np.random.default_rng(2)
    limits = [(before(seen), now(seen)) for seen in rng.normal(habit_deg, 1.5, (players, 8))]
    was, new = np.median(np.array(limits), axis=0)
    return float(was), float(new)


def page(players: int) -> str:
    """The table."""
    lines = [
        "# Limits from rehearsals, judged at every length",
        "",
        f"Written by `python -m tests.bench.baseline_limits`: {players} invented players with eight quiet rehearsals each;",
        "share of strokes without a stall that are called one, by the length of the backstroke.",
        "",
        "| backstroke, cm | quiet rehearsals alone | with bounds | the default |",
        "|---|---|---|---|",
    ]
    lines += [f"| {b:.0f} | " + " | ".join(f"{v:.1%}" for v in called(b, players)) + " |" for b in LENGTHS_CM]
    lines += ["", "| rehearsals that stall already, deg | limit proposed before | now |", "|---|---|---|"]
    for habit in (8.0, 14.0, 18.0, 25.0):
        was, new = let_pass_deg(habit)
        lines.append(f"| {habit:.0f} | {was:.1f} | {new:.1f} |")
    bounds = ", ".join(f"{fault} {b.tightest:g} to {b.loosest:g}" for fault, b in BOUNDS.items())
    return "\n".join([*lines, "", f"Bounds: {bounds} (`trainer/coaching/baseline.py`).", ""])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--players", type=int, default=400)
    parser.add_argument("--page", type=Path)
    asked = parser.parse_args()
    text = page(asked.players)
    if asked.page is not None:
        asked.page.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
