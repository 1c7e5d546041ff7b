"""What a damaged cell makes unusable is left out, so that the rest of an otherwise sound record can be read.

SQLite lets any cell hold anything. Rows with a cell that cannot be what its column is for, and strokes that hang on such a
row, are hidden from this connection: a view of the table's own name stands before the table. So all who read see sound rows
only, and all who write name ``main.TABLE``.
"""

from __future__ import annotations

import sqlite3
from typing import Callable, Iterator, NamedTuple

from trainer.domain.outcome import WHERE
from trainer.domain.verdict import FAULT_NAMES

STROKE_PARTS = ("events", "measures", "faults", "cues")
_MOST = 1e12  # nothing that is measured here comes near it
_TIME = "[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]T[0-2][0-9]:[0-5][0-9]:[0-5][0-9]*+00:00"


class _Column(NamedTuple):
    name: str
    kind: str
    required: bool


def _one_of(*words: str) -> Callable[[str], str]:
    return lambda name: f"{name} IN ({', '.join(repr(word) for word in words)})"


def _json(kind: str) -> Callable[[str], str]:
    return lambda name: f"json_valid({name}) AND json_type({name}) = '{kind}'"


def _time(name: str) -> str:
    return f"{name} GLOB '{_TIME}' AND julianday({name}) IS NOT NULL AND {name} < '3'"


def _day(name: str) -> str:
    return f"length({name}) = 10 AND julianday({name}) IS NOT NULL AND {name} < '3'"


def _body_of_settings(name: str) -> str:
    limits = f"json_type({name}, '$.limits')"
    return f"{_json('object')(name)} AND coalesce({limits}, 'object') = 'object'"


# (table, column) -> what else it must be, beside its type; times by their names.
_MORE: dict[tuple[str, str], Callable[[str], str]] = {
    ("settings", "body"): _body_of_settings,
    ("limit_changes", "body"): _json("object"),
    ("exports", "body"): _json("array"),
    ("lessons", "later"): _json("array"),
    ("strokes", "kind"): _one_of("ball", "rehearsal"),
    ("strokes", "view"): _one_of("face-on", "down-the-line"),
    ("strokes", "camera"): _one_of("first", "second"),
    ("measures", "confidence"): lambda name: f"{name} BETWEEN 0 AND 1",
    ("faults", "name"): _one_of(*FAULT_NAMES),
    ("distance_players", "unit"): _one_of("m", "ft"),
    ("homework", "from_day"): _day,
    ("homework", "until_day"): _day,
    ("outcomes", "went"): _one_of(*WHERE),
}


def hide_unsound(db: sqlite3.Connection) -> str:
    """Makes the views where they are needed. What was left out, in words; empty: all is sound."""
    tables = [name for (name,) in db.execute("SELECT name FROM main.sqlite_master WHERE type = 'table' ORDER BY name")]
    sound = {table: " AND ".join(_conditions(db, table)) for table in tables}
    bad = {table: count for table in tables if (count := _count(db, table, sound[table]))}
    if not bad:
        return ""
    hidden = _hide_strokes(db, sound)
    for table in bad.keys() - {"strokes", *STROKE_PARTS}:
        db.execute(f"CREATE TEMP VIEW {table} AS SELECT * FROM main.{table} WHERE {sound[table]}")
    others = {"sessions", "settings", "strokes", *STROKE_PARTS}
    said = [f"{hidden} stroke{'' if hidden == 1 else 's'}"] if hidden else []
    said += [f"{count} of {table.replace('_', ' ')}" for table, count in bad.items() if table not in others]
    return ", ".join(said or ["a session without strokes"])


def show_all(db: sqlite3.Connection) -> None:
    """Takes the views away: VACUUM does not work beside them."""
    for name, kind in db.execute("SELECT name, type FROM temp.sqlite_master").fetchall():
        db.execute(f"DROP {kind} temp.{name}")


def _hide_strokes(db: sqlite3.Connection, sound: dict[str, str]) -> int:
    hanging = " UNION ".join(f"SELECT stroke_id FROM main.{part} WHERE NOT ({sound[part]})" for part in STROKE_PARTS)
    db.execute(
        f"CREATE TEMP TABLE unsound_strokes AS SELECT id FROM main.strokes WHERE NOT ({sound['strokes']})"
        f" OR session_id NOT IN (SELECT id FROM main.sessions WHERE {sound['sessions']})"
        f" OR settings_id NOT IN (SELECT id FROM main.settings WHERE {sound['settings']})"
        f" OR id IN ({hanging})"
    )
    hidden = int(db.execute("SELECT count(*) FROM temp.unsound_strokes").fetchone()[0])
    if hidden:
        hide = "SELECT * FROM main.strokes WHERE id NOT IN (SELECT id FROM temp.unsound_strokes)"
        db.execute(f"CREATE TEMP VIEW strokes AS {hide}")
    return hidden


def _count(db: sqlite3.Connection, table: str, sound: str) -> int:
    return int(db.execute(f"SELECT count(*) FROM main.{table} WHERE NOT ({sound})").fetchone()[0])


def _conditions(db: sqlite3.Connection, table: str) -> Iterator[str]:
    """One for each column, which is never NULL."""
    for _, name, kind, required, _, key in db.execute(f"PRAGMA main.table_info({table})"):
        column = _Column(name, kind.upper(), bool(required or key))
        condition = _typed(column)
        more = _MORE.get((table, name), _time if name == "at" or name.endswith("_at") else None)
        if more is not None:
            condition = f"({condition} AND ({more(name)}))"
        yield condition if column.required else f"({name} IS NULL OR {condition})"


def _typed(column: _Column) -> str:
    name = column.name
    if column.kind == "REAL":
        return f"(typeof({name}) = 'real' AND abs({name}) < {_MOST:g})"
    return f"typeof({name}) = '{column.kind.lower()}'"
