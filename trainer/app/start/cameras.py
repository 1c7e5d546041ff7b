"""Which cameras there may be, and one that stays open from one task to the next."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

from trainer.app.camera_mode import camera_mode
from trainer.app.devices import OpensSource
from trainer.domain.naming import PHONE
from trainer.domain.observation import Frame
from trainer.errors import TrainerError
from trainer.settings.model import Settings
from trainer.vision.sources.base import Clock, Source, Waiting

NUMBERS_TRIED = 4  # where the system lists none (Windows, macOS): the usual first numbers
KEPT_S = 60.0  # a camera that nobody looks through any more is given back


def camera_choices(own: int | str, devices: Path = Path("/dev"), system: str = sys.platform) -> tuple[str, ...]:
    """Numbers as settings take them, the one that is set among them, and a phone."""
    if system.startswith("linux"):
        names = sorted((path.name[5:] for path in devices.glob("video*") if path.name[5:].isdigit()), key=int)
    else:
        names = [str(number) for number in range(NUMBERS_TRIED)]
    return tuple(dict.fromkeys((*(names or ["0"]), str(own), PHONE)))  # none plugged in: the first is yet to come


class _Lent(Source):
    """A camera that its owner keeps open: closing gives it back to the owner only."""

    def __init__(self, owner: KeptCamera, source: Source) -> None:
        self._owner, self._source = owner, source
        self.name, self.live, self.nominal_fps = source.name, source.live, source.nominal_fps
        self.size = source.size

    def read(self) -> Frame | None:
        try:
            frame = self._source.read()
        except TrainerError:
            self._owner.broken = True
            raise
        if frame is None:
            self._owner.broken = True
        self.size, self.nominal_fps = self._source.size, self._source.nominal_fps
        return frame

    @property
    def dropped(self) -> int:  # type: ignore[override]  # the camera's own count, as it is when asked for
        return self._source.dropped

    @property
    def measured_fps(self) -> float | None:
        return self._source.measured_fps

    def notices(self) -> tuple[str, ...]:
        return self._source.notices()

    def waiting(self) -> Waiting | None:
        return self._source.waiting()

    def ready(self, wait_s: float) -> bool:
        return self._source.ready(wait_s)

    @property
    def loses_on_the_way(self) -> bool:
        return self._source.loses_on_the_way

    def play(self, name: str) -> bool:
        return self._source.play(name)

    def close(self) -> bool:
        self._owner.give_back()
        return True


@dataclass
class _Held:
    key: object
    source: Source


class KeptCamera:
    """Opens sources as ``opens`` does; a camera stays open after its task, for the next one that wants the same."""

    def __init__(self, opens: OpensSource, clock: Clock) -> None:
        self._opens, self._clock = opens, clock
        self._held: _Held | None = None
        self._idle_since_s: float | None = None
        self.broken = False  # the camera was lost, or gives no more: another is to be opened next time

    def __call__(
        self, settings: Settings, clip: Path | None = None, paced: bool = True, folder: Path | None = None
    ) -> Source:
        if clip is not None:
            self.close()
            return self._opens(settings, clip, paced, folder)
        key = (settings.camera.source, camera_mode(settings.camera, folder))
        if self._held is not None and (self.broken or self._held.key != key):
            self.close()
        if self._held is None:
            source = self._opens(settings, folder=folder)
            source.start()
            self._held, self.broken = _Held(key, source), False
        self._idle_since_s = None
        return _Lent(self, self._held.source)

    def give_back(self) -> None:
        """Its task is over."""
        self._idle_since_s = self._clock.now()
        if self.broken:
            self.close()

    def tick(self) -> None:
        """Lets go of it when nobody has wanted it for a while."""
        if self._idle_since_s is not None and self._clock.now() - self._idle_since_s > KEPT_S:
            self.close()

    def close(self) -> None:
        held, self._held, self._idle_since_s = self._held, None, None
        if held is not None:
            held.source.close()
