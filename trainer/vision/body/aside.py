"""One call at a time in a thread of its own, while whoever asked for it goes on."""

from __future__ import annotations

import threading
from concurrent.futures import Future
from queue import Empty, SimpleQueue
from typing import Callable, Generic, TypeVar

from trainer.worker import Worker

WAKE_S = 0.25  # the thread looks at its stop flag at least so often

Result = TypeVar("Result")


class Aside(Generic[Result]):
    """``begin`` calls from one thread only. ``close`` waits for what is under way; nothing may be begun after it."""

    def __init__(self, name: str) -> None:
        self._calls: SimpleQueue[tuple[Callable[[], Result], Future[Result]] | None] = SimpleQueue()
        self._worker = Worker(name, self._run)

    def begin(self, call: Callable[[], Result]) -> Callable[[], Result]:
        """Returns what waits for the result; it raises what the call raised."""
        if not self._worker.started:
            self._worker.start()
        answer: Future[Result] = Future()
        self._calls.put((call, answer))
        return answer.result

    def close(self) -> None:
        self._worker.stop()
        self._calls.put(None)
        if self._worker.started:
            self._worker.join(WAKE_S)

    def _run(self, stop: threading.Event) -> None:
        while not stop.is_set():
            try:
                asked = self._calls.get(timeout=WAKE_S)
            except Empty:
                continue
            if asked is None:
                return
            call, answer = asked
            try:
                answer.set_result(call())
            except BaseException as error:  # raised where the answer is waited for
                answer.set_exception(error)
