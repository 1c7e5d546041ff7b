"""How soon a picture is there when one scrubs through a clip that was just opened: the nearest one, and the very one.

python -m tests.bench.scrub FOLDER [KIND...]     # clips are made in FOLDER once; renews their rows in tests/bench/scrub.md
"""

from __future__ import annotations

import os
import sys
import time
from itertools import count
from pathlib import Path
from typing import Any, Callable, Iterator, Sequence

import numpy as np

from tests.support.burnt import number_of, picture
from tests.support.paths import ROOT
from tests.support.phone_clips import OPEN_GOP, at_rate
from trainer.mp4 import Mp4Writer
from trainer.processors import usable_processors
from trainer.replay.clip_frames import ClipFrames
from trainer.vision.sources.video_file import VideoFile

PAGE = ROOT / "tests" / "bench" / "scrub.md"
SCRUBS = 60
HAND_S = 0.03  # between two places of a hand that drags
RARE = {"preset": "ultrafast", "g": "250", "bf": "3"}  # one key frame in 250, as programs that edit write them
PHONE = {"preset": "ultrafast", "x265-params": "log-level=none:keyint=30"}
HEAD = """# Scrubbing in a clip that was just opened

Made by `python -m tests.bench.scrub FOLDER`: {scrubs} places at random over the whole clip, from the moment it is open, before
its frames have been decoded ahead. Milliseconds by the clock, on {cores} processors; half of the times, 95 in 100, the longest.

- **a picture**: until the nearest one that can be had is there to be drawn; **far**: how far it is from the wanted one, in s.
- **the very one**: until that frame itself is there, waited for before the next place is asked for.
- **dragged**: until a picture is there while the hand goes on every {hand:.0f} ms, whatever has come by then.

| clip | load before | a picture | far, half, 95 in 100 | the very one | dragged |
|---|---|---|---|---|---|
"""


def own(path: Path, fps: float, frames: int, size: tuple[int, int]) -> None:
    writer = Mp4Writer(path, size, fps)
    for number, time_s in enumerate(at_rate(fps, frames)):
        writer.add(picture(number, *size), time_s)
    writer.close(frames / fps)


def foreign(
    path: Path, fps: float, frames: int, size: tuple[int, int], options: dict[str, str], codec: str = "libx264"
) -> None:
    """As ``coded`` does, without keeping all pictures at once."""
    from fractions import Fraction

    import av

    with av.open(str(path), "w") as out:
        stream = out.add_stream(codec, rate=Fraction(fps).limit_denominator(1000))
        stream.width, stream.height = size
        stream.pix_fmt, stream.options = "yuv420p", options
        for number in range(frames):
            out.mux(stream.encode(av.VideoFrame.from_ndarray(picture(number, *size), format="bgr24")))
        out.mux(stream.encode(None))


KINDS: dict[str, Callable[[Path], None]] = {
    "ours, 1280x720, 30/s, 60 s": lambda path: own(path, 30, 1800, (1280, 720)),
    "ours, 1280x720, 60/s, 60 s": lambda path: own(path, 60, 3600, (1280, 720)),
    "H.264, 1920x1080, 30/s, 20 s, a key frame in 250": lambda path: foreign(path, 30, 600, (1920, 1080), RARE),
    "H.264, 1280x720, 240/s, 4 s, a key frame in 250": lambda path: foreign(path, 240, 960, (1280, 720), RARE),
    "H.264, 1920x1080, 30/s, 10 s, open groups of 15": lambda path: foreign(path, 30, 300, (1920, 1080), OPEN_GOP),
    "HEVC, 3840x2160, 30/s, 3 s, a key frame in 30": lambda path: foreign(path, 30, 90, (3840, 2160), PHONE, "libx265"),
}


def told(path: Path) -> tuple[Any, tuple[int, int]]:
    """(the frames' times, the size of its pictures)."""
    file = VideoFile(path)
    try:
        return np.array(file.times_said()), file.own_size
    finally:
        file.close()


def number_in(image: Any, size: tuple[int, int]) -> int:
    """size: in which the number was written."""
    import cv2

    return number_of(image if image.shape[1] == size[0] else cv2.resize(image, size))


def waited(frames: ClipFrames, index: int, times: Any, size: tuple[int, int]) -> tuple[float, float, float]:
    """(s until a picture, how far from the wanted one it is in s, s until the very one)."""
    begun = time.perf_counter()
    still = frames.soon(index)
    first_s = time.perf_counter() - begun
    assert number_in(still.image, size) == still.index
    far_s = abs(float(times[still.index] - times[index]))
    while still.index != index:
        still = frames.soon(index)
    exact_s = time.perf_counter() - begun
    assert number_in(still.image, size) == index
    return first_s, far_s, exact_s


def dragged(frames: ClipFrames, path: Sequence[int], size: tuple[int, int]) -> Iterator[float]:
    for index in path:
        begun = time.perf_counter()
        still = frames.soon(index)
        took_s = time.perf_counter() - begun
        assert number_in(still.image, size) == still.index
        yield took_s
        time.sleep(max(0.0, HAND_S - took_s))


def ms(values: Sequence[float]) -> str:
    return ", ".join(f"{1000 * float(value):.0f}" for value in (*np.percentile(values, (50, 95)), max(values)))


def row(kind: str, path: Path) -> str:
    load, (times, size) = os.getloadavg()[0], told(path)
    rng = np.random.default_rng(2)
    with_wait, drags = [], []
    frames = ClipFrames(path, times).start()
    try:
        with_wait = [waited(frames, int(index), times, size) for index in rng.integers(0, len(times), SCRUBS)]
    finally:
        frames.close()
    frames = ClipFrames(path, times).start()
    try:  # back and forth, as a hand does, over the clip's whole length
        sweep = (np.sin(np.arange(SCRUBS) / 11.0) * 0.5 + 0.5) * (len(times) - 1)
        drags = list(dragged(frames, [int(place) for place in sweep], size))
    finally:
        frames.close()
    first, far, exact = zip(*with_wait, strict=True)
    half, most = np.percentile(far, (50, 95))
    return f"| {kind} | {load:.1f} | {ms(first)} | {half:.2f}, {most:.2f} | {ms(exact)} | {ms(drags)} |"


def main(folder: Path, wanted: Sequence[str]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    kept = PAGE.read_text(encoding="utf-8").splitlines() if PAGE.exists() else []
    rows = {kind: line for kind in KINDS for line in kept if line.startswith(f"| {kind} |")}
    for number, (kind, make) in zip(count(), KINDS.items()):
        if wanted and not any(word in kind for word in wanted):
            continue
        path = folder / f"{number}.mp4"
        if not path.exists():
            part = path.with_name("part.mp4")  # of a run that was stopped there is no clip
            make(part)
            part.rename(path)
        rows[kind] = row(kind, path)
        print(rows[kind], flush=True)
        head = HEAD.format(scrubs=SCRUBS, cores=usable_processors(), hand=1000 * HAND_S)
        PAGE.write_text(head + "".join(f"{rows[each]}\n" for each in KINDS if each in rows), encoding="utf-8")


if __name__ == "__main__":
    if len(sys.argv) < 2:
        raise SystemExit(__doc__)
    main(Path(sys.argv[1]), sys.argv[2:])
