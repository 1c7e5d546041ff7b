"""What was passed in silence on one day is known on the next, and on another machine."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path

from tests.support.made_strokes import record
from trainer.app.context import load_context
from trainer.app.drills import drill_named
from trainer.app.practice.drill_session import begun
from trainer.coaching.verdict import Verdict, unjudged
from trainer.commands.cli import run
from trainer.store.drill_marks import silent_marks
from trainer.store.history import StudentKey
from trainer.store.store import Store
from trainer.store.stroke_rows import Made

NOW = datetime.now(timezone.utc)


def keep_test(store: Store, student: str, drill: str, good: int, days_ago: int, unsure: tuple[str, ...] | None) -> None:
    at = NOW - timedelta(days=days_ago)
    settings = load_context(store.path.parent, "Robin").settings
    session = store.begin_session("Robin", "t", at, student)
    for i in range(14):
        made = Made(drill, "silent", i < good, unsure)
        store.keep(session, record(1.2, told=False), (), (), settings, at + timedelta(seconds=i), made)


def test_two_days_and_two_machines(tmp_path: Path) -> None:
    here, there, file = tmp_path / "here", tmp_path / "there", tmp_path / "robin.zip"
    assert run(["--data-folder", str(here), "students", "add", "Robin"]) == 0
    context = load_context(here, "Robin")
    key = StudentKey(context.student_id, "Robin")
    drill = drill_named(here, "hands-carry-on")
    with context.open_store() as store:
        keep_test(store, context.student_id, "quiet-hands", 12, 3, ())  # under its old id
        once = begun(store, key, drill, 0)
        assert (once.passed, [(d.good, d.judged) for d in once.days]) == (False, [(12, 14)])
        keep_test(store, context.student_id, "hands-carry-on", 14, 2, ())
        assert begun(store, key, drill, 0).passed
        keep_test(store, context.student_id, "hold-then-look", 14, 1, None)  # of a release before: not judged so
        assert silent_marks(store, key, "hold-then-look") == []
        wanted = silent_marks(store, key, "hands-carry-on")
    assert run(["--data-folder", str(here), "students", "export", "Robin", "--out", str(file)]) == 0
    assert run(["--data-folder", str(there), "students", "import", str(file)]) == 0
    with load_context(there, "Robin").open_store() as store:
        assert silent_marks(store, key, "hands-carry-on") == wanted
        with store.reading() as db:
            assert {row[0] for row in db.execute("SELECT unsure FROM strokes")} == {"", None}


def test_what_is_neither_found_nor_ruled_out() -> None:
    assert unjudged(Verdict(too_close=True, indeterminate=("recoil",))) == ("early_look", "short_hold", "recoil")
    assert unjudged(Verdict()) == ()
