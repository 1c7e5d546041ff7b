"""After erasing no byte of a student is in any file of the data folder, whatever happened there before."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.support.made_strokes import keep_sessions
from trainer.commands.cli import run
from trainer.files import PART
from trainer.settings.load import from_options, load
from trainer.store.database import FILE_NAME
from trainer.store.store import Store
from trainer.store.students import Students

NAME = "Quirin Besonders"


def on(folder: Path, *arguments: str) -> int:
    return run(["--data-folder", str(folder), *arguments])


def traces(folder: Path, *texts: str) -> list[tuple[str, str]]:
    """(file, text) wherever a text stands in a file or in its name."""
    found = []
    for path in folder.rglob("*"):
        data = path.read_bytes() if path.is_file() else b""
        found += [(path.name, text) for text in texts if text.encode() in data or text in path.name]
    return found


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Quirin with strokes, distances and a note; Kim beside."""
    base = tmp_path / "data"
    for name in (NAME, "Kim"):
        assert on(base, "students", "add", name, f"student.notes=note of {name}") == 0
        student = Students(base).find(name)
        with Store(base, "t") as store:
            keep_sessions(store, student.settings, student.card.id, 1, 4)
        assert on(base, "distance", "unit", "m", "--student", name) == 0
    return base


def test_an_open_reader_keeps_everything_and_that_is_said(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with closing(sqlite3.connect(folder / FILE_NAME)) as reader:
        reader.execute("BEGIN")
        reader.execute("SELECT * FROM sessions").fetchall()
        assert on(folder, "students", "erase", NAME, "--yes") == 2
        assert "another program is using the record" in capsys.readouterr().err
        assert len(reader.execute("SELECT * FROM sessions").fetchall()) == 2
    assert on(folder, "students", "show", NAME) == 0
    student_id = Students(folder).find(NAME).card.id
    assert on(folder, "students", "erase", NAME, "--yes") == 0
    assert traces(folder, NAME, student_id) == []
    with Store(folder, "t") as store:
        assert {line.player for line in store.recent(50)} == {"Kim"}
        with store.reading() as db:
            assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_other_capitals_copies_and_unfinished_files_go_too(folder: Path) -> None:
    student = Students(folder).find(NAME)
    loud = load([from_options(player__name=NAME.upper())])
    with Store(folder, "t") as store:
        keep_sessions(store, loud, None, 1, 2, seed=3)
    assert on(folder, "distance", "unit", "ft", "--student", NAME) == 0
    for copy in ("copy of quirin.toml", "quirin.toml.bak"):
        shutil.copy(student.path, student.path.with_name(copy))
    unfinished = [folder / "students" / f"{PART}12345678.toml", folder / f"{PART}12345678.json"]
    for path in unfinished:
        path.write_text(f"name = '{NAME}'")
    assert on(folder, "students", "erase", NAME, "--yes") == 0
    assert traces(folder, NAME, NAME.upper(), student.card.id) == []
    assert [s.name for s in Students(folder).all()[0]] == ["Kim"]


def test_no_row_stays_under_a_name_that_was(folder: Path) -> None:
    with Store(folder, "t") as store, store.writing() as db:
        db.execute("INSERT INTO main.distance_players VALUES ('Qu', 'ft', 20)")
    assert on(folder, "students", "rename", NAME, "Qu") == 0
    with Store(folder, "t") as store, store.reading() as db:
        kept = db.execute("SELECT player, unit FROM distance_players ORDER BY player").fetchall()
    assert kept == [("Kim", "m"), ("Qu", "m")]
    assert on(folder, "students", "erase", "Qu", "--yes") == 0
    assert traces(folder, NAME) == []


def test_strokes_made_under_other_capitals_are_the_students(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with Store(folder, "t") as store:
        keep_sessions(store, load([from_options(player__name="kIM")]), None, 1, 2, seed=3)
    capsys.readouterr()
    assert on(folder, "students", "show", "Kim") == 0
    assert "6 strokes in 2 sessions" in capsys.readouterr().out
