"""Long practice: strokes with everything that players do between them, faster than life; nothing may grow or sound by itself.

A round is a quarter of an hour of practice. Body points are invented beforehand and stand in for the pose model.
"""

from __future__ import annotations

import os
import random
import threading
from pathlib import Path
from typing import Any

from tests.bench.campaign.checks import record_faults, spoken_faults
from tests.bench.campaign.forked import Child, told
from tests.bench.campaign.practising import QuickStage, session_seen
from tests.support.practice_stage import FPS
from trainer.commands.cli import _guarded
from trainer.commands.practice import PracticeOptions, practise
from trainer.store.database import FILE_NAME

STROKES, IDLE_S = 8, 105.0
GROWN_BYTES, EACH_STROKE = 40e6, (10e3, 150e3)


class _Sampled(list[Any]):
    """Observations that note memory, threads and open files whenever so many were looked at."""

    def __init__(self, seen: list[Any], every: int) -> None:
        super().__init__(seen)
        self._every = every
        self.samples: list[tuple[float, int, int]] = []

    def __getitem__(self, index: Any) -> Any:
        if index % self._every == self._every - 1:
            pages = int(Path("/proc/self/statm").read_text().split()[1])
            handles = len(list(Path("/proc/self/fd").iterdir()))
            self.samples.append((pages * float(os.sysconf("SC_PAGE_SIZE")), threading.active_count(), handles))
        return super().__getitem__(index)


def one_round(seed: int, folder: Path) -> list[str]:
    """One piece, in a process of its own."""
    rng = random.Random(seed)
    seen = _Sampled(session_seen(rng.randrange(1 << 30), STROKES, IDLE_S), int(60 * FPS))

    def work() -> int:
        code = _guarded(lambda: practise(folder / "data", PracticeOptions(window=False), QuickStage(seen).machine))
        early, late = seen.samples[2], seen.samples[-1]
        if late[0] - early[0] > GROWN_BYTES:
            print(f"found memory grew from {early[0] / 1e6:.0f} to {late[0] / 1e6:.0f} MB")
        if late[1] > early[1] or late[2] > early[2]:
            print(f"found threads and handles went from {early[1:]} to {late[1:]}")
        return code

    child = Child(work)
    if not child.wait(1800.0):
        child.kill()
        return ["did not end"]
    found = [*spoken_faults(child.code, child.err, (0,))]
    found += [line for line in child.out.splitlines() if line.startswith("found ")]
    numbers = told(child.out)
    if len(numbers) != STROKES:
        found.append(f"{len(numbers)} strokes were told where {STROKES} were made")
    size = sum(path.stat().st_size for path in (folder / "data").glob(f"{FILE_NAME}*")) / max(len(numbers), 1)
    if not EACH_STROKE[0] < size < EACH_STROKE[1]:
        found.append(f"{size / 1e3:.0f} kB a stroke")
    child.close()
    return found + list(record_faults(folder / "data", numbers))
