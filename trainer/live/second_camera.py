"""A second camera beside the first: its own frames, its own judging, in a thread of its own; no sound and no window.

If it fails, the first goes on. Strokes of both are matched by ``stroke.pairing`` once both have seen the stroke.
"""

from __future__ import annotations

import threading
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Callable

from trainer.domain.observation import Frame
from trainer.domain.record import StrokeRecord
from trainer.errors import TrainerError
from trainer.live.interruption import Interruption
from trainer.live.ports import Reporter
from trainer.live.practice_step import PracticeStep, Session
from trainer.live.prefetch import JOIN_S, run_pipeline
from trainer.stroke.pairing import Pair, paired
from trainer.texts import tr
from trainer.vision.sources.base import Clock, Source, Waiting
from trainer.worker import Worker

REMEMBERED = 12  # strokes of each camera that still wait for their other half


class Arriving(Source):
    """A source that notes how its own times lie against a clock: by the frames that came soonest after they were due."""

    def __init__(self, source: Source, clock: Clock) -> None:
        self._source, self._clock = source, clock
        self.name, self.size, self.live = source.name, source.size, source.live
        self.nominal_fps = source.nominal_fps
        self.lag_s: float | None = None  # clock less frame time
        self.over = False  # it ended by itself
        self._closed = False

    def start(self) -> None:
        self._source.start()

    def read(self) -> Frame | None:
        frame = self._source.read()
        if frame is not None:
            lag = self._clock.now() - frame.time_s
            self.lag_s = lag if self.lag_s is None else min(self.lag_s, lag)
        else:
            self.over = self.over or not self._closed
        self.size = self._source.size
        return frame

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
        self._closed = True
        let_go = self._source.close()
        self.dropped = self._source.dropped
        return let_go

    @property
    def measured_fps(self) -> float | None:
        return self._source.measured_fps

    def notices(self) -> tuple[str, ...]:
        return self._source.notices()


@dataclass
class Together:
    """Strokes of both cameras as they end, from either thread; who belongs to whom.

    arrival_s: to be added to the second camera's times, None while frames of one have not come; sessions: of the record,
    by camera, once there are any.
    """

    arrival_s: Callable[[], float | None]
    pairs: list[tuple[int, int, Pair]] = field(default_factory=list)
    sessions: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._lock = threading.Lock()
        self._waiting: dict[str, list[tuple[int, StrokeRecord]]] = {"first": [], "second": []}

    def add(self, camera: str, number: int, record: StrokeRecord) -> tuple[int, Pair] | None:
        """The other camera's number of the same stroke, if that one has ended already."""
        with self._lock:
            arrival = self.arrival_s()
            others = self._waiting["second" if camera == "first" else "first"]
            for k, (other, kept) in enumerate(others):
                a, b = (record, kept) if camera == "first" else (kept, record)
                pair = paired(a, b, arrival or 0.0)
                if pair is not None:
                    del others[k]
                    self.pairs.append((number, other, pair) if camera == "first" else (other, number, pair))
                    return other, pair
            self._waiting[camera] = [*self._waiting[camera], (number, record)][-REMEMBERED:]
            return None


class SecondCamera:
    """``start``, then ``stop``: joins the thread, keeps the stroke under way, gives the source back.

    make_session: called in the thread.
    """

    def __init__(self, source: Source, make_session: Callable[[], Session], clock: Clock, reporter: Reporter) -> None:
        self._source, self._make_session, self._clock, self._reporter = source, make_session, clock, reporter
        self._worker = Worker("second camera", self._work)
        self.frames = 0
        self.strokes = 0

    def start(self) -> None:
        self._source.start()
        self._worker.start()

    def wait(self, timeout_s: float) -> bool:
        """Until its source has ended by itself, or the time is over. Whether it has."""
        return self._worker.wait(timeout_s)

    def stop(self) -> None:
        """Raises what is no user's error; a lost camera was said already."""
        self._worker.stop()
        self._source.close()
        if not self._worker.wait(JOIN_S):
            self._reporter.report(tr("{name} did not stop in time; it ends with the program", name=self._source.name))
        if not isinstance(self._worker.failure, TrainerError):
            self._worker.check()

    def _work(self, stop: threading.Event) -> None:
        session: Session | None = None
        try:
            session = self._make_session()
            broken = Interruption(self._source, session, self._take)
            for _, step, _ in run_pipeline(self._source, session, self._clock, stop, idle=broken.look):
                broken.see(step)
                self.frames += 1
                self._take(step)
        except BaseException as error:
            if isinstance(error, TrainerError):
                self._reporter.report(tr("second camera: {line}; going on with the first", line=error.line()))
            if session is not None:
                with suppress(Exception):  # the first failure is the one to be told
                    self._take(session.finish())
            raise
        self._take(session.finish())

    def _take(self, step: PracticeStep | None) -> None:
        if step is None:
            return
        if step.finished is not None:
            self.strokes += 1
        for line in step.messages:
            self._reporter.report(line)
