"""Killed at any instant of practice, or within moments of a result that was told."""

from __future__ import annotations

import random
from functools import partial
from pathlib import Path

from tests.bench.campaign.checks import record_faults
from tests.bench.campaign.forked import Child, practising, told, warm

KILLS, STROKES = 50, 2
EACH = f"{KILLS} kills"
LONGEST_S, AFTER_S = 1.0, 0.03  # of a run of so many strokes; of keeping one


def _has_told(child: Child, count: int) -> bool:
    return len(told(child.out)) >= count


def one_round(seed: int, folder: Path, kills: int = KILLS) -> list[str]:
    """Kills on one record, so that a recovery is interrupted by the next."""
    rng, found = random.Random(seed), []
    warm()
    for k in range(kills):
        child = practising(folder, rng.randrange(1 << 30), STROKES)
        if rng.random() < 0.5:
            child.wait(rng.uniform(0.0, LONGEST_S))
        else:
            wanted = rng.randint(1, STROKES)
            child.wait(60.0, until=partial(_has_told, child, wanted))
            child.wait(rng.choice([0.0, rng.uniform(0.0, AFTER_S)]))
        child.kill()
        found += [f"kill {k}: {fault}" for fault in record_faults(folder, told(child.out))]
        child.close()
    return found
