"""Strokes under a wrong name: given to the right student, or taken out; what was put right stays so."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from tests.support.made_strokes import keep_sessions, record
from trainer.app.context import RunContext, load_context
from trainer.app.reassign import Session, find_strokes, give_strokes, take_out_strokes
from trainer.app.student_export import ExportRequest, export_student
from trainer.app.student_file import student_key
from trainer.app.students import add_student, erase_student, student_to_erase
from trainer.app.transfer import ImportRequest, import_student
from trainer.commands.cli import run
from trainer.domain.naming import NAMELESS, StrokeNumber
from trainer.domain.outcome import PuttOutcome
from trainer.domain.record import OtherStroke, StrokeContext
from trainer.errors import UsageError
from trainer.settings.load import from_options, load
from trainer.store.database import FILE_NAME
from trainer.store.history import counts, practised
from trainer.store.outcomes import note_outcome, outcomes_of
from trainer.store.store import Store
from trainer.store.students import Students
from trainer.store.video import folder_of

AT = datetime(2026, 3, 1, 10, tzinfo=timezone.utc)
LATER = AT + timedelta(days=9)  # than the strokes that are kept at first


@pytest.fixture
def context(tmp_path: Path) -> RunContext:
    """Anna with two sessions of four strokes, Jörg with none."""
    context = load_context(tmp_path / "data")
    anna = add_student(context, "Anna", {}).student
    add_student(context, "Jörg", {})
    with context.open_store() as store:
        keep_sessions(store, anna.settings, anna.card.id, 2, 4)
    return context


def uids(context: RunContext, name: str) -> set[str]:
    with context.open_store() as store:
        return {facts.uid for facts, _ in practised(store, student_key(Students(context.base).find(name)), ())}


def sessions(context: RunContext, name: str) -> int:
    with context.open_store() as store:
        return counts(store, student_key(Students(context.base).find(name))).sessions


def roll_out(store: Store, stroke_id: int) -> str:
    """A putt of Anna's distance scale for that stroke, whose uid is returned."""
    with store.writing() as db:
        sql = "INSERT INTO main.distance_putts VALUES (NULL, 'Anna', ?, ?, 20, 3, 9, 0, 3, 0.6, 0.3, 1, 0.1, 30, 0, ?, NULL)"
        db.execute(sql, (AT.isoformat(), stroke_id, "e" * 32))
        return str(db.execute("SELECT uid FROM main.strokes WHERE id = ?", (stroke_id,)).fetchone()[0])


def roll_outs(store: Store) -> list[tuple[str]]:
    with store.reading() as db:
        return db.execute("SELECT player FROM distance_putts").fetchall()


def exported(context: RunContext, name: str, path: Path) -> Path:
    return export_student(context, ExportRequest(name, path)).path


def test_strokes_given_take_along_what_hangs_on_them(context: RunContext, tmp_path: Path) -> None:
    old = exported(context, "Anna", tmp_path / "old.zip")
    before = uids(context, "Anna")
    anna = student_key(Students(context.base).find("Anna"))
    found = find_strokes(context, "Anna", [StrokeNumber(1, 2), StrokeNumber(1, 3)])
    with context.open_store() as store:
        uid = roll_out(store, found.ids[0])
        note_outcome(store, uid, PuttOutcome("holed", 2.0), AT)
    video = folder_of(context.base, anna.student) / f"{uid}.mp4"
    video.parent.mkdir(parents=True, exist_ok=True)
    video.write_bytes(b"x")
    line = give_strokes(context, found, "jörg")
    assert line.startswith("2 strokes (")
    assert line.endswith(" of Anna: now of Jörg")
    joerg = student_key(Students(context.base).find("Jörg"))
    assert uids(context, "Jörg") < before
    assert (len(uids(context, "Jörg")), uids(context, "Anna") | uids(context, "Jörg")) == (2, before)
    assert (folder_of(context.base, joerg.student) / video.name).read_bytes() == b"x"
    assert not video.exists()
    with context.open_store() as store:
        assert set(outcomes_of(store, joerg)) == {uid}
        assert outcomes_of(store, anna) == {}
        assert roll_outs(store) == [("Jörg",)]
        assert store.stroke(found.ids[0]).settings.player.name == "Jörg"
    # An old file does not double them, nor give them back; the new ones tell it as it is now.
    done = import_student(context, ImportRequest(old)).merged
    assert (done.new_sessions, done.new_strokes, done.known_strokes) == (0, 0, 8)
    assert uids(context, "Jörg") < before
    other = load_context(tmp_path / "other")
    for name in ("Anna", "Jörg"):
        import_student(other, ImportRequest(exported(context, name, tmp_path / f"{name}.zip")))
        assert uids(other, name) == uids(context, name)


def test_a_whole_session_and_back(context: RunContext) -> None:
    before = uids(context, "Anna")
    give_strokes(context, find_strokes(context, "Anna", [Session(2)]), "Jörg")
    assert (sessions(context, "Anna"), sessions(context, "Jörg")) == (1, 1)
    give_strokes(context, find_strokes(context, "Jörg", [Session(1)]), "Anna")
    assert (sessions(context, "Anna"), sessions(context, "Jörg")) == (2, 0)
    assert uids(context, "Anna") == before
    with closing(sqlite3.connect(context.base / FILE_NAME)) as db:
        assert db.execute("SELECT count(*) FROM settings").fetchone() == (1,)


def test_strokes_of_nobody_are_given_by_everybodys_numbers(context: RunContext) -> None:
    with context.open_store() as store:
        keep_sessions(store, load([from_options(player__name=NAMELESS)]), None, 1, 3, first=LATER)
        keep_sessions(store, load([from_options(player__name="Kim")]), None, 1, 2, first=LATER + timedelta(days=1))
    with pytest.raises(UsageError, match="no stroke 1/1 of -"):
        find_strokes(context, "-", [StrokeNumber(1, 1)])
    give_strokes(context, find_strokes(context, "-", [Session(2)]), "Jörg")
    give_strokes(context, find_strokes(context, "kim", [StrokeNumber(1, 1)]), "Jörg")
    assert (len(uids(context, "Jörg")), len(uids(context, "Anna"))) == (4, 8)


def test_strokes_taken_out_stay_out(context: RunContext, tmp_path: Path) -> None:
    found = find_strokes(context, "Anna", [StrokeNumber(2, 1), Session(1)])
    with context.open_store() as store:
        roll_out(store, found.ids[0])
    old = exported(context, "Anna", tmp_path / "old.zip")
    line = take_out_strokes(context, found)
    assert line.startswith("5 strokes (")
    assert line.endswith(" of Anna: taken out of the record")
    left = uids(context, "Anna")
    assert (len(left), sessions(context, "Anna")) == (3, 1)
    done = import_student(context, ImportRequest(old)).merged
    assert (done.new_sessions, done.new_strokes, done.known_strokes, done.kept_out) == (0, 0, 3, 5)
    assert uids(context, "Anna") == left
    with context.open_store() as store:
        assert roll_outs(store) == []
    # Who is erased is forgotten whole: the same file brings all of it then.
    erase_student(context, student_to_erase(context, "Anna"))
    assert import_student(context, ImportRequest(old)).merged.new_strokes == 8


def test_what_two_cameras_saw_goes_together(context: RunContext) -> None:
    anna = Students(context.base).find("Anna")
    with context.open_store() as store:
        first = store.begin_session("Anna", "camera 0", LATER, anna.card.id)
        second = store.begin_session("Anna", "camera 1", LATER, anna.card.id)
        for k in range(2):
            whole = record()
            for session, camera, other in ((first, "first", second), (second, "second", first)):
                seen = StrokeContext(camera=camera, other=OtherStroke(k + 1, 1.0, other))  # type: ignore[arg-type]
                at = LATER + timedelta(seconds=30 * k)
                store.keep(session, replace(whole, context=seen), (), (), anna.settings, at)
    found = find_strokes(context, "Anna", [StrokeNumber(1, 2)])
    assert len(found.ids) == 2
    give_strokes(context, found, "Jörg")
    again = find_strokes(context, "Jörg", [StrokeNumber(1, 2)])
    assert again.ids == found.ids
    take_out_strokes(context, again)
    assert uids(context, "Jörg") == set()


def test_by_command(context: RunContext, capsys: pytest.CaptureFixture[str]) -> None:
    def on(*arguments: str) -> tuple[int, str, str]:
        capsys.readouterr()
        code = run(["--data-folder", str(context.base), *arguments])
        return code, *capsys.readouterr()

    code, out, _ = on("students", "give", "1", "2/all", "--from", "Anna", "--to", "Jörg")
    assert (code, out.count("\n")) == (0, 1)
    assert "now of Jörg" in out
    for wrong, said in (
        (("give", "9/1", "--from", "Anna", "--to", "Jörg"), "no stroke 9/1 of Anna"),
        (("give", "2", "--from", "Anna", "--to", "Jorg"), "no student Jorg"),
        (("give", "2", "--from", "Ana", "--to", "Jörg"), "no student Ana"),
        (("give", "2", "--from", "Anna", "--to", "anna"), "of Anna already"),
        (("give", "two", "--from", "Anna", "--to", "Jörg"), "is not a stroke"),
        (("remove", "9/all", "--from", "Anna", "--yes"), "no stroke 9/all of Anna"),
        (("remove", "2", "--from", "Anna"), "add --yes"),
    ):
        code, out, err = on("students", *wrong)
        assert (code, out, err.count("\n")) == (2, "", 1), err
        assert said in err
    assert (len(uids(context, "Anna")), len(uids(context, "Jörg"))) == (3, 5)
    code, out, _ = on("students", "remove", "2", "--from", "Anna", "--yes")
    assert (code, out.count("\n"), len(uids(context, "Anna"))) == (0, 1, 2)
    assert on("strokes", "--student", "Jörg")[0] == 0
    with Store(context.base, "t") as store:
        assert len(store.recent(50)) == 7
