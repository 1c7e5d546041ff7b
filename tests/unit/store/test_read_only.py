"""A record that lies where nothing may be written is read all the same, and whoever must write is told in one line."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import datetime, timezone
from pathlib import Path

import pytest

from tests.support.made_strokes import keep_sessions
from tests.support.paths import RECORDS
from tests.support.unwritable import nothing_may_be_written
from tests.unit.store.test_store import keep_one
from trainer.app.context import load_context
from trainer.app.strokes import StrokesRequest, recent_strokes
from trainer.commands.cli import run
from trainer.domain.outcome import PuttOutcome
from trainer.errors import StoreError
from trainer.store.database import FILE_NAME
from trainer.store.outcomes import note_outcome
from trainer.store.store import Store

AT = datetime(2026, 3, 1, 10, tzinfo=timezone.utc)


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def test_strokes_are_read_and_nothing_is_written(tmp_path: Path) -> None:
    with Store(tmp_path, "t") as store:
        keep_one(store)
        lines = store.recent(9)
    before = contents(tmp_path)
    with nothing_may_be_written(tmp_path):
        with Store(tmp_path, "t", only_to_read=True) as store:
            assert store.recent(9) == lines
            assert store.stroke(lines[0].stroke_id).number == 1
            with pytest.raises(StoreError, match=r"cannot be written.*--data-folder"):
                store.begin_session("Robin", "camera 0", AT)
            with pytest.raises(StoreError, match=r"cannot be written.*--data-folder"):
                note_outcome(store, "x", PuttOutcome("holed"), AT)
        with pytest.raises(StoreError, match="--data-folder"):
            Store(tmp_path, "t")
        assert contents(tmp_path) == before
    with Store(tmp_path, "t", only_to_read=True) as store:  # where it may be written it is, as ever
        assert keep_one(store) == 1


@pytest.mark.parametrize("version", sorted(RECORDS))
def test_records_of_older_versions_too(tmp_path: Path, version: int) -> None:
    folder = Path(shutil.copytree(RECORDS[version], tmp_path / "old"))
    before = contents(folder)
    with nothing_may_be_written(folder):
        with Store(folder, "t", only_to_read=True) as store:
            lines = store.recent(99)
        assert contents(folder) == before
    with Store(folder, "t") as store:
        assert store.recent(99) == lines
        assert lines


def test_an_unfinished_record_is_not_read_in_part(tmp_path: Path) -> None:
    """A copy that somebody made while strokes were kept: some of them are in SQLite's other file only."""
    folder = tmp_path / "copy"
    folder.mkdir()
    with Store(tmp_path, "t") as store:
        keep_one(store)
        for ending in ("", "-wal"):
            shutil.copy(tmp_path / f"{FILE_NAME}{ending}", folder)
    with nothing_may_be_written(folder), pytest.raises(StoreError, match=r"left unfinished.*copy the folder"):
        Store(folder, "t", only_to_read=True)
    with Store(folder, "t", only_to_read=True) as store:
        assert len(store.recent(9)) == 1


def test_what_is_no_record_is_refused(tmp_path: Path) -> None:
    db = sqlite3.connect(tmp_path / FILE_NAME)
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("CREATE TABLE theirs (x)")
    db.commit()
    db.close()
    with nothing_may_be_written(tmp_path), pytest.raises(StoreError, match="database of another program"):
        Store(tmp_path, "t", only_to_read=True)


def test_commands_that_only_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    base = tmp_path / "data"
    on = ["--data-folder", str(base)]
    assert run([*on, "students", "add", "Robin"]) == 0
    context = load_context(base, "Robin")
    with context.open_store() as store:
        keep_sessions(store, context.settings, context.student_id, 2, 8)
    page = tmp_path / "robin.html"
    with nothing_may_be_written(base):
        capsys.readouterr()
        for words in (
            ("strokes",),
            ("progress", "--student", "Robin"),
            ("report", "--student", "Robin", "--out", str(page)),
            ("review", "--student", "Robin", "--numbers"),
            ("students", "list"),
            ("students", "show", "Robin"),
            ("homework", "show", "--student", "Robin"),
            ("limits", "--student", "Robin", "--no-window"),
            ("limits", "--student", "Robin", "--history"),
        ):
            assert run([*on, *words]) == 0, capsys.readouterr().err
            assert capsys.readouterr().out
        assert page.is_file()
        assert len(recent_strokes(context, StrokesRequest()).strokes) == 16
        assert run([*on, "outcome", "holed", "--student", "Robin"]) == 2
        err = capsys.readouterr().err
        assert err.count("\n") == 1
        assert str(base / FILE_NAME) in err
