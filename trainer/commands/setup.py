"""`setup`: a guided screen for camera and player; ends by itself when all is well, and remembers how the camera stands."""

from __future__ import annotations

from contextlib import ExitStack
from datetime import datetime, timezone
from pathlib import Path

from trainer.app.context import load_context, report_line
from trainer.camera_setup.camera_memory import differs, recall, remember
from trainer.camera_setup.findings import Finding
from trainer.camera_setup.setup_observer import SetupObserver, SetupStep
from trainer.commands.practice import camera_source, open_source
from trainer.domain.observation import Frame, Handedness, View
from trainer.errors import UsageError
from trainer.feedback.tones import open_player
from trainer.live.frame_loop import run_frame_loop
from trainer.ui.camera_setup.setup_view import STATE_WORDS, TITLES, SetupState, SetupView
from trainer.ui.drawing.window import NoWindow, WindowConfig, open_display
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.clip import Clip

LINGER_S = 1.5  # the last screen and the bells, before it ends


def run_setup(
    data_folder: Path | None,
    student: str | None,
    camera: str | None,
    clip: Path | None,
    handedness: Handedness | None,
    view: View | None,
    window: bool,
    level: bool = False,
) -> int:
    """level: the user has set the camera level by hand, once; it is remembered with the camera.

    Exit code 0 when all was well in the end, 2 when something is left to mend."""
    if camera is not None and clip is not None:
        raise UsageError("a camera and a clip at once", "--camera, --clip", "give one of them")
    context = load_context(data_folder, student, camera__source=camera_source(camera))
    settings = context.settings
    if student is not None and handedness is None:
        handedness = settings.player.handedness
    last: SetupStep | None = None
    said: dict[str, str] = {}
    with ExitStack() as opened:
        board = SetupView(settings.window.theme) if window else None
        wish = settings.window
        display = open_display(
            window, WindowConfig(wish.width, wish.height, wish.fullscreen, wish.theme), report_line, board
        )
        opened.callback(display.close)
        shown = not isinstance(display, NoWindow)
        source = opened.enter_context(Clip(clip) if clip is not None and not shown else open_source(settings, clip))
        sound = settings.sound
        tones = open_player(sound.backend, sound.volume, sound.buffer_samples, report_line)
        opened.callback(tones.close)
        from trainer.vision.body.pose import PoseBody

        body = PoseBody()
        opened.callback(body.close)
        watch = SetupObserver(
            body, view, handedness, settings.player.height_cm, settings.camera.fps, settings.vision.tape_colour, level
        )

        def step(frame: Frame) -> tuple[object, str | None]:
            nonlocal last
            last = watch.step(frame)
            for line in last.lines:
                if said.get(line.name) != line.state and line.state != "wait":
                    said[line.name] = line.state
                    report_line(text_of(line))
            return SetupState(frame.image, last.lines, last.share, last.done), last.sound

        done = run_frame_loop(source, step, display, tones, lambda: last is not None and last.done)
        if done and (shown or clip is None):
            MonotonicClock().sleep(LINGER_S)
    if last is None:
        report_line("no picture came")
        return 2
    if not done:
        left = [line for line in last.lines if line.state in ("bad", "wait")]
        report_line(
            "not all is well yet" + (f": {' '.join(text_of(left[0]).split())}" if left else ", or not for long enough")
        )
        return 2
    named = str(settings.camera.source) if clip is None else f"clip {clip.name}"
    before = recall(context.base, named)
    now = remember(context.base, named, last.facts, watch.stand, datetime.now(timezone.utc)) if watch.stand else None
    change = differs(before, now) if before is not None and now is not None else ""
    report_line(f"all set: {last.facts.view}" + (f"; {change}" if change else ""))
    return 0


def text_of(line: Finding) -> str:
    """One line for the terminal."""
    told = f"{STATE_WORDS[line.state]:<16} {TITLES[line.name] + ':':<14} {line.found}"
    return f"{told}; {line.todo}" if line.todo else told
