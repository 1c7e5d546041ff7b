"""A recorded clip as a source of frames: its own time stamps, as fast as possible or paced like a camera."""

from __future__ import annotations

import math
import threading
from pathlib import Path
from typing import Any

from trainer.domain.observation import Frame
from trainer.errors import ClipError
from trainer.vision.sources.base import Clock, RateMeter, Source

USUAL_FPS = 30.0  # where a file names no rate and has no time stamps; common practice, no source
FPS_RANGE = (1.0, 1000.0)
# A container's count of frames may be off by a few (edit lists, rounded durations); more is damage.
MISSING_ALLOWED = 3
MISSING_SHARE_ALLOWED = 0.01
LATE_S = 0.25  # paced: later than this and we go on from here, rather than rush after the lost time
LONGEST_NAP_S = 0.1  # so that a stop is noticed while a paced clip waits
NOT_A_VIDEO = "not a video that can be read, or cut short while it was copied"


class Clip(Source):
    """Reads ``path`` from the beginning. With ``pace`` frames come no sooner than on that clock; else at once.

    Frames are never dropped, paced or not: a reader that is late makes the clip wait. Time stamps start where the
    file's do and rise strictly. Raises ClipError: at once where nothing can be read, at the end where the file stops
    short.
    """

    def __init__(self, path: Path | str, pace: Clock | None = None) -> None:
        self.name = Path(path).name
        self._path = Path(path)
        self._pace = pace
        self._closed = False
        self._lock = threading.Lock()  # the file is never released while it is being read
        self._capture = opened(self._path)
        import cv2

        self._property = {
            "time": cv2.CAP_PROP_POS_MSEC,
            "fps": cv2.CAP_PROP_FPS,
            "count": cv2.CAP_PROP_FRAME_COUNT,
        }
        fps = self._get("fps")
        self.nominal_fps = fps if FPS_RANGE[0] <= fps <= FPS_RANGE[1] else None
        count = self._get("count")
        self.frames_said = round(count) if math.isfinite(count) and 0 < count < 1e7 else None
        self._rate = RateMeter(span=100_000)
        self._stamper = Stamper(1.0 / (self.nominal_fps or USUAL_FPS))
        self._index = 0
        self._origin: float | None = None  # pace clock's time at clip time zero
        self._first = self._decode()
        if self._first is None:
            self._capture.release()
            raise ClipError("there is no picture in it", str(path), "record it again, or give another clip")
        height, width = self._first.image.shape[:2]
        self.size = (width, height)

    @property
    def measured_fps(self) -> float | None:
        return self._rate.fps

    @property
    def frames_read(self) -> int:
        return self._index - (self._first is not None)

    def read(self) -> Frame | None:
        if self._closed:
            return None
        frame, self._first = self._first, None
        if frame is None:
            frame = self._decode()
        if frame is None:
            if not self._closed:
                self._complain_if_short()
            return None
        self._rate.add(frame.time_s)
        if self._pace is not None:
            self._wait_until_due(self._pace, frame.time_s)
        return None if self._closed else frame

    def close(self) -> bool:
        self._closed = True
        with self._lock:
            self._capture.release()
        return True

    def _get(self, name: str) -> float:
        return float(self._capture.get(self._property[name]))

    def _decode(self) -> Frame | None:
        with self._lock:
            ok, image = self._capture.read() if not self._closed else (False, None)
            if not ok or image is None:
                return None
            time_s = self._stamper.stamp(self._get("time") / 1000.0)
        frame = Frame(self._index, time_s, image)
        self._index += 1
        return frame

    def _wait_until_due(self, clock: Clock, time_s: float) -> None:
        now = clock.now()
        if self._origin is None or now - (self._origin + time_s) > LATE_S:
            self._origin = now - time_s
        due = self._origin + time_s
        while not self._closed and (left := due - clock.now()) > 0:
            clock.sleep(min(left, LONGEST_NAP_S))

    def _complain_if_short(self) -> None:
        if self.frames_said is None:
            return
        missing = self.frames_said - self._index
        if missing > MISSING_ALLOWED + MISSING_SHARE_ALLOWED * self.frames_said:
            raise ClipError(
                f"it stops after {self._index} of {self.frames_said} frames, cut short or damaged",
                str(self._path),
                "copy it again from where it was recorded",
            )


class Stamper:
    """A file's time stamps made strictly increasing.

    Good stamps pass unchanged (a phone's rate varies, so they are better than a count). A stamp that is missing, not a
    number or goes back is replaced by one step after the last, and what follows is shifted along with it.
    """

    def __init__(self, step_s: float) -> None:
        self._step_s = step_s
        self._last_s: float | None = None
        self._last_raw_s = math.nan
        self._shift_s = 0.0

    def stamp(self, raw_s: float) -> float:
        """raw_s: what the file says of this frame (s, may be nan). Returns the time to use (s)."""
        if self._last_s is None:
            time_s = raw_s if math.isfinite(raw_s) and raw_s >= 0 else 0.0
        else:
            time_s = raw_s + self._shift_s
            if not math.isfinite(raw_s) or raw_s == self._last_raw_s:  # no stamp of its own
                time_s = self._last_s + self._step_s
            elif time_s <= self._last_s:
                time_s = self._last_s + self._step_s
                self._shift_s = time_s - raw_s
        self._last_s, self._last_raw_s = time_s, raw_s
        return time_s


def opened(path: Path) -> Any:
    """An open capture of the file; ClipError says why there is none."""
    where = str(path)
    try:
        if path.is_dir():
            raise ClipError("is a folder", where, "give the clip's file")
        with path.open("rb") as file:
            empty = not file.read(1)
    except FileNotFoundError:
        raise ClipError("no such file", where, "check the name") from None
    except PermissionError:
        raise ClipError("may not be read", where, "change the file's permissions") from None
    except ClipError:
        raise
    except OSError as error:
        raise ClipError(
            f"cannot be read ({error.strerror or error})", where, "copy the clip to another place"
        ) from None
    if empty:
        raise ClipError("the file is empty", where, "copy it again from where it was recorded")
    import cv2

    try:
        capture = cv2.VideoCapture(where, cv2.CAP_FFMPEG)
    except cv2.error:
        raise ClipError(NOT_A_VIDEO, where, "give an mp4, mov, mkv or avi file") from None
    if not capture.isOpened():
        raise ClipError(NOT_A_VIDEO, where, "give an mp4, mov, mkv or avi file")
    return capture
