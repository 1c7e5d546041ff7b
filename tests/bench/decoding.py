"""What reading a clip costs, and frames judged in a second, by PyAV as `analyse` reads and by OpenCV's capture, in turns.

python -m tests.bench.decoding FOLDER [--rounds 3]     # large clips are made in FOLDER once; writes tests/bench/decoding.md
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from itertools import count
from pathlib import Path
from typing import Any, Callable, Iterator

from tests.support.paths import CLIPS, ROOT
from trainer.app import build
from trainer.app.analyse import watch
from trainer.domain.observation import Frame
from trainer.processors import usable_processors
from trainer.settings.load import load
from trainer.vision.sources.base import Source
from trainer.vision.sources.clip import Clip
from trainer.vision.sources.video_file import reduced

PAGE = ROOT / "tests" / "bench" / "decoding.md"
LARGE = (1920, 1080)
HEVC = {"preset": "ultrafast", "x265-params": "log-level=none"}
HEAD = """# Reading clips by PyAV and by OpenCV

Made by `python -m tests.bench.decoding FOLDER` on {cores} processors; both ways in turns within one run, {rounds} rounds, the
middle one told. OpenCV's pictures of over 1280 px are reduced by its `resize` to the size that `analyse` looks at, as PyAV's are.

- **reading**: processor time for a picture as the trackers get it, ms.
- **judged**: frames a second of the whole of `analyse`, by the clock; **PyAV/OpenCV**: the middle of the rounds' own ratios.

| clip | load before | reading, PyAV | OpenCV | judged, PyAV | OpenCV | PyAV/OpenCV |
|---|---|---|---|---|---|---|
"""


class Captured(Source):
    """A clip by OpenCV's capture, its times counted from the rate."""

    def __init__(self, path: Path) -> None:
        import cv2

        self.name = path.name
        self._capture = cv2.VideoCapture(str(path), cv2.CAP_FFMPEG)
        assert self._capture.isOpened(), path
        self.nominal_fps = float(self._capture.get(cv2.CAP_PROP_FPS))
        self._numbers = count()

    def read(self) -> Frame | None:
        import cv2

        there, image = self._capture.read()
        if not there:
            return None
        size = reduced(image.shape[1], image.shape[0])
        if size != (image.shape[1], image.shape[0]):
            image = cv2.resize(image, size, interpolation=cv2.INTER_AREA)
        number = next(self._numbers)
        return Frame(number, number / (self.nominal_fps or 30.0), image)

    def close(self) -> bool:
        self._capture.release()
        return True


WAYS: dict[str, Callable[[Path], Source]] = {"PyAV": Clip, "OpenCV": Captured}


def enlarged(clip: Path, path: Path, codec: str, options: dict[str, str]) -> Path:
    """The same clip as a phone's size."""
    import av

    if path.exists():
        return path
    part = path.with_name("part.mp4")  # of a run that was stopped there is no clip
    with av.open(str(clip)) as small, av.open(str(part), "w") as out:
        stream = out.add_stream(codec, rate=small.streams.video[0].average_rate)
        stream.width, stream.height = LARGE
        stream.pix_fmt, stream.options = "yuv420p", options
        for frame in small.decode(video=0):
            out.mux(stream.encode(frame.reformat(*LARGE, format="yuv420p", interpolation="BICUBIC")))
        out.mux(stream.encode(None))
    return part.rename(path)


def read_ms(source: Source) -> float:
    """Processor time a picture, of all threads."""
    begun, frames = time.process_time(), 0
    with source:
        frames = sum(1 for _ in source)
    return 1000 * (time.process_time() - begun) / frames


def judged_fps(source: Source) -> float:
    settings = load([])
    observer = build.observer(settings)
    try:
        with source:
            begun = time.perf_counter()
            watched = watch(source, build.pipeline(settings, build.guarded(observer)))
            took_s = time.perf_counter() - begun
    finally:
        observer.close()
    assert watched.strokes, source.name
    return watched.seen.frames / took_s


def rounds_of(path: Path, rounds: int) -> Iterator[dict[str, tuple[float, float]]]:
    for number in range(rounds):
        order = list(WAYS.items()) if number % 2 == 0 else list(WAYS.items())[::-1]
        yield {name: (read_ms(opens(path)), judged_fps(opens(path))) for name, opens in order}


def row(name: str, path: Path, rounds: int) -> str:
    load_before = os.getloadavg()[0]
    found = list(rounds_of(path, rounds))

    def middle(value: Callable[[dict[str, Any]], float]) -> float:
        return statistics.median(map(value, found))

    cells = [f"{middle(lambda r, way=way: r[way][0]):.2f}" for way in WAYS]
    cells += [f"{middle(lambda r, way=way: r[way][1]):.1f}" for way in WAYS]
    ratio = middle(lambda r: r["PyAV"][1] / r["OpenCV"][1])
    return f"| {name} | {load_before:.1f} | " + " | ".join(cells) + f" | {ratio:.2f} |"


def main(folder: Path, rounds: int) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    clip = CLIPS / "tap_in.mp4"
    clips = {
        "tap_in, H.264, 640x480": clip,
        "as H.264, 1920x1080": enlarged(clip, folder / "h264.mp4", "libx264", {"preset": "fast"}),
        "as HEVC, 1920x1080": enlarged(clip, folder / "hevc.mp4", "libx265", HEVC),
    }
    rows = []
    for name, path in clips.items():
        rows.append(row(name, path, rounds))
        print(rows[-1], flush=True)
    PAGE.write_text(HEAD.format(cores=usable_processors(), rounds=rounds) + "\n".join(rows) + "\n", encoding="utf-8")


if __name__ == "__main__":
    if len(sys.argv) < 2:
        raise SystemExit(__doc__)
    main(Path(sys.argv[1]), int(sys.argv[sys.argv.index("--rounds") + 1]) if "--rounds" in sys.argv else 3)
