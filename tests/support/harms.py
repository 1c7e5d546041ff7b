"""What real cameras, rooms and files do to a picture, each at three strengths, for clips whose truth is known.

A harm takes frames in order and gives frames in order; times and pictures may change. Randomness is drawn from the harm's
own name, so that a run can be repeated.
"""

from __future__ import annotations

import math
import shutil
import subprocess
import zlib
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Callable, Iterator

import cv2
import numpy as np

from trainer.domain.observation import Frame
from trainer.vision.sources.clip import Clip

Image = Any  # (h, w, 3) uint8 BGR
Frames = Iterator[Frame]
Random = np.random.Generator


@dataclass(frozen=True, slots=True)
class Places:
    """Where things are in a clip (px of its picture), by its truth: how far the putter's head reaches, and the ears."""

    putter_left: float
    putter_right: float
    putter_bottom: float
    ears_top: float


Apply = Callable[[Frames, float, Places, Random], Frames]


@dataclass(frozen=True)
class Harm:
    """levels: three strengths, weakest first; what they are in: see ``unit``."""

    name: str
    levels: tuple[float, float, float]
    unit: str
    apply: Apply

    def on(self, frames: Frames, level: float, places: Places) -> Frames:
        """The frames harmed."""
        return self.apply(frames, level, places, np.random.default_rng(zlib.crc32(self.name.encode())))


def _pictures(change: Callable[[Image, float, float, Random], Image]) -> Apply:
    """A harm to each picture by itself. change: (picture, level, time in s, random) -> picture."""

    def apply(frames: Frames, level: float, _places: Places, random: Random) -> Frames:
        for f in frames:
            yield Frame(f.index, f.time_s, np.ascontiguousarray(change(f.image, level, f.time_s, random)))

    return apply


def _gain(image: Image, factor: float | np.ndarray, offset: float = 0.0) -> Image:
    return np.clip(image.astype(np.float32) * factor + offset, 0, 255).astype(np.uint8)


def _dark(image: Image, level: float, _t: float, random: Random) -> Image:
    noise = random.normal(0, 4.0, image.shape)
    return np.clip(image * level + noise, 0, 255).astype(np.uint8)


def _backlit(image: Image, level: float, _t: float, _r: Random) -> Image:
    """The upper part glares, the rest is dark against it."""
    rows = np.linspace(0, 1, image.shape[0], dtype=np.float32)[:, None, None]
    glare = np.clip(1.2 - 2.2 * rows, 0, 1)
    return np.clip(image * (1 - 0.75 * level) + 255 * level * glare, 0, 255).astype(np.uint8)


def _jumps(image: Image, level: float, t: float, _r: Random) -> Image:
    return _gain(image, level if int(t / 0.45) % 2 else 1 / math.sqrt(level))


def _white_balance(image: Image, level: float, t: float, _r: Random) -> Image:
    s = level * math.sin(2 * math.pi * t / 2.5)
    return _gain(image, np.array([1 + s, 1.0, 1 - s], np.float32))


def _mjpeg(image: Image, level: float, _t: float, _r: Random) -> Image:
    _, data = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, int(level)])
    return cv2.imdecode(data, cv2.IMREAD_COLOR)


def _distorted(image: Image, level: float, _t: float, _r: Random) -> Image:
    h, w = image.shape[:2]
    camera = np.array([[w, 0, w / 2], [0, w, h / 2], [0, 0, 1]], np.float64)
    return cv2.undistort(image, camera, np.array([level, 0, 0, 0], np.float64))


def _moved(image: Image, dx: float, dy: float) -> Image:
    h, w = image.shape[:2]
    return cv2.warpAffine(
        image, np.array([[1, 0, dx], [0, 1, dy]], np.float32), (w, h), borderMode=cv2.BORDER_REPLICATE
    )


def _trembling(image: Image, level: float, _t: float, random: Random) -> Image:
    return _moved(image, *random.normal(0, level, 2))


def _in_a_hand(image: Image, level: float, t: float, _r: Random) -> Image:
    """Sways slowly by ``level`` px, trembles by a twentieth of that at 9 times a second (a hand's tremor lies between 8 and 12 a
    second: Elble and Koller 1990, from memory), and rolls by a twentieth of a degree a px."""
    h, w = image.shape[:2]
    phases = 2 * np.pi * t * np.array([0.31, 0.77, 1.9, 9.0])
    share = np.array([0.7, 0.4, 0.15, 0.05])
    dx, dy, roll = (float(share @ np.sin(phases + shift)) for shift in (0.0, 2.0, 4.0))
    turned = cv2.getRotationMatrix2D((w / 2, h / 2), 0.05 * level * roll, 1.0)
    turned[:, 2] += level * w / 640 * np.array([dx, dy])
    return cv2.warpAffine(image, turned, (w, h), borderMode=cv2.BORDER_REPLICATE)


def _knocked(image: Image, level: float, t: float, _r: Random) -> Image:
    since = t - 2.0
    if since < 0:
        return image
    swing = level * math.exp(-since / 0.25) * math.cos(2 * math.pi * 4 * since) + 0.5 * level
    return _moved(image, swing, 0.4 * swing)


def _haze(image: Image, level: float, _t: float, _r: Random) -> Image:
    return _gain(image, 1 - level, 205 * level)


def _smeared(image: Image, level: float, _t: float, _r: Random) -> Image:
    return cv2.GaussianBlur(image, (0, 0), level)


def _half_smeared(image: Image, level: float, _t: float, _r: Random) -> Image:
    """A thumb's print over the middle of the lens."""
    h, w = image.shape[:2]
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    share = np.exp(-(((x - 0.5 * w) / (0.25 * w)) ** 2 + ((y - 0.6 * h) / (0.3 * h)) ** 2))[..., None]
    return (image * (1 - share) + cv2.GaussianBlur(image, (0, 0), level) * share).astype(np.uint8)


def _flicker(image: Image, level: float, t: float, _r: Random) -> Image:
    return _gain(image, 1 + level * math.sin(2 * math.pi * 9.7 * t))


def _hunting(image: Image, level: float, t: float, _r: Random) -> Image:
    return _gain(image, 1 + level * math.sin(2 * math.pi * 1.3 * t))


def _fades(image: Image, level: float, t: float, _r: Random) -> Image:
    """To black within level seconds from the second second on."""
    return _gain(image, float(np.clip(1 - (t - 2.0) / level, 0, 1)))


def _noise(image: Image, level: float, _t: float, random: Random) -> Image:
    return np.clip(image + random.normal(0, level, image.shape), 0, 255).astype(np.uint8)


def _shadow(image: Image, level: float, t: float, _r: Random) -> Image:
    """A soft band that goes through the picture."""
    w = image.shape[1]
    x = np.arange(w, dtype=np.float32)
    middle = ((t * 0.35) % 1.4 - 0.2) * w
    band = 1 - (1 - level) * np.exp(-(((x - middle) / (0.12 * w)) ** 2))
    return _gain(image, band[None, :, None])


def _sized(image: Image, level: float, _t: float, _r: Random) -> Image:
    how = cv2.INTER_AREA if level < 1 else cv2.INTER_CUBIC
    return cv2.resize(image, None, fx=level, fy=level, interpolation=how)


def _upscaled(image: Image, level: float, _t: float, _r: Random) -> Image:
    h, w = image.shape[:2]
    small = cv2.resize(image, None, fx=level, fy=level, interpolation=cv2.INTER_AREA)
    return cv2.resize(small, (w, h), interpolation=cv2.INTER_LINEAR)


def _changing_size(frames: Frames, level: float, _places: Places, _random: Random) -> Frames:
    for f in frames:
        yield f if f.time_s < 2.0 else Frame(f.index, f.time_s, cv2.resize(f.image, None, fx=level, fy=level))


def _rolling(frames: Frames, level: float, _places: Places, _random: Random) -> Frames:
    """Lower rows are read later: blended into the next frame by level of the frame time."""
    last: Frame | None = None
    for f in frames:
        if last is not None:
            rows = (np.linspace(0, level, f.image.shape[0], dtype=np.float32))[:, None, None]
            yield Frame(last.index, last.time_s, (last.image * (1 - rows) + f.image * rows).astype(np.uint8))
        last = f


def _dropped(frames: Frames, level: float, _places: Places, random: Random) -> Frames:
    kept = (f for f in frames if random.random() >= level)
    for k, f in enumerate(kept):
        yield Frame(k, f.time_s, f.image)


def _every(frames: Frames, level: float, _places: Places, _random: Random) -> Frames:
    for k, f in enumerate(f for f in frames if f.index % int(level) == 0):
        yield Frame(k, f.time_s, f.image)


def _doubled(frames: Frames, level: float, _places: Places, random: Random) -> Frames:
    """Instead of a new picture the last one comes again."""
    last: Frame | None = None
    for f in frames:
        again = last is not None and random.random() < level
        yield Frame(f.index, f.time_s, last.image) if again and last is not None else f
        last = last if again else f


def _stamped(frames: Frames, level: float, _places: Places, random: Random) -> Frames:
    """Time stamps off by level (s, standard deviation), in order."""
    last = -1.0
    for f in frames:
        last = max(last + 0.001, f.time_s + random.normal(0, level))
        yield Frame(f.index, last, f.image)


def _late(frames: Frames, level: float, _places: Places, random: Random) -> Frames:
    """Now and then a frame comes late and those behind it in a bunch."""
    due = -1.0
    for f in frames:
        wait = level if random.random() < 0.12 else 0.0
        due = max(due + 0.004, f.time_s + wait)
        yield Frame(f.index, due, f.image)


def _h264(frames: Frames, level: float, _places: Places, _random: Random) -> Frames:
    """Coded anew at level kbit/s."""
    all_frames = list(frames)
    h, w = all_frames[0].image.shape[:2]
    with TemporaryDirectory() as folder:
        path = Path(folder) / "coded.mp4"
        raw = ["-f", "rawvideo", "-pix_fmt", "bgr24", "-s", f"{w}x{h}", "-r", "30", "-i", "-"]
        coded = ["-c:v", "libx264", "-pix_fmt", "yuv420p", "-b:v", f"{int(level)}k", "-preset", "veryfast", str(path)]
        data = b"".join(np.ascontiguousarray(f.image).tobytes() for f in all_frames)
        subprocess.run(["ffmpeg", "-v", "error", *raw, *coded], input=data, check=True)
        capture = cv2.VideoCapture(str(path))
        for f in all_frames:
            ok, image = capture.read()
            yield Frame(f.index, f.time_s, image if ok else f.image)
        capture.release()


def _cropped(box: Callable[[Places, float, int, int], tuple[int, int, int, int]]) -> Apply:
    """box: (places, level, width, height) -> left, top, right, bottom."""

    def apply(frames: Frames, level: float, places: Places, _random: Random) -> Frames:
        for f in frames:
            h, w = f.image.shape[:2]
            left, top, right, bottom = box(places, level * w / 640, w, h)
            cut = f.image[max(0, top) : min(h, bottom), max(0, left) : min(w, right)]
            yield Frame(f.index, f.time_s, np.ascontiguousarray(cut))

    return apply


HARMS: tuple[Harm, ...] = (
    Harm("over-exposed", (1.3, 1.6, 2.2), "x", _pictures(lambda i, v, t, r: _gain(i, v))),
    Harm("under-exposed", (0.5, 0.25, 0.1), "x", _pictures(_dark)),
    Harm("backlit", (0.3, 0.6, 0.9), "share", _pictures(_backlit)),
    Harm("exposure jumps", (1.2, 1.5, 2.0), "x", _pictures(_jumps)),
    Harm("exposure hunts", (0.15, 0.3, 0.5), "share", _pictures(_hunting)),
    Harm("white balance drifts", (0.08, 0.18, 0.3), "share", _pictures(_white_balance)),
    Harm("fades to black", (2.0, 1.0, 0.3), "s", _pictures(_fades)),
    Harm("MJPEG", (60, 30, 12), "quality", _pictures(_mjpeg)),
    Harm("H.264", (1000, 500, 200), "kbit/s", _h264),
    Harm("lens distorted", (-0.05, -0.15, -0.3), "k1", _pictures(_distorted)),
    Harm("camera trembles", (0.7, 1.5, 3.0), "px", _pictures(_trembling)),
    Harm("camera in a hand", (4, 10, 25), "px", _pictures(_in_a_hand)),
    Harm("camera knocked", (3, 10, 30), "px", _pictures(_knocked)),
    Harm("rolling shutter", (0.25, 0.5, 0.9), "frame", _rolling),
    Harm("haze", (0.2, 0.4, 0.65), "share", _pictures(_haze)),
    Harm("out of focus", (1.0, 2.0, 3.5), "px", _pictures(_smeared)),
    Harm("smeared lens", (3.0, 6.0, 12.0), "px", _pictures(_half_smeared)),
    Harm("flicker", (0.08, 0.2, 0.35), "share", _pictures(_flicker)),
    Harm("frames dropped", (0.1, 0.25, 0.45), "share", _dropped),
    Harm("every n-th frame", (2, 3, 4), "n", _every),
    Harm("frames doubled", (0.1, 0.25, 0.45), "share", _doubled),
    Harm("frames late", (0.03, 0.06, 0.12), "s", _late),
    Harm("stamps jitter", (0.003, 0.008, 0.015), "s", _stamped),
    Harm("another size", (0.5, 0.75, 1.5), "x", _pictures(_sized)),
    Harm("upscaled", (0.75, 0.5, 0.33), "x", _pictures(_upscaled)),
    Harm("size changes", (0.5, 0.8, 1.5), "x", _changing_size),
    Harm("mirrored", (1, 1, 1), "-", _pictures(lambda i, v, t, r: i[:, ::-1])),
    Harm("cut on the right", (6, -12, -45), "px", _cropped(lambda p, v, w, h: (0, 0, int(p.putter_right + v), h))),
    Harm("cut on the left", (6, -12, -45), "px", _cropped(lambda p, v, w, h: (int(p.putter_left - v), 0, w, h))),
    Harm("cut at the top", (14, 4, -12), "px", _cropped(lambda p, v, w, h: (0, int(p.ears_top - v), w, h))),
    Harm("cut at the feet", (8, 2, -12), "px", _cropped(lambda p, v, w, h: (0, 0, w, int(p.putter_bottom + v)))),
    Harm("noise", (6, 14, 28), "grey levels", _pictures(_noise)),
    Harm("shadow moves", (0.7, 0.45, 0.25), "x", _pictures(_shadow)),
)  # fmt: skip
CLEAN = Harm("none", (0, 0, 0), "-", _pictures(lambda i, v, t, r: i))


def possible(harm: Harm) -> bool:
    """Whether this machine can make it."""
    return harm.name != "H.264" or shutil.which("ffmpeg") is not None


class HarmedClip(Clip):
    """A clip whose frames come harmed."""

    def __init__(self, path: Path, harm: Harm, level: float, places: Places) -> None:
        super().__init__(path)
        self._harmed = harm.on(iter(super().read, None), level, places)
        self._next: Frame | None = next(self._harmed, None)
        if self._next is not None:
            height, width = self._next.image.shape[:2]
            self.size = (width, height)

    def read(self) -> Frame | None:
        frame, self._next = self._next, None
        return frame if frame is not None else next(self._harmed, None)
