"""A cell that holds what it cannot: its stroke is left out, that is said, and all else goes on."""

from __future__ import annotations

import re
import sqlite3
import warnings
from contextlib import closing
from pathlib import Path

import pytest

from tests.support.made_strokes import keep_sessions
from tests.support.paths import ROOT
from trainer.commands.cli import run
from trainer.errors import LeftOut
from trainer.store.database import FILE_NAME
from trainer.store.store import Store
from trainer.store.students import Students

READERS = (
    ("strokes",),
    ("progress", "--student", "Robin"),
    ("limits", "--student", "Robin", "--no-window"),
    ("limits", "--student", "Robin", "--history"),
    ("students", "show", "Robin"),
    ("students", "list"),
)
# (what is put where, how the strokes are counted afterwards)
DAMAGE = (
    ("UPDATE settings SET body = '{' WHERE id = 1", 0),
    ("UPDATE settings SET body = '[]' WHERE id = 1", 0),
    ("UPDATE strokes SET kept_at = 'soon' WHERE id = 2", 11),
    ("UPDATE strokes SET kept_at = '9999-12-31T23:59:59+00:00' WHERE id = 2", 11),
    ("UPDATE strokes SET signals = 7 WHERE id = 2", 11),
    ("UPDATE strokes SET kind = x'00ff' WHERE id = 2", 11),
    ("UPDATE strokes SET view = 'above' WHERE id IN (2, 3)", 10),
    ("UPDATE strokes SET told = 'maybe' WHERE id = 2", 11),
    ("UPDATE measures SET value = 'long' WHERE stroke_id = 2 AND place = 0", 11),
    ("UPDATE measures SET value = 9e999 WHERE stroke_id = 2 AND place = 0", 11),
    ("UPDATE measures SET confidence = -3 WHERE stroke_id = 2 AND place = 0", 11),
    ("UPDATE events SET time_s = x'' WHERE stroke_id = 2 AND place = 1", 11),
    ("INSERT INTO faults VALUES (2, 99, 'no_such_fault', 0, 0, 's', 0)", 11),
    ("UPDATE sessions SET started_at = 'never'", 0),
    ("UPDATE sessions SET player = x'41', student = NULL", 0),
    ("UPDATE limit_changes SET body = 'none'", 12),
    ("UPDATE limit_changes SET at = ''", 12),
)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with Robin, twelve strokes and a change of limits."""
    folder = tmp_path_factory.mktemp("sound")
    assert run(["--data-folder", str(folder), "students", "add", "Robin"]) == 0
    assert run(["--data-folder", str(folder), "students", "set", "Robin", "sway.limit_cm=2"]) == 0
    student = Students(folder).find("Robin")
    with Store(folder, "t") as store:
        keep_sessions(store, student.settings, student.card.id, 2, 6)
    return folder


def damaged(sound: Path, folder: Path, sql: str) -> Path:
    """A copy with that done to it, in which no rule of the tables is heeded."""
    (folder / "students").mkdir()
    for path in (*sound.glob("students/*.toml"), sound / FILE_NAME):
        (folder / path.relative_to(sound)).write_bytes(path.read_bytes())
    with closing(sqlite3.connect(folder / FILE_NAME)) as db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        db.execute(sql)
        db.commit()
    return folder


@pytest.mark.parametrize(("sql", "left"), DAMAGE)
def test_the_rest_is_read_and_it_is_said(
    sql: str, left: int, sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = damaged(sound, tmp_path, sql)
    for command in READERS:
        capsys.readouterr()
        code = run(["--data-folder", str(folder), *command])
        got = capsys.readouterr()
        assert code in (0, 2), (command, got)
        assert "fault of this program" not in got.err, command
        assert got.err.count("damaged and left out") == 1, (command, got.err)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", LeftOut)
        with Store(folder, "t") as store:
            assert len(store.recent(50)) == left


def test_a_damaged_record_goes_on_being_written_exported_and_erased(
    sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = damaged(sound, tmp_path, "UPDATE strokes SET view = 'above' WHERE id IN (2, 12)")
    student = Students(folder).find("Robin")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", LeftOut)
        with Store(folder, "t") as store:
            keep_sessions(store, student.settings, student.card.id, 1, 3, seed=5)
            assert len(store.recent(50)) == 13
    out = tmp_path / "out.zip"
    assert run(["--data-folder", str(folder), "students", "export", "Robin", "--out", str(out)]) == 0
    capsys.readouterr()
    assert run(["--data-folder", str(tmp_path / "other"), "students", "import", str(out)]) == 0
    assert "13 new strokes" in capsys.readouterr().out
    assert run(["--data-folder", str(folder), "students", "erase", "Robin", "--yes"]) == 0
    with closing(sqlite3.connect(folder / FILE_NAME)) as db:
        assert db.execute("SELECT count(*) FROM strokes").fetchone() == (0,)


def test_a_schema_below_all_is_damage(sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = damaged(sound, tmp_path, "PRAGMA user_version = -1")
    assert run(["--data-folder", str(folder), "strokes"]) == 2
    assert "the record is damaged (schema -1)" in capsys.readouterr().err


def test_a_sound_record_has_nothing_hidden(sound: Path) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with Store(sound, "t") as store, store.reading() as db:
            assert db.execute("SELECT count(*) FROM sqlite_temp_master").fetchone() == (0,)


def test_whatever_writes_names_the_table_itself() -> None:
    """A view may stand before it, which cannot be written."""
    written = re.compile(r"\b(?:INSERT(?: OR [A-Z]+)? INTO|DELETE FROM|UPDATE(?: OR [A-Z]+)?) +(?!main\.)[a-z_{]+")
    for path in sorted((ROOT / "trainer" / "store").glob("*.py")):
        if path.name != "schema.py":
            assert not written.findall(path.read_text(encoding="utf-8")), path.name
