"""Puts strokes on record."""

from __future__ import annotations

from datetime import datetime, timezone
from typing import Sequence

from trainer.domain.record import StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.settings.model import Settings
from trainer.store.store import Store


class StrokeRecorder:
    """Puts each stroke on record before it is shown; a session begins with its first stroke."""

    def __init__(
        self, store: Store, settings: Settings, source: str, student_id: str = "", session: int | None = None
    ) -> None:
        """session: of the run so far; None: a new one."""
        self._store, self._settings, self._source, self._student = store, settings, source, student_id
        self._session = session

    @property
    def session(self) -> int | None:
        """Of the record; None before the first stroke."""
        return self._session

    def save(self, record: StrokeRecord, found: Sequence[Fault], cues: Sequence[Cue]) -> None:
        """Returns when it is on the disk."""
        self._keep(record, found, cues)

    def _keep(
        self,
        record: StrokeRecord,
        found: Sequence[Fault],
        cues: Sequence[Cue],
        drill_id: str | None = None,
        stage: str | None = None,
    ) -> datetime:
        """Returns the time it was kept under."""
        now = datetime.now(timezone.utc)
        if self._session is None:
            self._session = self._store.begin_session(
                self._settings.player.name, self._source, now, self._student or None
            )
        self._store.keep(self._session, record, found, cues, self._settings, now, drill_id, stage)
        return now
