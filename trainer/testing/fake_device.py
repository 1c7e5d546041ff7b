"""A camera as a device that is lost in every way and comes back, on a clock, one call at a time: nothing is left to chance."""

from __future__ import annotations

import threading
from typing import Any, Callable, Literal

from trainer.testing.fakes import FakeClock

# unplugged: reads fail, it cannot be opened; after that only an opening anew helps. frozen: one picture for ever. silent: reads
# fail and it can be opened. broken: reads raise.
Loss = Literal["unplugged", "frozen", "silent", "broken"]
LONGEST_WAIT_S = 20.0  # of real time: a test that hangs is to end


class FakeDevice:
    """``opener`` is the camera's. ``begin`` once it was started, then ``step``: the camera's thread makes one call, open or read,
    and all that it does with it; the calls take ``step_s`` and ``open_s`` of the clock. ``free`` before the camera is closed.

    picture: each new picture, None: this read fails. loss: what is wrong now, None: nothing.
    """

    def __init__(self, clock: FakeClock, picture: Callable[[], Any], step_s: float = 0.1, open_s: float = 0.5) -> None:
        self.clock, self._picture = clock, picture
        self.step_s, self.open_s = step_s, open_s
        self.loss: Loss | None = None
        self.plugged_in = 0  # grows with every unplugging: an older capture is dead
        self.opened = self.released = 0
        self.given: list[float] = []  # when each new picture was given, s of the clock
        self._last: Any = None
        self._arrived, self._go = threading.Semaphore(0), threading.Semaphore(0)
        self._free = False

    def begin(self) -> None:
        self._await()

    def step(self) -> None:
        self._go.release()
        self._await()

    def free(self) -> None:
        """The thread goes on by itself."""
        self._free = True
        self._go.release()

    def lose(self, loss: Loss) -> None:
        self.loss = loss
        self.plugged_in += loss == "unplugged"

    def come_back(self) -> None:
        self.loss = None

    def opener(self, address: object) -> _Capture:
        self.turn()
        self.clock.advance(self.open_s)
        self.opened += 1
        return _Capture(self)

    def turn(self) -> None:
        """The thread waits here for its next call to be made."""
        if not self._free:
            self._arrived.release()
            self._go.acquire(timeout=LONGEST_WAIT_S)

    def read(self, plugged_in: int) -> tuple[bool, Any]:
        self.clock.advance(self.step_s)
        if plugged_in != self.plugged_in or self.loss in ("unplugged", "silent"):
            return False, None
        if self.loss == "broken":
            raise RuntimeError("the driver broke")
        if self.loss is None or self._last is None:
            self._last = self._picture()
            self.given.append(self.clock.now())
        return self._last is not None, self._last

    def _await(self) -> None:
        if not self._arrived.acquire(timeout=LONGEST_WAIT_S):
            raise AssertionError("the camera's thread makes no call")


class _Capture:
    """What OpenCV's capture does."""

    def __init__(self, device: FakeDevice) -> None:
        self._device, self._plugged_in = device, device.plugged_in
        self._opens = device.loss != "unplugged"

    def isOpened(self) -> bool:
        return self._opens

    def get(self, what: int) -> float:
        return 0.0

    def set(self, what: int, value: float) -> bool:
        return True

    def read(self) -> tuple[bool, Any]:
        self._device.turn()
        return self._device.read(self._plugged_in)

    def release(self) -> None:
        self._device.released += 1
