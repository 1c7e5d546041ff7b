"""The record where nothing may be written: another user's folder, a card or disk that is only to be read, a copy of one.

SQLite opens a file in WAL mode only where it may keep its own two files beside it, or they are there; or as one that nobody
changes, when it looks for no such files.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from trainer.errors import StoreError
from trainer.texts import tr


def write_refused(error: sqlite3.Error) -> bool:
    """SQLite's words where it may not write; Python 3.10 gives no code."""
    return any(mark in str(error).lower() for mark in ("readonly", "unable to open"))


def beside(path: Path, ending: str) -> bool:
    """Whether there is something in SQLite's file of that ending."""
    file = path.with_name(path.name + ending)
    return file.exists() and file.stat().st_size > 0


def copied(path: Path, busy_s: float) -> sqlite3.Connection:
    """A temporary database, SQLite's own, with what the record holds now. Raises sqlite3.Error, StoreError."""
    to = sqlite3.connect("", isolation_level=None, check_same_thread=False)
    try:
        try:
            _copy(path, "mode=ro", busy_s, to)
        except sqlite3.OperationalError as error:
            if not write_refused(error):
                raise
            _copy_unchanging(path, busy_s, to)
    except BaseException:
        to.close()
        raise
    return to


def _copy(path: Path, how: str, busy_s: float, to: sqlite3.Connection) -> None:
    uri = f"{path.absolute().as_uri()}?{how}"
    with closing(sqlite3.connect(uri, uri=True, timeout=busy_s)) as db:
        db.backup(to)


def _copy_unchanging(path: Path, busy_s: float, to: sqlite3.Connection) -> None:
    """Of a record that lies there whole and that nobody writes meanwhile."""
    before = path.stat()
    if _is_unfinished(path):
        raise StoreError(
            tr("the record was left unfinished, and nothing may be written there to finish it"),
            str(path),
            tr("copy the folder to where writing is allowed and name the copy with --data-folder"),
        )
    _copy(path, "immutable=1", busy_s, to)
    after = path.stat()
    if _is_unfinished(path) or (before.st_mtime_ns, before.st_size) != (after.st_mtime_ns, after.st_size):
        raise StoreError(tr("another program is using the record"), str(path), tr("close it and try again"))


def _is_unfinished(path: Path) -> bool:
    """Part of it stands in SQLite's other files yet."""
    return beside(path, "-wal") or beside(path, "-journal")
