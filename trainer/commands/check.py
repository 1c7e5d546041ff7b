"""`check`: is everything ready? One line each for camera, frame rate, light, sound, model and disk, with what to do."""

from __future__ import annotations

import shutil
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Iterator, Literal, Sequence

from trainer.app.context import RunContext, load_context
from trainer.commands.practice import camera_source, open_source
from trainer.errors import CameraError, SoundError, StoreError
from trainer.settings.model import Settings
from trainer.vision.sources import camera_timing

WATCH_S = 2.0
# Mean brightness of a picture, 0..255, and share of pixels at full white; common practice, no source.
DARK, BRIGHT, GLARE_SHARE = 55.0, 215.0, 0.25
RATE_SHARE = 0.9
START_S = 0.5  # a camera's first pictures come as they like
FAST_FPS = 60.0
LITTLE_ROOM_BYTES = 200 * 1024 * 1024  # a stroke takes about 0.1 MB
TRIAL_FRAMES = 15

State = Literal["ok", "look", "bad"]


@dataclass(frozen=True, slots=True)
class Line:
    """One finding. "look": works, but could be better; "bad": practice will not work until it is mended."""

    name: str
    state: State
    found: str
    todo: str = ""

    def text(self) -> str:
        return f"{self.state:<5} {self.name + ':':<12} {self.found}" + (f"; {self.todo}" if self.todo else "")


def run_check(data_folder: Path | None, camera: str | None) -> int:
    """Prints each line as it is found. Exit code 2 when one is bad."""
    context = load_context(data_folder, camera__source=camera_source(camera))
    bad = False
    for line in lines(context):
        print(line.text(), flush=True)
        bad = bad or line.state == "bad"
    return 2 if bad else 0


def lines(context: RunContext) -> Iterator[Line]:
    """All findings, in order."""
    images: list[Any] = []
    times_s: list[float] = []
    fps = None
    try:
        images, times_s, fps, size = _watch_camera(context.settings)
        yield Line("camera", "ok", f"camera {context.settings.camera.source} gives {size[0]}x{size[1]}")
    except CameraError as error:
        yield Line("camera", "bad", error.what, error.todo)
    yield rate_line(fps, context.settings.camera.fps)
    yield from measuring_lines(times_s)
    yield light_line(images)
    yield _sound(context.settings)
    yield _model(images, context.settings.camera.fps)
    yield _disk(context)


def _watch_camera(settings: Settings) -> tuple[list[Any], list[float], float | None, tuple[int, int]]:
    """Some pictures, the times of all (s), the measured rate (frames/s) and the size."""
    images: list[Any] = []
    times_s: list[float] = []
    with open_source(settings, None) as source:
        begun: float | None = None
        while begun is None or time.monotonic() - begun < WATCH_S:
            frame = source.read()
            if frame is None:
                break
            begun = begun if begun is not None else time.monotonic()
            images = [*images[-(TRIAL_FRAMES - 1) :], frame.image]
            times_s.append(frame.time_s)
        return images, times_s, source.measured_fps, source.size


def rate_line(fps: float | None, asked_fps: float) -> Line:
    """Measured against asked frame rate."""
    if fps is None:
        return Line("frame rate", "bad", "not measured", "needs a camera")
    text = f"{fps:.1f} frames/s, {asked_fps:.0f} asked for"
    if fps < RATE_SHARE * asked_fps:
        return Line("frame rate", "look", text, "more light, a smaller picture, or another USB socket")
    return Line("frame rate", "ok", text)


def measuring_lines(times_s: Sequence[float]) -> Iterator[Line]:
    """What can be measured with frames at these times; nothing with too few. The camera's first half second is left out."""
    seen = camera_timing.timing([t for t in times_s if t - times_s[0] > START_S]) or camera_timing.timing(times_s)
    if seen is None:
        return
    faster = (
        f"{FAST_FPS:.0f} halve that: camera.fps = {FAST_FPS:.0f}, if yours can" if seen.fps < 0.75 * FAST_FPS else ""
    )
    slow = seen.fps < camera_timing.SLOW_FPS
    yield Line("measuring", "look" if slow else "ok", camera_timing.tempo_line(seen), faster)
    yield Line("motion", "ok", camera_timing.motion_line(seen))
    if seen.irregular:
        found = "; ".join(camera_timing.irregularities(seen))
        yield Line("regularity", "look", found, "close other programs, put light on the player, another USB socket")


def light_line(images: list[Any]) -> Line:
    """images: (height, width, 3) uint8; the last one counts, when the camera has adapted."""
    if not images:
        return Line("light", "bad", "not measured", "needs a camera")
    grey = images[-1].mean(axis=2)
    mean, white = float(grey.mean()), float((grey >= 250).mean())
    text = f"brightness {mean:.0f} of 255"
    if mean < DARK:
        return Line("light", "look", f"{text}, dark", "put light on the player")
    if mean > BRIGHT or white > GLARE_SHARE:
        return Line("light", "look", f"{text}, {white:.0%} pure white", "no window or lamp behind the player")
    return Line("light", "ok", text)


def _sound(settings: Settings) -> Line:
    from trainer.feedback.cues import READY
    from trainer.feedback.tones import SilentPlayer, open_player

    wish = settings.sound
    try:
        player = open_player(wish.backend, wish.volume, wish.buffer_samples)
    except SoundError as error:
        return Line("sound", "bad", error.what, error.todo)
    try:
        if isinstance(player, SilentPlayer):
            return Line("sound", "look", player.description, "signs only; connect a loudspeaker to hear the tones")
        player.play(READY)
        time.sleep(0.5)
        return Line("sound", "ok", player.description, "did you hear it?")
    finally:
        player.close()


def _model(images: list[Any], asked_fps: float) -> Line:
    import numpy as np

    from trainer.vision.body.pose import PoseBody

    begun = time.perf_counter()
    body = PoseBody()
    loaded_s = time.perf_counter() - begun
    pictures = images or [np.full((480, 640, 3), 128, np.uint8)] * TRIAL_FRAMES
    begun = time.perf_counter()
    seen = sum(body.find(image) is not None for image in pictures)
    each_ms = 1000 * (time.perf_counter() - begun) / len(pictures)
    body.close()
    text = f"loaded in {loaded_s:.1f} s, {each_ms:.0f} ms a picture"
    if images and each_ms > 1000 / asked_fps:
        return Line("model", "look", text, f"too slow for {asked_fps:.0f} frames/s: close other programs")
    if images and not seen:
        return Line("model", "look", f"{text}, sees nobody", "stand in the picture, whole body, 2.5 to 3 m away")
    return Line("model", "ok", f"{text}, sees the player" if seen else text)


def _disk(context: RunContext) -> Line:
    try:
        context.open_store().close()
        free = shutil.disk_usage(context.folder).free
    except StoreError as error:
        return Line("disk", "bad", f"{error.where}: {error.what}", error.todo)
    except OSError as error:
        return Line("disk", "bad", f"{context.folder}: {error.strerror}", "choose another with --data-folder")
    text = f"{free / 1e9:.1f} GB free, record in {context.folder}"
    if free < LITTLE_ROOM_BYTES:
        return Line("disk", "look", text, "make room")
    return Line("disk", "ok", text)
