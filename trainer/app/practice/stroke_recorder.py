"""Puts strokes on record."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timezone

from trainer.coaching.verdict import Verdict, unjudged
from trainer.domain.record import StrokeRecord
from trainer.domain.verdict import Cue
from trainer.settings.model import Settings
from trainer.store.store import Store
from trainer.store.stroke_rows import Made


@dataclass(frozen=True, slots=True)
class Practised:
    """What a stroke was made under. drill, stage: of the drill, None: none, or it is over."""

    settings: Settings
    drill: str | None = None
    stage: str | None = None


class StrokeRecorder:
    """Puts each stroke on record before it is shown; a session begins with its first stroke."""

    def __init__(self, store: Store, source: str, student_id: str = "") -> None:
        self._store, self._source, self.student_id = store, source, student_id
        self.session: int | None = None  # of the record; None before the first stroke

    def save(
        self,
        record: StrokeRecord,
        verdict: Verdict,
        cues: tuple[Cue, ...],
        practised: Practised,
        good: bool | None = None,
        now: datetime | None = None,
    ) -> None:
        """It is on the disk when this returns. good: by the drill's rule; now: to be kept under, None: this moment."""
        now = now or datetime.now(timezone.utc)
        settings = practised.settings
        if self.session is None:
            self.session = self._store.begin_session(settings.player.name, self._source, now, self.student_id or None)
        made = Made(practised.drill, practised.stage, good, unjudged(verdict))
        self._store.keep(self.session, record, verdict.faults, cues, settings, now, made)
