"""Puts strokes on record."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timezone

from trainer.domain.record import StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.settings.model import Settings
from trainer.store.store import Store


@dataclass(frozen=True, slots=True)
class Practised:
    """What a stroke was made under. drill, stage: of the drill, None: none, or it is over."""

    settings: Settings
    drill: str | None = None
    stage: str | None = None


class StrokeRecorder:
    """Puts each stroke on record before it is shown; a session begins with its first stroke."""

    def __init__(self, store: Store, source: str, student_id: str = "") -> None:
        self._store, self._source, self._student = store, source, student_id
        self.session: int | None = None  # of the record; None before the first stroke

    def save(
        self, record: StrokeRecord, found: tuple[Fault, ...], cues: tuple[Cue, ...], practised: Practised
    ) -> datetime:
        """Returns the time it was kept under, when it is on the disk."""
        now = datetime.now(timezone.utc)
        settings = practised.settings
        if self.session is None:
            self.session = self._store.begin_session(settings.player.name, self._source, now, self._student or None)
        drill = practised.drill, practised.stage
        self._store.keep(self.session, record, found, cues, settings, now, drill)
        return now
