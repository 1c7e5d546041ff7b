"""A run of practice: what keeps its strokes, and how it goes from one drill to the next without a key."""

from __future__ import annotations

from typing import Any, Callable, Sequence

from trainer.app import build
from trainer.app.context import RunContext, report_line
from trainer.app.drills import list_drills
from trainer.app.practice.drill_session import DrillSession, sounds_of, with_drill
from trainer.app.practice.stroke_recorder import StrokeRecorder
from trainer.domain.record import StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.feedback.cues import CueChooser
from trainer.feedback.tones import Samples
from trainer.live.pipeline import Pipeline
from trainer.live.practice_state import DrillView, Targets
from trainer.settings.drill_file import Drill
from trainer.settings.model import Settings
from trainer.store.store import Store


class PracticeSession:
    """Strokes go to whatever is practised at the moment: free, or a drill. Used in the loop's worker once it runs.

    listed: the student's drills, in order. seed: of the drills' orders and schedules.
    """

    def __init__(
        self,
        store: Store,
        context: RunContext,
        source: str,
        drill: Drill | None,
        listed: Sequence[str] = (),
        seed: int = 0,
    ) -> None:
        self._store, self._context, self._source, self._seed = store, context, source, seed
        # A drill with a fault is no next one; `drills list` says what is wrong.
        self._drills = {one.drill_id: one for one in list_drills(context.base).drills}
        self._listed = [drill_id for drill_id in listed if drill_id in self._drills]
        self.settings = context.settings
        self.chooser = CueChooser(build.plan(context.settings))
        self.recorder: StrokeRecorder | DrillSession = StrokeRecorder(
            store, context.settings, source, context.student_id
        )
        self.pipeline: Pipeline | None = None
        self.on_aims: Callable[[Targets, Settings], None] = lambda targets, settings: None
        if drill is not None:
            self._begin(drill, None)

    @property
    def session(self) -> int | None:
        return self.recorder.session

    @property
    def drill(self) -> Drill | None:
        """The one under way."""
        return self.recorder.run.drill if isinstance(self.recorder, DrillSession) else None

    @property
    def has_next(self) -> bool:
        """There is a drill to go on to."""
        return self._following() is not None

    def sounds(self) -> dict[str, Samples]:
        """Those of every drill that may come."""
        out: dict[str, Samples] = {}
        for drill in [*self._drills.values(), *([self.drill] if self.drill is not None else [])]:
            out.update(sounds_of(drill))
        return out

    def start(self, observer: Any, save: Any) -> Pipeline:
        """The pipeline of this run. save: in place of this one's own, for what else is to be done with a stroke."""
        self.pipeline = build.pipeline(self.settings, observer, save, self.chooser)
        return self.pipeline

    def save(self, record: StrokeRecord, found: Sequence[Fault], cues: Sequence[Cue]) -> None:
        """Returns when it is on the disk."""
        self.recorder.save(record, found, cues)

    def felt(self, good: bool) -> None:
        """What the player said of the newest stroke."""
        if self.session is not None:
            self._store.note_felt(self.session, good)
            report_line(f"it felt {'good' if good else 'not good'}")

    def view(self) -> DrillView | None:
        """For the screen."""
        return self.recorder.view() if isinstance(self.recorder, DrillSession) else None

    def targets(self) -> Targets:
        """What is aimed at now."""
        drill = self.drill
        return build.targets(self.settings, (drill.head.instruction,) if drill is not None else ())

    def next(self) -> bool:
        """Goes on to the next drill: the one that follows, or the student's own next one. False: there is none."""
        following = self._following()
        if following is None:
            report_line("no drill follows")
            return False
        self.tell()
        self._begin(self._drills[following], self.session)
        if self.pipeline is not None:
            build.change(self.pipeline, self.settings)
        self.on_aims(self.targets(), self.settings)
        return True

    def tell(self) -> None:
        """How the drill went so far."""
        if isinstance(self.recorder, DrillSession):
            self.recorder.tell()

    def _following(self) -> str | None:
        drill = self.drill
        if drill is None:
            return self._listed[0] if self._listed else None
        if drill.drill_id in self._listed:
            after = self._listed.index(drill.drill_id) + 1
            if after < len(self._listed):
                return self._listed[after]
        return drill.head.next if drill.head.next in self._drills else None

    def _begin(self, drill: Drill, session: int | None) -> None:
        setup = with_drill(self._context, drill)
        self.settings = setup.settings
        names = {drill_id: one.head.name for drill_id, one in self._drills.items()}
        self._seed += 1
        self.recorder = DrillSession(
            self._store, setup.settings, self._source, setup.student_id, drill, names, self.chooser, session, self._seed
        )
        report_line(f"{drill.head.name}: {drill.head.instruction}")
