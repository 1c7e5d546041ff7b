"""A run of practice, frame by frame: strokes judged and put on record, the drill moved on, orders obeyed. Values only."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from trainer.app import build
from trainer.app.practice.before_play import BeforePlay, PartsBeforePlay
from trainer.app.practice.dialogue import Dialogue, PlayerDialogue
from trainer.app.practice.drill_session import DrillSession, question_of, with_drill
from trainer.app.practice.exercise import Exercise
from trainer.app.practice.gesture_control import Obeyed
from trainer.app.practice.ground_mark import GroundMarker
from trainer.app.practice.practice_plan import PracticePlan as PracticePlan
from trainer.app.practice.recorded_strokes import RecordedStrokes
from trainer.app.practice.seen import Seen
from trainer.app.practice.stroke_recorder import Practised, StrokeRecorder
from trainer.app.practice.stroke_video import StrokeVideos
from trainer.app.practice.stroke_words import stroke_line
from trainer.app.practice.two_cameras import CameraLink
from trainer.coaching import drill_words as words
from trainer.coaching.gestures import Order
from trainer.coaching.player_profile import told_of
from trainer.domain.observation import Frame
from trainer.domain.record import LiveState
from trainer.feedback.cues import READY, CueChooser
from trainer.feedback.signs import Sign
from trainer.live.display_types import GestureView, Targets
from trainer.live.keys import ALWAYS
from trainer.live.pipeline import Finished, Pipeline, StepResult, Watches
from trainer.live.practice_state import DisplayState, DisplayStateBuilder, withheld
from trainer.live.practice_step import PracticeStep
from trainer.settings.drill_file import Drill
from trainer.store.store import Store
from trainer.stroke.impact_sound import ImpactSound
from trainer.texts import join, tr


class PracticeSession:
    """``start``, then ``step`` every frame, then ``finish``. For one thread; ``practised`` may be read from others.

    videos: told which stroke of the record each one is; link: to the other camera's strokes, where there are two.
    """

    def __init__(
        self, plan: PracticePlan, store: Store, videos: StrokeVideos | None = None, link: CameraLink | None = None
    ) -> None:
        self.plan, self._store = plan, store
        settings = plan.context.settings
        self._seed = plan.seed
        self._recorder = StrokeRecorder(store, plan.source, plan.context.student_id)
        self._recorded = RecordedStrokes(videos, link)
        self._chooser = CueChooser(build.plan(settings, plan.seed))
        self._dialogue = PlayerDialogue(plan, store) if plan.gestures else Dialogue()
        self._balls, self._ball_last = 0, False  # strokes on record with a ball; the newest one was
        self._putt_m: float | None = None  # how far the newest putt was
        self._marker = GroundMarker()
        self._newest_recorded = False  # of the strokes so far
        self.seen = Seen()
        self._observer: Watches | None = None
        self._pipeline: Pipeline | None = None
        self._exercise, opening = self._first()
        # Lines to say before it starts.
        self.opening = (*told_of(settings.player), *self._dialogue.opening, *opening)
        self._drill_shown = self._exercise.view()
        self._builder = DisplayStateBuilder(self.targets, self._dialogue.sign or self._drill_sign)

    # ---- what it goes by

    @property
    def practised(self) -> Practised:
        """What the next stroke is made under: the drill, its stage, the settings with its limits."""
        return self._exercise.practised

    @property
    def record_session(self) -> int | None:
        """Of the record; None before the first stroke."""
        return self._recorder.session

    @property
    def targets(self) -> Targets:
        """What is aimed at now."""
        drill = self._exercise.drill
        return build.targets(self._exercise.settings, (drill.head.instruction,) if drill is not None else ())

    # ---- frame by frame

    def start(self, observer: Watches, sound: ImpactSound | None = None) -> PracticeSession:
        """Returns itself. observer: of this run's camera; sound: of its microphone."""
        self._observer, self._sound_of_impact = observer, sound
        self._pipeline = build.pipeline(self._exercise.settings, observer, self._chooser, sound=sound)
        return self

    def find_body(self, frame: Frame) -> Any:
        assert self._observer is not None, "start it first"
        return self._observer.find_body(frame)

    def order(self, order: Order) -> None:
        self._dialogue.order(order)

    def step(self, frame: Frame, body: Any) -> PracticeStep:
        assert self._pipeline is not None, "start it first"
        if self._dialogue.resting:
            return self._rest(frame, body)
        targets, result = self.targets, self._pipeline.step(frame, body)
        messages = self.seen.see(result)
        if result.finished is not None:
            messages += self._keep(result.finished)
            result = replace(result, finished=replace(result.finished, called=self._exercise.called))
        if result.moment.uncounted:
            messages += (tr("a stroke was seen and not counted: {uncounted}", uncounted=result.moment.uncounted),)
        obeyed = self._dialogue.see(result.observation, result.moment, result.finished is not None)
        gestures = self._dialogue.view(self._following is not None)
        state = self._builder.see(frame, result, gestures)
        messages += self._dialogue.follow(result.moment, self._builder, state.sign)
        noted, answers, lines = self._answered(obeyed)
        messages, confirmed = messages + lines, obeyed.confirmed or noted
        if obeyed.next_drill or obeyed.homework:
            went_on, lines = self._go_on(obeyed.next_drill)
            messages, confirmed = messages + lines, confirmed or went_on
            answers += () if went_on else lines
            state = self._builder.begin(self.targets, self._drill_sign if went_on else None)
        waits = self._builder.waiting
        state = self._dialogue.shown(state, obeyed, result.moment, waits, self._exercise.drill)
        return PracticeStep(
            result,
            result.finished,
            self._shown(state, result, gestures),
            targets,
            self._sound(result, confirmed),
            messages,
            answers,
            obeyed.ended or self._ends(result.moment),
        )

    def _ends(self, moment: LiveState) -> bool:
        """By itself."""
        return self._exercise.ends(moment) or (self.plan.strokes is not None and self._balls >= self.plan.strokes)

    def finish(self) -> PracticeStep | None:
        finished = self._pipeline.finish() if self._pipeline is not None else None
        if finished is None:
            self._builder.broken_off()
            return None
        targets, messages = self.targets, self._keep(finished)
        finished = replace(finished, called=self._exercise.called)
        return PracticeStep(None, finished, self._builder.close(finished), targets, None, messages)

    def result(self) -> tuple[str, ...]:
        """How what is practised went so far, in lines."""
        return self._exercise.result()

    def praise(self) -> tuple[str, ...]:
        """What went better than before, in lines, once it is over."""
        return self._dialogue.praise() if self.record_session is not None else ()

    def _rest(self, frame: Frame, body: Any) -> PracticeStep:
        """A frame that is only looked at for orders."""
        assert self._observer is not None
        observation = self._observer.look(frame, body)
        obeyed = self._dialogue.see(observation)
        state = replace(
            self._builder.rest(frame, observation),
            gestures=self._dialogue.view(self._following is not None),
            drill=self._drill_shown,
            paused=self._dialogue.resting,
            keys=self._keys,
        )
        state = self._dialogue.shown(state, obeyed, None, self._builder.waiting, self._exercise.drill)
        noted, answers, lines = self._answered(obeyed)
        sound = READY if obeyed.confirmed or noted else None
        return PracticeStep(None, None, state, self.targets, sound, lines, answers, obeyed.ended)

    def _sound(self, result: StepResult, confirmed: bool) -> str | None:
        other = self._exercise.sound(result.moment)
        if result.cue is not None:
            return result.cue.name
        return other or (READY if confirmed else None)

    def _shown(self, state: DisplayState, result: StepResult, gestures: GestureView | None) -> DisplayState:
        """With the drill as far as it may be told: not before the result is."""
        if not self._builder.waiting:
            drill = self._exercise.view()
            news = drill.news if drill is not None else None
            late = "takeaway_s" in result.moment.new_events  # the next stroke goes before
            if news is not None and not late and (self._drill_shown is None or news != self._drill_shown.news):
                self._builder.announce(news, result.moment.time_s)
            self._drill_shown = drill
        drill, mark = self._drill_shown, None
        if drill is not None and drill.mark_cm is not None:
            mark = self._marker.mark(result.observation, result.moment.phase, drill.mark_cm)
        return replace(
            state,
            drill=drill,
            mark=mark,
            gestures=gestures,
            paused=self._dialogue.resting,
            advice=self.seen.advice,
            keys=self._keys,
        )

    # ---- strokes and drills

    def _keep(self, finished: Finished) -> tuple[str, ...]:
        """On record before anything of it is told. Lines to say."""
        record, verdict, cues = finished.record, finished.verdict, finished.cues
        self._newest_recorded = self.plan.recorded in (None, record.kind)
        if not self._newest_recorded:
            self._recorded.left_out()
            return (stroke_line(finished),)
        record = self._recorded.linked(finished.number, record)
        drill_id, targets = self.practised.drill, self.targets
        self._putt_m = self._distance_m(drill_id)
        lines = self._exercise.save(record, verdict, cues)
        self._builder.about(self._exercise.result_sign)
        self._ball_last = record.kind == "ball"
        self._balls += self._ball_last
        self._recorded.kept_in(self._recorder.session)
        told = bool(record.context.told) and not withheld(finished, targets)
        return (*lines, *self._dialogue.kept(drill_id, finished, told), stroke_line(finished))

    def _answered(self, obeyed: Obeyed) -> tuple[bool, tuple[str, ...], tuple[str, ...]]:
        """What the player said of the newest stroke: where its ball went, how it felt. Whether the former was noted, what it
        came to, and all lines to say.
        """
        noted, lines = self._dialogue.went(obeyed, self._recorder.session, self._putt_m)
        return noted, lines, lines + self._felt(obeyed)

    def _felt(self, obeyed: Obeyed) -> tuple[str, ...]:
        if obeyed.guess is not None:
            return self._exercise.guessed(obeyed.guess)
        if obeyed.felt is None or self._recorder.session is None or not self._newest_recorded:
            return ()
        self._store.note_felt(self._recorder.session, obeyed.felt)
        return (tr("it felt {words}", words=tr("good") if obeyed.felt else tr("not good")),)

    def _distance_m(self, drill_id: str | None) -> float | None:
        """Of the next putt: the exercise's, else as asked for, else the homework's."""
        for far_m in (self._exercise.putt_m, self.plan.distance_m):
            if far_m is not None:
                return far_m
        return self._dialogue.distance_m(drill_id)

    @property
    def _keys(self) -> frozenset[str]:
        """The commands whose keys do something now."""
        return ALWAYS | self._dialogue.keys(self._exercise.drill, self._following is not None, self._ball_last)

    @property
    def _drill_sign(self) -> Sign | None:
        """Which drill it is and what to do, to be read from the ball before its first stroke."""
        drill = self._exercise.drill
        return Sign(drill.head.name, drill.head.instruction, "plain") if drill is not None else None

    @property
    def _following(self) -> Drill | None:
        return self.plan.drills.after(self._exercise.drill)

    def _go_on(self, next_drill: bool) -> tuple[bool, tuple[str, ...]]:
        """To the next drill, or to the homework that is due; whether there is one, and lines to say."""
        drill = self._following if next_drill else self._dialogue.due
        if drill is None or self._observer is None or self._pipeline is None:
            return False, (tr("no drill follows") if next_drill else tr("no homework is due"),)
        before, lines = self._pipeline.strokes, self.result()
        self._exercise, opening = self._begun(drill)
        self._pipeline = build.pipeline(
            self._exercise.settings, self._observer, self._chooser, before, self._sound_of_impact
        )
        return True, lines + opening

    def _first(self) -> tuple[Exercise, tuple[str, ...]]:
        """What is practised to begin with, and lines to say."""
        settings = self.plan.context.settings
        if self.plan.before_play:
            parts = BeforePlay(self._store, settings.player.name, self._chooser, self.plan.seed)
            return PartsBeforePlay(self._recorder, settings, parts), parts.opening
        if self.plan.drill is not None:
            return self._begun(self.plan.drill)
        return Exercise(self._recorder, settings), ()

    def _begun(self, drill: Drill) -> tuple[DrillSession, tuple[str, ...]]:
        """The drill from its first stroke, and lines to say."""
        settings = with_drill(self.plan.context, drill).settings
        self._seed += 1
        others = self.plan.drills.by_id
        session = DrillSession(self._recorder, self._store, settings, drill, others, self._chooser, self._seed)
        self._dialogue.ask(*question_of(drill, settings.feedback))
        blind = words.blind_line(drill, settings.camera.view)
        return session, (join(": ", (drill.head.name, drill.head.instruction)), *([blind] if blind else []))
