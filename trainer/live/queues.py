"""Two ways of handing things from thread to thread: the newest only, or every one in order."""

from __future__ import annotations

import threading
from collections import deque
from typing import Generic, TypeVar

T = TypeVar("T")


class LatestValue(Generic[T]):
    """One slot: a new thing takes the place of one not yet fetched. The giver never waits."""

    def __init__(self) -> None:
        self._news = threading.Condition()
        self._thing: T | None = None

    def put(self, thing: T) -> None:
        with self._news:
            self._thing = thing
            self._news.notify()

    def take(self, patience_s: float) -> T | None:
        """The newest thing, waiting up to ``patience_s`` for one; None when none came."""
        with self._news:
            if self._thing is None:
                self._news.wait(patience_s)
            thing, self._thing = self._thing, None
            return thing

    def wake(self) -> None:
        """Wakes whoever waits."""
        with self._news:
            self._news.notify_all()


class BoundedQueue(Generic[T]):
    """A short queue, in order and without loss: the giver waits while it is full. Either side may end it."""

    def __init__(self, length: int) -> None:
        self._length = length
        self._change = threading.Condition()
        self._things: deque[T] = deque()
        self._ended = False

    def put(self, thing: T) -> bool:
        """False: nobody takes any more."""
        with self._change:
            while len(self._things) >= self._length and not self._ended:
                self._change.wait()
            if self._ended:
                return False
            self._things.append(thing)
            self._change.notify_all()
            return True

    def emptied(self) -> None:
        """Returns once all is taken, or the belt has ended."""
        with self._change:
            while self._things and not self._ended:
                self._change.wait()

    def take(self) -> T | None:
        """The next thing; None when the belt has ended and is empty."""
        with self._change:
            while not self._things and not self._ended:
                self._change.wait()
            if not self._things:
                return None
            thing = self._things.popleft()
            self._change.notify_all()
            return thing

    def end(self, drop: bool = False) -> None:
        """No more things come; those on it may still be taken, unless they are to be dropped."""
        with self._change:
            self._ended = True
            if drop:
                self._things.clear()
            self._change.notify_all()
