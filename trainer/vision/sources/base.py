"""Where frames come from: one interface for camera, clip and fakes, and the clock they are stamped and paced with."""

from __future__ import annotations

import time
from abc import ABC, abstractmethod
from collections import deque
from dataclasses import dataclass
from types import TracebackType
from typing import Iterator, Protocol, TypeVar

from trainer.domain.observation import Frame
from trainer.texts import tr


class Clock(Protocol):
    """Monotonic seconds. Passed in everywhere, so that a test can be the clock."""

    def now(self) -> float:
        """Seconds since some fixed moment; never goes back."""

    def sleep(self, seconds: float) -> None:
        """Returns after ``seconds`` of this clock."""


class MonotonicClock:
    """The machine's own clock."""

    def now(self) -> float:
        return time.monotonic()

    def sleep(self, seconds: float) -> None:
        if seconds > 0:
            time.sleep(seconds)


SLOW_SHARE = 0.8  # of the frame rate asked for; below it the user is told
SourceT = TypeVar("SourceT", bound="Source")


@dataclass(frozen=True, slots=True)
class Waiting:
    """What a source needs of its user before it can give frames. address, qr: to be opened elsewhere (True is dark)."""

    words: str
    todo: str
    address: str = ""
    qr: tuple[tuple[bool, ...], ...] = ()


class Source(ABC):
    """A stream of frames in order of time.

    name: as the user named it; size: (width, height) px, (0, 0) until known; nominal_fps: what the device or file says
    of itself, None if it does not; live: frames not read in time are lost (a camera) or wait (a clip); pace_known: its times are
    known to be those of life; where: for an error's line.
    ``with`` starts and closes it.
    """

    name: str = ""
    where: str = ""
    pace_known: bool = True
    size: tuple[int, int] = (0, 0)
    nominal_fps: float | None = None
    live: bool = False
    dropped: int = 0  # frames of a live source that nobody took in time

    def start(self) -> None:
        """Begins to fetch frames, where that takes a thread; on the main thread, before ``read``. May be called twice."""
        return

    @abstractmethod
    def read(self) -> Frame | None:
        """The next frame, waiting for it if need be; None when there are no more.

        Raises CameraError or ClipError; frames given before remain good.
        """

    def waiting(self) -> Waiting | None:
        """What the user must do before ``read`` gives a frame; None: nothing. Never waits itself."""
        return None

    def ready(self, wait_s: float) -> bool:
        """Whether ``read`` gives at once, a frame or the end; waits at most so long for it. A clip always does."""
        return True

    @property
    def loses_on_the_way(self) -> bool:
        """Whether frames were lost just now before they came here, by a slow link."""
        return False

    def play(self, name: str) -> bool:
        """Sounds a cue where the camera stands. False: it cannot, or is not to."""
        return False

    def close(self) -> bool:
        """Gives the device or file back; may be called twice. False: it did not let go in time."""
        return True

    @property
    def measured_fps(self) -> float | None:
        """Frames per second by their own time stamps; None before two frames."""
        return None

    def notices(self) -> tuple[str, ...]:
        """What the user should know though it is no error (a slow camera, another mode than asked for)."""
        return ()

    def __iter__(self) -> Iterator[Frame]:
        while (frame := self.read()) is not None:
            yield frame

    def __enter__(self: SourceT) -> SourceT:
        self.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


SLOW_AFTER_FRAMES = 45  # of a rate that is told to be too slow: over less it is no rate yet


class RateMeter:
    """Measured frame rate: (n - 1) gaps over the time from the first to the last of the latest ``span`` stamps."""

    def __init__(self, span: int = 90) -> None:
        self._stamps: deque[float] = deque(maxlen=span)

    def add(self, time_s: float) -> None:
        self._stamps.append(time_s)

    @property
    def fps(self) -> float | None:
        if len(self._stamps) < 2 or self._stamps[-1] <= self._stamps[0]:
            return None
        return (len(self._stamps) - 1) / (self._stamps[-1] - self._stamps[0])

    def __len__(self) -> int:
        return len(self._stamps)


def too_slow(name: str, fps: float | None, asked_fps: float) -> list[str]:
    """A line where the rate is far below what was asked for."""
    if fps is None or fps >= SLOW_SHARE * asked_fps:
        return []
    return [
        tr(
            "{name} gives {fps:.0f} frames a second where {asked_fps:.0f} were asked for; turn a light on, and if that does not"
            " help ask for a smaller picture",
            name=name,
            fps=fps,
            asked_fps=asked_fps,
        )
    ]
