"""A drill while it is practised: each stroke is kept with its drill and stage, counted, and the silent test follows the block."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timezone
from typing import Sequence

from trainer.coaching.drills import Run, after
from trainer.coaching.verdict import Cue, Fault
from trainer.commands.wiring import Setup, say
from trainer.feedback.cues import CueChooser
from trainer.feedback.rhythm import RHYTHM, RhythmGiver, rhythm_sound
from trainer.feedback.schedule import Plan
from trainer.feedback.tones import Samples
from trainer.settings.drill_file import Drill
from trainer.settings.model import Settings
from trainer.store.store import Store
from trainer.stroke.record import StrokeRecord


def with_drill(found: Setup, drill: Drill) -> Setup:
    """The settings while this drill is practised: its limits, its schedule."""
    feedback = found.settings.feedback.model_copy(
        update={"schedule": drill.feedback.schedule, "summary_after": drill.feedback.summary_after}
    )
    settings = replace(found.settings, limits=drill.limits(found.settings.limits), feedback=feedback)
    return replace(found, settings=settings)


def block_plan(drill: Drill, seed: int = 0) -> Plan:
    """Which strokes of the block are told, and by which sounds."""
    feedback = drill.feedback
    tone, praise = drill.head.cue in ("faults", "both"), drill.head.cue in ("chime", "both")
    return Plan(feedback.schedule, drill.block.strokes, seed, feedback.summary_after, tone, praise)


def sounds_of(drill: Drill | None) -> dict[str, Samples]:
    """The sounds that only this drill needs."""
    if drill is None or drill.head.cue != "rhythm":
        return {}
    return {RHYTHM: rhythm_sound(drill.rhythm.ratio, drill.rhythm.backstroke_s)}


class DrillKeeper:
    """Puts each stroke on record before it is shown, and moves the drill on."""

    def __init__(self, store: Store, settings: Settings, source: str, student_id: str, drill: Drill) -> None:
        self._store, self._settings, self._source, self._student = store, settings, source, student_id
        self._session: int | None = None
        self.run = Run(drill)
        self.chooser = CueChooser(block_plan(drill))
        if drill.head.cue == "rhythm":
            giver = RhythmGiver()
            self.chooser.also = lambda moment: RHYTHM if self.run.stage == "block" and giver.update(moment) else None
        self._told = False

    @property
    def session(self) -> int | None:
        """Of the record; None before the first stroke."""
        return self._session

    def save(self, record: StrokeRecord, found: Sequence[Fault], cues: Sequence[Cue]) -> None:
        """Returns when it is on the disk."""
        now = datetime.now(timezone.utc)
        if self._session is None:
            self._session = self._store.begin_session(
                self._settings.player.name, self._source, now, self._student or None
            )
        stage = self.run.stage
        drill_id = self.run.drill.drill_id if stage != "done" else None
        kept_stage = None if stage == "done" else stage
        self._store.keep(self._session, record, found, cues, self._settings, now, drill_id, kept_stage)
        self.run = after(self.run, record.kind, record.measures, found)
        if self.run.stage == stage:
            if stage != "done":
                self.chooser.go_to(self.run.number)
        elif self.run.stage == "silent":
            self.chooser.begin_block(Plan("silent"))
            say(f"now {self.run.drill.block.silent_strokes} strokes in silence")
        else:
            self.chooser.begin_block(Plan("every"))
            self.tell()

    def tell(self) -> None:
        """The result so far, with and without feedback side by side; once when it is over."""
        if self._told or not self.run.marks:
            return
        self._told = self.run.stage == "done"
        block, silent = self.run.scores()
        words = [
            f"{name} {share.words() if share else 'none yet'}"
            for name, share in (("block", block), ("in silence", silent))
        ]
        drill = self.run.drill
        rule = f"{drill.rule.good} of the last {drill.rule.of}"
        verdict = f"passed ({rule})" if self.run.passed else f"not passed yet ({rule})"
        say(f"{drill.head.name}: good strokes, {', '.join(words)}; {verdict}")
        if self._told and self.run.follows:
            say(f"next: {self.run.follows}")
