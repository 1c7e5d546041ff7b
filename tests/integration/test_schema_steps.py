"""A record of release 0.1 (schema 4) is brought up to date without losing what is known of its strokes."""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from tests.support.paths import DATA
from trainer.domain.record import OtherStroke, StrokeContext
from trainer.store.database import FILE_NAME, _from_meta, _is_estimate
from trainer.store.history import COUNTED
from trainer.store.schema import CHANGES, SCHEMA_VERSION
from trainer.store.store import Store
from trainer.store.stroke_rows import context_of_meta, meta_of

OLD = DATA / "release_0_1" / "data"


def rows(path: Path, sql: str) -> list[tuple[Any, ...]]:
    db = sqlite3.connect(path)
    try:
        return db.execute(sql).fetchall()
    finally:
        db.close()


def test_the_map_of_schema_4_becomes_columns_and_the_same_strokes_count(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(OLD, tmp_path / "old"))
    path = folder / "strokes.sqlite"
    before = dict(rows(path, "SELECT id, meta FROM strokes"))
    by_text = rows(path, """SELECT id FROM strokes WHERE meta NOT LIKE '%"camera": "second"%' ORDER BY id""")
    assert rows(path, "PRAGMA user_version") == [(4,)]
    assert len(by_text) < len(before)  # a second camera's stroke is among them
    with Store(folder, "test") as store, store.reading() as db:
        assert db.execute(f"SELECT s.id FROM strokes s WHERE {COUNTED} ORDER BY s.id").fetchall() == by_text
    assert rows(path, "PRAGMA user_version") == [(SCHEMA_VERSION,)]
    assert "meta" not in {row[1] for row in rows(path, "PRAGMA table_info(strokes)")}
    with Store(folder, "test") as store:
        assert {i: meta_of(store.stroke(i).record.context) for i in before} == {
            i: json.loads(meta) for i, meta in before.items()
        }


def at_schema(folder: Path, version: int) -> Path:
    """The record of release 0.1 as a program of that schema would have left it."""
    path = Path(shutil.copytree(OLD, folder)) / FILE_NAME
    db = sqlite3.connect(path)
    try:
        db.create_function("from_meta", 2, _from_meta)
        db.create_function("is_estimate", 4, _is_estimate)
        for step in range(5, version + 1):
            for change in CHANGES[step]:
                db.execute(change)
        db.execute(f"PRAGMA user_version = {version}")
        db.commit()
    finally:
        db.close()
    return path


@pytest.mark.parametrize("version", range(4, SCHEMA_VERSION + 1))
def test_a_record_of_any_schema_keeps_every_stroke(version: int, tmp_path: Path) -> None:
    path = at_schema(tmp_path / "old", version)
    before = rows(path, "SELECT id, number, kept_at, signals FROM strokes ORDER BY id")
    with Store(path.parent, "test") as store:
        assert len(store.recent(100)) == len(before)
        for stroke_id, number, *_ in before:
            assert store.stroke(stroke_id).number == number
    assert rows(path, "PRAGMA user_version") == [(SCHEMA_VERSION,)]
    assert rows(path, "SELECT id, number, kept_at, signals FROM strokes ORDER BY id") == before


def test_the_map_of_an_export_file_is_read_whoever_wrote_it() -> None:
    whole = StrokeContext(False, "second", OtherStroke(3, -12.5, 41), "hands", 12.3, "the ball left later")
    assert context_of_meta(meta_of(whole)) == whole
    assert meta_of(StrokeContext()) == {}
    odd = {
        "told": "perhaps",
        "camera": "third",
        "other_stroke": "9" * 40,
        "offset_ms": "nan",
        "look_deg": "x",
        "new": "y",
    }
    assert context_of_meta(odd) == StrokeContext()
