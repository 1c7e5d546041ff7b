"""A clip that phones and browsers play: H.264 in an MP4, its index in front, each picture at its own time.

A key frame at least every half second, so that any picture is found soon; no picture leans on a later one, so times need no
edit list.
"""

from __future__ import annotations

import errno
import os
import shutil
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any, Callable, Iterator

if TYPE_CHECKING:
    from av.audio.stream import AudioStream

TICKS = 90_000  # a second; usual for video, and divides by every common rate
KEY_EVERY_S = 0.5
# Half the processor time of the next slower preset and 20 % of the size of the pictures as JPEG (640 x 480, quality 85).
# Without arithmetic coding a file is an eighth larger and its key frames take half the time to decode, for who scrubs.
CODING = {"preset": "veryfast", "crf": "20", "bf": "0", "x264-params": "no-cabac=1", "g": "600", "forced-idr": "1"}
THREADS = 1  # what else runs has the rest of the machine
RESERVE_BYTES = 50e6  # left free on a disk
ROOM_BYTES_PX = 0.1  # to be free for each pixel of a picture: five times what clips of rooms come to
EXACT = 0x40000 | 2  # of libswscale: rounded rightly, linear; without it pictures come out 2 levels darker
BT709 = 1  # of H.273: primaries, transfer and matrix have the same number
SOUND_RATE_HZ = 44_100
SOUND_FRAME = 1024  # samples; AAC's own
DRAWN = {"drawn_by": "putting-trainer"}  # the tags of a clip that can be drawn anew, by which it is known again
_MOST_INDEX_BYTES = 64 << 20


def free_bytes(folder: Path) -> float:
    return float(shutil.disk_usage(folder).free)


def check_room(folder: Path, needed_bytes: float, free: Callable[[Path], float] = free_bytes) -> None:
    """Raises OSError where that much, and a reserve, is not free."""
    if free(folder) < needed_bytes + RESERVE_BYTES:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def is_drawn(path: Path) -> bool:
    """It has these tags: in the index, which an ``Mp4Writer`` puts before the pictures. Raises OSError."""
    with path.open("rb") as file:
        while len(head := file.read(8)) == 8:
            size, name = int.from_bytes(head[:4], "big"), head[4:]
            if name == b"mdat" or size < 8:  # 0 and 1 say more than that of a size; not in front of ours
                return False
            if name == b"moov":
                index = file.read(min(size - 8, _MOST_INDEX_BYTES))
                return all(key.encode() in index and value.encode() in index for key, value in DRAWN.items())
            file.seek(size - 8, os.SEEK_CUR)
    return False


class Mp4Writer:
    """``add`` the pictures in order of time, then ``close``. Without ``close`` there is no file to play.

    size: (width, height) px of the pictures; an odd last row or column is left out. tags: kept in the file. sound: one
    channel at SOUND_RATE_HZ, -1 to 1, from the time of the first picture on. Raises OSError.
    """

    def __init__(
        self,
        path: Path,
        size: tuple[int, int],
        fps: float = 30.0,
        tags: dict[str, str] | None = None,
        sound: Any = None,
    ) -> None:
        import av
        from av.video.reformatter import VideoReformatter

        width, height = size[0] // 2 * 2, size[1] // 2 * 2
        if not (width and height):
            raise OSError(errno.EINVAL, "a picture without size")
        self._size = (width, height)
        with as_os_error():
            options = {"movflags": "+faststart+use_metadata_tags"}
            self._out = av.open(f"file:{path}", "w", format="mp4", options=options)
        self._out.metadata.update(tags or {})
        self._stream = self._out.add_stream("libx264", rate=Fraction(fps).limit_denominator(1001), options=CODING)
        self._stream.width, self._stream.height, self._stream.pix_fmt = width, height, "yuv420p"
        context = self._stream.codec_context
        context.thread_count, context.time_base = THREADS, Fraction(1, TICKS)
        context.colorspace = context.color_primaries = context.color_trc = BT709
        context.color_range = 1  # limited, which players expect
        self._track: AudioStream | None = None
        if sound is not None:
            self._track = self._out.add_stream("aac", rate=SOUND_RATE_HZ)
            self._track.codec_context.layout = "mono"
        self._sound, self._heard = sound, 0
        self._reformatter = VideoReformatter()
        self._first_s: float | None = None
        self._key_s = 0.0
        self._last: Any = None

    def add(self, image: Any, time_s: float) -> None:
        """image: BGR, of the size that was said; time_s: later than the one before."""
        import numpy as np
        from av import VideoFrame
        from av.video.reformatter import ColorRange, Colorspace

        if self._first_s is None:
            self._first_s = self._key_s = time_s
        width, height = self._size
        bgr = VideoFrame.from_ndarray(np.ascontiguousarray(image[:height, :width]), format="bgr24")
        frame = self._reformatter.reformat(
            bgr,
            format="yuv420p",
            dst_colorspace=Colorspace.ITU709,
            dst_color_range=ColorRange.MPEG,
            interpolation=EXACT,
            threads=1,
        )
        self._hear(time_s - self._first_s)
        self._put(frame, time_s)

    def close(self, until_s: float | None = None) -> None:
        """until_s: how long the last picture stays."""
        with as_os_error():
            try:
                if self._last is not None and self._first_s is not None:
                    if until_s is not None:
                        self._put(self._last, until_s)
                    self._hear(float("inf"))
                    self._out.mux(self._stream.encode(None))
                    if self._track is not None:
                        self._out.mux(self._track.encode(None))
            finally:
                self._out.close()

    def abandon(self) -> None:
        """What was written is of no use."""
        with as_os_error():
            self._out.close()

    def _put(self, frame: Any, time_s: float) -> None:
        from av.video.frame import PictureType

        first_s = self._first_s or 0.0
        frame.pts, frame.time_base = round((time_s - first_s) * TICKS), Fraction(1, TICKS)
        key = self._last is None or time_s - self._key_s >= KEY_EVERY_S - 1e-3
        frame.pict_type = PictureType.I if key else PictureType.NONE
        self._key_s = time_s if key else self._key_s
        self._last = frame
        with as_os_error():
            self._out.mux(self._stream.encode(frame))

    def _hear(self, until_s: float) -> None:
        """The sound up to there, so that it lies beside its pictures in the file."""
        if self._track is None:
            return
        import numpy as np
        from av import AudioFrame

        while self._heard < len(self._sound) and self._heard < until_s * SOUND_RATE_HZ:
            samples = np.zeros((1, SOUND_FRAME), np.float32)
            piece = self._sound[self._heard : self._heard + SOUND_FRAME]
            samples[0, : len(piece)] = piece
            frame = AudioFrame.from_ndarray(samples, format="fltp", layout="mono")
            frame.sample_rate, frame.pts = SOUND_RATE_HZ, self._heard
            frame.time_base = Fraction(1, SOUND_RATE_HZ)
            self._heard += SOUND_FRAME
            with as_os_error():
                self._out.mux(self._track.encode(frame))


@contextmanager
def as_os_error() -> Iterator[None]:
    """The encoder's errors as the system's."""
    from av.error import FFmpegError

    try:
        yield
    except FFmpegError as error:
        raise OSError(error.errno, error.strerror) from None
