"""A student's distances as plain values for an export file, and such values checked and merged into a record."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from trainer.coaching.distance.checks import FOOT_PLACE, GREEN_SPEED, in_range
from trainer.coaching.distance.putt import Putt, checked
from trainer.errors import TrainerError, TransferError
from trainer.store.distance import PUTT_COLUMNS
from trainer.store.history import StudentKey, own_stroke
from trainer.store.reassign import is_taken_out
from trainer.store.store import Store, utc
from trainer.store.transfer_file import StudentArchive
from trainer.store.transfer_json import TODO
from trainer.store.transfer_values import (
    DistanceEntry,
    DistancesDocument,
    GreenValue,
    PuttValue,
    checked_document,
    checked_time,
)
from trainer.texts import tr

PART = "distances.json"
_GREEN = ("uid", "kept_at", "stimp_ft", "low_ft", "high_ft", "source")
_PUTT = ("uid", "kept_at", *PUTT_COLUMNS, "frames_per_s")


def distances_out(store: Store, player: str) -> dict[str, Any]:
    """The part's values: unit, greens and putts of a player."""
    putt_columns = ", ".join(f"p.{column}" for column in _PUTT)
    with store.reading() as db:
        chosen = db.execute("SELECT unit, trail_foot_cm FROM distance_players WHERE player = ?", (player,)).fetchone()
        greens = db.execute(
            f"SELECT {', '.join(_GREEN)} FROM distance_greens WHERE player = ? ORDER BY id", (player,)
        ).fetchall()
        putts = db.execute(
            f"SELECT {putt_columns}, s.uid FROM distance_putts p LEFT JOIN strokes s ON s.id = p.stroke_id"
            " WHERE p.player = ? ORDER BY p.id",
            (player,),
        ).fetchall()
    out = []
    for row in putts:
        values = dict(zip((*_PUTT, "stroke"), row, strict=True))
        out.append({**values, "estimated": bool(values["estimated"])})
    return {
        "unit": chosen[0] if chosen else None,
        "trail_foot_cm": chosen[1] if chosen else None,
        "greens": [dict(zip(_GREEN, row, strict=True)) for row in greens],
        "putts": out,
    }


@dataclass(frozen=True, slots=True)
class ReadyDistances:
    """Distances of an export file, checked. choice: unit and trail foot, None: none was chosen."""

    choice: tuple[str, float] | None
    greens: tuple[GreenValue, ...]
    putts: tuple[PuttValue, ...]

    @property
    def entries(self) -> tuple[DistanceEntry, ...]:
        return (*self.greens, *self.putts)


def ready_distances(archive: StudentArchive) -> ReadyDistances:
    """Raises TransferError; nothing is written. A file from before distances were exported holds none."""
    found: DistancesDocument = checked_document(DistancesDocument, archive.json(PART) or {}, PART, archive.name)
    try:
        for green in found.greens:
            in_range(green.stimp_ft, GREEN_SPEED)
            if not 0.0 < green.low_ft <= green.stimp_ft <= green.high_ft:
                raise TransferError(tr("a green's band does not hold its speed"), PART, TODO)
        for one in found.putts:
            checked(Putt(*(getattr(one, column) for column in PUTT_COLUMNS)), "m", sure=True)
        choice = None if found.unit is None else (found.unit, in_range(found.trail_foot_cm, FOOT_PLACE))
    except TrainerError as error:
        raise TransferError(
            tr("{part} holds what cannot be ({what})", part=PART, what=error.what), archive.name, TODO
        ) from None
    ready = ReadyDistances(choice, tuple(found.greens), tuple(found.putts))
    for entry in ready.entries:
        checked_time(entry.kept_at, PART, archive.name)
    if len({entry.uid for entry in ready.entries}) != len(ready.entries):
        raise TransferError(tr("{part} holds a putt or a green twice", part=PART), archive.name, TODO)
    return ready


def merge_distances(db: Any, key: StudentKey, what: ReadyDistances) -> int:
    """Inside a transaction. A unit chosen here stays; of two roll-outs of a stroke the newer stands. How many are new."""
    new, player = 0, key.player
    if what.choice is not None:
        sql = "INSERT OR IGNORE INTO main.distance_players VALUES (?, ?, ?)"
        new += db.execute(sql, (player, *what.choice)).rowcount
    for green in what.greens:
        new += _insert(db, "distance_greens", {"player": player, **_kept(green)})
    for putt in what.putts:
        new += _merge_putt(db, key, putt)
    return new


def _merge_putt(db: Any, key: StudentKey, putt: PuttValue) -> int:
    values = {"player": key.player, **_kept(putt)}
    if putt.stroke is not None and is_taken_out(db, putt.stroke):
        return 0
    stroke = own_stroke(db, key, values.pop("stroke"))
    values["stroke_id"] = stroke
    if db.execute("SELECT 1 FROM distance_putts WHERE uid = ?", (putt.uid,)).fetchone():
        return 0
    if stroke is not None:
        sql = "DELETE FROM main.distance_putts WHERE stroke_id = ? AND estimated = ? AND kept_at < ?"
        db.execute(sql, (stroke, putt.estimated, values["kept_at"]))
    return _insert(db, "distance_putts", values)


def _kept(value: GreenValue | PuttValue) -> dict[str, Any]:
    return {**value.model_dump(), "kept_at": utc(checked_time(value.kept_at, PART, PART))}


def _insert(db: Any, table: str, values: dict[str, Any]) -> int:
    """1, or 0 where it is there already."""
    marks = ", ".join("?" * len(values))
    sql = f"INSERT OR IGNORE INTO main.{table} ({', '.join(values)}) VALUES ({marks})"
    return int(db.execute(sql, tuple(values.values())).rowcount)
