"""Kept videos as release 0.1 wrote them: motion JPEG in an AVI, with each frame's own time in a chunk beside."""

from __future__ import annotations

import struct
from typing import Sequence

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


def _chunk(kind: bytes, body: bytes) -> bytes:
    return kind + struct.pack("<I", len(body)) + body + b"\0" * (len(body) % 2)


def _list(kind: bytes, body: bytes) -> bytes:
    return _chunk(b"LIST", kind + body)
