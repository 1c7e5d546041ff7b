"""A recorded clip as a source of frames: its own time stamps, as fast as possible or paced like a camera."""

from __future__ import annotations

import math
import threading
from pathlib import Path

from trainer.domain.observation import Frame
from trainer.errors import ClipError
from trainer.texts import tr
from trainer.vision.sources.base import Clock, RateMeter, Source
from trainer.vision.sources.video_file import USUAL_FPS, VideoFile

# A container's count of frames may be off by a few (edit lists, rounded durations); more is damage.
MISSING_ALLOWED = 3
MISSING_SHARE_ALLOWED = 0.01
LATE_S = 0.25  # paced: later than this and we go on from here, rather than rush after the lost time
LONGEST_NAP_S = 0.1  # so that a stop is noticed while a paced clip waits


class Clip(Source):
    """Reads ``path`` from the beginning. With ``pace`` frames come no sooner than on that clock; else at once.

    Frames are never dropped, paced or not: a reader that is late makes the clip wait. Time stamps start at zero and rise
    strictly. recorded_fps: see ``VideoFile``; pace_known: it was given, or the file says that it is slow motion. Raises
    ClipError: at once where nothing can be read, at the end where the file stops short.
    """

    def __init__(self, path: Path | str, pace: Clock | None = None, recorded_fps: float | None = None) -> None:
        self.name = Path(path).name
        self._path = Path(path)
        self.where = str(path)
        self._pace = pace
        self._closed = False
        self._lock = threading.Lock()  # the file is never closed while it is being read
        self._file = VideoFile(self._path, recorded_fps=recorded_fps)
        self.pace_known = recorded_fps is not None or self._file.slowed != 1.0
        self.nominal_fps = self._file.nominal_fps
        self.frames_said = self._file.frames_said
        self.size = self._file.size
        self._rate = RateMeter(span=100_000)
        self._stamper = Stamper(1.0 / (self.nominal_fps or USUAL_FPS))
        self._index = 0
        self._last_s = 0.0
        self._origin: float | None = None  # pace clock's time at clip time zero

    @property
    def measured_fps(self) -> float | None:
        return self._rate.fps

    def read(self) -> Frame | None:
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
            self._file.close()
        return True

    def notices(self) -> tuple[str, ...]:
        said = []
        if self._file.own_size != self.size:
            (width, height), (less, high) = self._file.own_size, self.size
            whole, small = f"{width} x {height}", f"{less} x {high}"
            said.append(tr("pictures of {whole} are looked at in {small}", whole=whole, small=small))
        if self._file.slowed != 1.0:
            said.append(
                tr(
                    "recorded at {fps:.0f} frames/s, plays {slowed:.3g} times slower: judged in real time",
                    fps=self.nominal_fps,
                    slowed=self._file.slowed,
                )
            )
        return tuple(said)

    def _decode(self) -> Frame | None:
        with self._lock:
            raw_s = self._file.grab() if not self._closed else None
            if raw_s is None:
                return None
            frame = Frame(self._index, self._stamper.stamp(raw_s), self._file.picture())
        self._index += 1
        self._last_s = frame.time_s
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
        allowed = MISSING_ALLOWED + MISSING_SHARE_ALLOWED * self.frames_said
        reaches_s = self._last_s + allowed / (self.nominal_fps or USUAL_FPS)
        if missing > allowed and not reaches_s >= self._file.trimmed_s:
            raise ClipError(
                tr(
                    "it stops after {index} of {frames_said} frames, cut short or damaged",
                    index=self._index,
                    frames_said=self.frames_said,
                ),
                str(self._path),
                tr("copy it again from where it was recorded"),
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
