"""Several programs on one data folder at once, each as its user would start it."""

from __future__ import annotations

import random
import shutil
from pathlib import Path
from typing import Iterator

from tests.bench.campaign.checks import record_faults, spoken, spoken_faults
from tests.bench.campaign.forked import Child, practising, told
from tests.support.paths import DATA, RECORDS
from trainer.store.store import Store

EXPORTED = DATA / "release_0_1" / "robin-with-strokes.handover.zip"
READERS = (
    ("strokes",),
    ("students", "list"),
    ("progress", "--student", "Robin"),
    ("students", "import", str(EXPORTED)),
    ("students", "show", "Robin"),
    ("limits", "--student", "Robin", "--no-window"),
    ("students", "set", "Robin", "sway.limit_cm=2.5"),
    ("distance", "unit", "m", "--student", "Robin"),
)


def one_round(seed: int, folder: Path) -> list[str]:
    """Two trainers and whatever else is asked of the record until they have ended; begun on a record of any age."""
    rng = random.Random(seed)
    data = folder / "data"
    if rng.random() < 0.3:
        shutil.copytree(rng.choice(list(RECORDS.values())), data)  # two bring it up to date at once
    else:
        data.mkdir()
    trainers = [practising(data, rng.randrange(1 << 30), 8) for _ in range(2)]
    found = list(_asked(rng, data, trainers, folder))
    for child in trainers:
        if not child.wait():
            child.kill()
            found.append("a trainer did not end")
        found += spoken_faults(child.code, child.err)
    numbers = sorted(len(told(child.out)) for child in trainers)
    clean = all(child.code == 0 for child in trainers)
    with Store(data, "campaign") as store, store.reading() as db:
        kept = [
            count
            for (count,) in db.execute("SELECT count(*) FROM strokes GROUP BY session_id ORDER BY session_id DESC")
        ]
    if clean and sorted(kept[:2]) < numbers:
        found.append(f"told {numbers}, kept {kept[:2]}")
    for child in trainers:
        child.close()
    return found + list(record_faults(data, []))


def _asked(rng: random.Random, data: Path, trainers: list[Child], folder: Path) -> Iterator[str]:
    for k in range(40):
        if all(child.poll() for child in trainers):
            return
        command = list(rng.choice(READERS))
        if rng.random() < 0.15:
            command = ["students", "export", "Robin", "--out", str(folder / f"{k}.zip")]
        code, _, err = spoken("--data-folder", str(data), *command)
        yield from (f"{' '.join(command[:2])}: {fault}" for fault in spoken_faults(code, err))
