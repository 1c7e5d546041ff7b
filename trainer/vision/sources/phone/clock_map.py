"""The phone's clock laid over ours, by round trips: offset and drift. Pure: times in, times out."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

KEPT_S = 90.0  # of round trips
LEAST_TRIPS = 5  # before a time is told
LINE_FROM_S = 20.0  # a drift can be told from so long a stretch; before it, clocks run alike
MOST_DRIFT = 200e-6  # quartz clocks keep 50e-6 each; from memory
SLEW = 1e-3  # how fast the map may move: 1 ms a second bends no stroke's times
FAR_S, FAR_SLEW = 0.005, 1e-2  # so far off, as when the first answers queued behind pictures, it may move faster
STEP_S = 0.1  # farther off than this it jumps: the phone's clock stood still, as in sleep
SLOWER_S = 0.002  # a trip longer than the quickest by this counts a half


@dataclass(frozen=True, slots=True)
class Trip:
    """One round trip: the phone's clock, what is to be added to it, how long the trip took (s)."""

    phone_s: float
    offset_s: float
    took_s: float


class ClockMap:
    """``add`` round trips; ``ours`` gives our time of a moment of the phone's.

    The answer queues behind pictures now and then, never before them: only quick trips tell. What is told moves slowly toward
    what is found, so that times of one stroke keep their distances.
    """

    def __init__(self) -> None:
        self._trips: deque[Trip] = deque()
        self._told_s: float | None = None  # offset in use
        self._told_at_s = 0.0  # phone's clock then
        self._aim: tuple[float, float, float] = (0.0, 0.0, 0.0)  # phone_s, offset there, drift

    @property
    def ready(self) -> bool:
        return len(self._trips) >= LEAST_TRIPS

    def add(self, sent_s: float, phone_s: float, got_s: float) -> None:
        """A ping sent and answered at these times of our clock, answered at that of the phone's."""
        if self._trips and phone_s < self._trips[-1].phone_s:
            return
        self._trips.append(Trip(phone_s, (sent_s + got_s) / 2 - phone_s, got_s - sent_s))
        while phone_s - self._trips[0].phone_s > KEPT_S:
            self._trips.popleft()
        if (
            abs(self._trips[-1].offset_s - self._trips[0].offset_s)
            > STEP_S + self._trips[-1].took_s + self._trips[0].took_s
        ):
            self._trips = deque([self._trips[-1]] * LEAST_TRIPS)
        self._aim = self._found()

    def ours(self, phone_s: float) -> float | None:
        """Our clock's time (s); None until there were enough trips."""
        if not self.ready:
            return None
        at_s, offset_s, drift = self._aim
        wanted = offset_s + drift * (phone_s - at_s)
        if self._told_s is None or abs(wanted - self._told_s) > STEP_S:
            self._told_s = wanted
        else:
            slew = SLEW if abs(wanted - self._told_s) < FAR_S else FAR_SLEW
            most = slew * max(0.0, phone_s - self._told_at_s)
            self._told_s += min(max(wanted - self._told_s, -most), most)
        self._told_at_s = max(self._told_at_s, phone_s)
        return phone_s + self._told_s

    def _found(self) -> tuple[float, float, float]:
        """A line through the quick trips, weighted by how quick they were."""
        quickest = min(trip.took_s for trip in self._trips)
        weights = [1.0 / (1.0 + ((trip.took_s - quickest) / SLOWER_S) ** 2) for trip in self._trips]
        total = sum(weights)
        middle = sum(w * trip.phone_s for w, trip in zip(weights, self._trips)) / total
        offset = sum(w * trip.offset_s for w, trip in zip(weights, self._trips)) / total
        if self._trips[-1].phone_s - self._trips[0].phone_s < LINE_FROM_S:
            return middle, offset, 0.0
        spread = sum(w * (trip.phone_s - middle) ** 2 for w, trip in zip(weights, self._trips))
        slope = sum(w * (trip.phone_s - middle) * trip.offset_s for w, trip in zip(weights, self._trips)) / spread
        return middle, offset, min(max(slope, -MOST_DRIFT), MOST_DRIFT)
