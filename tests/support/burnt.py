"""Clips whose every frame carries its number, as blocks of black and white that survive compression."""

from __future__ import annotations

import struct
from functools import cache
from pathlib import Path
from typing import Any, Iterator

import cv2
import numpy as np

from trainer.replay.clip_reader import Reader

BITS = 12
BLOCK = 24
EDGE = 8


@cache
def _scene(width: int, height: int) -> Any:
    rows, columns = np.mgrid[0:height, 0:width].astype(np.float32)
    scene = 110 + 50 * np.sin(columns / 23.0) * np.cos(rows / 31.0)
    scene += np.random.default_rng(1).normal(0, 4, scene.shape)  # a camera's noise, which is what compresses badly
    return np.repeat(scene[:, :, None], 3, axis=2).astype(np.uint8)


def picture(number: int, width: int = 640, height: int = 480) -> Any:
    """A scene with some detail and something that moves, and the number in binary along the top."""
    image = _scene(width, height).copy()
    x = width // 2 + round(width * 0.3 * np.sin(number / 9.0))
    cv2.circle(image, (x, height * 2 // 3), height // 9, (40, 160, 220), -1)
    image[: BLOCK + 2 * EDGE, : BITS * BLOCK + 2 * EDGE] = 0
    for bit in range(BITS):
        if number >> bit & 1:
            left = EDGE + bit * BLOCK
            image[EDGE : EDGE + BLOCK, left : left + BLOCK] = 255
    return image


def number_of(image: Any) -> int:
    """Reads the number back."""
    inner = slice(EDGE + BLOCK // 4, EDGE + 3 * BLOCK // 4)
    found = 0
    for bit in range(BITS):
        left = EDGE + bit * BLOCK + BLOCK // 4
        level = float(image[inner, left : left + BLOCK // 2].mean())
        assert level < 80 or level > 176, f"bit {bit} is neither black nor white: {level}"
        found |= (level > 128) << bit
    return found


def write(path: Path, fps: float, frames: int, size: tuple[int, int] = (640, 480)) -> Path:
    """An mp4 of that many numbered frames at a constant rate."""
    writer = cv2.VideoWriter(str(path), cv2.CAP_FFMPEG, cv2.VideoWriter.fourcc(*"mp4v"), fps, size)
    assert writer.isOpened()
    for number in range(frames):
        writer.write(picture(number, *size))
    writer.release()
    return path


def make_uneven(path: Path, seed: int = 5) -> list[float]:
    """Rewrites the frame durations of an mp4 so that they vary from half to twice; returns the frames' times (s).

    The sum stays, so nothing else in the file has to change but the sizes of the boxes that hold the table.
    """
    data = path.read_bytes()
    at, parents = _box(data, (b"moov", b"trak", b"mdia", b"minf", b"stbl", b"stts"))
    entries = struct.unpack(">I", data[at + 12 : at + 16])[0]
    table = [struct.unpack(">II", data[at + 16 + 8 * i : at + 24 + 8 * i]) for i in range(entries)]
    count, whole = sum(n for n, _ in table), sum(n * d for n, d in table)
    head, _ = _box(data, (b"moov", b"trak", b"mdia", b"mdhd"))
    scale = struct.unpack(">I", data[head + 20 : head + 24])[0]
    shares = np.random.default_rng(seed).uniform(0.5, 2.0, count)
    ends = np.round(np.cumsum(shares) / shares.sum() * whole).astype(int)
    durations = np.diff([0, *ends])
    body = struct.pack(">II", 0, count) + b"".join(struct.pack(">II", 1, int(d)) for d in durations)
    old_size = struct.unpack(">I", data[at : at + 4])[0]
    new = struct.pack(">I", len(body) + 8) + b"stts" + body
    grown = len(new) - old_size
    out = bytearray(data[:at] + new + data[at + old_size :])
    for parent in parents:
        size = struct.unpack(">I", out[parent : parent + 4])[0]
        out[parent : parent + 4] = struct.pack(">I", size + grown)
    path.write_bytes(bytes(out))
    return [float(t) / scale for t in np.concatenate([[0], ends[:-1]])]


def _box(data: bytes, names: tuple[bytes, ...]) -> tuple[int, list[int]]:
    """(where the innermost box starts, where those around it do). Media data must come before."""
    start, end, parents = 0, len(data), []
    for name in names:
        at, size = next((at, size) for at, kind, size in _boxes(data, start, end) if kind == name)
        if name != names[-1]:
            parents.append(at)
            start, end = at + 8, at + size
    assert parents[0] > _first(data, b"mdat")
    return at, parents


def _boxes(data: bytes, start: int, end: int) -> Iterator[tuple[int, bytes, int]]:
    while start < end:
        size, kind = struct.unpack(">I4s", data[start : start + 8])
        yield start, kind, size
        start += size


def _first(data: bytes, name: bytes) -> int:
    return next(at for at, kind, _ in _boxes(data, 0, len(data)) if kind == name)


def grab_at(reader: Reader, index: int, times_s: Any) -> bool:
    """Grabs that very frame, step by step. False: the file does not hold it."""
    while (at := reader.step_toward(index, times_s)) is not None:
        if at == index:
            return True
    return False
