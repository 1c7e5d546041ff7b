"""A record of 100,000 strokes: what its commands take of time and memory."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from pathlib import Path
from typing import Iterator

from tests.bench.campaign.checks import record_faults, spoken
from tests.bench.campaign.forked import Child
from tests.support.made_strokes import keep_sessions
from trainer.store.database import FILE_NAME
from trainer.store.store import Store
from trainer.store.students import Students

STROKES, SESSIONS, EACH_SESSION = 100_000, 10, 20
LONGEST_S, MOST_S = 3000.0, 600.0  # on the clock, of processor time
MOST_BYTES = 1.5e9
MOST_STREAMED_BYTES, STREAMED = 300e6, "students"  # above a command of that name that does nothing
COMMANDS = (
    ("strokes",),
    ("progress", "--student", "Robin"),
    ("limits", "--student", "Robin", "--no-window"),
    ("report", "--student", "Robin", "--out", "report.html"),
    ("students", "export", "Robin", "--out", "robin.zip"),
    ("students", "import", "robin.zip"),
    ("students", "erase", "Robin", "--yes"),
    ("students", "import", "robin.zip"),
)


def made(data: Path, strokes: int, seed: int = 1) -> None:
    """A student's record of so many strokes: some sessions made, then copied, each copy under ids of its own, a day later."""
    assert spoken("--data-folder", str(data), "students", "add", "Robin")[0] == 0
    robin = Students(data).find("Robin")
    with Store(data, "campaign") as store:
        keep_sessions(store, robin.settings, robin.card.id, SESSIONS, EACH_SESSION, seed)
    with closing(sqlite3.connect(data / FILE_NAME)) as db:
        for copy in range(1, strokes // (SESSIONS * EACH_SESSION)):
            later = f"+{2 * SESSIONS * copy} hours"
            strokes_on, sessions_on = copy * SESSIONS * EACH_SESSION, copy * SESSIONS
            _copied(
                db,
                "sessions",
                f"id <= {SESSIONS}",
                {"id": f"id + {sessions_on}", "started_at": _later("started_at", later)},
            )
            own = {
                "id": f"id + {strokes_on}",
                "session_id": f"session_id + {sessions_on}",
                "kept_at": _later("kept_at", later),
            }
            _copied(db, "strokes", f"id <= {SESSIONS * EACH_SESSION}", own)
            for table in ("events", "measures", "faults", "cues"):
                _copied(
                    db, table, f"stroke_id <= {SESSIONS * EACH_SESSION}", {"stroke_id": f"stroke_id + {strokes_on}"}
                )
        db.commit()


def _later(column: str, by: str) -> str:
    return f"strftime('%Y-%m-%dT%H:%M:%S+00:00', {column}, '{by}')"


def _copied(db: sqlite3.Connection, table: str, which: str, other: dict[str, str]) -> None:
    columns = [row[1] for row in db.execute(f"PRAGMA table_info({table})")]
    values = [other.get(c, "lower(hex(randomblob(16)))" if c == "uid" else c) for c in columns]
    db.execute(f"INSERT INTO {table} ({', '.join(columns)}) SELECT {', '.join(values)} FROM {table} WHERE {which}")


def one_round(seed: int, folder: Path, strokes: int = STROKES) -> Iterator[str]:
    """Each command in a process of its own; what it took is printed."""
    data = folder / "data"
    begun = time.monotonic()
    made(data, strokes, seed)
    size = (data / FILE_NAME).stat().st_size
    print(f"{strokes} strokes made in {time.monotonic() - begun:.0f} s: {size / 1e6:.0f} MB")
    idle_bytes = 0
    for command in (("students", "list"), *COMMANDS):
        arguments = [str(folder / word) if "." in word else word for word in command]
        child = Child(lambda arguments=arguments: _run(data, arguments))  # type: ignore[misc]
        if not child.wait(LONGEST_S):
            child.kill()
            yield f"{' '.join(command[:2])}: over {LONGEST_S:.0f} s"
        print(f"  {' '.join(command[:2])}: {child.cpu_s:.1f} s, {child.most_bytes / 1e6:.0f} MB", flush=True)
        idle_bytes = idle_bytes or child.most_bytes
        if child.code != 0:
            yield f"{' '.join(command[:2])}: {child.code} {child.err.strip()[-300:]}"
        if child.cpu_s > MOST_S:
            yield f"{' '.join(command[:2])}: {child.cpu_s:.0f} s"
        if child.most_bytes - idle_bytes > (MOST_STREAMED_BYTES if command[0] == STREAMED else MOST_BYTES):
            yield f"{' '.join(command[:2])}: {(child.most_bytes - idle_bytes) / 1e6:.0f} MB above {idle_bytes / 1e6:.0f}"
        child.close()
    yield from record_faults(data, [])


def _run(data: Path, arguments: list[str]) -> int:
    code, _, err = spoken("--data-folder", str(data), *arguments)
    if code:
        raise RuntimeError(f"{code}: {err[-300:]}")
    return code
