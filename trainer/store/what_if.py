"""A student's strokes for trying limits on: what judging needs, and the verdict that each was given at the time."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime

from trainer.coaching.what_if import WhatIfStroke
from trainer.store.history import WHOSE, StudentKey, records_of
from trainer.store.store import Store
from trainer.store.stroke_rows import COUNTED


def strokes_for_what_if(store: Store, student_key: StudentKey, last: int | None = None) -> list[WhatIfStroke]:
    """The newest so many strokes (None: all), oldest first. A stroke whose signals are damaged is left out."""
    joined = f"FROM strokes s JOIN sessions n ON n.id = s.session_id WHERE {WHOSE} AND {COUNTED}"
    with store.reading() as db:
        rows = db.execute(
            f"SELECT s.id, s.kept_at, s.told {joined} ORDER BY s.kept_at DESC, s.id DESC LIMIT :last",
            {**student_key.query(), "last": -1 if last is None else last},
        ).fetchall()
    kept = {i: (datetime.fromisoformat(at), None if told is None else bool(told)) for i, at, told in rows}
    records = dict(records_of(store, sorted(kept)))
    then: defaultdict[int, list[str]] = defaultdict(list)
    ids = sorted(kept)
    with store.reading() as db:
        for start in range(0, len(ids), 500):
            some = ids[start : start + 500]
            marks = ", ".join("?" * len(some))
            for i, name in db.execute(
                f"SELECT stroke_id, name FROM faults WHERE stroke_id IN ({marks}) ORDER BY stroke_id, place", some
            ):
                then[i].append(name)
    return [
        WhatIfStroke(i, kept[i][0], records[i], tuple(then[i]), kept[i][1]) for i in list(kept)[::-1] if i in records
    ]
