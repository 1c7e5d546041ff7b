"""Numbered pictures through a browser as the phone, at sizes and rates: how many come, when, and what they cost.

python -m tests.bench.phone_rates [SECONDS] [WxH@RATE...]     # writes tests/bench/phone_rates.md
"""

from __future__ import annotations

import os
import sys
import tempfile
from contextlib import suppress
from pathlib import Path

import numpy as np

from tests.support import burnt
from tests.support.browser import Browser, write_y4m
from tests.support.paths import ROOT
from tests.support.phone_recording import opened_link
from trainer.processors import usable_processors
from trainer.vision.sources.base import MonotonicClock

PAGE = ROOT / "tests" / "bench" / "phone_rates.md"
USUAL = ("640x480@30", "1280x720@30", "640x480@60", "1280x720@60")
AT_FIRST = 60  # frames that are not counted: the page begins, the clocks are laid over each other
HEAD = """# A phone's link at sizes and rates

Made by `python -m tests.bench.phone_rates`, on {cores} processors that browser and trainer share; a phone has its own.
Headless Chromium films numbered pictures; nothing looks at them but for their numbers.

- **came**: of the pictures that the camera gave in that time.
- **jitter**: root mean square of a picture's time from its number's.
- **delay**: from the capture time to when it can be read, half and 95 in 100 of them.
- **processor**: seconds a second, of the browser with its camera, and of the trainer with decoding.

| pictures | load before | came | jitter, ms | delay, ms | processor, browser | trainer |
|---|---|---|---|---|---|---|
"""


def used_s(process: int, children: bool) -> float:
    """Processor time of a process, and of all that it began."""
    ticks, parents = {}, {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):  # it ended meanwhile
            fields = path.read_text().rpartition(") ")[2].split()
            parents[int(path.parent.name)] = int(fields[1])
            ticks[int(path.parent.name)] = int(fields[11]) + int(fields[12])
    counted = {process}
    while children and (more := {each for each, parent in parents.items() if parent in counted} - counted):
        counted |= more
    return sum(ticks.get(each, 0) for each in counted) / os.sysconf("SC_CLK_TCK")


def row(what: str, seconds: float) -> str:
    size, _, rate = what.partition("@")
    (width, height), fps = map(int, size.split("x")), int(rate)
    load, clock, seen, delays_s = os.getloadavg()[0], MonotonicClock(), [], []
    count = 4 * fps
    with tempfile.TemporaryDirectory() as name:
        clip = write_y4m(Path(name) / "camera.y4m", (burnt.picture(n, width, height) for n in range(count)), fps)
        with opened_link(Path(name), (width, height), fps) as camera, Browser(clip) as browser:
            assert camera.link is not None
            browser.open(camera.link.address)
            own, theirs, begun_s = os.getpid(), browser.pid, 0.0
            for number, frame in enumerate(camera):
                if number == AT_FIRST:
                    begun_s, before = clock.now(), (used_s(own, False), used_s(theirs, True))
                if number >= AT_FIRST:
                    delays_s.append(clock.now() - frame.time_s)
                    seen.append((frame.time_s, burnt.number_of(frame.image)))
                    if clock.now() - begun_s > seconds:
                        break
            took_s = clock.now() - begun_s
            trainer, browsers = used_s(own, False) - before[0], used_s(theirs, True) - before[1]
    times_s, numbers = np.array(seen).T
    shown = np.cumsum(np.concatenate([[0], np.diff(numbers) % count]))
    off_s = times_s - shown / fps
    jitter_ms = 1000 * float(np.sqrt(np.mean((off_s - np.median(off_s)) ** 2)))
    half, most = np.percentile(1000 * np.array(delays_s), (50, 95))
    costs = f"{browsers / took_s:.2f} | {trainer / took_s:.2f}"
    came = f"{len(seen)} of {int(shown[-1]) + 1}"
    return f"| {size}, {fps}/s | {load:.1f} | {came} | {jitter_ms:.1f} | {half:.0f}, {most:.0f} | {costs} |\n"


def main(arguments: list[str]) -> int:
    seconds = float(arguments[0]) if arguments else 20.0
    rows = [row(what, seconds) for what in arguments[1:] or USUAL]
    print("".join(rows), end="")
    PAGE.write_text(HEAD.format(cores=usable_processors()) + "".join(rows), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
