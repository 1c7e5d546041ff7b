"""The newest strokes are those made last, not those that came into the record last; a putt that two cameras saw is one."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from tests.unit.store.test_store import WHEN, invented_record
from trainer.domain.naming import StrokeNumber
from trainer.settings.load import load
from trainer.store.history import StudentKey, counts, judgeable
from trainer.store.sessions import sessions, stroke_chosen
from trainer.store.signals import pack
from trainer.store.store import Store, utc
from trainer.store.stroke_rows import NewStroke, insert_stroke

LATER = WHEN + timedelta(days=3)
ROBIN = StudentKey("", "Robin")


def kept(store: Store, at: datetime, camera: str = "", view: str = "face-on") -> int:
    """One stroke in a session of its own; its id."""
    record = invented_record()
    record = replace(record, view=view, context=replace(record.context, camera=camera or None))
    session = store.begin_session("Robin", "camera 0", at)
    store.keep(session, record, (), (), load(), at)
    return store.newest(session)


def test_older_strokes_that_came_in_later_are_not_the_newest(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        newest = [kept(store, LATER), kept(store, LATER + timedelta(hours=1))][::-1]
        older = kept(store, WHEN)
        assert [line.stroke_id for line in store.recent(9)] == [*newest, older]
        assert [line.stroke_id for line in store.recent(2, "Robin")] == newest
        assert [one.strokes[0].stroke_id for one in sessions(store, 2)] == newest
        assert stroke_chosen(store, ROBIN, StrokeNumber(1, 1)) == newest[0]
        assert [i for i, _ in judgeable(store)] == [older, *newest[::-1]]
        assert [i for i, _ in judgeable(store, ROBIN, last=2)] == newest[::-1]


def test_a_putt_that_two_cameras_saw_is_listed_once(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        first = kept(store, WHEN, "first")
        kept(store, WHEN, "second", "down-the-line")
        assert [line.stroke_id for line in store.recent(9)] == [first]
        assert [line.stroke_id for line in store.recent(1, "Robin")] == [first]


def test_a_session_by_name_is_a_students_only_where_it_has_no_other_id(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        kept(store, WHEN)  # from before the student had an id
        for name, student in (("robin", "a" * 32), ("Robin", "b" * 32)):  # the second: another student of that name
            store.keep(store.begin_session(name, "camera 0", WHEN, student), invented_record(), (), (), load(), WHEN)
        assert counts(store, StudentKey("a" * 32, "Robin")).sessions == 2
        assert counts(store, StudentKey("", "Robin")).sessions == 1


def test_a_strokes_number_is_kept_where_it_is_free(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        kept(store, WHEN)
        record, session = invented_record(), store.begin_session("Robin", "camera 0", WHEN)
        for wanted, number in ((3, 3), (7, 7), (3, 8), (None, 9), (1, 1)):  # of an import that leaves some out
            new = NewStroke(
                session, 1, uuid.uuid4().hex, utc(WHEN), "1", record, pack(record.signals), (), (), number=wanted
            )
            with store.writing() as db:
                assert insert_stroke(db, new) == number
