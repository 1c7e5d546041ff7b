"""A video file's pictures: decoded in order, each with its own time stamp, from any key frame on.

The file is opened by the decoder's own file access and nothing else: no network, no list of other files, no picture. Sound
is passed over. Turning by the file's flag, reducing and colours are done here, so that everybody sees the same pixels.
"""

from __future__ import annotations

import math
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, Iterator

from trainer.errors import ClipError
from trainer.texts import tr

if TYPE_CHECKING:
    from av import Packet, VideoFrame
    from av.container import InputContainer
    from av.video.stream import VideoStream

USUAL_FPS = 30.0  # where a file names no rate and has no time stamps; common practice, no source
FPS_RANGE = (1.0, 1000.0)
# The trackers are measured on pictures of 640 by 480; a player who fills a picture of this length has a ball of 17 px in it.
LONGEST_PX = 1280
SIDE_RANGE_PX = (16, 8192)
THREADS_UP_TO_PX = 4096 * 2304  # larger pictures are decoded one at a time: each that is under way takes 50 MB at 8K
BAD_PACKETS_ALLOWED = 500  # in a row; the decoder goes on behind a damaged stretch
SEEK_TRIES = 4  # a file's own index may lead behind the frame that is wanted
CAPTURE_TAG = "com.android.capture.fps"  # from memory; pictures a second when it was taken
SLOW_FROM = 1.5  # a tag a little off the rate is no slow motion
MOST_SLOWED = 40.0
CONTAINERS = "mov,matroska,webm,avi,mpegts,mpeg,flv,asf,ogg"  # names of FFmpeg's demuxers; none reads other files
GIVE = tr("give an mp4, mov, mkv or avi file")
NOT_A_VIDEO = tr("not a video that can be read, or cut short while it was copied")
NO_PICTURE = tr("there is no picture in it")
RECORD_AGAIN = tr("record it again, or give another clip")


class VideoFile:
    """``grab`` goes to the next picture and tells its time, ``picture`` gives it; not from two threads at once.

    Times count from the first picture (s; NaN: it has no stamp). nominal_fps: what the file says, None if it does not;
    frames_said: likewise, may be off, and it counts those that an edit list leaves out; trimmed_s: how long it lasts without
    them (NaN: a kind of file without edit lists). size: (width, height) px of what ``picture`` gives; own_size: of the
    pictures in the file, as they are to be seen. slowed: how many times slower than life the file plays; all times here are
    those of life. recorded_fps: pictures a second when it was taken, None: as the file says. Raises ClipError.
    """

    def __init__(self, path: Path, longest_px: int = LONGEST_PX, recorded_fps: float | None = None) -> None:
        from av.video.reformatter import Interpolation, VideoReformatter

        self._where = str(path)
        _check_file(path)
        self._container = self._opened(path)
        try:
            self._stream = self._video_stream()
            rate = self._rate()
            self.slowed = self._slowed(rate or USUAL_FPS, recorded_fps)
            self._tick_s = float(self._stream.time_base or 0) / self.slowed
            self.nominal_fps = rate * self.slowed if rate else None
            lasts_s = (self._stream.duration or 0) * self._tick_s
            self.trimmed_s = lasts_s if "mov" in self._container.format.name else math.nan
            count = self._stream.frames or lasts_s * (self.nominal_fps or 0.0)
            self.frames_said = round(count) if 0 < count < 1e7 else None
            self._from_pts: int | None = None  # pictures before it lack what they are made of
            self._frame: VideoFrame | None = None
            self._frames = self._decoded(self._container.demux(self._stream))
            first = next(self._frames, None)
            if first is None:
                raise ClipError(NO_PICTURE, self._where, RECORD_AGAIN)
            self._first: VideoFrame | None = first
            self._zero = _stamp_of(first)
            self._shape = (first.width, first.height, first.rotation)
            self._quarters = round(first.rotation / 90) % 4
            self._reduced = reduced(first.width, first.height, longest_px)
            same = self._reduced == (first.width, first.height)
            self._how = Interpolation.BICUBIC if same else Interpolation.AREA
            self._reformatter = VideoReformatter()
            self.size = self._turned(self._reduced)
            self.own_size = self._turned((first.width, first.height))
        except BaseException:
            self._container.close()
            raise

    def grab(self) -> float | None:
        """The time of the next picture; None: there are no more."""
        self._frame, self._first = self._first or next(self._frames, None), None
        if self._frame is None:
            return None
        if (self._frame.width, self._frame.height, self._frame.rotation) != self._shape:
            raise ClipError(
                tr("the pictures change their size half way"), self._where, tr("give each part as a clip of its own")
            )
        stamp = _stamp_of(self._frame)
        return math.nan if stamp is None else (stamp - (self._zero or 0)) * self._tick_s

    def picture(self) -> Any:
        """Of the frame last grabbed: (height, width, 3) uint8 BGR."""
        assert self._frame is not None, "grab comes first"
        width, height = self._reduced
        how = self._how
        image = self._reformatter.reformat(
            self._frame, width, height, "bgr24", interpolation=how, threads=1
        ).to_ndarray()
        return turned(image, self._quarters) if self._quarters else image

    def seek(self, time_s: float) -> bool:
        """The next ``grab`` gives a picture not after that time, from the last key frame before it. False: start anew."""
        from av.error import FFmpegError

        if self._zero is None or not self._tick_s:
            return False
        wanted = aim = self._zero + round(time_s / self._tick_s)
        with suppress(FFmpegError):  # a file that cannot be sought in is read anew
            for _ in range(SEEK_TRIES):
                self._container.seek(aim, stream=self._stream)
                packets = self._container.demux(self._stream)
                packet = next(packets, None)
                if packet is None or packet.pts is None:
                    return False
                if packet.is_keyframe and packet.pts <= wanted:
                    self._from_pts, self._first = packet.pts, None
                    self._frames = self._decoded(_chained(packet, packets))
                    return True
                aim = min(aim, packet.pts if packet.dts is None else packet.dts) - 1
        return False

    def key_before(self, time_s: float) -> float:
        """The time of the last key frame not after that time, by the file's own index (s; NaN: it has none, or tells no more)."""
        if self._zero is None or not self._tick_s:
            return math.nan
        index = self._stream.index_entries
        found = index.search_timestamp(self._zero + round(time_s / self._tick_s), backward=True)
        return math.nan if found < 0 else (index[found].timestamp - self._zero) * self._tick_s

    @property
    def tags(self) -> dict[str, str]:
        """What is written in the file about it."""
        return self._container.metadata

    def times_said(self) -> list[float]:
        """Of all pictures, rising, told without decoding; there is nothing to ``grab`` after it."""
        from av.error import FFmpegError

        stamps: list[int] = []
        with suppress(FFmpegError):  # what there is
            self._container.seek(self._zero or 0, stream=self._stream)
            for packet in self._container.demux(self._stream):
                if packet.pts is not None and not packet.is_corrupt:
                    stamps.append(packet.pts)
        return [(stamp - (self._zero or 0)) * self._tick_s for stamp in sorted(stamps)]

    def close(self) -> None:
        self._frame = self._first = None
        self._container.close()

    def _opened(self, path: Path) -> InputContainer:
        import av
        from av.error import FFmpegError

        only = {"format_whitelist": CONTAINERS, "protocol_whitelist": "file"}
        try:
            # As a named protocol, or a colon in a name would be taken for one.
            return av.open(f"file:{path}", options=only, metadata_errors="replace")
        except (FFmpegError, ValueError):
            raise ClipError(NOT_A_VIDEO, self._where, GIVE) from None

    def _video_stream(self) -> VideoStream:
        from av.stream import Disposition

        found = [s for s in self._container.streams.video if not s.disposition & Disposition.attached_pic]
        if not found:
            raise ClipError(NO_PICTURE, self._where, RECORD_AGAIN)
        stream = found[0]
        context = stream.codec_context
        if context is None:
            raise ClipError(tr("it is coded in a way that is not known here"), self._where, GIVE)
        width, height = context.width, context.height
        low, high = SIDE_RANGE_PX
        if not (low <= min(width, height) and max(width, height) <= high):
            raise ClipError(
                tr("its pictures are {width} x {height}", width=width, height=height),
                self._where,
                tr("sides of {low} to {high} px can be read", low=low, high=high),
            )
        context.options = {"max_pixels": str(high * high)}
        context.thread_type = "AUTO"
        if width * height > THREADS_UP_TO_PX:
            context.thread_type, context.thread_count = "SLICE", 1
        return stream

    def _rate(self) -> float | None:
        for rate in (self._stream.guessed_rate, self._stream.average_rate):
            if rate and FPS_RANGE[0] <= rate <= FPS_RANGE[1]:
                return float(rate)
        return None

    def _slowed(self, plays_fps: float, recorded_fps: float | None) -> float:
        if recorded_fps is None:
            try:
                recorded_fps = float(self._container.metadata.get(CAPTURE_TAG, ""))
            except ValueError:
                return 1.0
            if not recorded_fps > SLOW_FROM * plays_fps:
                return 1.0
        share = recorded_fps / plays_fps
        return share if 1 / MOST_SLOWED <= share <= MOST_SLOWED else 1.0

    def _decoded(self, packets: Iterator[Packet[VideoStream]]) -> Iterator[VideoFrame]:
        from av.error import FFmpegError

        bad = 0
        try:
            for packet in packets:
                try:
                    frames = self._stream.decode(packet)
                except FFmpegError:
                    bad += 1
                    if bad > BAD_PACKETS_ALLOWED:
                        return
                    continue
                bad = 0
                for frame in frames:
                    if self._from_pts is None or frame.pts is None or frame.pts >= self._from_pts:
                        yield frame
        except FFmpegError:  # the file cannot be read on; who reads sees that it is short
            return

    def _turned(self, size: tuple[int, int]) -> tuple[int, int]:
        return (size[1], size[0]) if self._quarters % 2 else size


def reduced(width: int, height: int, longest_px: int = LONGEST_PX) -> tuple[int, int]:
    """The size in which a picture is looked at: its longer side no longer than that, sides even."""
    share = longest_px / max(width, height)
    if share >= 1.0:
        return width, height
    return max(2, round(width * share / 2) * 2), max(2, round(height * share / 2) * 2)


def turned(image: Any, quarters: int) -> Any:
    """quarters: of a turn, against the clock."""
    import cv2

    return cv2.rotate(image, (cv2.ROTATE_90_COUNTERCLOCKWISE, cv2.ROTATE_180, cv2.ROTATE_90_CLOCKWISE)[quarters - 1])


def _stamp_of(frame: VideoFrame) -> int | None:
    return frame.dts if frame.pts is None else frame.pts


def _chained(first: Packet[VideoStream], rest: Iterator[Packet[VideoStream]]) -> Iterator[Packet[VideoStream]]:
    yield first
    yield from rest


def _check_file(path: Path) -> None:
    """Raises ClipError for what is no file, or an empty one."""
    where = str(path)
    try:
        if path.is_dir():
            raise ClipError(tr("is a folder"), where, tr("give the clip's file"))
        if not path.is_file() and path.exists():
            raise ClipError(tr("is no file"), where, tr("give the clip's file"))
        with path.open("rb") as file:
            empty = not file.read(1)
    except FileNotFoundError:
        raise ClipError(tr("no such file"), where, tr("check the name")) from None
    except PermissionError:
        raise ClipError(tr("may not be read"), where, tr("change the file's permissions")) from None
    except ClipError:
        raise
    except OSError as error:
        raise ClipError(
            tr("cannot be read ({words})", words=error.strerror or error), where, tr("copy the clip to another place")
        ) from None
    if empty:
        raise ClipError(tr("the file is empty"), where, tr("copy it again from where it was recorded"))
