"""The camera's mode: as the settings say; what they leave out is the best that camera and computer managed at setup."""

from __future__ import annotations

import statistics
from itertools import islice, pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Callable, Sequence

from trainer.camera_setup.camera_memory import recall_cost, recall_mode
from trainer.camera_setup.findings import RATE_SHARE
from trainer.camera_setup.mode_cost import Cost, kept_up_together
from trainer.domain.naming import PHONE
from trainer.domain.observation import Frame
from trainer.errors import CameraError
from trainer.processors import usable_processors
from trainer.resources import data_path
from trainer.settings.model import Camera, Settings
from trainer.texts import tr
from trainer.vision.sources.base import Clock, MonotonicClock, Source
from trainer.vision.sources.camera_device import Address, Mode

if TYPE_CHECKING:
    from trainer.vision.body.pose import BodyTracker

LADDER = (Mode(1280, 720, 60.0), Mode(1280, 720, 30.0), Mode(640, 480, 60.0), Mode(640, 480, 30.0))  # best first
PLAIN = LADDER[-1]  # every camera has it; what is used before anything was measured
TRY_S, START_S = 0.5, 0.15  # of pictures that tell a mode's rate, after those that come as they like
COST_FRAMES = 24  # of a player at address: his head and putter are found by then


MeasuresCost = Callable[[tuple[int, int]], Cost]
OpensMode = Callable[[Mode], Source]


def camera_mode(camera: Camera, folder: Path | None) -> Mode:
    """What this camera is to be asked for. folder: of the data, where what setup measured is kept."""
    known = None if folder is None or is_told(camera) else recall_mode(folder, str(camera.source))
    best = known or PLAIN
    return Mode(camera.width or best.width, camera.height or best.height, camera.fps or best.fps)


def is_told(camera: Camera) -> bool:
    """Whether the settings leave nothing to choose."""
    return camera.width is not None and camera.height is not None and camera.fps is not None


def may_choose(camera: Camera) -> bool:
    """Whether there is a mode to be chosen: a phone and a stream have their own."""
    return not is_told(camera) and camera.source != PHONE and Address.of(camera.source).kind != "stream"


def with_mode(settings: Settings, mode: Mode) -> Settings:
    """These settings with every part of the mode told."""
    told = {"width": mode.width, "height": mode.height, "fps": mode.fps}
    return settings.changed(camera=settings.camera.model_copy(update=told))


def mode_line(camera: Camera, folder: Path) -> str:
    """Which mode it has, and by whom that was chosen."""
    mode = camera_mode(camera, folder)
    if recall_mode(folder, str(camera.source)) is None:
        return tr("{mode} asked for: setup finds the best mode", mode=_told(mode))
    return best_line(mode)


def best_line(mode: Mode) -> str:
    """That it was chosen."""
    return tr("{mode} is the best that it gives and this computer keeps up with", mode=_told(mode))


def _told(mode: Mode) -> str:
    return tr("{width:.0f}x{height:.0f} at {fps:.0f} frames/s", width=mode.width, height=mode.height, fps=mode.fps)


def modes_together(cameras: Sequence[Camera], folder: Path | None, cores: int | None = None) -> list[Mode]:
    """Of cameras that are used at once: each one's own, or fewer frames a second of the last where they are too much together.

    What the settings tell stays; of a camera that setup has not measured nothing is known.
    """
    modes = [camera_mode(camera, folder) for camera in cameras]
    costs = [None if folder is None else recall_cost(folder, str(camera.source)) for camera in cameras]
    for place in reversed(range(len(cameras))):
        known = [(cost, mode.fps) for cost, mode in zip(costs, modes) if cost is not None]
        if kept_up_together(known, cores or usable_processors()):
            break
        mode = modes[place]
        if costs[place] is not None and cameras[place].fps is None and mode.fps > PLAIN.fps:
            modes[place] = Mode(mode.width, mode.height, PLAIN.fps)
    return modes


def faster_line(camera: Camera, folder: Path) -> str:
    """What may give more frames a second, where they are few; empty where nothing does that this program knows of."""
    if camera.fps is None and may_choose(camera):
        known = recall_mode(folder, str(camera.source))
        return tr("setup finds out whether it gives more") if known is None else ""
    if camera.source != PHONE and Address.of(camera.source).kind == "stream":
        return ""
    fast_fps = LADDER[0].fps
    return tr("{fast_fps:.0f} halve that: camera.fps = {fast_fps:.0f}, if yours can", fast_fps=fast_fps)


def best_mode(opens: OpensMode, cost: MeasuresCost, cores: int | None = None) -> Mode | None:
    """The first of LADDER that the camera gives and the computer keeps up with; None where it never gave a picture."""
    count = cores or usable_processors()
    costs: dict[tuple[int, int], Cost] = {}
    given: dict[tuple[int, int], float] = {}  # frames/s that came in that size
    tried = pictures = 0
    for mode in LADDER[:-1]:
        size = (mode.width, mode.height)
        if given.get(size, mode.fps) < RATE_SHARE * mode.fps:
            continue
        if size not in costs:
            costs[size] = cost(size)
        if not costs[size].kept_up(mode.fps, count):
            continue
        if size not in given or given[size] > mode.fps / RATE_SHARE:  # a camera that is faster may be asked for less
            came = _pictures(opens, mode)
            tried, pictures = tried + 1, pictures + (came is not None)
            given[size] = came or 0.0
        if given[size] >= RATE_SHARE * mode.fps:
            return mode
    return PLAIN if pictures or not tried else None


def _pictures(opens: OpensMode, mode: Mode) -> float | None:
    """Frames/s that come when it is asked for, 0 where they have another size; None where none come."""
    times: list[float] = []
    try:
        with opens(mode) as source:
            while not times or times[-1] - times[0] < START_S + TRY_S:
                frame = source.read()
                if frame is None:
                    break
                times.append(frame.time_s)
            fits = source.size == (mode.width, mode.height)
    except CameraError:  # it does not open so: another mode is tried
        return None
    return None if not times else _rate(times) if fits else 0.0


def _rate(times: Sequence[float]) -> float:
    """By the middle of the steps, which one late picture does not change."""
    steady = [t for t in times if t - times[0] >= START_S]
    steps = [b - a for a, b in pairwise(steady)]
    typical = statistics.median(steps) if steps else 0.0
    return 1 / typical if typical > 0 else 0.0


def measured_cost(opens_body: Callable[[], BodyTracker], size: tuple[int, int], clock: Clock | None = None) -> Cost:
    """Of a player at address, shown in that size: it does not matter who is before the camera meanwhile. Takes about a second."""
    from trainer.vision.body.carried import PointCarrier
    from trainer.vision.observer import Observer

    now = (clock or MonotonicClock()).now
    frames = _player(size)
    observer, carrier = Observer(opens_body()), PointCarrier()
    model, carried, rest = [], [], []
    try:
        for frame in frames:
            begun = now()
            points = observer.body.find(frame.image)
            found = now()
            observer.look(frame, points)
            rest.append(now() - found)
            model.append(found - begun)
            begun = now()
            if carrier.carry(frame.image) is not None:
                carried.append(now() - begun)
            if points is not None:
                carrier.take(frame.image, points)
    finally:
        observer.close()
    return Cost(_undisturbed(model), _undisturbed(carried), _undisturbed(rest[len(rest) // 2 :]))


def _undisturbed(times_s: Sequence[float]) -> float:
    """The quarter point: what else the computer does now and then lengthens some of them."""
    return sorted(times_s)[len(times_s) // 4] if times_s else 0.0


def _player(size: tuple[int, int]) -> list[Frame]:
    """The demo's player, as large as he goes into a picture of that size, width first."""
    import cv2
    import numpy as np

    from trainer.vision.sources.clip import Clip

    width, height = size
    shown = []
    with Clip(data_path("demo", "demo.mp4")) as clip:
        for frame in islice(clip, COST_FRAMES):
            share = min(width / frame.image.shape[1], height / frame.image.shape[0])
            small = cv2.resize(frame.image, None, fx=share, fy=share, interpolation=cv2.INTER_LINEAR)
            left = (width - small.shape[1]) // 2
            image = np.full((height, width, 3), 128, np.uint8)
            image[: small.shape[0], left : left + small.shape[1]] = small
            shown.append(Frame(frame.index, frame.time_s, image))
    return shown
