"""A record of release 0.1 (schema 4) is brought up to date without losing what is known of its strokes."""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

from tests.support.paths import DATA
from trainer.domain.record import OtherStroke, StrokeContext
from trainer.store.history import COUNTED
from trainer.store.schema import SCHEMA_VERSION
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
