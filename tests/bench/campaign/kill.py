"""Killed at any instant of practice, or right after a result was told."""

from __future__ import annotations

import random
from functools import partial
from pathlib import Path

from tests.bench.campaign.checks import record_faults
from tests.bench.campaign.forked import Child, practising, told

STROKES = 12
LONGEST_S = 6.0


def _has_told(child: Child, count: int) -> bool:
    return len(told(child.out)) >= count


def one_round(seed: int, folder: Path) -> list[str]:
    """Some kills on one record, so that a recovery is interrupted by the next."""
    rng, found = random.Random(seed), []
    for k in range(3):
        child = practising(folder, rng.randrange(1 << 30), STROKES)
        if rng.random() < 0.5:
            child.wait(rng.uniform(0.0, LONGEST_S))
        else:
            wanted = rng.randint(1, STROKES)
            child.wait(60.0, until=partial(_has_told, child, wanted))
        child.kill()
        found += [f"kill {k}: {fault}" for fault in record_faults(folder, told(child.out))]
        child.close()
    return found
