"""The camera as a device: its address, its mode, OpenCV's capture, and what to do where it does not open.

The numbers of threads named here are those of https://github.com/opencv/opencv/issues/NUMBER.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from trainer.errors import UsageError
from trainer.texts import tr

PLAIN_PIXELS = 640 * 480  # more than this at 30/s fills USB 2 unless compressed (9084, 12404)


@dataclass(frozen=True, slots=True)
class Mode:
    """What the camera is asked for; it may give something else, which is read back."""

    width: int = 640
    height: int = 480
    fps: float = 30.0


@dataclass(frozen=True, slots=True)
class Address:
    """where: number, path or stream address; kind tells which."""

    where: int | str
    kind: str  # "number", "device" or "stream"

    @classmethod
    def of(cls, where: int | str) -> Address:
        """Raises UsageError for a text that is none of the three."""
        text = str(where).strip()
        if text.isdigit():
            return cls(int(text), "number")
        if "://" in text:
            return cls(text, "stream")
        if text.startswith("/dev/"):
            return cls(text, "device")
        raise UsageError(
            tr("neither a camera number, a device path (/dev/video0) nor a stream address (rtsp://...)"),
            tr("camera {text!r}", text=text),
            tr("a recorded clip: `--clip`"),
        )

    @property
    def name(self) -> str:
        return tr("camera {camera}", camera=self.where)


def open_capture(address: Address) -> Any:
    """OpenCV's capture, opened or not. Call it in the thread that will read and release it."""
    import cv2

    if address.kind == "stream":
        limits = [cv2.CAP_PROP_OPEN_TIMEOUT_MSEC, 8000, cv2.CAP_PROP_READ_TIMEOUT_MSEC, 5000]
        return cv2.VideoCapture(str(address.where), cv2.CAP_FFMPEG, limits)
    system = {"linux": cv2.CAP_V4L2, "darwin": cv2.CAP_AVFOUNDATION}.get(sys.platform, cv2.CAP_ANY)
    return cv2.VideoCapture(address.where, system)


def ask_mode(capture: Any, mode: Mode, address: Address) -> float | None:
    """Asks for the mode; frames/s that came of it, None where it does not say.

    Asks only what differs: on Windows each takes 4 s (26495).
    """
    import cv2

    if address.kind != "stream":
        wishes = [
            (cv2.CAP_PROP_FRAME_WIDTH, mode.width),
            (cv2.CAP_PROP_FRAME_HEIGHT, mode.height),
            (cv2.CAP_PROP_FPS, mode.fps),
        ]
        if mode.width * mode.height > PLAIN_PIXELS:
            wishes.insert(0, (cv2.CAP_PROP_FOURCC, cv2.VideoWriter.fourcc(*"MJPG")))
        if sys.platform == "linux":  # few obey; that we read on is what keeps it fresh (11047)
            wishes.append((cv2.CAP_PROP_BUFFERSIZE, 1))
        for what, value in wishes:
            if abs(float(capture.get(what)) - value) > 0.01:
                capture.set(what, value)
    fps = float(capture.get(cv2.CAP_PROP_FPS))
    return fps if math.isfinite(fps) and 1.0 <= fps <= 1000.0 else None


def same_picture(a: Any, b: Any) -> bool:
    """Bit for bit the same; a live sensor's noise never is. Cheap where they differ."""
    return a.shape == b.shape and np.array_equal(a[::16, ::16], b[::16, ::16]) and np.array_equal(a, b)


def missing(address: Address, devices: Path = Path("/dev")) -> tuple[str, str, str]:
    """What, where and what to do about a camera that does not open."""
    if address.kind == "stream":
        return (
            tr("cannot be reached"),
            address.name,
            tr("check the address and that the camera is on and in the same network"),
        )
    if sys.platform == "darwin":
        todo = tr("plug it in; in System Settings, Privacy, Camera allow this terminal, then start the terminal anew")
        return tr("cannot be opened"), address.name, todo
    if sys.platform != "linux":
        return (
            tr("cannot be opened"),
            address.name,
            tr("plug it in, close other programs that use it, or try another number"),
        )
    path = Path(f"{devices}/video{address.where}") if address.kind == "number" else Path(str(address.where))
    if path.exists():
        import os

        if not os.access(path, os.R_OK | os.W_OK):
            return tr("may not be used"), address.name, tr("add yourself to the group video, then log in again")
        return (
            tr("cannot be opened"),
            address.name,
            tr("it may be busy or no camera: close other programs, or try another number"),
        )
    others = ", ".join(str(p) for p in sorted(devices.glob("video*")))
    todo = (
        tr("plug it in, or try one of: {others}", others=others)
        if others
        else tr("plug a camera in; none is connected now")
    )
    return tr("is not there"), address.name, todo
