"""A run of practice, frame by frame: strokes judged and put on record, the drill moved on, orders obeyed. Values only."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from trainer.app import build
from trainer.app.practice.before_play import BeforePlay
from trainer.app.practice.drill_session import DrillSession, question_of, with_drill
from trainer.app.practice.gesture_control import GestureControl, Obeyed
from trainer.app.practice.ground_mark import GroundMarker
from trainer.app.practice.pauses import Pauses
from trainer.app.practice.practice_plan import PracticePlan as PracticePlan
from trainer.app.practice.seen import Seen
from trainer.app.practice.stroke_recorder import Practised, StrokeRecorder
from trainer.app.practice.stroke_video import StrokeVideos
from trainer.app.practice.stroke_words import stroke_line
from trainer.app.practice.teaching import Teaching
from trainer.app.practice.two_cameras import CameraLink
from trainer.coaching import drill_words as words
from trainer.coaching.gestures import Order
from trainer.coaching.player_profile import one_hand, told_of
from trainer.domain.observation import Frame
from trainer.domain.record import LiveState
from trainer.feedback.cues import READY, CueChooser
from trainer.live.display_types import DrillView, GestureView, Targets
from trainer.live.pipeline import Finished, Pipeline, StepResult, Watches
from trainer.live.practice_state import DisplayState, DisplayStateBuilder, withheld
from trainer.live.practice_step import PracticeStep
from trainer.settings.drill_file import Drill
from trainer.store.history import StudentKey
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
        self.plan, self._store, self._videos, self._link = plan, store, videos, link
        context, feedback = plan.context, plan.context.settings.feedback
        self._seed = plan.seed
        self._recorder = StrokeRecorder(store, plan.source, context.student_id)
        self._chooser = CueChooser(build.plan(context.settings, plan.seed))
        wait_s, single = feedback.feel_wait_s if feedback.feel else 0.0, one_hand(context.settings.player)
        self._gestures = GestureControl(wait_s, single) if plan.gestures else None
        key = StudentKey(context.student_id, context.settings.player.name)
        self._teaching = Teaching(store, key, plan.drills.drills, not plan.teaches) if plan.gestures else None
        self._balls = 0  # strokes on record with a ball
        self._putt_m: float | None = None  # how far the newest putt was
        self._marker = GroundMarker()
        self._pauses = Pauses()
        self._drill: DrillSession | None = None
        self._settings = context.settings
        self._newest_recorded = False  # of the strokes so far
        self.seen = Seen()
        self._observer: Watches | None = None
        self._pipeline: Pipeline | None = None
        self.opening = self._begin(plan.drill) if plan.drill is not None else ()  # lines to say before it starts
        self._before_play: BeforePlay | None = None
        if plan.before_play:
            self._before_play = BeforePlay(store, context.settings.player.name, self._chooser, plan.seed)
            self.opening = self._before_play.opening
        opening = None
        if self._teaching is not None and plan.recorded is None:
            self.opening = (*self._teaching.opening, *self.opening)
            opening = self._teaching.sign if plan.drill is None else None
        self.opening = (*told_of(context.settings.player), *self.opening)
        self._drill_shown = self._drill_view()
        self._builder = DisplayStateBuilder(self.targets, opening)

    # ---- what it goes by

    @property
    def practised(self) -> Practised:
        """What the next stroke is made under: the drill, its stage, the settings with its limits."""
        return self._drill.practised if self._drill is not None else Practised(self._settings)

    @property
    def record_session(self) -> int | None:
        """Of the record; None before the first stroke."""
        return self._recorder.session

    @property
    def targets(self) -> Targets:
        """What is aimed at now."""
        drill = self._drill.run.drill if self._drill is not None else None
        return build.targets(self._settings, (drill.head.instruction,) if drill is not None else ())

    # ---- frame by frame

    def start(self, observer: Watches, sound: ImpactSound | None = None) -> PracticeSession:
        """Returns itself. observer: of this run's camera; sound: of its microphone."""
        self._observer, self._sound_of_impact = observer, sound
        self._pipeline = build.pipeline(self._settings, observer, self._chooser, sound=sound)
        return self

    def find_body(self, frame: Frame) -> Any:
        assert self._observer is not None, "start it first"
        return self._observer.find_body(frame)

    def order(self, order: Order) -> None:
        if self._gestures is not None:
            self._gestures.order(order)

    def step(self, frame: Frame, body: Any) -> PracticeStep:
        assert self._pipeline is not None, "start it first"
        if self._gestures is not None and self._gestures.resting:
            return self._rest(self._gestures, frame, body)
        targets, result = self.targets, self._pipeline.step(frame, body)
        messages = self.seen.see(result)
        if result.finished is not None:
            messages += self._keep(result.finished)
            if self._drill is not None:
                result = replace(result, finished=replace(result.finished, called=self._drill.called))
        if result.moment.uncounted:
            messages += (tr("a stroke was seen and not counted: {uncounted}", uncounted=result.moment.uncounted),)
        obeyed, gestures = Obeyed(), None
        if self._gestures is not None:
            obeyed = self._gestures.see(result.observation, result.moment, result.finished is not None)
            gestures = self._gestures.view(self._following() is not None)
        state = self._builder.see(frame, result, gestures)
        messages += self._pauses.follow(result.moment, self._builder, state.sign) if self._gestures is not None else ()
        messages += self._answered(obeyed)
        confirmed = obeyed.confirmed
        if obeyed.next_drill or obeyed.homework:
            went_on, lines = self._go_on(obeyed.next_drill)
            messages, confirmed = messages + lines, confirmed or went_on
            state = self._builder.aim(self.targets)
        if self._teaching is not None:
            if obeyed.went is not None:
                messages += self._teaching.went(obeyed.went, self._recorder.session, self._putt_m)
            self._teaching.obey(obeyed, self._under_way)
            state = self._teaching.shown(state, result.moment, self._builder.waiting)
        return PracticeStep(
            result,
            result.finished,
            self._shown(state, result, gestures),
            targets,
            self._sound(result, confirmed),
            messages,
            obeyed.ended or self._ends(result.moment),
        )

    def _ends(self, moment: LiveState) -> bool:
        """By itself."""
        if self._before_play is not None:
            return self._before_play.ends(moment)
        return self.plan.strokes is not None and self._balls >= self.plan.strokes

    def finish(self) -> PracticeStep | None:
        finished = self._pipeline.finish() if self._pipeline is not None else None
        if finished is None:
            return None
        targets, messages = self.targets, self._keep(finished)
        return PracticeStep(None, finished, self._builder.close(finished), targets, None, messages)

    def result(self) -> tuple[str, ...]:
        """How the drill went so far, in lines."""
        if self._before_play is not None:
            return self._before_play.result()
        return self._drill.result() if self._drill is not None else ()

    def praise(self) -> tuple[str, ...]:
        """What went better than before, in lines, once it is over."""
        return self._teaching.praise() if self._teaching is not None and self.record_session is not None else ()

    def _rest(self, gestures: GestureControl, frame: Frame, body: Any) -> PracticeStep:
        """A frame that is only looked at for orders."""
        assert self._observer is not None
        self._pauses.rested()
        observation = self._observer.look(frame, body)
        obeyed = gestures.see(observation)
        state = replace(
            self._builder.rest(frame, observation),
            gestures=gestures.view(self._following() is not None),
            drill=self._drill_shown,
            paused=gestures.resting,
        )
        if self._teaching is not None:
            self._teaching.obey(obeyed, self._under_way)
            state = self._teaching.shown(state, None, self._builder.waiting)
        sound = READY if obeyed.confirmed else None
        return PracticeStep(None, None, state, self.targets, sound, (), obeyed.ended)

    def _sound(self, result: StepResult, confirmed: bool) -> str | None:
        other = self._drill.sound(result.moment) if self._drill is not None else None
        if result.cue is not None:
            return result.cue.name
        return other or (READY if confirmed else None)

    def _shown(self, state: DisplayState, result: StepResult, gestures: GestureView | None) -> DisplayState:
        """With the drill as far as it may be told: not before the result is."""
        if not self._builder.waiting:
            drill = self._drill_view()
            news = drill.news if drill is not None else None
            late = "takeaway_s" in result.moment.new_events  # the next stroke goes before
            if news is not None and not late and (self._drill_shown is None or news != self._drill_shown.news):
                self._builder.announce(news, result.moment.time_s)
            self._drill_shown = drill
        drill, mark = self._drill_shown, None
        if drill is not None and drill.mark_cm is not None:
            mark = self._marker.mark(result.observation, result.moment.phase, drill.mark_cm)
        resting = self._gestures is not None and self._gestures.resting
        return replace(state, drill=drill, mark=mark, gestures=gestures, paused=resting, advice=self.seen.advice)

    # ---- strokes and drills

    def _keep(self, finished: Finished) -> tuple[str, ...]:
        """On record before anything of it is told. Lines to say."""
        record, verdict, cues = finished.record, finished.verdict, finished.cues
        self._newest_recorded = self.plan.recorded in (None, record.kind)
        if not self._newest_recorded:
            if self._videos is not None:
                self._videos.add(None)
            return (stroke_line(finished),)
        if self._link is not None:
            record = self._link.linked(finished.number, record)
        drill_id, targets = self.practised.drill, self.targets
        self._putt_m = self._distance_m(drill_id)
        if self._drill is not None:
            lines = self._drill.save(record, verdict, cues)
            self._builder.about(self._drill.result_sign)
        else:
            self._recorder.save(record, verdict, cues, self.practised)
            lines = self._before_play.kept(record.kind, verdict) if self._before_play is not None else ()
        session = self._recorder.session
        self._balls += record.kind == "ball"
        self._pauses.kept()
        if self._link is not None:
            self._link.recorded_in(session)
        if self._videos is not None and session is not None:
            self._videos.add(session)
        if self._teaching is not None:
            told = bool(record.context.told) and not withheld(finished, targets)
            lines += self._teaching.kept(drill_id, finished, told)
        return (*lines, stroke_line(finished))

    def _answered(self, obeyed: Obeyed) -> tuple[str, ...]:
        """What the player said of the newest stroke. Lines to say."""
        if obeyed.guess is not None and self._drill is not None:
            return self._drill.guessed(obeyed.guess)
        if obeyed.felt is None or self._recorder.session is None or not self._newest_recorded:
            return ()
        self._store.note_felt(self._recorder.session, obeyed.felt)
        return (tr("it felt {words}", words=tr("good") if obeyed.felt else tr("not good")),)

    def _distance_m(self, drill_id: str | None) -> float | None:
        """Of the next putt: the drill's, else as asked for, else the homework's."""
        part, drill = self._before_play, self._drill
        far = part.target_m if part is not None else drill.run.putt_m if drill is not None else None
        if far is not None or self.plan.distance_m is not None or self._teaching is None:
            return far if far is not None else self.plan.distance_m
        return self._teaching.distance_m(drill_id)

    def _drill_view(self) -> DrillView | None:
        if self._before_play is not None:
            return self._before_play.view()
        return self._drill.view() if self._drill is not None else None

    @property
    def _under_way(self) -> Drill | None:
        return self._drill.run.drill if self._drill is not None else None

    def _following(self) -> Drill | None:
        return self.plan.drills.after(self._under_way)

    def _go_on(self, next_drill: bool) -> tuple[bool, tuple[str, ...]]:
        """To the next drill, or to the homework that is due; whether there is one, and lines to say."""
        due = self._teaching.due if self._teaching is not None else None
        return self._change_to(
            *((self._following(), tr("no drill follows")) if next_drill else (due, tr("no homework is due")))
        )

    def _change_to(self, following: Drill | None, without: str) -> tuple[bool, tuple[str, ...]]:
        if following is None or self._observer is None or self._pipeline is None:
            return False, (without,)
        lines = self.result() + self._begin(following)
        before, sound = self._pipeline.strokes, self._sound_of_impact
        self._pipeline = build.pipeline(self._settings, self._observer, self._chooser, before, sound)
        return True, lines

    def _begin(self, drill: Drill) -> tuple[str, ...]:
        self._settings = with_drill(self.plan.context, drill).settings
        self._seed += 1
        self._drill = DrillSession(
            self._recorder, self._store, self._settings, drill, self.plan.drills.by_id, self._chooser, self._seed
        )
        if self._gestures is not None:
            self._gestures.ask(*question_of(drill, self._settings.feedback))
        blind = words.blind_line(drill, self._settings.camera.view)
        return (join(": ", (drill.head.name, drill.head.instruction)), *([blind] if blind else []))
