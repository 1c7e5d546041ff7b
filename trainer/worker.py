"""A thread whose failure is heard of: every thread of the trainer is one of these."""

from __future__ import annotations

import threading
from typing import Callable

Run = Callable[[threading.Event], None]


class Worker:
    """``start`` once, ``stop`` from anywhere, ``join`` at the end.

    run: the thread's body; it is given the stop flag, looks at it often and never waits without a limit. on_end: called in
    the thread when the body has ended in any way, ``ended`` and ``failure`` being settled: wakes whoever waits for it.
    """

    def __init__(self, name: str, run: Run, on_end: Callable[[], None] = lambda: None) -> None:
        self._run, self._on_end = run, on_end
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
            self._run(self._stop)
        except BaseException as error:  # raised again where the owner looks
            self.failure = error
        finally:
            self._ended.set()
            self._on_end()
