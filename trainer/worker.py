"""A thread whose failure is heard of: every thread of the trainer is one of these."""

from __future__ import annotations

import os
import sys
import threading
from typing import Callable, Generic, TypeVar

WAY_GIVEN = 10  # of Linux's niceness, 0 to 19: about a tenth of the weight of a thread that gives none
Run = Callable[[threading.Event], None]
Result = TypeVar("Result")


class Worker:
    """``start`` once, ``stop`` from anywhere, ``join`` at the end.

    run: the thread's body; it is given the stop flag, looks at it often and never waits without a limit. on_end: called in
    the thread when the body has ended in any way, ``ended`` and ``failure`` being settled: wakes whoever waits for it.
    gives_way: it gets the processor time that others leave, on systems where a thread can.
    """

    def __init__(self, name: str, run: Run, on_end: Callable[[], None] = lambda: None, gives_way: bool = False) -> None:
        self._run, self._on_end, self._gives_way = run, on_end, gives_way
        self._stop = threading.Event()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._work, name=name, daemon=True)
        self.failure: BaseException | None = None  # what the body raised

    @property
    def started(self) -> bool:
        return self._thread.ident is not None

    @property
    def ended(self) -> bool:
        """The body returned or raised."""
        return self._ended.is_set()

    @property
    def stopping(self) -> bool:
        """The body was told to end."""
        return self._stop.is_set()

    def start(self) -> None:
        """A second call raises RuntimeError."""
        self._thread.start()

    def stop(self) -> None:
        """Tells the body to end; returns at once."""
        self._stop.set()

    def wait(self, timeout_s: float) -> bool:
        """Whether the thread is gone, or was never started; raises nothing."""
        if self.started:
            self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def check(self) -> None:
        """Raises what the body raised."""
        if self.failure is not None:
            raise self.failure

    def join(self, timeout_s: float) -> bool:
        """``wait``, then ``check``. False: it did not end in time."""
        gone = self.wait(timeout_s)
        self.check()
        return gone

    def _work(self) -> None:
        try:
            if self._gives_way and sys.platform == "linux":
                thread = threading.get_native_id()
                os.setpriority(os.PRIO_PROCESS, thread, max(WAY_GIVEN, os.getpriority(os.PRIO_PROCESS, thread)))
            self._run(self._stop)
        except BaseException as error:  # raised again where the owner looks
            self.failure = error
        finally:
            self._ended.set()
            self._on_end()


class Stopped(Exception):
    """The work was told to end before it was done."""


class Progress:
    """How far long work has come: told in its thread, looked at in another. share: 0 to 1, None where it is not known."""

    def __init__(self, stop: threading.Event | None = None) -> None:
        self._stop = stop
        self.share: float | None = None
        self.words = ""

    def tell(self, share: float | None, words: str | None = None) -> None:
        """Called often by the work, before anything is left for good. words: what is being done, None: as before.

        Raises Stopped when it is to end.
        """
        if self._stop is not None and self._stop.is_set():
            raise Stopped
        self.share = share
        self.words = self.words if words is None else words


class Job(Generic[Result]):
    """Long work in a Worker of its own, which tells how far it is and ends early when told to."""

    def __init__(self, name: str, work: Callable[[Progress], Result]) -> None:
        self.progress = Progress()
        self._work = work
        self._result: list[Result] = []
        self._worker = Worker(name, self._run)

    def start(self) -> Job[Result]:
        """Returns itself."""
        self._worker.start()
        return self

    def stop(self) -> None:
        """Tells it to end; returns at once."""
        self._worker.stop()

    def wait(self, timeout_s: float) -> bool:
        """Whether it has ended; raises nothing."""
        return self._worker.wait(timeout_s)

    def result(self) -> Result:
        """Once it has ended. Raises what the work raised: Stopped, when it was told to end and did so early."""
        self._worker.check()
        return self._result[0]

    def _run(self, stop: threading.Event) -> None:
        self.progress = Progress(stop)
        self._result.append(self._work(self.progress))
