"""`practice` and `demo`: the live loop on a camera or a paced clip, every stroke kept, a table at the end."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import replace
from datetime import datetime, timezone
from pathlib import Path
from typing import Sequence

from trainer.app import build
from trainer.app.camera_setup import as_set_up
from trainer.app.context import RunContext, load_context, report_line, since_start_s
from trainer.app.drills import drill_named
from trainer.app.practice.gesture_control import GestureControl
from trainer.app.practice.practice_session import PracticeSession
from trainer.app.practice.stroke_video import StrokeVideos, live_replay
from trainer.app.practice.two_cameras import Save, SecondCameraRequest, TwoCameras, second_camera_request
from trainer.app.strokes import indeterminate_line, verdict_words
from trainer.commands.console import CONSOLE
from trainer.commands.strokes import stroke_table
from trainer.commands.tables import console
from trainer.domain.observation import View
from trainer.errors import UsageError
from trainer.feedback.tones import open_player
from trainer.live.auto_replay import LiveReplay
from trainer.live.loop import CAUTIONS_S, LiveLoop
from trainer.live.pipeline import Finished
from trainer.live.practice_state import Targets
from trainer.resources import data_path
from trainer.settings.drill_file import Drill
from trainer.settings.limits import Limits
from trainer.settings.model import Camera as CameraSettings
from trainer.settings.model import Feedback, Player, Settings, Vision
from trainer.store.students import Students
from trainer.ui.drawing.window import NoWindow, WindowConfig, open_display
from trainer.vision.sources.base import MonotonicClock, Source
from trainer.vision.sources.camera import Camera, Mode
from trainer.vision.sources.clip import Clip

LINGER_S = 2.0  # the last result stays to be read when a clip has ended
DEMO_PLAYER = "demo"


def run_practice(
    data_folder: Path | None,
    student: str | None,
    camera: str | None,
    clip: Path | None,
    handedness: str | None,
    view: str | None,
    window: bool,
    schedule: str | None = None,
    drill: str | None = None,
    keep_video: bool | None = None,
    second_camera: str | None = None,
    second_clip: Path | None = None,
    second_view: View | None = None,
) -> int:
    """Until the user ends it, the clip ends or the camera is lost."""
    if camera is not None and clip is not None:
        raise UsageError("a camera and a clip at once", "--camera, --clip", "give one of them")
    context = load_context(
        data_folder,
        student,
        camera__source=camera_source(camera),
        player__handedness=handedness,
        camera__view=view,
        feedback__schedule=schedule,
        replay__keep_video=keep_video,
    )
    if clip is None and view is None:
        context = as_set_up(context, CONSOLE)
    second = second_camera_request(
        camera_source(second_camera), second_clip, second_view, context.settings.camera.source, clip
    )
    card = Students(context.base).by_id(context.student_id)
    listed = card.card.drills if card is not None else []
    if drill is None:
        return _run(context, clip, window, None, listed, second=second)
    chosen = drill_named(context.base, drill)
    return _run(context, clip, window, chosen, listed, second=second)


def run_demo(data_folder: Path | None, window: bool) -> int:
    """The bundled clip. Sound, window and record are the user's own; player, camera and limits are the clip's."""
    context = load_context(data_folder)
    settings = context.settings.changed(
        player=Player(name=DEMO_PLAYER),
        camera=CameraSettings(),
        vision=Vision(),
        feedback=Feedback(),
        replay=context.settings.replay.model_copy(update={"keep_video": False}),
        limits=Limits(),
    )
    return _run(replace(context, settings=settings), data_path("demo", "demo.mp4"), window, hands=False)


def camera_source(text: str | None) -> int | str | None:
    """A number where the text is one."""
    return int(text) if text is not None and text.isdigit() else text


def open_source(settings: Settings, clip: Path | None) -> Source:
    """The paced clip, or the camera of the settings."""
    clock = MonotonicClock()
    if clip is not None:
        return Clip(clip, pace=clock)
    wish = settings.camera
    return Camera(wish.source, clock, Mode(wish.width, wish.height, wish.fps))


def _run(
    context: RunContext,
    clip: Path | None,
    window: bool,
    drill: Drill | None = None,
    listed: Sequence[str] = (),
    hands: bool = True,
    second: SecondCameraRequest | None = None,
) -> int:
    with ExitStack() as opened:  # whatever fails, what was opened before is given back
        store = opened.enter_context(context.open_store())
        named = clip.name if clip else f"camera {context.settings.camera.source}"
        practising = PracticeSession(store, context, named, drill, listed, datetime.now(timezone.utc).toordinal())
        settings = practising.settings
        videos = StrokeVideos(store, context.base, practising, settings)
        source = opened.enter_context(open_source(settings, clip))
        save: Save = videos.save
        both: TwoCameras | None = None
        if second is not None:
            both = TwoCameras(store, context, second, open_source, source, lambda: practising.session)
            source, save = both.first_source, both.first_save(videos.save)
        sound = settings.sound
        tones = open_player(sound.backend, sound.volume, sound.buffer_samples, report_line, practising.sounds())
        opened.callback(tones.close)
        wish = settings.window
        display = open_display(window, WindowConfig(wish.width, wish.height, wish.fullscreen, wish.theme), report_line)
        opened.callback(display.close)
        shown = not isinstance(display, NoWindow)
        targets = practising.targets()
        feedback = settings.feedback
        replay = live_replay(settings, targets, shown, videos)
        loop = LiveLoop(
            source,
            lambda: practising.start(build.observer(settings), save),
            tones,
            display,
            MonotonicClock(),
            targets,
            linger_s=LINGER_S if shown and clip else 0.0,
            cautions_s=CAUTIONS_S if shown else 0.0,
            on_finished=_tell,
            say=report_line,
            replay=replay,
            hands=GestureControl(
                practising.next,
                practising.felt,
                feedback.feel_wait_s if feedback.feel else 0.0,
                lambda: practising.has_next,
            )
            if hands
            else None,
            drill=practising.view,
        )
        practising.on_aims = lambda new, by: _aim(loop, replay, new, by)
        begun_s = since_start_s()
        if both is not None:
            both.start()
        try:
            loop.run()
        finally:
            if both is not None:
                both.stop()
            _close(loop, begun_s)
            practising.tell()
    return 0


def _aim(loop: LiveLoop, replay: LiveReplay | None, targets: Targets, settings: Settings) -> None:
    """Another drill's aims for what is shown."""
    loop.aim(targets)
    if replay is not None:
        replay.aim(targets, settings.limits)


def _tell(finished: Finished) -> None:
    """One line a stroke, as it ends."""
    hold = finished.record.measures.get("hold_s")
    held = f", held {hold.value:.1f} s" if hold is not None and hold.value is not None else ""
    verdict = verdict_words(finished.verdict.faults, finished.verdict.indeterminate)
    print(f"stroke {finished.number} ({finished.record.kind}){held}: {verdict}", flush=True)


def _close(loop: LiveLoop, begun_s: float) -> None:
    """The table and how the run went."""
    summary = loop.summary
    out = console()
    if summary.strokes:
        out.print(stroke_table((s.number, s.record, s.verdict) for s in summary.strokes))
        not_sure = indeterminate_line(s.verdict.indeterminate for s in summary.strokes)
        if not_sure is not None:
            out.print(not_sure, soft_wrap=True)
    if summary.first_frame_s is not None:
        rate = f", {summary.fps:.1f} frames/s" if summary.fps else ""
        first_s = begun_s + summary.first_frame_s
        out.print(f"{summary.frames} frames{rate}, the first {first_s:.1f} s after the start", soft_wrap=True)
