"""One call at a time in a thread of its own, while whoever asked for it goes on."""

from __future__ import annotations

import threading
import weakref
from concurrent.futures import Future
from queue import Empty, SimpleQueue
from typing import Any, Callable, TypeVar

from trainer.worker import Worker

WAKE_S = 0.25  # the thread looks at its stop flag at least so often

Result = TypeVar("Result")
Calls = SimpleQueue[tuple[Callable[[], Any], "Future[Any]"] | None]


class Aside:
    """``begin`` calls from one thread only, none after ``close``. The thread also ends once nobody has this any more."""

    def __init__(self, name: str) -> None:
        self._calls: Calls = SimpleQueue()
        calls = self._calls  # the thread does not keep this object alive
        self._worker = Worker(name, lambda stop: _run(calls, stop))
        self._end = weakref.finalize(self, calls.put, None)

    def begin(self, call: Callable[[], Result]) -> Callable[[], Result]:
        """Returns what waits for the result; it raises what the call raised."""
        if not self._worker.started:
            self._worker.start()
        answer: Future[Result] = Future()
        self._calls.put((call, answer))
        return answer.result

    def close(self) -> None:
        """Waits a moment for what is under way."""
        self._worker.stop()
        self._end()
        self._worker.wait(WAKE_S)


def _run(calls: Calls, stop: threading.Event) -> None:
    while not stop.is_set():
        try:
            asked = calls.get(timeout=WAKE_S)
        except Empty:
            continue
        if asked is None:
            return
        _answer(*asked)
        del asked  # nor what it was asked


def _answer(call: Callable[[], Any], answer: Future[Any]) -> None:
    try:
        answer.set_result(call())
    except BaseException as error:  # raised where the answer is waited for
        answer.set_exception(error)
