"""Opens what a run needs of the machine: camera or clip, pose model, loudspeaker; each can be another one, handed in."""

from __future__ import annotations

from contextlib import ExitStack, closing
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Callable, Protocol

from trainer.domain.naming import PHONE
from trainer.live.opening import made_ready
from trainer.live.ports import Devices as Devices
from trainer.live.ports import Display as Display
from trainer.live.ports import Reporter
from trainer.live.ports import Sounds as Sounds
from trainer.settings.model import Settings
from trainer.texts import tr
from trainer.worker import Progress

if TYPE_CHECKING:
    from trainer.camera_setup.mode_cost import Cost
    from trainer.feedback.tones import TonePlayer
    from trainer.vision.body.pose import BodyTracker
    from trainer.vision.sources.base import Clock, Source


def open_source(
    settings: Settings,
    clip: Path | None = None,
    paced: bool = True,
    folder: Path | None = None,
    recorded_fps: float | None = None,
) -> Source:
    """The clip, or the camera of the settings. paced: a clip's frames come in its own time; folder: of the data, needed where
    the camera is a phone; recorded_fps: of a clip in slow motion. Raises ClipError.
    """
    from trainer.app.camera_mode import camera_mode
    from trainer.vision.sources.base import MonotonicClock
    from trainer.vision.sources.camera import Camera
    from trainer.vision.sources.clip import Clip

    clock = MonotonicClock()
    if clip is not None:
        return Clip(clip, clock if paced else None, recorded_fps)
    camera = settings.camera
    if camera.source == PHONE and folder is not None:
        from trainer.app.phone import phone_camera

        return phone_camera(settings, folder, clock)
    return Camera(camera.source, clock, camera_mode(camera, folder))


def open_body() -> BodyTracker:
    """The pose model: takes about a second."""
    from trainer.vision.body.pose import PoseBody

    return PoseBody()


def open_tones(settings: Settings, reporter: Reporter | None = None, sounds: Sounds | None = None) -> TonePlayer:
    """Without a sound device a silent one, reported once. sounds: beside the packaged ones.

    Raises SoundError where a back end was named and cannot play.
    """
    from trainer.feedback.tones import BUFFER_SAMPLES, open_player

    sound = settings.sound
    report = reporter.report if reporter is not None else lambda line: None
    samples = sound.buffer_samples or BUFFER_SAMPLES
    return open_player(sound.backend, sound.volume, samples, report, sounds, sound.device)


def returning_tones(settings: Settings, reporter: Reporter, sounds: Sounds | None) -> TonePlayer:
    """The same for as long as practice lasts: a device that goes, or is not there yet, is used once it comes."""
    from trainer.feedback.returning import ReturningPlayer

    player = open_tones(settings, reporter, sounds)
    if settings.sound.backend == "silent" or settings.sound.volume <= 0:
        return player
    return ReturningPlayer(player, lambda: open_tones(settings, None, sounds), reporter.report)


class OpensSource(Protocol):
    """As ``open_source``."""

    def __call__(
        self, settings: Settings, clip: Path | None = None, paced: bool = True, folder: Path | None = None
    ) -> Source: ...


class OpensBody(Protocol):
    """As ``open_body``."""

    def __call__(self) -> BodyTracker: ...


class OpensTones(Protocol):
    """As ``open_tones``."""

    def __call__(self, settings: Settings, reporter: Reporter | None = None) -> TonePlayer: ...


def measure_cost(size: tuple[int, int]) -> Cost:
    """Of a picture of that size on this computer: takes about a second."""
    from trainer.app.camera_mode import measured_cost

    return measured_cost(open_body, size)


@dataclass(frozen=True)
class Openers:
    """What opens each device. cost: what a picture of a size takes."""

    source: OpensSource = open_source
    body: OpensBody = open_body
    tones: OpensTones = open_tones
    cost: Callable[[tuple[int, int]], Cost] = measure_cost


MACHINE = Openers()


def reading_at(recorded_fps: float | None) -> Openers:
    """This machine, clips taken at that rate; None: as they say."""
    return replace(MACHINE, source=partial(open_source, recorded_fps=recorded_fps))


def source_and_body(
    opened: ExitStack, openers: Openers, display: Display, clock: Clock, opens_source: Callable[[], Source]
) -> tuple[Source, BodyTracker] | None:
    """Both at once beside the window; None: the user ended it meanwhile. opened: gives them back."""

    def ready(_: Progress) -> tuple[Source, BodyTracker]:
        return opened.enter_context(opens_source()), opened.enter_context(closing(openers.body()))

    return made_ready(display, clock, tr("Opening the picture"), ready)
