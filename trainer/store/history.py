"""What was kept of one student: read in bulk for progress and re-judging."""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from sys import intern
from typing import Any, Iterator, Mapping, Sequence

from trainer.coaching.faults import verdict
from trainer.coaching.progress.facts import StrokeFacts, look_after_s
from trainer.coaching.verdict import Verdict, kept_too_close
from trainer.domain.measures import MIN_CONFIDENCE
from trainer.domain.naming import folded
from trainer.domain.record import Events, Measure, StrokeRecord
from trainer.domain.verdict import SEEN_FROM, FaultName
from trainer.errors import StoreError
from trainer.settings.drill_names import present_id
from trainer.settings.limits import Limits
from trainer.store.signals import unpack, unpack_turns
from trainer.store.store import Store, utc
from trainer.store.stroke_rows import COUNTED, NEWEST_FIRST, WITH_TIME

# A student's sessions: by id, and by name those from before the student had one.
WHOSE = "(n.student = :student OR (n.student IS NULL AND folded(n.player) = :player))"
BATCH = 500
# Down-the-line the spine is judged too; what was kept before that was so lacks it (see signals.SIDE_MARK).
_QUICK = "CASE WHEN view = 'face-on' OR substr(turns, 1, 1) = x'44' THEN turns END"


@dataclass(frozen=True, slots=True)
class StudentKey:
    """A student: the id, and the name that older sessions go by."""

    student: str
    player: str

    def query(self) -> dict[str, Any]:
        return {"student": self.student or "-", "player": folded(self.player)}


def own_stroke(db: Any, student_key: StudentKey, uid: str | None) -> int | None:
    """Id of a stroke of that student; None where there is none, or it is another's."""
    sql = f"SELECT s.id FROM main.strokes s JOIN main.sessions n ON n.id = s.session_id WHERE s.uid = :uid AND {WHOSE}"
    row = db.execute(sql, {**student_key.query(), "uid": uid}).fetchone()
    return None if row is None else int(row[0])


def practised(store: Store, student_key: StudentKey, measures: Sequence[str]) -> list[tuple[StrokeFacts, str]]:
    """(stroke, its limits as JSON) of a student, in order of time, in local time. measures: names of those wanted."""
    query = student_key.query()
    joined = f"FROM strokes s JOIN sessions n ON n.id = s.session_id WHERE {WHOSE} AND {COUNTED}"
    values: defaultdict[int, dict[str, float]] = defaultdict(dict)
    found: defaultdict[int, list[str]] = defaultdict(list)
    names = ", ".join(f":m{i}" for i in range(len(measures)))
    wanted = {f"m{i}": name for i, name in enumerate(measures)}
    with store.reading() as db:
        strokes = db.execute(
            f"SELECT s.id, s.uid, n.uid, s.kept_at, s.kind, s.told, s.drill, s.stage, s.settings_id, s.felt, n.started_at,"
            " s.view, s.unsure, s.good"
            f" {joined} ORDER BY s.kept_at, s.id",
            query,
        ).fetchall()
        rows = db.execute(
            "SELECT m.stroke_id, m.name, m.value FROM measures m WHERE m.stroke_id IN"
            f" (SELECT s.id {joined}) AND m.name IN ({names}) AND m.value IS NOT NULL AND m.confidence >= :least",
            {**query, **wanted, "least": MIN_CONFIDENCE},
        )
        for stroke_id, name, value in rows:
            values[stroke_id][intern(name)] = value  # one text for all
        for stroke_id, name in db.execute(
            f"SELECT f.stroke_id, f.name FROM faults f WHERE f.stroke_id IN (SELECT s.id {joined})"
            " ORDER BY f.stroke_id, f.place",
            query,
        ):
            found[stroke_id].append(intern(name))
        used = {row[8] for row in strokes}
        limits = {i: json.dumps(json.loads(_body(db, i)).get("limits", {}), sort_keys=True) for i in used}
    asked = {(i, view): asked_from(view, json.loads(limits[i])) for i in used for view in SEEN_FROM}
    out = []
    for i, uid, session, at, kind, told, drill, stage, settings, felt, began, view, unsure, good in strokes:
        known, said, good = (None if x is None else bool(x) for x in (told, felt, good))
        doubt = None if unsure is None else tuple(unsure.split())
        when = datetime.fromisoformat(at).astimezone()
        seen, faults = values.get(i, {}), tuple(found.get(i, ()))
        now_called = None if drill is None else present_id(drill)
        session_at = datetime.fromisoformat(began).astimezone()
        too_close = kept_too_close(look_after_s(seen), faults)
        facts = StrokeFacts(
            i, uid, session, when, kind, known, now_called, stage, seen, faults, said, session_at,
            too_close, asked[settings, view], doubt, good, view,
        )  # fmt: skip
        out.append((facts, limits[settings]))
    return out


def asked_from(view: str, limits: Mapping[str, Any]) -> tuple[FaultName, ...]:
    """The faults judged from there by these limits; not one that they do not name, as those of an older release."""
    return tuple(n for n in SEEN_FROM[view] if (n in limits or not limits) and limits.get(n, {}).get("on", True))


def _body(db: Any, settings_id: int) -> str:
    return str(db.execute("SELECT body FROM settings WHERE id = ?", (settings_id,)).fetchone()[0])


def judgeable(
    store: Store, student_key: StudentKey | None = None, last: int | None = None
) -> Iterator[tuple[int, StrokeRecord]]:
    """(stroke id, record) of strokes, oldest first; the records hold only those raw signals that judging needs.

    student_key: None for everybody's; last: only the newest so many. A stroke whose signals are damaged is left out.
    """
    where, query = (WHOSE, student_key.query()) if student_key is not None else ("1", {})
    sql = f"SELECT s.id FROM strokes s JOIN sessions n ON n.id = s.session_id {WITH_TIME} WHERE {where} AND {COUNTED}"
    sql += f" ORDER BY {NEWEST_FIRST} LIMIT :last"
    with store.reading() as db:
        ids = [row[0] for row in db.execute(sql, {**query, "last": -1 if last is None else last})][::-1]
    yield from records_of(store, ids)


def records_of(store: Store, ids: Sequence[int]) -> Iterator[tuple[int, StrokeRecord]]:
    """The same for these strokes, in their order."""
    for start in range(0, len(ids), BATCH):
        yield from _batch(store, ids[start : start + BATCH])


def _batch(store: Store, ids: Sequence[int]) -> list[tuple[int, StrokeRecord]]:
    marks = ", ".join("?" * len(ids))
    events: defaultdict[int, dict[Any, float | None]] = defaultdict(dict)
    measures: defaultdict[int, dict[str, Measure]] = defaultdict(dict)
    with store.reading() as db:
        rows = db.execute(
            f"SELECT id, kind, view, {_QUICK}, CASE WHEN {_QUICK} IS NULL THEN signals END FROM strokes"
            f" WHERE id IN ({marks})",
            ids,
        ).fetchall()
        place = {stroke_id: i for i, stroke_id in enumerate(ids)}
        rows.sort(key=lambda row: place[row[0]])
        for stroke_id, name, time_s in db.execute(
            f"SELECT stroke_id, name, time_s FROM events WHERE stroke_id IN ({marks}) ORDER BY stroke_id, place", ids
        ):
            events[stroke_id][name] = time_s
        for stroke_id, name, *rest in db.execute(
            f"SELECT stroke_id, name, value, unit, confidence, reason FROM measures WHERE stroke_id IN ({marks})", ids
        ):
            measures[stroke_id][name] = Measure(*rest)
    out = []
    for stroke_id, kind, view, turns, block in rows:
        where = f"{store.path}: stroke {stroke_id}"
        try:
            signals = unpack_turns(turns, view, where) if turns is not None else unpack(block, where)
        except StoreError:
            continue
        out.append((stroke_id, StrokeRecord(kind, Events.of(events[stroke_id]), measures[stroke_id], signals, view)))
    return out


def judged_anew(
    store: Store,
    limits: Limits,
    student_key: StudentKey | None = None,
    last: int | None = None,
    only: Sequence[int] | None = None,
) -> dict[int, Verdict]:
    """Stroke id -> the verdict by these limits. Nothing kept is changed: old verdicts stay with their own limits."""
    records = judgeable(store, student_key, last) if only is None else records_of(store, only)
    return {stroke_id: verdict(record, limits) for stroke_id, record in records}


@dataclass(frozen=True, slots=True)
class Counts:
    """How much is kept. sessions: that have strokes; last_at: of the newest stroke, UTC ISO 8601."""

    sessions: int
    strokes: int
    last_at: str | None


def counts(store: Store, student_key: StudentKey) -> Counts:
    """Of one student."""
    with store.reading() as db:
        sessions, strokes, last = db.execute(
            "SELECT count(DISTINCT n.id), count(*), max(s.kept_at) FROM strokes s JOIN sessions n ON n.id = s.session_id"
            f" WHERE {WHOSE}",
            student_key.query(),
        ).fetchone()
    return Counts(int(sessions), int(strokes), last)


def counts_by_student(store: Store) -> dict[tuple[str | None, str], Counts]:
    """(student's id or None, player's name) -> how much is kept, of everybody."""
    sql = (
        "SELECT n.student, n.player, count(DISTINCT n.id), count(s.id), max(s.kept_at) FROM sessions n"
        " JOIN strokes s ON s.session_id = n.id GROUP BY n.student, n.player"
    )
    with store.reading() as db:
        return {(student, player): Counts(a, b, last) for student, player, a, b, last in db.execute(sql)}


def drills_used(store: Store, student_key: StudentKey) -> set[str]:
    """Ids of the drills that a student's strokes were made in."""
    sql = f"SELECT DISTINCT s.drill FROM strokes s JOIN sessions n ON n.id = s.session_id WHERE {WHOSE}"
    with store.reading() as db:
        return {present_id(drill) for (drill,) in db.execute(sql, student_key.query()) if drill is not None}


def rehearsals(store: Store, student_key: StudentKey, last: int, since: datetime) -> list[dict[str, Measure]]:
    """The measures of the newest rehearsal strokes of a student since then, oldest first."""
    sql = (
        f"SELECT s.id FROM strokes s JOIN sessions n ON n.id = s.session_id WHERE {WHOSE} AND s.kind = 'rehearsal'"
        f" AND {COUNTED}"
        " AND s.kept_at >= :since ORDER BY s.kept_at DESC, s.id DESC LIMIT :last"
    )
    with store.reading() as db:
        ids = [row[0] for row in db.execute(sql, {**student_key.query(), "since": utc(since), "last": last})][::-1]
    return [dict(record.measures) for _, record in records_of(store, ids)]
