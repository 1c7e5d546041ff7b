"""Opening the SQLite file safely: checked before anything is written, and every failure said in one line."""

from __future__ import annotations

import json
import math
import os
import shutil
import sqlite3
import warnings
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Iterator

from trainer.coaching.distance.skid import run_m
from trainer.domain.naming import folded
from trainer.errors import LeftOut, StoreError, TrainerError
from trainer.store.read_only import beside, copied, write_refused
from trainer.store.schema import APPLICATION_ID, CHANGES, SCHEMA_VERSION, TABLES
from trainer.store.soundness import hide_unsound
from trainer.store.stroke_rows import context_columns, context_of_meta
from trainer.texts import tr

FILE_NAME = "strokes.sqlite"
_MAGIC = b"SQLite format 3\x00"
# A full check reads the whole file (about 0.3 s for 64 MiB): larger files are checked only after an unclean stop.
_ALWAYS_CHECKED_BYTES = 64 * 1024 * 1024
_LEAST_FREE_BYTES = 1 << 20
_LONGEST_PATH_BYTES = (
    500  # SQLite takes 512 with the ending of its own files, on Linux and macOS (os_unix.c, from memory)
)
_KEEP_IT = tr(
    "nothing in it was changed; move it away with its -wal file and keep them (`sqlite3 FILE .recover` often rescues "
    "strokes), or go on in another folder with --data-folder"
)

# SQLite's own words for a result code -> (what, what to do). Python 3.10 gives no code, so the words decide.
_WORDS = (
    ("locked", tr("another program is using the record"), tr("close it and try again")),
    ("full", tr("the disk is full; strokes kept so far are safe"), tr("make room and go on")),
    ("malformed", tr("the record is damaged"), _KEEP_IT),
    ("not a database", tr("is not a record of strokes, or it is damaged"), _KEEP_IT),
    (
        "readonly",
        tr("the record cannot be written"),
        tr("allow writing there or choose another folder with --data-folder"),
    ),
    (
        "unable to open",
        tr("the record cannot be opened"),
        tr("allow writing there or choose another folder with --data-folder"),
    ),
    ("disk i/o", tr("the disk failed; strokes kept so far are safe"), tr("check the disk")),
)


def said(error: sqlite3.Error, path: Path) -> StoreError:
    """SQLite's error as one of ours."""
    text = str(error).lower()
    if "disk i/o" in text and _is_full(path):  # where SQLite maps a file it meets no "full", only a failure
        text = "full"
    if "unable to open" in text and len(os.fsencode(path.absolute())) > _LONGEST_PATH_BYTES:
        return StoreError(tr("the path is too long"), str(path), tr("choose a shorter one with --data-folder"))
    for mark, what, todo in _WORDS:
        if mark in text:
            return StoreError(what, str(path), todo)
    return StoreError(tr("the record failed ({error})", error=error), str(path), tr("keep the file and report this"))


def _is_full(path: Path) -> bool:
    try:
        return shutil.disk_usage(path.parent).free < _LEAST_FREE_BYTES
    except OSError:
        return False


@contextmanager
def translate_errors(path: Path) -> Iterator[None]:
    """Turns sqlite3's errors into StoreError."""
    try:
        yield
    except sqlite3.Error as error:
        raise said(error, path) from error


def _user_version(db: sqlite3.Connection) -> int:
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def _check(path: Path, busy_s: float) -> bool:
    """Reads without writing a byte of the file. Raises StoreError when it is damaged, foreign or too new.

    Only what a power cut left half written with its journal (``alone``, the switch to WAL) SQLite first takes back by that.
    Whether all of it was read: a large file is only read whole after an unclean stop.
    """
    half_written = beside(path, "-journal")
    with path.open("rb") as file:
        if not half_written and file.read(len(_MAGIC)) != _MAGIC:
            raise StoreError(tr("is not a record of strokes, or it is damaged"), str(path), _KEEP_IT)
    unclean = half_written or beside(path, "-wal")
    mode = "rw" if half_written else "ro"
    db = sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=busy_s)
    try:
        whole = unclean or path.stat().st_size <= _ALWAYS_CHECKED_BYTES
        _check_open(db, path, whole)
        return whole
    finally:
        db.close()


def _check_open(db: sqlite3.Connection, path: Path, whole: bool) -> None:
    """whole: all of it is read. Raises StoreError."""
    if db.execute("PRAGMA application_id").fetchone()[0] not in (0, APPLICATION_ID):
        raise StoreError(
            tr("is a database of another program"), str(path), tr("choose another folder with --data-folder")
        )
    version = _user_version(db)
    if version > SCHEMA_VERSION:
        raise StoreError(
            tr(
                "was written by a newer version (schema {version}, this one knows {schema_version})",
                version=version,
                schema_version=SCHEMA_VERSION,
            ),
            str(path),
            tr("update putting-trainer"),
        )
    if whole:
        found = str(db.execute("PRAGMA quick_check(1)").fetchone()[0])
        if found != "ok":
            raise StoreError(tr("the record is damaged ({found})", found=found), str(path), _KEEP_IT)
    if version < 0:
        raise StoreError(tr("the record is damaged (schema {version})", version=version), str(path), _KEEP_IT)
    if version == 0 and db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
        raise StoreError(
            tr("is a database of another program"), str(path), tr("choose another folder with --data-folder")
        )


def open_database(path: Path, busy_s: float, only_to_read: bool = False) -> sqlite3.Connection:
    """A connection in WAL mode whose commits are on disk when they return, tables made if the file is new.

    only_to_read: where nothing may be written there, to a copy of what it holds now, which takes nothing more.
    Warns with ``LeftOut`` of rows that are damaged.
    """
    with translate_errors(path):
        try:
            db, left_out = _opened(path, busy_s)
        except OSError as error:
            raise StoreError(
                tr("cannot be read ({strerror})", strerror=error.strerror), str(path), tr("check the folder")
            ) from None
        except sqlite3.OperationalError as error:
            if not only_to_read or not write_refused(error) or not path.is_file():
                raise
            db, left_out = _opened_to_read(path, busy_s)
    if left_out:
        warnings.warn(LeftOut(f"{path}: damaged and left out: {left_out}; the rest is used"), stacklevel=2)
    return db


def _opened(path: Path, busy_s: float) -> tuple[sqlite3.Connection, str]:
    """And what was left out, in words."""
    checked = path.exists() and path.stat().st_size > 0 and _check(path, busy_s)
    db = sqlite3.connect(path, timeout=busy_s, isolation_level=None, check_same_thread=False)
    try:
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA synchronous = FULL")  # in WAL mode NORMAL may lose the last commits at a power cut
        _make_ready(db)
        return db, hide_unsound(db) if checked else ""
    except BaseException:
        db.close()
        raise


def _opened_to_read(path: Path, busy_s: float) -> tuple[sqlite3.Connection, str]:
    """The same of a copy."""
    db = copied(path, busy_s)
    try:
        _check_open(db, path, whole=True)
        _make_ready(db)
        left_out = hide_unsound(db)
        db.execute("PRAGMA query_only = ON")
        return db, left_out
    except BaseException:
        db.close()
        raise


def _make_ready(db: sqlite3.Connection) -> None:
    db.create_function("folded", 1, lambda name: folded(name) if isinstance(name, str) else None, deterministic=True)
    db.execute("PRAGMA foreign_keys = ON")
    with transaction(db):
        _bring_up_to_date(db)


def _bring_up_to_date(db: sqlite3.Connection) -> None:
    """Makes the tables of a new file, and those that later versions added to an older one; all in one transaction."""
    version = _user_version(db)  # asked under the lock: two programs may start together
    if version == 0:
        for table in TABLES:
            db.execute(table)
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        version = 1
    db.create_function("from_meta", 2, _from_meta)
    db.create_function("is_estimate", 4, _is_estimate)
    for step in range(version + 1, SCHEMA_VERSION + 1):
        for change in CHANGES[step]:
            db.execute(change)
    if _user_version(db) < SCHEMA_VERSION:
        db.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")


def _from_meta(meta: str, column: str) -> Any:
    """A context's column from the JSON map that records up to schema 4 have."""
    try:
        values = json.loads(meta)
    except ValueError:
        values = None
    return context_columns(context_of_meta(values if isinstance(values, dict) else {}))[column]


def _is_estimate(rolled_m: float, green_speed_ft: float, slope_pct: float, ball_speed_m_s: float | None) -> int:
    """Up to schema 5 nothing said so: an estimated roll-out is, to the last digits, what the ball's speed gives."""
    if ball_speed_m_s is None:
        return 0
    try:
        return int(math.isclose(rolled_m, run_m(ball_speed_m_s, green_speed_ft, slope_pct), rel_tol=1e-9))
    except TrainerError:  # a slope on which no ball stops
        return 0


@contextmanager
def transaction(db: sqlite3.Connection) -> Iterator[None]:
    """All or nothing; committed and on disk when it ends."""
    db.execute("BEGIN IMMEDIATE")
    try:
        yield
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:  # SQLite itself rolls back on some errors, a full disk among them
            db.execute("ROLLBACK")
        raise


@contextmanager
def alone(db: sqlite3.Connection) -> Iterator[None]:
    """Meanwhile no other program has the file open, not even to read: a reader's snapshot would keep what is deleted.

    Raises sqlite3.OperationalError, and nothing has changed, when one has it open.
    """
    db.execute("PRAGMA locking_mode = EXCLUSIVE")
    try:
        if db.execute("PRAGMA journal_mode = DELETE").fetchone()[0] != "delete":
            raise sqlite3.OperationalError("database is locked")
        yield
    finally:
        db.execute("PRAGMA locking_mode = NORMAL")
        db.execute("SELECT count(*) FROM main.sqlite_master").fetchone()  # the lock goes with the next look only
        db.execute("PRAGMA journal_mode = WAL")
