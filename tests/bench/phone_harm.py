"""The phone's link cut again and again, and sent what no page of ours sends: what is lost, and how soon pictures come again.

python -m tests.bench.phone_harm [CUTS] [MALFORMED]     # 50 and 500 unless told otherwise; prints
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

from tests.support import burnt
from tests.support.browser import Browser, write_y4m
from tests.support.phone_client import PhoneClient, jpeg_of, malformed
from tests.support.phone_recording import opened_link
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.phone.source import PhoneCamera

AFTER_EACH = 10  # pictures before it is cut again


def cut(folder: Path, times: int) -> str:
    """By the page's side, while a browser films."""
    clip, clock = write_y4m(folder / "camera.y4m", (burnt.picture(n) for n in range(150)), 30), MonotonicClock()
    back_s: list[float] = []
    with opened_link(folder, (640, 480), 30) as camera, Browser(clip) as browser:
        assert camera.link is not None
        browser.open(camera.link.address)
        cut_s, since = 0.0, 0
        for frame in camera:
            if cut_s and frame.time_s > cut_s + 0.3:  # what was on its way is not what came back
                back_s.append(clock.now() - cut_s)
                cut_s, since = 0.0, 0
            since += 1
            if not cut_s and since >= AFTER_EACH:
                if len(back_s) == times:
                    break
                browser.run("link.close()")
                cut_s = clock.now()
        told = _told(camera)
    half, most = np.percentile(back_s, (50, 100))
    return f"{len(back_s)} cuts: pictures again after {half:.1f} s (half of them), {most:.1f} s at most; told: {told}"


def sent_nonsense(folder: Path, count: int) -> str:
    """Each ends its link; afterwards a page links and films."""
    clock = MonotonicClock()
    with opened_link(folder, (640, 480), 30) as camera:
        assert camera.link is not None
        address = camera.link.address
        for seed in range(count):
            with PhoneClient(address, clock.now) as phone:
                phone.send_raw(malformed(seed))
                phone.wait_until_closed()
        came, number = 0, 0
        with PhoneClient(address, clock.now) as phone:
            data = jpeg_of(1)
            while came < AFTER_EACH:
                number += 1
                phone.show(number, clock.now(), data)
                clock.sleep(1 / 30)
                came += camera.ready(0.0) and camera.read() is not None
        return f"{count} malformed messages: each ended its link, then {came} pictures came; told: {_told(camera)}"


def _told(camera: PhoneCamera) -> str:
    return "; ".join(camera.notices()) or "nothing"


def main(arguments: list[str]) -> int:
    cuts, messages = (*map(int, arguments), *(50, 500)[len(arguments) :])
    with tempfile.TemporaryDirectory() as name:
        print(cut(Path(name), cuts), flush=True)
        print(sent_nonsense(Path(name), messages), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
