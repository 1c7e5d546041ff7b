"""Clips filmed by a browser as a phone's camera, over the trainer's own link, against the same pictures as a file gives them.

    python -m tests.bench.phone film FOLDER [CLIP...]     # 2 GB for the ten of the shared clips that are taken unless named
    python -m tests.bench.phone judge FOLDER              # writes tests/bench/phone.md

Each clip is the camera of a headless Chromium, which films it over TLS on loopback in its own time; what comes is kept, then
practised on. Pictures are kept first and judged afterwards, for browser and pose model share the machine's processors.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from pathlib import Path
from typing import Sequence

import numpy as np

from tests.support.paths import ROOT, shared_folder
from tests.support.phone_recording import (
    LEAD,
    Recording,
    Seen,
    farthest_s,
    from_file,
    numbered,
    read_clip,
    recorded,
    seen_in,
)
from trainer.processors import usable_processors
from trainer.testing.fakes import ListSource

PAGE = ROOT / "tests" / "bench" / "phone.md"
TOLD_ASLANT = ("impact_s",)  # down the line; no recording tells the others within 0.1 s: trainer/stroke/STUDY.md
HEAD = """# A phone's link, measured

Made by `python -m tests.bench.phone`, on {cores} processors; `load` is what else wanted them while it was filmed. Each clip is
the camera of a headless Chromium; its page sends JPEGs over TLS on loopback. A number is burnt into every frame, so that each
frame's time can be held against when the clip shows it. No phone, no radio and no other browser was in it.

- **frames**: of the clip that came; the page leaves pictures out where it cannot keep up, and says so.
- **jitter**: root mean square of a frame's time from its number's.
- **delay**: from the capture time to when the frame can be read, half and 95 in 100 of them; on loopback, so without a radio.
- **same**: strokes, their kinds and faults are those of the file, from the first picture that came to the last.
- **events**: the farthest that any event lies from the file's; down the line impact, the one of which measures are made there.

| clip | load | frames | jitter, ms | delay, ms | same | events, ms |
|---|---|---|---|---|---|---|
"""


def film(path: Path, into: Path) -> None:
    images, fps = read_clip(path)
    with tempfile.TemporaryDirectory() as name:
        recorded(Path(name), numbered(images), fps).keep(into / f"{path.stem}.npz")
    (into / f"{path.stem}.json").write_text(json.dumps({"clip": str(path), "load": os.getloadavg()[0]}))


def row(recording: Path) -> str:
    about = json.loads(recording.with_suffix(".json").read_text())
    path = Path(about["clip"])
    images, fps = read_clip(path)
    truth = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    found, who = Recording.kept(recording), (truth["view"], truth["handedness"])
    with tempfile.TemporaryDirectory() as name:
        linked = seen_in(Path(name), ListSource(found.frames), found.begins_s, *who)
        filed = seen_in(Path(name), from_file(numbered(images), fps, found.numbers), 0.0, *who)
    same = [(s.kind, s.faults) for s in linked] == [(s.kind, s.faults) for s in filed]
    came = sum(number >= LEAD for number in found.numbers)
    half, most = np.percentile(1000 * np.array(found.delays_s), (50, 95))
    jitter_ms = 1000 * found.jitter_s
    words = (
        f"{path.stem}, {fps} | {about['load']:.0f} | {came} of {len(images)} | {jitter_ms:.1f} | {half:.0f}, {most:.0f}"
    )
    events = farthest(linked, filed)
    if truth["view"] != "face-on":
        events = f"{farthest(linked, filed, TOLD_ASLANT)} (all: {events})"
    return f"| {words} | {'yes' if same else told(linked, filed)} | {events} |\n"


def told(linked: list[Seen], filed: list[Seen]) -> str:
    """What differs."""
    return " / ".join(
        ", ".join(f"{s.kind}: {'+'.join(s.faults) or 'none'}" for s in one) or "no stroke" for one in (linked, filed)
    )


def farthest(linked: list[Seen], filed: list[Seen], only: Sequence[str] = ()) -> str:
    if len(linked) != len(filed) or not linked:
        return "-"
    worst_s = max(farthest_s(a, b, only) for a, b in zip(linked, filed))
    return "another one" if np.isnan(worst_s) else f"{1000 * worst_s:.0f}"


def main(arguments: list[str]) -> int:
    what, folder = arguments[0], Path(arguments[1])
    if what == "film":
        folder.mkdir(parents=True, exist_ok=True)
        shared = sorted((shared_folder() / "clips").glob("T*.mp4"))
        for clip in map(Path, arguments[2:]) if arguments[2:] else [p for p in shared if "poor_posture" not in p.name]:
            film(clip, folder)
        return 0
    rows = []
    for recording in sorted(folder.glob("*.npz")):
        rows.append(row(recording))
        print(rows[-1], end="", flush=True)
        PAGE.write_text(HEAD.format(cores=usable_processors()) + "".join(rows), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
