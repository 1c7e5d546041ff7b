"""Clips through a real browser as a phone's camera, with a number burnt into every frame, and what practice makes of them."""

from __future__ import annotations

from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from datetime import datetime, timezone
from pathlib import Path
from typing import Any, Iterator, Sequence

import cv2
import numpy as np

from tests.support import burnt
from tests.support.browser import Browser, write_y4m
from trainer.app.devices import Devices
from trainer.app.practice.practice import Machine
from trainer.coaching.verdict import unjudged
from trainer.commands.practice import PracticeOptions, practised
from trainer.domain.observation import Frame
from trainer.testing.fakes import FakeReporter, FakeTonePlayer, ListSource
from trainer.ui.drawing.window import NoWindow
from trainer.vision.sources.base import Clock, MonotonicClock, Source, Waiting
from trainer.vision.sources.phone.source import PhoneCamera, PhoneOptions

LEAD = 45  # the first frame again and again, while the page gets its camera
STRIP = (burnt.BLOCK + 2 * burnt.EDGE, burnt.BITS * burnt.BLOCK + 2 * burnt.EDGE)


def numbered(images: Sequence[Any]) -> list[Any]:
    """The clip after its first frame LEAD times, with each frame's number in a corner."""
    rows, columns = STRIP
    found = []
    for number, image in enumerate([images[0]] * LEAD + list(images)):
        image = image.copy()
        image[:rows, :columns] = burnt.picture(number)[:rows, :columns]
        found.append(image)
    return found


def read_clip(path: Path) -> tuple[list[Any], int]:
    """Every frame, and the rate."""
    capture = cv2.VideoCapture(str(path))
    fps, images = round(capture.get(cv2.CAP_PROP_FPS)), []
    while True:
        ok, image = capture.read()
        if not ok:
            capture.release()
            return images, fps
        images.append(image)


@dataclass(frozen=True)
class Recording:
    """What came over the link. numbers: burnt into the frames; begins_s: the time of number 0, by all of them; off_s: of each
    frame's time from its number's; delays_s: from the capture time to when it could be read."""

    frames: list[Frame]
    numbers: list[int]
    begins_s: float
    off_s: Any
    delays_s: list[float]

    def keep(self, path: Path) -> None:
        images = np.stack([frame.image for frame in self.frames])
        times_s = np.array([frame.time_s for frame in self.frames])
        values = {"begins_s": self.begins_s, "off_s": self.off_s, "delays_s": self.delays_s}
        np.savez(path, images=images, times_s=times_s, numbers=self.numbers, **values)

    @classmethod
    def kept(cls, path: Path) -> Recording:
        with np.load(path) as file:
            numbers, times, delays = (file[name].tolist() for name in ("numbers", "times_s", "delays_s"))
            frames = [Frame(n - numbers[0], t, image) for n, t, image in zip(numbers, times, file["images"])]
            return cls(frames, numbers, float(file["begins_s"]), file["off_s"], delays)

    @property
    def jitter_s(self) -> float:
        return float(np.sqrt(np.mean(self.off_s**2)))


@contextmanager
def opened_link(folder: Path, size: tuple[int, int], fps: int, clock: Clock | None = None) -> Iterator[PhoneCamera]:
    now = datetime.now(timezone.utc)
    options = PhoneOptions(folder, now, size[0], size[1], float(fps), address="127.0.0.1", port=0)
    with PhoneCamera(options, clock or MonotonicClock()) as camera:
        yield camera


def recorded(folder: Path, images: Sequence[Any], fps: int) -> Recording:
    """``images`` as ``numbered`` gives them, filmed by the browser until the last."""
    clock = MonotonicClock()
    clip = write_y4m(folder / "camera.y4m", images, fps)
    height, width = images[0].shape[:2]
    frames: list[Frame] = []
    numbers: list[int] = []
    delays_s = []
    with opened_link(folder, (width, height), fps) as camera, Browser(clip) as browser:
        assert camera.link is not None
        browser.open(camera.link.address)
        for frame in camera:
            number = burnt.number_of(frame.image)
            if numbers and number < numbers[-1]:  # it began anew
                if numbers[0] < LEAD:
                    break
                frames, numbers, delays_s = [], [], []  # begun too late
            delays_s.append(clock.now() - frame.time_s)
            frames.append(frame)
            numbers.append(number)
    times_s = np.array([frame.time_s for frame in frames])
    off_s = times_s - np.array(numbers) / fps
    begins_s = float(np.median(off_s))
    return Recording(frames, numbers, begins_s, off_s - begins_s, delays_s)


class OneRound(PhoneCamera):
    """The clip, as ``numbered`` gives it, filmed by a browser while it is practised on: from its lead to its last frame."""

    def __init__(self, folder: Path, browser: Browser, fps: int) -> None:
        options = PhoneOptions(folder, datetime.now(timezone.utc), rate=float(fps), address="127.0.0.1", port=0)
        super().__init__(options, MonotonicClock())
        self._browser, self._opened = browser, False
        self.numbers: list[int] = []

    def waiting(self) -> Waiting | None:
        if self.link is not None and not self._opened:
            self._opened = True
            self._browser.open(self.link.address)
        return super().waiting()

    def read(self) -> Frame | None:
        while (frame := super().read()) is not None:
            number = burnt.number_of(frame.image)
            if self.numbers and number < self.numbers[-1]:
                return None
            if self.numbers or number < LEAD:  # begun too late it waits for the next round
                self.numbers.append(number)
                return frame
        return None


@dataclass(frozen=True)
class Seen:
    """A stroke as practice tells it. events_s: from the time of frame number 0; unsure: faults neither found nor ruled out."""

    kind: str
    faults: tuple[str, ...]
    events_s: dict[str, float]
    unsure: tuple[str, ...] = ()


def seen_in(folder: Path, source: Source, begins_s: float, view: str, handedness: str) -> list[Seen]:
    """What practice tells of these frames."""

    devices = nullcontext(Devices(NoWindow(), FakeTonePlayer(lambda: 0.0), FakeReporter()))
    machine = Machine(
        lambda settings, sounds, window: devices, lambda settings, clip=None, paced=True, folder=None: source
    )
    options = PracticeOptions(window=False, view=view, handedness=handedness)
    outcome = practised(folder, options, machine)
    assert outcome.failure is None
    found = []
    for stroke in outcome.summary.strokes:
        events = {name: time_s - begins_s for name, time_s in stroke.record.events}
        faults = tuple(sorted(f.name for f in stroke.verdict.faults))
        found.append(Seen(stroke.record.kind, faults, events, unjudged(stroke.verdict)))
    return found


def from_file(images: Sequence[Any], fps: int, numbers: Sequence[int]) -> Source:
    """The same pictures with the times that a file gives them, from the first number to the last."""
    kept = range(numbers[0], numbers[-1] + 1)
    return ListSource([Frame(k, number / fps, images[number]) for k, number in enumerate(kept)])


def farthest_s(one: Seen, other: Seen, only: Sequence[str] = ()) -> float:
    """Between the same events of two tellings of a stroke, all unless named; NaN where one lacks an event."""
    if one.events_s.keys() != other.events_s.keys():
        return float("nan")
    return max(abs(one.events_s[name] - other.events_s[name]) for name in only or one.events_s)
