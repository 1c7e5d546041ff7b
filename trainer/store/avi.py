"""A stroke's frames as one file that any player opens: motion JPEG in an AVI, with each frame's own time in a chunk beside.

The pictures go in as they are, so nothing is compressed a second time, and any frame is found without decoding others. AVI
knows one rate only; players go by the mean rate and pass over the chunk of times (RIFF: unknown chunks are skipped).
Field layouts: Microsoft's AVI RIFF File Reference (from memory; the tests have OpenCV's FFmpeg read the files).
"""

from __future__ import annotations

import struct
from itertools import pairwise
from typing import Iterator, Sequence

from trainer.errors import StoreError

TIMES = b"ftim"  # our chunk: float64 little-endian seconds, one a frame
FRAME = b"00dc"
HAS_INDEX = 0x10
KEY_FRAME = 0x10
TICKS = 1_000_000


def packed(jpegs: Sequence[bytes], times_s: Sequence[float], size: tuple[int, int]) -> bytes:
    """The file's bytes. size: (width, height) px; times_s: rising."""
    count, (width, height) = len(jpegs), size
    step_s = (times_s[-1] - times_s[0]) / (count - 1) if count > 1 else 1 / 30
    largest = max(map(len, jpegs))
    main = struct.pack(
        "<14I",
        round(step_s * 1e6),
        round(largest / step_s),
        0,
        HAS_INDEX,
        count,
        0,
        1,
        largest,
        width,
        height,
        0,
        0,
        0,
        0,
    )
    stream = struct.pack(
        "<4s4sIHHIIIIIIII4H", b"vids", b"MJPG", 0, 0, 0, 0, max(1, round(step_s * TICKS)), TICKS, 0, count, largest,
        0xFFFFFFFF, 0, 0, 0, width, height,
    )  # fmt: skip
    picture = struct.pack("<IiiHH4sIiiII", 40, width, height, 1, 24, b"MJPG", width * height * 3, 0, 0, 0, 0)
    header = _list(b"hdrl", _chunk(b"avih", main) + _list(b"strl", _chunk(b"strh", stream) + _chunk(b"strf", picture)))
    chunks = [_chunk(FRAME, jpeg) for jpeg in jpegs]
    index, at = [], 4
    for jpeg, chunk in zip(jpegs, chunks, strict=True):
        index.append(struct.pack("<4sIII", FRAME, KEY_FRAME, at, len(jpeg)))
        at += len(chunk)
    body = header + _list(b"movi", b"".join(chunks)) + _chunk(b"idx1", b"".join(index))
    body += _chunk(TIMES, struct.pack(f"<{count}d", *times_s))
    return b"RIFF" + struct.pack("<I", 4 + len(body)) + b"AVI " + body


def unpacked(data: bytes, where: str) -> tuple[list[bytes], list[float]]:
    """(jpegs, times). Raises StoreError, naming ``where``, when the file is damaged or not one of ours."""
    jpegs: list[bytes] = []
    times: list[float] = []
    try:
        if data[:4] != b"RIFF" or data[8:12] != b"AVI ":
            raise ValueError
        for kind, start, end in _walk(data, 12, min(len(data), 8 + struct.unpack("<I", data[4:8])[0])):
            if kind == b"LIST" and data[start : start + 4] == b"movi":
                jpegs = [data[a:b] for k, a, b in _walk(data, start + 4, end) if k == FRAME]
            elif kind == TIMES:
                times = list(struct.unpack(f"<{(end - start) // 8}d", data[start:end]))
        if not jpegs or len(jpegs) != len(times) or not all(a < b for a, b in pairwise(times)):
            raise ValueError
    except (ValueError, struct.error):
        raise StoreError(
            "the kept video is damaged, or none of ours", where, "the stroke is drawn as a figure"
        ) from None
    return jpegs, times


def _chunk(kind: bytes, body: bytes) -> bytes:
    return kind + struct.pack("<I", len(body)) + body + b"\0" * (len(body) % 2)


def _list(kind: bytes, body: bytes) -> bytes:
    return _chunk(b"LIST", kind + body)


def _walk(data: bytes, start: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    """(kind, start, end) of each chunk's content."""
    while start + 8 <= end:
        kind, size = struct.unpack("<4sI", data[start : start + 8])
        if start + 8 + size > end:
            raise ValueError
        yield kind, start + 8, start + 8 + size
        start += 8 + size + size % 2
