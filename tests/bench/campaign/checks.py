"""What must hold of a data folder after any harm."""

from __future__ import annotations

import contextlib
import io
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Callable, Iterator, Sequence

from trainer.commands.cli import run
from trainer.errors import TrainerError
from trainer.files import PART
from trainer.store.database import FILE_NAME
from trainer.store.store import Store


def spoken(*arguments: str) -> tuple[int, str, str]:
    """(exit code, standard output, standard error) of a command line, in this process."""
    return caught(lambda: run(list(arguments)))


def caught(work: Callable[[], int]) -> tuple[int, str, str]:
    """The same of any work."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = work()
    return code, out.getvalue(), err.getvalue()


def record_faults(folder: Path, told: Sequence[int]) -> Iterator[str]:
    """What is wrong with the record. told: numbers of the strokes of the newest session that were told."""
    path = folder / FILE_NAME
    if not path.exists():
        if told:
            yield f"strokes {list(told)} were told and there is no record"
        return
    try:
        with Store(folder, "campaign") as store, store.reading() as db:
            newest = db.execute("SELECT max(id) FROM sessions").fetchone()[0]
            kept = {n for (n,) in db.execute("SELECT number FROM strokes WHERE session_id = ?", (newest,))}
    except TrainerError as error:
        yield f"the record does not open: {error}"
        return
    if lost := sorted(set(told) - kept):
        yield f"strokes {lost} were told and are not on record"
    with closing(sqlite3.connect(path)) as db:
        if (said := db.execute("PRAGMA integrity_check").fetchone()[0]) != "ok":
            yield f"integrity check: {said}"
        if db.execute("PRAGMA foreign_key_check").fetchall():
            yield "rows that hang on nothing"
        uids = {uid for (uid,) in db.execute("SELECT uid FROM strokes")}
    for video in folder.glob("students/files/*/*.avi"):
        if not video.name.startswith(PART) and video.stem not in uids:
            yield f"a video of no stroke: {video.name}"
    code, _, err = spoken("--data-folder", str(folder), "strokes")
    if code or err:
        yield f"the next command says {err.strip()!r} and ends with {code}"


def spoken_faults(code: int | None, err: str, allowed: Sequence[int] = (0, 2)) -> Iterator[str]:
    """How a command may end: well, or with one line and exit code 2."""
    if code not in allowed:
        yield f"exit code {code}: {err.strip()[-300:]}"
    if "fault of this program" in err or "Traceback" in err:
        yield f"a fault of this program: {err.strip()[-300:]}"
