"""Clips as phones and programs write them, each frame's number burnt in: coded, timed, turned and cut in many ways."""

from __future__ import annotations

import struct
from fractions import Fraction
from pathlib import Path
from typing import Any, Sequence

import numpy as np

from tests.support.burnt import _box, picture

TICKS = 90_000
QUIET = {"x265-params": "log-level=none:pools=1"}
OPEN_GOP = {"x264-params": "open-gop=1:keyint=15:min-keyint=15:bframes=3:b-pyramid=0"}
UNTURNED = struct.pack(">9i", 1 << 16, 0, 0, 0, 1 << 16, 0, 0, 0, 1 << 30)
CLOCKWISE = struct.pack(">9i", 0, 1 << 16, 0, -(1 << 16), 0, 0, 0, 0, 1 << 30)  # a phone held upright


def coded(
    path: Path,
    pictures: Sequence[Any],
    times_s: Sequence[float],
    codec: str = "libx264",
    pix_fmt: str = "yuv420p",
    options: dict[str, str] | None = None,
    tags: dict[str, str] | None = None,
) -> Path:
    """The pictures (BGR) at these times. tags: written into the container."""
    import av

    with av.open(str(path), "w", options={"movflags": "use_metadata_tags"} if tags else {}) as out:
        out.metadata.update(tags or {})
        rate = (
            Fraction(len(times_s) - 1, 1) / Fraction(times_s[-1] - times_s[0]).limit_denominator(TICKS)
            if len(times_s) > 1
            else 30
        )
        stream = out.add_stream(codec, rate=Fraction(rate).limit_denominator(1000))
        height, width = pictures[0].shape[:2]
        stream.width, stream.height, stream.pix_fmt = width, height, pix_fmt
        stream.options = {"preset": "ultrafast", **(options or {})} if codec.startswith("libx26") else options or {}
        stream.codec_context.time_base = Fraction(1, TICKS)
        for image, time_s in zip(pictures, times_s, strict=True):
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(image), format="bgr24")
            frame.pts, frame.time_base = round(time_s * TICKS), Fraction(1, TICKS)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return path


def numbered(path: Path, times_s: Sequence[float], size: tuple[int, int] = (320, 240), **more: Any) -> Path:
    """Frames 0, 1, 2, ... at these times. more: as ``coded`` takes them."""
    return coded(path, [picture(n, *size) for n in range(len(times_s))], times_s, **more)


def at_rate(fps: float, count: int) -> list[float]:
    return [n / fps for n in range(count)]


def uneven(count: int, seed: int = 5) -> list[float]:
    """As a phone in poor light: steps from half to twice the usual."""
    steps = np.random.default_rng(seed).uniform(0.5, 2.0, count - 1) / 30
    return [0.0, *map(float, np.cumsum(steps))]


def turned_by_flag(path: Path, numbers: int) -> Path:
    """Pictures that lie on their side in the file and are turned upright by the flag of the track."""
    upright = [picture(n, 320, 240) for n in range(numbers)]
    coded(path, [np.rot90(image) for image in upright], at_rate(30, numbers))
    data = path.read_bytes()
    assert data.count(UNTURNED) >= 1
    at, _ = _box(data, (b"moov", b"trak", b"tkhd"))
    matrix = data.index(UNTURNED, at)
    path.write_bytes(data[:matrix] + CLOCKWISE + data[matrix + len(UNTURNED) :])
    return path


def edited(path: Path, skip_s: float = 0.0, stretch: int = 1) -> Path:
    """The edit list of a clip rewritten: it begins so much later, and is to be played so many times slower."""
    data = bytearray(path.read_bytes())
    at, _ = _box(bytes(data), (b"moov", b"trak", b"edts", b"elst"))
    head, _ = _box(bytes(data), (b"moov", b"trak", b"mdia", b"mdhd"))
    movie, _ = _box(bytes(data), (b"moov", b"mvhd"))
    scale, whole = (struct.unpack(">I", data[place + 20 : place + 24])[0] for place in (head, movie))
    count, lasts, begins, _ = struct.unpack(">IIiI", data[at + 12 : at + 28])
    assert count == 1
    new = ((lasts - round(skip_s * whole)) * stretch, begins + round(skip_s * scale), (1 << 16) // stretch)
    data[at + 16 : at + 28] = struct.pack(">IiI", *new)
    path.write_bytes(bytes(data))
    return path
