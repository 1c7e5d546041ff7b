"""Homework and lessons on record: kept, handed over and taken in without loss or doubles, refused when wrong, erased whole."""

from __future__ import annotations

import io
import json
import sqlite3
import zipfile
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from tests.unit.store.test_store import invented_record
from trainer.coaching.homework import Homework
from trainer.coaching.lesson.lesson import Lesson, Try
from trainer.commands.cli import run
from trainer.domain.outcome import PuttOutcome
from trainer.errors import TransferError
from trainer.settings.drill_names import OLD_IDS
from trainer.settings.load import load
from trainer.store.history import StudentKey
from trainer.store.homework import homework_of, keep_homework
from trainer.store.lessons import keep_lesson, lessons_of
from trainer.store.outcomes import note_outcome, outcomes_of
from trainer.store.reasons_shown import cards_shown, note_shown
from trainer.store.schema import SCHEMA_VERSION
from trainer.store.store import Store
from trainer.store.students import Students
from trainer.store.transfer_file import MANIFEST, StudentArchive
from trainer.store.transfer_teaching import merge_teaching, ready_teaching, teaching_out
from trainer.store.transfer_writing import ArchiveWriter

AT = datetime(2026, 3, 2, 9, tzinfo=timezone.utc)
WORK = Homework("1" * 32, "ladder", 20, 3, date(2026, 3, 2), date(2026, 3, 15), AT, "coach", "only easy ones", 2.0)
LESSON = Lesson(
    "2" * 32, AT, AT, "coach", ("3" * 32, "8" * 32), (), "early_look", "trainer", "in 5 of 6", ("sway",), "Take your time.",
    tries=(Try("4" * 32, AT, "count two", "5" * 32, None), Try("6" * 32, AT + timedelta(minutes=1), "eyes shut")),
)  # fmt: skip
WHO = "a" * 32
KEY = StudentKey(WHO, "Robin")


def archive(values: Any) -> StudentArchive:
    file = io.BytesIO()
    with ArchiveWriter(file) as out:
        out.add("student.toml", b"")
        if values is not None:
            out.add("teaching.json", json.dumps(values).encode())
        out.add_manifest("1", "now", WHO, "Robin")
    made = zipfile.ZipFile(file)
    return StudentArchive(made, Path("x.zip"), json.loads(made.read(MANIFEST)))


def test_what_is_kept_is_read_back(tmp_path: Path) -> None:
    with Store(tmp_path, "t") as store:
        keep_homework(store, WHO, WORK)
        keep_lesson(store, WHO, LESSON)
        assert homework_of(store, WHO) == [WORK]
        assert lessons_of(store, WHO) == [LESSON]
        further = replace(LESSON, after=("7" * 32,), tries=LESSON.tries[:1], changed_at=AT + timedelta(hours=1))
        keep_lesson(store, WHO, further)
        keep_homework(store, WHO, replace(WORK, dropped_at=AT))
        assert lessons_of(store, WHO) == [further]
        assert homework_of(store, WHO) == [replace(WORK, dropped_at=AT)]
        assert homework_of(store, "b" * 32) == []


def test_a_drill_is_read_by_its_present_id(tmp_path: Path) -> None:
    old, new = next(iter(OLD_IDS.items()))
    with Store(tmp_path, "t") as store:
        keep_homework(store, WHO, replace(WORK, drill=old))
        assert homework_of(store, WHO)[0].drill == new


def test_there_and_back_adds_once_and_the_newer_stands(tmp_path: Path) -> None:
    with Store(tmp_path / "one", "t") as here, Store(tmp_path / "two", "t") as there:
        keep_homework(here, WHO, WORK)
        keep_lesson(here, WHO, LESSON)
        ready = ready_teaching(archive(teaching_out(here, KEY)))
        for wanted in (2, 0):
            with there.writing() as db:
                assert merge_teaching(db, KEY, ready) == wanted
        assert (homework_of(there, WHO), lessons_of(there, WHO)) == ([WORK], [LESSON])
        newer = replace(LESSON, words="Newer.", changed_at=AT + timedelta(days=1))
        keep_lesson(there, WHO, newer)
        keep_homework(there, WHO, replace(WORK, dropped_at=AT))
        with there.writing() as db:
            assert merge_teaching(db, KEY, ready) == 0
        back = ready_teaching(archive(teaching_out(there, KEY)))
        with here.writing() as db:
            assert merge_teaching(db, KEY, back) == 2
        assert lessons_of(here, WHO) == [newer]
        assert homework_of(here, WHO)[0].dropped_at == AT
        with pytest.raises(TransferError, match="another student"), there.writing() as db:
            merge_teaching(db, replace(KEY, student="b" * 32), ready)


def test_of_where_a_ball_went_the_newer_word_stands(tmp_path: Path) -> None:
    with Store(tmp_path / "one", "t") as here, Store(tmp_path / "two", "t") as there:
        for store in (here, there):
            session = store.begin_session("Robin", "camera 0", AT, WHO)
            store.keep(session, invented_record(), (), (), load(), AT)
            with store.writing() as db:
                db.execute("UPDATE strokes SET uid = ?", ("c" * 32,))
        note_outcome(here, "c" * 32, PuttOutcome("holed", 2.0), AT)
        ready = ready_teaching(archive(teaching_out(here, KEY)))
        for said_at, changed, stands in (
            (AT + timedelta(hours=1), 0, "short"),
            (AT, 0, "short"),
            (AT - timedelta(hours=1), 1, "holed"),
        ):
            note_outcome(there, "c" * 32, PuttOutcome("short", 2.0), said_at)
            with there.writing() as db:
                assert merge_teaching(db, KEY, ready) == changed
            assert outcomes_of(there, KEY)["c" * 32][0].where == stands


@pytest.mark.parametrize(
    ("where", "value"),
    [
        (("homework", 0, "uid"), "../etc"),
        (("homework", 0, "strokes"), 0),
        (("homework", 0, "until"), "2026-02-31"),
        (("homework", 0, "extra"), 1),
        (("lessons", 0, "begun_at"), "yesterday"),
        (("lessons", 0, "priority_by"), "somebody"),
        (("lessons", 0, "tries", 0, "note"), "x" * 5000),
        (("lessons", 0, "tries", 1, "uid"), "4" * 32),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, where: tuple[Any, ...], value: Any) -> None:
    with Store(tmp_path, "t") as store:
        keep_homework(store, WHO, WORK)
        keep_lesson(store, WHO, LESSON)
        values: Any = teaching_out(store, KEY)
    place = values
    for key in where[:-1]:
        place = place[key]
    place[where[-1]] = value
    with pytest.raises(TransferError, match=r"teaching\.json"):
        ready_teaching(archive(values))


def test_a_file_from_before_holds_none() -> None:
    found = ready_teaching(archive(None))
    assert (found.homework, found.lessons) == ((), ())


def test_by_the_commands_and_erased_whole(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    coach, home = ["--data-folder", str(tmp_path / "coach")], ["--data-folder", str(tmp_path / "home")]
    assert run([*coach, "students", "add", "Robin"]) == 0
    student = Students(tmp_path / "coach").find("Robin").card.id
    assert run([*coach, "homework", "set", "ladder", "--student", "Robin", "--note", "a word nobody else writes"]) == 0
    with Store(tmp_path / "coach", "t") as store:
        keep_lesson(store, student, LESSON)
        note_shown(store, student, "sway", AT)
        note_shown(store, student, "sway", AT)
        assert cards_shown(store, student) == {"sway"}
    out = str(tmp_path / "robin.zip")
    assert run([*coach, "students", "export", "Robin", "--out", out]) == 0
    capsys.readouterr()
    assert run([*home, "students", "import", out]) == 0
    assert "2 new or changed homework, lessons and outcomes" in capsys.readouterr().out
    assert run([*home, "homework", "show", "--student", "Robin"]) == 0
    assert "a word nobody else writes" in capsys.readouterr().out
    assert run([*home, "students", "erase", "Robin", "--yes"]) == 0
    record = (tmp_path / "home" / "strokes.sqlite").read_bytes()
    assert b"a word nobody" not in record
    assert b"Take your time." not in record
    db = sqlite3.connect(tmp_path / "home" / "strokes.sqlite")
    tables = ("homework", "lessons", "lesson_tries", "reasons_shown")
    assert [db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in tables] == [0, 0, 0, 0]
    assert db.execute("PRAGMA user_version").fetchone()[0] == SCHEMA_VERSION
    db.close()
