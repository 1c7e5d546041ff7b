"""Heads that go with or against the putter: how many strokes are called a head that went along, over the coupling.

    python -m tests.bench.head_coupling [--strokes N] [--page FILE.md]

Invented strokes with vision's noise; coupling: the head's shift at the top in cm, + with the putter (some 1.25 times as far again
past address at the finish). "Size alone": the rule that knew only how far the head moved, whichever way.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

import numpy as np

from tests.support.observations import watch
from trainer.coaching.faults import DOUBT, judge
from trainer.domain.measures import confident_value
from trainer.settings.limits import Limits
from trainer.testing.simulate import Scene, ordinary_stroke
from trainer.testing.simulate_observations import Noise, observations

COUPLINGS_CM = (-5.0, -4.0, -3.0, -2.0, -1.0, 0.0, 0.7, 1.0, 1.3, 1.6, 2.0, 3.0)
HOLD_S = 1.6


def called(coupling_cm: float, strokes: int, seed: int = 1) -> tuple[float, float, float]:
    """Share called by size alone, share called now, and the true travel with the putter (mean, cm)."""
    old, new, true = [], [], []
    for k in range(strokes):
        rng = np.random.default_rng([seed, k, round(10 * coupling_cm) + 100])
        s = replace(ordinary_stroke(rng, 1.6), coupling_cm=coupling_cm, sway_cm=0.0, lift_cm=0.0)
        s = replace(s, look_s=s.finish_s + HOLD_S)
        scene = Scene((s,), s.finish_s + HOLD_S + 1.9, seed=k)
        records = watch(observations(scene, 30.0, Noise(), rng)).records
        if len(records) != 1:
            continue
        sway = confident_value(records[0].measures["sway_cm"])
        old.append(sway is not None and abs(sway) > Limits().sway.value + DOUBT["sway"])
        new.append("sway" in [fault.name for fault in judge(records[0], Limits())])
        true.append(scene.known()[0].with_putter_cm)
    return float(np.mean(old)), float(np.mean(new)), float(np.mean(true))


def page(strokes: int) -> str:
    """The table."""
    lines = [
        "# Heads that go with the putter, and against it",
        "",
        f"Written by `python -m tests.bench.head_coupling`: {strokes} invented strokes a row, 30 frames/s. Coupling:",
        "the head's shift at the top, + with the putter; true travel: with the putter, the larger of back and through. Limit:",
        f"{Limits().sway.value:g} cm.",
        "",
        "| coupling, cm | true travel, cm | called by size alone | called now |",
        "|---|---|---|---|",
    ]
    for coupling in COUPLINGS_CM:
        was, now, true = called(coupling, strokes)
        lines.append(f"| {coupling:+.1f} | {true:+.1f} | {was:.0%} | {now:.0%} |")
    return "\n".join([*lines, ""])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--strokes", type=int, default=20)
    parser.add_argument("--page", type=Path)
    asked = parser.parse_args()
    text = page(asked.strokes)
    if asked.page is not None:
        asked.page.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
