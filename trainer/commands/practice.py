"""`practice` and `demo`: the live loop on a camera or a paced clip, every stroke kept, a table at the end."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import replace
from datetime import datetime, timezone
from pathlib import Path
from typing import Sequence

from trainer.coaching.verdict import Cue, Fault
from trainer.commands import assemble
from trainer.commands.drilling import DrillKeeper, sounds_of, with_drill
from trainer.commands.stroke_video import StrokeVideos, live_replay
from trainer.commands.strokes import console, faults, stroke_table, unsure_line
from trainer.commands.wiring import Setup, say, setup, since_start_s
from trainer.errors import UsageError
from trainer.feedback.cues import CueChooser
from trainer.feedback.tones import open_player
from trainer.live.loop import CAUTIONS_S, LiveLoop
from trainer.live.pipeline import Finished
from trainer.live.window import NoWindow, WindowWish, open_display
from trainer.resources import data_path
from trainer.settings.drill_file import Drill, load_drill
from trainer.settings.limits import Limits
from trainer.settings.model import Camera as CameraSettings
from trainer.settings.model import Feedback, Player, Settings, Vision
from trainer.store.store import Store
from trainer.stroke.record import StrokeRecord
from trainer.vision.camera import Camera, Mode
from trainer.vision.clip import Clip
from trainer.vision.sources import MonotonicClock, Source

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
) -> int:
    """Until the user ends it, the clip ends or the camera is lost."""
    if camera is not None and clip is not None:
        raise UsageError("a camera and a clip at once", "--camera, --clip", "give one of them")
    found = setup(
        data_folder,
        student,
        camera__source=camera_source(camera),
        player__handedness=handedness,
        camera__view=view,
        feedback__schedule=schedule,
        replay__keep_video=keep_video,
    )
    if drill is None:
        return _run(found, clip, window)
    chosen = load_drill(drill, (data_path("config", "drills"), found.base / "drills"))
    return _run(with_drill(found, chosen), clip, window, chosen)


def run_demo(data_folder: Path | None, window: bool) -> int:
    """The bundled clip. Sound, window and record are the user's own; player, camera and limits are the clip's."""
    found = setup(data_folder)
    settings = replace(
        found.settings,
        player=Player(name=DEMO_PLAYER),
        camera=CameraSettings(),
        vision=Vision(),
        feedback=Feedback(),
        replay=found.settings.replay.model_copy(update={"keep_video": False}),
        limits=Limits(),
    )
    return _run(replace(found, settings=settings), data_path("demo", "demo.mp4"), window)


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


def _run(found: Setup, clip: Path | None, window: bool, drill: Drill | None = None) -> int:
    settings = found.settings
    with ExitStack() as opened:  # whatever fails, what was opened before is given back
        store = opened.enter_context(found.open_store())
        named = clip.name if clip else f"camera {settings.camera.source}"
        keeper: Keeper | DrillKeeper = Keeper(store, settings, named, found.student_id)
        chooser: CueChooser | None = None
        notes: tuple[str, ...] = ()
        if drill is not None:
            keeper = DrillKeeper(store, settings, named, found.student_id, drill)
            chooser, notes = keeper.chooser, (drill.head.instruction,)
            say(f"{drill.head.name}: {drill.head.instruction}")
        videos = StrokeVideos(store, found.base, keeper, settings)
        source = opened.enter_context(open_source(settings, clip))
        sound = settings.sound
        tones = open_player(sound.backend, sound.volume, sound.buffer_samples, say, sounds_of(drill))
        opened.callback(tones.close)
        wish = settings.window
        display = open_display(window, WindowWish(wish.width, wish.height, wish.fullscreen, wish.theme), say)
        opened.callback(display.close)
        shown = not isinstance(display, NoWindow)
        aims = assemble.aims(settings, notes)
        loop = LiveLoop(
            source,
            lambda: assemble.pipeline(settings, assemble.watcher(settings), videos.save, chooser),
            tones,
            display,
            MonotonicClock(),
            aims,
            linger_s=LINGER_S if shown and clip else 0.0,
            cautions_s=CAUTIONS_S if shown else 0.0,
            on_finished=lambda finished: _tell(finished, settings),
            say=say,
            replay=live_replay(settings, aims, shown, videos),
        )
        begun_s = since_start_s()
        try:
            loop.run()
        finally:
            _close(loop, begun_s, settings)
            if isinstance(keeper, DrillKeeper):
                keeper.tell()
    return 0


class Keeper:
    """Puts each stroke on record before it is shown; a session begins with its first stroke."""

    def __init__(self, store: Store, settings: Settings, source: str, student_id: str = "") -> None:
        self._store, self._settings, self._source, self._student = store, settings, source, student_id
        self._session: int | None = None

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
        self._store.keep(self._session, record, found, cues, self._settings, now)


def _tell(finished: Finished, settings: Settings) -> None:
    """One line a stroke, as it ends."""
    hold = finished.record.measures.get("hold_s")
    held = f", held {hold.value:.1f} s" if hold is not None and hold.value is not None else ""
    verdict = faults(finished.faults, assemble.unsure(finished.record, settings))
    print(f"stroke {finished.number} ({finished.record.kind}){held}: {verdict}", flush=True)


def _close(loop: LiveLoop, begun_s: float, settings: Settings) -> None:
    """The table and how the run went."""
    summary = loop.summary
    out = console()
    if summary.strokes:
        unsure = [assemble.unsure(s.record, settings) for s in summary.strokes]
        rows = [
            (str(s.number), s.record.kind, s.record.measures, s.faults, names)
            for s, names in zip(summary.strokes, unsure, strict=True)
        ]
        out.print(stroke_table(rows))
        not_sure = unsure_line(unsure)
        if not_sure is not None:
            out.print(not_sure, soft_wrap=True)
    if summary.first_frame_s is not None:
        rate = f", {summary.fps:.1f} frames/s" if summary.fps else ""
        first_s = begun_s + summary.first_frame_s
        out.print(f"{summary.frames} frames{rate}, the first {first_s:.1f} s after the start", soft_wrap=True)
