"""Records of all schemas, each made by the program of its time, are brought up to date without losing what they hold."""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from tests.support.paths import RECORDS
from trainer.commands.cli import run
from trainer.domain.record import OtherStroke, StrokeContext
from trainer.store.database import FILE_NAME
from trainer.store.schema import SCHEMA_VERSION
from trainer.store.store import Store
from trainer.store.stroke_rows import COUNTED, context_of_meta, meta_of


def rows(path: Path, sql: str) -> list[tuple[Any, ...]]:
    db = sqlite3.connect(path)
    try:
        return db.execute(sql).fetchall()
    finally:
        db.close()


def test_the_map_of_schema_4_becomes_columns_and_the_same_strokes_count(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(RECORDS[4], tmp_path / "old"))
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


def contents(path: Path) -> dict[str, tuple[list[str], list[tuple[Any, ...]]]]:
    """Table -> its columns, its rows in order."""
    out = {}
    for (table,) in rows(path, "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"):
        columns = [row[1] for row in rows(path, f"PRAGMA table_info({table})")]
        out[table] = columns, sorted(rows(path, f"SELECT * FROM {table}"), key=repr)
    return out


def test_there_is_a_record_of_every_schema() -> None:
    """Of this one too: made by ``tests.recipes.schema_record`` when the number goes up, and never changed again."""
    assert sorted(RECORDS) == list(range(1, SCHEMA_VERSION + 1))
    assert {v: rows(folder / FILE_NAME, "PRAGMA user_version") for v, folder in RECORDS.items()} == {
        v: [(v,)] for v in RECORDS
    }


@pytest.mark.parametrize("version", RECORDS)
def test_a_record_of_any_schema_keeps_all_that_is_in_it(version: int, tmp_path: Path) -> None:
    path = Path(shutil.copytree(RECORDS[version], tmp_path / "old")) / FILE_NAME
    before = contents(path)
    with Store(path.parent, "test") as store:
        ids = [i for (i,) in rows(path, "SELECT id FROM strokes")]
        assert [store.stroke(i).stroke_id for i in ids] == ids
        seconds = rows(path, f"SELECT s.id FROM strokes s WHERE NOT ({COUNTED})")
        assert len(store.recent(100)) == len(ids) - len(seconds)
    after = contents(path)
    assert rows(path, "PRAGMA user_version") == [(SCHEMA_VERSION,)]
    for table, (columns, kept) in before.items():
        names = [c for c in columns if (table, c) != ("strokes", "meta")]  # which is columns now
        assert set(names) <= set(after[table][0])
        for (names_then, rows_then), place in (((columns, kept), before), (after[table], after)):
            place[table] = names, sorted((tuple(r[names_then.index(n)] for n in names) for r in rows_then), key=repr)
        assert after[table][1] == before[table][1], table


@pytest.mark.parametrize("version", [1, 2, 3, 7])
def test_the_commands_read_a_record_of_any_schema(
    version: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = Path(shutil.copytree(RECORDS[version], tmp_path / "old"))
    commands: list[tuple[str, ...]] = [("strokes",)]
    if version > 2:  # before that there were no students
        robin = ("--student", "Robin")
        out = str(tmp_path / "robin.zip")
        commands += [("progress", *robin), ("distance", "putts", *robin), ("students", "export", "Robin", "--out", out)]
        commands += [("students", "erase", "Robin", "--yes"), ("students", "import", out)]
    for command in commands:
        assert run(["--data-folder", str(folder), *command]) == 0, command
    assert capsys.readouterr().err == ""


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
