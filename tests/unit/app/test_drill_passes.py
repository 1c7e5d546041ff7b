"""What was passed in silence on one day is known on the next, and on another machine."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path

from tests.support.made_strokes import record
from trainer.app.context import load_context
from trainer.app.drills import drill_named
from trainer.app.practice.drill_session import DrillSession, begun
from trainer.app.practice.stroke_recorder import StrokeRecorder
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


def test_the_tally_counts_only_strokes_of_which_something_was_told(tmp_path: Path) -> None:
    """Else it would give away how one without feedback was."""
    (tmp_path / "drills").mkdir()
    (tmp_path / "drills" / "mine.toml").write_text(
        "[drill]\nname = 'N'\ninstruction = 'I'\n[pass]\nfaults = ['short_hold']\n[block]\nstrokes = 5\nsilent_strokes = 3\n"
    )
    context = load_context(tmp_path)
    with context.open_store() as store:
        recorder = StrokeRecorder(store, "made up")
        session = DrillSession(recorder, store, context.settings, drill_named(tmp_path, "mine"))
        tallies = []
        for told in (True, False, False, True):
            session.save(record(1.2, told=told), Verdict(), ())
            tallies.append(session.view().tally)
    assert tallies == ["1 of 1 good", "1 of 1 good", "1 of 1 good", "4 of 4 good"]
