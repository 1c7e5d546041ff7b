"""A run of practice, from request to outcome: opens what it needs, runs session and loop, gives everything back."""

from __future__ import annotations

from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass, field, replace
from datetime import datetime, timezone
from pathlib import Path
from typing import Protocol

from trainer.app import build
from trainer.app.clip_pace import ClipPace
from trainer.app.context import RunContext, since_start_s
from trainer.app.devices import OpensSource, Sounds, open_source
from trainer.app.practice.drill_sequence import DrillSequence, drill_sequence
from trainer.app.practice.hearing import Hearing, OpensMicrophone, open_hearing, open_microphone
from trainer.app.practice.own_drills import fitting
from trainer.app.practice.practice_session import PracticePlan, PracticeSession
from trainer.app.practice.second_session import SecondSession
from trainer.app.practice.stroke_recorder import StrokeRecorder
from trainer.app.practice.stroke_video import StrokeVideos, live_replay
from trainer.app.practice.two_cameras import SecondCameraRequest, TwoCameras, second_settings, settings_together
from trainer.domain.naming import PHONE, view_words
from trainer.domain.record import Kind
from trainer.live.loop import CAUTIONS_S, LiveLoop, LoopOptions
from trainer.live.opening import made_ready
from trainer.live.pipeline import Watches
from trainer.live.ports import Devices, Reporter
from trainer.live.second_camera import SecondCamera
from trainer.live.summary import Summary
from trainer.resources import data_path
from trainer.settings.drill_file import Drill
from trainer.settings.limits import Limits
from trainer.settings.model import Camera as CameraSettings
from trainer.settings.model import Feedback, Player, Settings, Vision
from trainer.store.sound_memory import recall_delay
from trainer.store.store import Store
from trainer.store.students import Students
from trainer.texts import tr
from trainer.vision.sources.base import Clock, MonotonicClock

LINGER_S = 2.0  # the last result stays to be read when a clip has ended
DEMO_PLAYER = "demo"


@dataclass(frozen=True)
class PracticeRequest:
    """clip: in place of the camera; window: is one wanted; drill: to begin with; gestures: arms and keys may order;
    recorded: strokes of this kind only are put on record, None: all; strokes: it ends after so many ball strokes and teaches
    nothing, None: it goes on; distance_m: of the putts, None: not said; before_play: those parts.
    """

    clip: Path | None = None
    window: bool = True
    drill: Drill | None = None
    second: SecondCameraRequest | None = None
    gestures: bool = True
    recorded: Kind | None = None
    strokes: int | None = None
    distance_m: float | None = None
    before_play: bool = False


@dataclass(frozen=True)
class PracticeOutcome:
    """summary: what the run was like, strokes with their verdicts in it; begun_s: since the start of the command; result:
    how the drill went, in lines; failure: what ended it early, to be raised once all this is told; session: of the record,
    None without a stroke.
    """

    summary: Summary
    begun_s: float
    result: tuple[str, ...] = ()
    failure: BaseException | None = None
    session: int | None = None


class OpensDevices(Protocol):
    """sounds: beside the packaged ones; window: is one wanted."""

    def __call__(self, settings: Settings, sounds: Sounds, window: bool) -> AbstractContextManager[Devices]: ...


class OpensObserver(Protocol):
    """As ``build.observer``."""

    def __call__(self, settings: Settings) -> Watches: ...


def load_observer(settings: Settings) -> Watches:
    """Loads the pose model: takes about a second."""
    return build.observer(settings, aside=True)


@dataclass(frozen=True)
class Machine:
    """What a run needs of the world outside; a test hands in others. cautions_s: how long they stand before a window."""

    devices: OpensDevices
    source: OpensSource = open_source
    observer: OpensObserver = load_observer
    clock: Clock = field(default_factory=MonotonicClock)
    cautions_s: float = CAUTIONS_S
    microphone: OpensMicrophone = open_microphone


def run_practice(context: RunContext, request: PracticeRequest, machine: Machine) -> PracticeOutcome:
    """Until the user ends it, the clip ends or the camera is lost. Raises what keeps it from beginning."""
    plan = practice_plan(context, request)
    with ExitStack() as opened:  # whatever fails, what was opened before is given back
        sounds = plan.drills.sounds(plan.drill)
        devices = opened.enter_context(
            machine.devices(plan.settings, sounds, request.window)
        )  # its window is seen first
        words = tr("Opening {source}", source=plan.source)
        made = made_ready(
            devices.display, machine.clock, words, lambda _: _made_ready(plan, request, machine, devices, opened)
        )
        begun_s = since_start_s()
        if made is None:
            return nothing_done()
        for line in made.session.opening:
            devices.reporter.report(line)
        failure = _run(made.loop, made.both, made.second, devices.reporter)
        session = made.session
        failure = failure or session.seen.slow_motion()
        none_found = session.seen.nothing_found(session.practised.settings, session.record_session is not None)
        result = (*session.result(), *session.praise(), *none_found)
        if made.hearing is not None:
            made.hearing.keep()
            result += made.hearing.result()
        if plan.settings.camera.source != PHONE or request.clip is not None:  # which plays the tones itself
            late_s = recall_delay(context.base, devices.tones.description)
            result += heard_line(made.loop.summary.limit_to_call_s, late_s)
        return PracticeOutcome(made.loop.summary, begun_s, result, failure, session.record_session)


def heard_line(called_s: float | None, loudspeaker_s: float | None) -> tuple[str, ...]:
    """When cues were in the air, where `check --sound` has told. called_s: from the limit to the call that plays."""
    if called_s is None or loudspeaker_s is None:
        return ()
    return (
        tr(
            "cues were heard {heard_s:.2f} s after the limit, {loudspeaker_s:.2f} s of it by the loudspeaker",
            heard_s=called_s + loudspeaker_s,
            loudspeaker_s=loudspeaker_s,
        ),
    )


def nothing_done() -> PracticeOutcome:
    """Of a run that the user ended before it began."""
    return PracticeOutcome(Summary(), since_start_s())


@dataclass(frozen=True)
class _Ready:
    """All that a run is made of."""

    session: PracticeSession
    loop: LiveLoop
    both: TwoCameras | None
    second: SecondCamera | None
    hearing: Hearing | None


def _made_ready(
    plan: PracticePlan, request: PracticeRequest, machine: Machine, devices: Devices, opened: ExitStack
) -> _Ready:
    """opened: gives back what is opened here."""
    context, settings = plan.context, plan.settings
    store = opened.enter_context(context.open_store())
    mine, others = settings, settings
    if request.second is not None:
        mine, others = settings_together(settings, request.second, context.base, devices.reporter)
    source = opened.enter_context(machine.source(mine, request.clip, folder=context.base))
    pace = ClipPace(source)
    both: TwoCameras | None = None
    if request.second is not None:
        other = opened.enter_context(machine.source(others, request.second.clip, folder=context.base))
        both = TwoCameras(request.second, source, other, machine.clock)
        source = both.first_source
    reporter, shown = devices.reporter, devices.display.visible
    videos = StrokeVideos(store, context.base, settings.replay, reporter)
    session = PracticeSession(plan, store, videos, both.first if both is not None else None)
    session.seen.pace = pace
    hearing = None
    if source.live:
        hearing = open_hearing(settings, machine.clock, machine.microphone, opened, reporter, context.base)
    impact = hearing.impact if hearing is not None else None
    loop = LiveLoop(
        source,
        lambda: session.start(build.guarded(machine.observer(settings)), impact),
        devices,
        machine.clock,
        LoopOptions(
            LINGER_S if shown and request.clip else 0.0,
            machine.cautions_s if shown else 0.0,
            both.second_source if both is not None else None,
        ),
        live_replay(settings, shown, videos, reporter),
    )
    second = None
    if both is not None and request.second is not None:
        second = _second_camera(both, request.second, session, store, machine, reporter)
    return _Ready(session, loop, both, second, hearing)


def _run(
    loop: LiveLoop, both: TwoCameras | None, second: SecondCamera | None, reporter: Reporter
) -> BaseException | None:
    """What ended it early."""
    failure: BaseException | None = None
    if second is not None:
        second.start()
    try:
        loop.run()
    except Exception as error:  # raised again once the strokes so far are told
        failure = error
    if both is not None and second is not None:
        try:
            both.stop(second, reporter)
        except Exception as error:
            failure = failure or error
    return failure


def _second_camera(
    both: TwoCameras,
    request: SecondCameraRequest,
    lead: PracticeSession,
    store: Store,
    machine: Machine,
    reporter: Reporter,
) -> SecondCamera:
    settings = second_settings(lead.plan.settings, request)
    recorder = StrokeRecorder(store, tr("second: {name}", name=request.name), lead.plan.context.student_id)
    reporter.report(tr("second camera: {view}", view=view_words(settings.camera.view)))
    return SecondCamera(
        both.second_source,
        lambda: SecondSession(settings, recorder, build.guarded(machine.observer(settings)), lead, both.second),
        machine.clock,
        reporter,
    )


def demo_context(context: RunContext) -> RunContext:
    """Sound, window and record are the user's own; player, camera and limits are the bundled clip's."""
    settings = context.settings.changed(
        player=Player(name=DEMO_PLAYER),
        camera=CameraSettings(),
        vision=Vision(),
        feedback=Feedback(schedule="every"),
        replay=context.settings.replay.model_copy(update={"keep_video": False}),
        limits=Limits(),
    )
    return replace(context, settings=settings)


def demo_request(window: bool) -> PracticeRequest:
    return PracticeRequest(data_path("demo", "demo.mp4"), window, gestures=False)


def practice_plan(context: RunContext, request: PracticeRequest) -> PracticePlan:
    """With the drills that are the student's own."""
    student = Students(context.base).by_id(context.student_id)
    listed = student.card.drills if student is not None else ()
    fitted = fitting(context, student)
    drills = DrillSequence({}) if request.before_play else drill_sequence(context, listed, fitted)
    name = request.clip.name if request.clip else context.settings.camera.called
    seed = datetime.now(timezone.utc).toordinal()
    return PracticePlan(
        context,
        name,
        drills,
        fitted(request.drill) if request.drill is not None else None,
        seed,
        request.gestures,
        recorded=request.recorded,
        strokes=request.strokes,
        distance_m=request.distance_m,
        before_play=request.before_play,
    )
