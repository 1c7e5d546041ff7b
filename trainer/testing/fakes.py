"""Stand-ins for camera, loudspeaker, screen and clock that record what happened and when. For tests and bug reports."""

from __future__ import annotations

import threading
from collections import deque
from typing import Any, Callable, Iterable, Sequence

from trainer.domain.observation import Frame
from trainer.vision.sources.base import RateMeter, Source, Waiting


class FakeClock:
    """A clock that moves only when told to, or when somebody sleeps on it. naps: (time before, seconds) of each."""

    def __init__(self, start_s: float = 0.0) -> None:
        self._now_s = start_s
        self.naps: list[tuple[float, float]] = []

    def now(self) -> float:
        return self._now_s

    def sleep(self, seconds: float) -> None:
        self.naps.append((self._now_s, seconds))
        self._now_s += max(0.0, seconds)

    def advance(self, seconds: float) -> None:
        self._now_s += seconds


class ListSource(Source):
    """Frames from a list. failure: raised after the last one, as a camera that is lost does."""

    def __init__(self, frames: Iterable[Frame], failure: Exception | None = None, name: str = "list") -> None:
        self._frames = deque(frames)
        self._failure = failure
        self._rate = RateMeter()
        self.name = name
        self.closed = 0
        if self._frames and self._frames[0].image is not None:
            height, width = self._frames[0].image.shape[:2]
            self.size = (width, height)

    def read(self) -> Frame | None:
        if not self._frames or self.closed:
            if self._failure is not None:
                raise self._failure
            return None
        frame = self._frames.popleft()
        self._rate.add(frame.time_s)
        return frame

    @property
    def measured_fps(self) -> float | None:
        return self._rate.fps

    def close(self) -> bool:
        self.closed += 1
        return True


class FakeCamera(ListSource):
    """Frames that come at moments of a clock: ``arrivals`` says when each one is there (s of the clock, rising).

    One arrival for several frames is a burst; a long wait is a gap. Nothing is dropped: what a camera would drop is
    left out of the list. log: (clock's time, frame index) of each frame given.
    """

    def __init__(
        self,
        frames: Sequence[Frame],
        arrivals: Sequence[float],
        clock: FakeClock,
        failure: Exception | None = None,
        name: str = "camera",
    ) -> None:
        if len(frames) != len(arrivals):
            raise ValueError(f"{len(frames)} frames with {len(arrivals)} arrivals")
        super().__init__(frames, failure, name)
        self.live = True
        self._arrivals = deque(arrivals)
        self._clock = clock
        self.log: list[tuple[float, int]] = []

    def read(self) -> Frame | None:
        frame = super().read()
        if frame is not None:
            wait_s = self._arrivals.popleft() - self._clock.now()
            if wait_s > 0:
                self._clock.sleep(wait_s)
            self.log.append((self._clock.now(), frame.index))
        return frame


class ReturningCamera(ListSource):
    """A camera that goes before each of the frames ``lost_before`` (their indices). Two threads look after it, the one that
    shows that it waits and the one that judges: it is back once both know, and its frames come once both know that too.
    stays_away: until ``close``.
    """

    WAITING = Waiting("Waiting for the camera", "no picture for 3 s: check its cable; it goes on by itself")
    live = True

    def __init__(
        self, frames: Sequence[Frame], lost_before: Iterable[int], name: str = "camera 0", stays_away: bool = False
    ) -> None:
        super().__init__(frames, name=name)
        self._lost_before, self._stays_away = set(lost_before), stays_away
        self._change = threading.Condition()
        self._know_gone: set[int] = set()
        self._know_back: set[int] = set()
        self._lost = False
        self.losses = 0

    def read(self) -> Frame | None:
        with self._change:
            if self._frames and self._frames[0].index in self._lost_before:
                self._lost_before.remove(self._frames[0].index)
                self._know_gone, self._know_back, self._lost = set(), set(), True
                self.losses += 1
                self._change.wait_for(lambda: self.closed or not self._lost, 20.0)
        return super().read()

    def waiting(self) -> Waiting | None:
        with self._change:
            if not self._lost or self.closed:
                return None
            if len(self._know_gone) < 2 or self._stays_away:
                self._know_gone.add(threading.get_ident())
                return self.WAITING
            self._know_back.add(threading.get_ident())
            self._lost = len(self._know_back) < 2
            self._change.notify_all()
            return None

    def close(self) -> bool:
        with self._change:
            self._change.notify_all()
            return super().close()


def bursts(frames: Sequence[Frame], size: int) -> list[float]:
    """Arrival times for ``frames`` that come ``size`` at a time, each burst when its last frame is due."""
    return [frames[min(len(frames), (i // size + 1) * size) - 1].time_s for i in range(len(frames))]


class FakeTonePlayer:
    """Plays nothing; ``played`` is the list of (time, name)."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self.played: list[tuple[float, str]] = []
        self.closed = 0
        self.description = "fake"

    def play(self, name: str) -> None:
        self.played.append((self._clock(), name))

    def close(self) -> None:
        self.closed += 1


class FakeDisplay:
    """Shows nothing; ``shown`` is the list of (time, what was to be shown). keys: commands to give, one a poll."""

    visible = True

    def __init__(
        self, clock: Callable[[], float], keys: Iterable[str] = (), on_show: Callable[[Any], None] | None = None
    ):
        self._clock = clock
        self._keys = deque(keys)
        self._on_show = on_show
        self.shown: list[tuple[float, Any]] = []
        self.closed = 0

    def give(self, key: str) -> None:
        """One more, at its end."""
        self._keys.append(key)

    def poll(self) -> list[str]:
        return [self._keys.popleft()] if self._keys else []

    def show(self, view: Any) -> None:
        self.shown.append((self._clock(), view))
        if self._on_show is not None:
            self._on_show(view)

    def close(self) -> None:
        self.closed += 1


class FakeReporter:
    """Prints nothing; ``lines`` and ``warnings`` in the order in which they came."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.warnings: list[str] = []

    def report(self, line: str) -> None:
        self.lines.append(line)

    def warn(self, line: str) -> None:
        self.warnings.append(line)


class FakeMicrophone:
    """Sound from an array, block by block, handed over when told to. begins_s: when its first sample was heard."""

    def __init__(self, sound: Any, rate_hz: float, begins_s: float = 0.0, name: str = "made-up microphone") -> None:
        self.name, self.rate_hz = name, rate_hz
        self._sound, self._begins_s = sound, begins_s
        self._on_block: Callable[[Any, float], None] | None = None
        self._given = 0
        self.closed = 0

    def start(self, on_block: Callable[[Any, float], None]) -> None:
        self._on_block = on_block

    def play(self, until_s: float, block_s: float = 0.02) -> None:
        """Hands over all that was heard up to then."""
        assert self._on_block is not None, "start it first"
        size = round(block_s * self.rate_hz)
        while self._given + size <= min(len(self._sound), (until_s - self._begins_s) * self.rate_hz):
            block = self._sound[self._given : self._given + size]
            self._on_block(block, self._begins_s + self._given / self.rate_hz)
            self._given += size

    def close(self) -> None:
        self.closed += 1
