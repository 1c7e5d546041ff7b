"""Files from outside that mean mischief, or met it: a good result, or one line and exit code 2, soon and in little memory."""

from __future__ import annotations

import random
import resource
import shutil
import sqlite3
import time
from contextlib import closing, suppress
from pathlib import Path
from typing import Sequence

from tests.bench.campaign.checks import spoken
from tests.bench.campaign.forked import Child
from tests.bench.campaign.mutate import ODD, SPOILS
from tests.support.paths import DATA
from trainer.store.database import FILE_NAME

FILES, COMMANDS, LONGEST_S, MOST_BYTES = 12, 5, 10.0, 500e6
RELEASE = DATA / "release_0_1"
READERS = (
    ("strokes",),
    ("students", "list"),
    ("students", "show", "Robin"),
    ("progress", "--student", "Robin"),
    ("limits", "--student", "Robin", "--no-window"),
    ("limits", "--student", "Robin", "--history"),
    ("distance", "putts", "--student", "Robin"),
    ("report", "--student", "Robin", "--out", "report.html"),
    ("review", "--student", "Robin", "--numbers"),
    ("review", "--student", "Robin", "--still", "impact", "--out", "still.png"),
    ("students", "export", "Robin", "--out", "again.zip"),
    ("drills", "list"),
    ("posture", "--student", "Robin", "--list"),
)


def one_round(seed: int, folder: Path, files: int = FILES) -> list[str]:
    """Files of one kind, one after the other, each in a fresh data folder."""
    rng = random.Random(seed)
    kind = KINDS[seed % len(KINDS)]
    found = []
    for k in range(files):
        data = folder / f"{k}"
        shutil.copytree(RELEASE / "data", data)
        first, *others = kind(rng, data)
        commands = [first, *rng.sample(others, COMMANDS)]
        found += [f"{kind.__name__[1:]} {k}: {fault}" for fault in tried(data, commands)]
        shutil.rmtree(data)
    return found


def tried(data: Path, commands: Sequence[Sequence[str]]) -> list[str]:
    """The commands in a process of their own; what is wrong with how they ended."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024

    def work() -> int:
        for command in commands:
            begun = time.process_time()  # what else runs on the machine does not count
            arguments = [word if "." not in word or word.startswith("/") else str(data / word) for word in command]
            code, _, err = spoken("--data-folder", str(data), *arguments)
            lines = [line for line in err.splitlines() if "damaged and left out" not in line]
            said = " ".join(command[:2])
            if code not in (0, 2) or "fault of this program" in err:
                print(f"{said}: exit code {code}: {err.strip()[-400:]}")
            elif code == 2 and command[0] == "students" and command[1] == "import" and len(lines) != 1:
                print(f"{said}: {len(lines)} lines: {lines[:3]}")
            if (took := time.process_time() - begun) > LONGEST_S:
                print(f"{said}: took {took:.0f} s")
        return 0

    child = Child(work)
    gone = child.wait(20 * LONGEST_S)
    if not gone:
        child.kill()
    out = [*child.out.splitlines(), *([] if gone else ["did not end"])]
    if child.code not in (0, -9):
        out.append(f"died with {child.code}: {child.err[-300:]}")
    if child.most_bytes - before > MOST_BYTES:
        out.append(f"took {(child.most_bytes - before) / 1e6:.0f} MB")
    child.close()
    return out


def _spoil(path: Path, rng: random.Random) -> None:
    path.write_bytes(SPOILS[path.suffix[1:]](path.read_bytes(), rng))


def _export(rng: random.Random, data: Path) -> Sequence[Sequence[str]]:
    """Taken in where nobody is, then read in every way."""
    shutil.rmtree(data)
    data.mkdir()
    bad = data / "bad.zip"
    good = rng.choice(["robin-with-strokes.handover.zip", "robin.handover.zip"])
    bad.write_bytes(SPOILS["zip"]((RELEASE / good).read_bytes(), rng))
    return (("students", "import", "bad.zip"), *READERS)


def _export_of_this_version(rng: random.Random, data: Path) -> Sequence[Sequence[str]]:
    """The same of an export made now, with postures and all that there is by now, over the student who is there."""
    code, _, _ = spoken("--data-folder", str(data), "students", "export", "Robin", "--out", str(data / "bad.zip"))
    assert code == 0
    _spoil(data / "bad.zip", rng)
    if rng.random() < 0.7:
        (data / FILE_NAME).unlink()
        shutil.rmtree(data / "students")
    return (("students", "import", "bad.zip"), *READERS)


def _database_bytes(rng: random.Random, data: Path) -> Sequence[Sequence[str]]:
    _spoil(data / FILE_NAME, rng)
    return READERS


def _database_cells(rng: random.Random, data: Path) -> Sequence[Sequence[str]]:
    """Cells of a sound database that hold what they cannot."""
    assert spoken("--data-folder", str(data), "strokes")[0] == 0  # brought up to date
    with closing(sqlite3.connect(data / FILE_NAME)) as db:
        db.execute("PRAGMA foreign_keys = OFF")
        tables = [n for (n,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        for _ in range(rng.randint(1, 3)):
            table = rng.choice(tables)
            column = rng.choice([row[1] for row in db.execute(f"PRAGMA table_info({table})")])
            value = rng.choice(
                [v for v in ODD if isinstance(v, (str, float, bool, bytes)) and v != "\ud800"] + [b"\0\xff"]
            )
            key = WITHOUT_ROWID.get(table, "rowid")
            some = f"SELECT {key} FROM {table} ORDER BY random() LIMIT {rng.choice([1, 1, 3])}"
            with suppress(sqlite3.IntegrityError):
                db.execute(f"UPDATE {table} SET {column} = ? WHERE {key} IN ({some})", (value,))
        db.commit()
    return READERS


WITHOUT_ROWID = {
    **dict.fromkeys(("events", "measures", "faults", "cues"), "stroke_id"),
    "distance_players": "player",
    "limit_changes": "uid",
    "reasons_shown": "student",
    "homework": "uid",
    "lessons": "uid",
    "lesson_tries": "uid",
    "outcomes": "stroke",
}


def _texts(rng: random.Random, data: Path) -> Sequence[Sequence[str]]:
    """Settings, a student, a drill, what is remembered of cameras, a posture."""
    paths = [p for p in data.rglob("*") if p.suffix in (".toml", ".json", ".jpg")]
    for path in rng.sample(paths, rng.choice([1, 1, 2])):
        _spoil(path, rng)
    more = (
        ("students", "set", "Robin", "sway.limit_cm=2.2"),
        ("drills", "show", "quiet-finish"),
        ("posture", "--student", "Robin", "--compare", "first", "last"),
        ("students", "erase", "Robin", "--yes"),
    )
    return (*READERS, *more)


KINDS = (_export, _export_of_this_version, _database_bytes, _database_cells, _texts)
