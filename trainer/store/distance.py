"""What a player keeps about distance: the unit, the greens measured, and the putts that make their own scale."""

from __future__ import annotations

import uuid
from dataclasses import astuple, dataclass, fields, replace
from datetime import datetime
from typing import Any, Sequence

from trainer.coaching.distance.green_speed import Green
from trainer.coaching.distance.putt import Guess, Putt
from trainer.domain.units import Unit, unit_named
from trainer.errors import StoreError
from trainer.store.store import Store, utc
from trainer.texts import tr

# The columns keep the name that they had at first.
PUTT_COLUMNS = tuple("stimp_ft" if field.name == "green_speed_ft" else field.name for field in fields(Putt))


@dataclass(frozen=True, slots=True)
class DistancePlayer:
    """unit: chosen once, for entering and printing; trail_foot_cm: from the ball back to the middle of the trail
    foot.
    """

    unit: Unit
    trail_foot_cm: float


@dataclass(frozen=True, slots=True)
class KeptPutt:
    """A putt of the record. stroke_id: the stroke on record it belongs to; frames_per_s: of the camera that timed
    it.
    """

    putt_id: int
    kept_at: datetime
    putt: Putt
    stroke_id: int | None
    frames_per_s: float | None


class Distances:
    """The part of an open `Store` that holds distances. Every method raises StoreError, and then nothing is kept."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def player(self, player: str) -> DistancePlayer | None:
        """None: this player has not chosen a unit yet."""
        sql = "SELECT unit, trail_foot_cm FROM distance_players WHERE player = ?"
        with self._store.reading() as db:
            row = db.execute(sql, (player,)).fetchone()
        return None if row is None else DistancePlayer(unit_named(row[0]), row[1])

    def set_player(self, player: str, choice: DistancePlayer) -> None:
        """Keeps the choice, in place of an earlier one."""
        with self._store.writing() as db:
            db.execute("INSERT OR REPLACE INTO main.distance_players VALUES (?, ?, ?)", (player, *astuple(choice)))

    def keep_green(self, player: str, green: Green, kept_at: datetime) -> None:
        """A green measured; the newest counts."""
        uid = uuid.uuid4().hex
        row = (player, utc(kept_at), green.green_speed_ft, green.low_ft, green.high_ft, green.source, uid)
        columns = "player, kept_at, stimp_ft, low_ft, high_ft, source, uid"
        sql = f"INSERT INTO main.distance_greens ({columns}) VALUES (?, ?, ?, ?, ?, ?, ?)"
        with self._store.writing() as db:
            db.execute(sql, row)

    def green(self, player: str) -> Green | None:
        """The newest green of a player."""
        sql = (
            "SELECT stimp_ft, low_ft, high_ft, source FROM distance_greens WHERE player = ?"
            " ORDER BY kept_at DESC, id DESC LIMIT 1"
        )
        with self._store.reading() as db:
            row = db.execute(sql, (player,)).fetchone()
        return None if row is None else Green(*row)

    def keep_putt(
        self,
        player: str,
        putt: Putt,
        kept_at: datetime,
        stroke_id: int | None = None,
        frames_per_s: float | None = None,
    ) -> int:
        """Keeps a checked putt; returns its number. A stroke's earlier roll-out of the same kind, measured or estimated,
        is replaced.
        """
        row = (player, utc(kept_at), stroke_id, frames_per_s, uuid.uuid4().hex, *astuple(putt))
        marks = ", ".join("?" * len(row))
        with self._store.writing() as db:
            if stroke_id is not None:
                sql = "DELETE FROM main.distance_putts WHERE stroke_id = ? AND estimated = ?"
                db.execute(sql, (stroke_id, putt.estimated))
            columns = f"player, kept_at, stroke_id, frames_per_s, uid, {', '.join(PUTT_COLUMNS)}"
            return int(db.execute(f"INSERT INTO main.distance_putts ({columns}) VALUES ({marks})", row).lastrowid or 0)

    def note_guess(self, stroke_id: int, guess: Guess) -> bool:
        """What the player said of a stroke's roll-out before he was told; False: none is kept of it."""
        sql = "UPDATE main.distance_putts SET guess = ? WHERE stroke_id = ?"
        with self._store.writing() as db:
            return bool(db.execute(sql, (guess, stroke_id)).rowcount)

    def putts(self, player: str) -> list[KeptPutt]:
        """All putts of a player, oldest first."""
        sql = (
            f"SELECT id, kept_at, stroke_id, frames_per_s, {', '.join(PUTT_COLUMNS)} FROM distance_putts"
            " WHERE player = ? ORDER BY kept_at, id"
        )
        with self._store.reading() as db:
            rows = db.execute(sql, (player,)).fetchall()
        return [KeptPutt(i, datetime.fromisoformat(at), _putt(putt), stroke, fps) for i, at, stroke, fps, *putt in rows]

    def drop_putt(self, player: str, putt_id: int) -> None:
        """Forgets one putt. Raises StoreError when the player has none of that number."""
        with self._store.writing() as db:
            sql = "DELETE FROM main.distance_putts WHERE player = ? AND id = ?"
            if db.execute(sql, (player, putt_id)).rowcount == 0:
                raise StoreError(
                    tr("{player} has no putt {putt_id}", player=player, putt_id=putt_id),
                    str(self._store.path),
                    tr("`distance putts` lists them"),
                )


def _putt(row: Sequence[Any]) -> Putt:
    made = Putt(*row)
    return replace(made, estimated=bool(made.estimated))


def that_count(putts: Sequence[KeptPutt]) -> list[KeptPutt]:
    """One putt a stroke: where the roll-out was measured, what the ball's speed gives does not count; the guess stays."""
    measured = {one.stroke_id for one in putts if not one.putt.estimated} - {None}
    said = {one.stroke_id: one.putt.guess for one in putts if one.putt.guess is not None and one.stroke_id is not None}
    return [
        one if one.putt.guess is not None else replace(one, putt=replace(one.putt, guess=said.get(one.stroke_id or -1)))
        for one in putts
        if not (one.putt.estimated and one.stroke_id in measured)
    ]
