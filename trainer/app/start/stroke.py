"""One stroke of the record as a page shows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.app.context import RunContext
from trainer.coaching.verdict import kept_too_close, look_after_s
from trainer.domain.outcome import Where
from trainer.domain.record import StrokeRecord
from trainer.domain.verdict import Fault
from trainer.store.outcomes import outcome_of


@dataclass(frozen=True)
class StrokeShown:
    """With its verdict as it was kept. session: its number in the record; where: its ball went, None: not said."""

    session: int
    record: StrokeRecord
    faults: Sequence[Fault]
    too_close: bool
    where: Where | None


def stroke_on_record(context: RunContext, stroke_id: int) -> StrokeShown:
    """Raises StoreError."""
    with context.open_store_to_read() as store:
        kept, outcome = store.stroke(stroke_id), outcome_of(store, stroke_id)
    near = kept_too_close(look_after_s(kept.record.measures), [fault.name for fault in kept.faults])
    return StrokeShown(kept.session_id, kept.record, kept.faults, near, outcome.where if outcome is not None else None)
