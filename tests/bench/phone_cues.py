"""From the trainer's call to a cue's first sample on the page of a phone that films meanwhile, as its browser tells it.

python -m tests.bench.phone_cues [CUES]     # writes tests/bench/phone_cues.md
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from datetime import datetime, timezone
from pathlib import Path
from typing import Sequence

import numpy as np

from tests.support import burnt
from tests.support.browser import Browser, write_y4m
from tests.support.paths import ROOT
from trainer.app.phone import sounds
from trainer.processors import usable_processors
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.phone.source import PhoneCamera, PhoneOptions

PAGE = ROOT / "tests" / "bench" / "phone_cues.md"
FPS, FRAMES = 30, 120
CUE = "early_look"
APART = 11  # pictures between two cues
HEAD = """# From the call to a cue's first sample on a phone's page

Made by `python -m tests.bench.phone_cues`: headless Chromium over TLS on loopback, which films 640x480 at 30/s meanwhile;
{cores} processors, load {load:.1f} before it; {count} cues. Milliseconds: half of them, 95 in 100, the most. No radio, no
loudspeaker and no phone was in it. The computer's own sound takes 26, 32, 34 from the call to its driver
([sound_delay.md](sound_delay.md), 512 samples).

| what | ms |
|---|---|
"""
# Beside what the page does: when the browser says that what is begun now comes out.
TELLS = """const plays = play, told = [];
play = (name) => {
  const now = performance.now();
  plays(name);
  const out = sounder.getOutputTimestamp();
  const first = out.performanceTime + 1000 * (sounder.currentTime - out.contextTime);
  told.push([first - now, 1000 * sounder.baseLatency, 1000 * sounder.outputLatency]);
}; 0"""


def ms(values_ms: Sequence[float]) -> str:
    return ", ".join(f"{float(value):.0f}" for value in (*np.percentile(values_ms, (50, 95)), max(values_ms)))


def main(count: int) -> None:
    load = os.getloadavg()[0]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        film = write_y4m(folder / "camera.y4m", (burnt.picture(number) for number in range(FRAMES)), FPS)
        now = datetime.now(timezone.utc)
        options = PhoneOptions(folder, now, address="127.0.0.1", port=0, sounds=sounds)
        with PhoneCamera(options, MonotonicClock()) as camera, Browser(film) as browser:
            assert camera.link is not None
            browser.open(camera.link.address)
            begun, played = False, 0
            for number, _ in enumerate(camera):
                if number == FPS:
                    browser.run(TELLS)
                    browser.run("document.getElementById('sound').click()")
                begun = begun or (number > FPS and browser.run("sounds.size") == len(sounds()))
                if begun and number % APART == 0:
                    played += camera.play(CUE)
                if len(camera.cue_delays_s) >= count:
                    break
            told = np.array(json.loads(browser.run("JSON.stringify(told)")))[:count]
    all_ms = [1000 * delay_s for _, delay_s in camera.cue_delays_s][: len(told)]
    way_ms = np.array(all_ms) - told[:, 1] - told[:, 2]
    rows = {
        "from the call to the page's `start` and the word of it back": ms(list(way_ms)),
        "from `start` to the first sample at the output, by the page's clock and its sound's": ms(list(told[:, 0])),
        "the same as the page reckons it for the trainer (`baseLatency` and `outputLatency`)": ms(
            list(told[:, 1] + told[:, 2])
        ),
        "both, as the trainer has it": ms(all_ms),
    }
    print(*rows.items(), sep="\n")
    head = HEAD.format(cores=usable_processors(), load=load, count=len(told))
    PAGE.write_text(head + "".join(f"| {what} | {found} |\n" for what, found in rows.items()), encoding="utf-8")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
