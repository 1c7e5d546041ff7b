"""Two ways of handing things from thread to thread: the latest only, or every one in order. No wait is without a limit."""

from __future__ import annotations

import threading
from collections import deque
from typing import Generic, TypeVar

T = TypeVar("T")


class LatestValue(Generic[T]):
    """One slot: a new value takes the place of one not yet fetched. The giver never waits."""

    def __init__(self) -> None:
        self._change = threading.Condition()
        self._value: T | None = None

    def put(self, value: T) -> None:
        with self._change:
            self._value = value
            self._change.notify()

    def take(self, timeout_s: float) -> T | None:
        """The value that is put next; the one that lies here where none comes in that time; None when there is none."""
        with self._change:
            lying, self._value = self._value, None
            self._change.wait(timeout_s)
            value, self._value = self._value, None
            return lying if value is None else value

    def wake(self) -> None:
        """Wakes whoever waits."""
        with self._change:
            self._change.notify_all()


class BoundedQueue(Generic[T]):
    """A short queue, in order and without loss: the giver waits while it is full. Either side may end it."""

    def __init__(self, length: int) -> None:
        self._length = length
        self._change = threading.Condition()
        self._values: deque[T] = deque()
        self._ended = False

    @property
    def ended(self) -> bool:
        """Nothing more can be put."""
        with self._change:
            return self._ended

    @property
    def drained(self) -> bool:
        """Ended, and all is taken."""
        with self._change:
            return self._ended and not self._values

    def put(self, value: T, timeout_s: float) -> bool:
        """False: it has ended, or was full all that time."""
        with self._change:
            self._change.wait_for(lambda: len(self._values) < self._length or self._ended, timeout_s)
            if self._ended or len(self._values) >= self._length:
                return False
            self._values.append(value)
            self._change.notify_all()
            return True

    def emptied(self, timeout_s: float) -> bool:
        """Returns True once all is taken, or the queue has ended; False when that took too long."""
        with self._change:
            return self._change.wait_for(lambda: not self._values or self._ended, timeout_s)

    def take(self, timeout_s: float) -> T | None:
        """The next value; None: none came in that time, or it is drained."""
        with self._change:
            self._change.wait_for(lambda: bool(self._values) or self._ended, timeout_s)
            if not self._values:
                return None
            value = self._values.popleft()
            self._change.notify_all()
            return value

    def end(self, drop: bool = False) -> None:
        """No more values come; those in it may still be taken, unless they are to be dropped."""
        with self._change:
            self._ended = True
            if drop:
                self._values.clear()
            self._change.notify_all()
