"""Is everything ready to practise? Tries camera, sound, pose model and disk, and judges what they gave."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, field
from typing import Any, Iterator

from trainer.app.camera_mode import camera_mode, faster_line, may_choose, mode_line
from trainer.app.context import Reporter, RunContext
from trainer.app.devices import MACHINE, Openers
from trainer.camera_setup import findings
from trainer.camera_setup.findings import Finding
from trainer.errors import CameraError, SoundError, StoreError
from trainer.live.linking import LINK_LOOK_S, TellsLink
from trainer.settings.model import Settings
from trainer.texts import tr
from trainer.vision.sources.base import Clock, MonotonicClock

WATCH_S = 2.0
SOUND_S = 0.5
TRIAL_FRAMES = 15
NO_CAMERA = (tr("not measured"), tr("needs a camera"))


@dataclass(frozen=True)
class CameraTrial:
    """The last images, (h, w, 3) uint8 BGR, the times of all frames (s) and the measured rate (frames/s)."""

    images: list[Any] = field(default_factory=list)
    times_s: list[float] = field(default_factory=list)
    fps: float | None = None


def check_everything(
    context: RunContext, openers: Openers = MACHINE, clock: Clock | None = None, reporter: Reporter | None = None
) -> Iterator[Finding]:
    """Each finding as soon as it is there, in the order in which they are to be read. reporter: told how to link a phone."""
    clock = clock or MonotonicClock()
    settings, trial = context.settings, CameraTrial()
    mode = camera_mode(settings.camera, context.base)
    try:
        trial, size = _try_camera(context, openers, clock, reporter)
        said = mode_line(settings.camera, context.base) if may_choose(settings.camera) else ""
        gives = tr("{called} gives {size}x{size2}", called=settings.camera.called, size=size[0], size2=size[1])
        yield Finding("camera", "ok", gives, said)
    except CameraError as error:
        yield Finding("camera", "problem", error.what, error.todo)
    if trial.fps is None:
        yield Finding("rate", "problem", *NO_CAMERA)
    else:
        yield findings.frame_rate(trial.fps, mode.fps)
    yield from findings.timing(trial.times_s, faster_line(settings.camera, context.base))
    yield light_of(trial.images[-1]) if trial.images else Finding("light", "problem", *NO_CAMERA)
    yield try_sound(settings, openers, clock)
    yield _pose_model(trial, mode.fps, openers, clock)
    yield _disk(context)


def light_of(image: Any) -> Finding:
    """image: (h, w, 3) uint8 BGR."""
    grey = image.mean(axis=2)
    return findings.light(float(grey.mean()), float((grey >= 250).mean()))


def _try_camera(
    context: RunContext, openers: Openers, clock: Clock, reporter: Reporter | None
) -> tuple[CameraTrial, tuple[int, int]]:
    images: list[Any] = []
    times_s: list[float] = []
    with openers.source(context.settings, folder=context.base) as source:
        tells = TellsLink([source], reporter)
        begun_s = now_s = None
        while begun_s is None or now_s is None or now_s - begun_s < WATCH_S:
            if not source.ready(LINK_LOOK_S):
                if begun_s is not None and source.waiting() is not None:
                    raise CameraError(tr("gave no more pictures"), source.name, tr("check its cable, then check again"))
                tells.tell()
                continue
            frame = source.read()
            if frame is None:
                break
            now_s = clock.now()
            begun_s = now_s if begun_s is None else begun_s
            images = [*images[-(TRIAL_FRAMES - 1) :], frame.image]
            times_s.append(frame.time_s)
        return CameraTrial(images, times_s, source.measured_fps), source.size


def try_sound(settings: Settings, openers: Openers, clock: Clock) -> Finding:
    """Plays a tone."""
    from trainer.feedback.cues import READY
    from trainer.feedback.tones import SilentPlayer

    try:
        player = openers.tones(settings)
    except SoundError as error:
        return Finding("sound", "problem", error.what, error.todo)
    try:
        if isinstance(player, SilentPlayer):
            todo = tr("signs only; connect a loudspeaker to hear the tones")
            return Finding("sound", "warning", player.description, todo)
        player.play(READY)
        clock.sleep(SOUND_S)
        return Finding("sound", "ok", player.description, tr("did you hear it?"))
    finally:
        player.close()


def _pose_model(trial: CameraTrial, asked_fps: float, openers: Openers, clock: Clock) -> Finding:
    import numpy as np

    begun = clock.now()
    body = openers.body()
    loaded_s = clock.now() - begun
    images = trial.images or [np.full((480, 640, 3), 128, np.uint8)] * TRIAL_FRAMES
    begun = clock.now()
    seen = sum(body.find(image) is not None for image in images)
    each_ms = 1000 * (clock.now() - begun) / len(images)
    body.close()
    return findings.pose_model(loaded_s, each_ms, asked_fps, bool(seen) if trial.images else None)


def _disk(context: RunContext) -> Finding:
    try:
        context.open_store().close()
        return findings.disk(shutil.disk_usage(context.folder).free, str(context.folder))
    except StoreError as error:
        return Finding("disk", "problem", tr("{where}: {what}", where=error.where, what=error.what), error.todo)
    except OSError as error:
        return Finding(
            "disk",
            "problem",
            tr("{folder}: {strerror}", folder=context.folder, strerror=error.strerror),
            tr("choose another with --data-folder"),
        )
