"""Files as phones write them: frame n is frame n, at its own time, however it is coded, timed, turned or cut."""

from __future__ import annotations

import contextlib
import os
import resource
import time
from itertools import pairwise
from pathlib import Path
from typing import Callable

import cv2
import numpy as np
import pytest

from tests.support.burnt import grab_at, number_of, picture
from tests.support.phone_clips import OPEN_GOP, QUIET, at_rate, coded, edited, numbered, turned_by_flag, uneven
from trainer.errors import ClipError
from trainer.replay.clip_reader import Reader, times_of
from trainer.vision.sources.clip import Clip
from trainer.vision.sources.video_file import LONGEST_PX, VideoFile, reduced

COUNT = 50


def sparse(path: Path) -> Path:
    """One key frame for the whole clip, pictures that look ahead and back."""
    return numbered(path, at_rate(30, COUNT), options={"g": "500", "bf": "3"})


KINDS: dict[str, Callable[[Path], Path]] = {
    "24": lambda path: numbered(path, at_rate(24, COUNT)),
    "29.97": lambda path: numbered(path, at_rate(30000 / 1001, COUNT)),
    "120": lambda path: numbered(path, at_rate(120, COUNT)),
    "240": lambda path: numbered(path, at_rate(240, COUNT), options={"g": "30"}),
    "uneven": lambda path: numbered(path, uneven(COUNT), options={"bf": "2", "g": "20"}),
    "sparse": sparse,
    "open gop": lambda path: numbered(path, at_rate(30, COUNT), options=OPEN_GOP),
    "turned": lambda path: turned_by_flag(path, COUNT),
    "10 bit": lambda path: numbered(path, at_rate(60, COUNT), codec="libx265", pix_fmt="yuv420p10le", options=QUIET),
}
TIMES = {"24": 1 / 24, "29.97": 1001 / 30000, "120": 1 / 120, "240": 1 / 240, "10 bit": 1 / 60}


@pytest.mark.parametrize("kind", KINDS)
def test_every_frame_is_that_frame_in_order_and_in_any_order(tmp_path: Path, kind: str) -> None:
    path = KINDS[kind](tmp_path / "a.mp4")
    with Clip(path) as clip:
        frames = list(clip)
    times = np.array([frame.time_s for frame in frames])
    assert [number_of(frame.image) for frame in frames] == list(range(COUNT))
    assert clip.size == (320, 240)
    wanted = uneven(COUNT) if kind == "uneven" else np.arange(COUNT) * TIMES.get(kind, 1 / 30)
    assert times == pytest.approx(wanted, abs=1e-4)
    assert list(times_of(path)) == list(times)
    reader = Reader(path)
    try:
        for index in (*np.random.default_rng(3).integers(0, COUNT, 12), 0, COUNT - 1, COUNT // 2 + 1):
            assert grab_at(reader, int(index), times)
            image = reader.picture()
            assert number_of(image) == index
            assert (image == frames[index].image).all()  # to the bit, however it was come to
    finally:
        reader.close()


def test_a_clip_cut_by_an_edit_list_begins_where_it_is_cut(tmp_path: Path) -> None:
    path = edited(numbered(tmp_path / "a.mp4", at_rate(30, COUNT), options={"g": "25", "bf": "2"}), skip_s=10 / 30)
    with Clip(path) as clip:
        seen = [(number_of(frame.image), frame.time_s) for frame in clip]
    assert [n for n, _ in seen] == list(range(10, COUNT))
    assert [t for _, t in seen] == pytest.approx([n / 30 for n in range(COUNT - 10)], abs=1e-4)
    reader = Reader(path)
    for index in (30, 3, 17):
        assert grab_at(reader, index, np.array([t for _, t in seen]))
        assert number_of(reader.picture()) == index + 10
    reader.close()


def test_pictures_are_those_of_another_reader(tmp_path: Path) -> None:
    path = numbered(tmp_path / "a.mp4", at_rate(30, 10))
    capture = cv2.VideoCapture(str(path), cv2.CAP_FFMPEG)
    with Clip(path) as clip:
        for frame in clip:
            assert (capture.read()[1] == frame.image).all()
    capture.release()


def test_slow_motion_that_says_so_has_the_times_of_life(tmp_path: Path) -> None:
    """By a tag of what it was recorded at, by an edit list that stretches it, or by what the user says."""
    slow = at_rate(30, 24)
    tagged = numbered(tmp_path / "a.mp4", slow, tags={"com.android.capture.fps": "240.000000"})
    plain = numbered(tmp_path / "b.mp4", slow)
    stretched = edited(numbered(tmp_path / "c.mp4", at_rate(240, 24)), stretch=8)
    near = numbered(tmp_path / "d.mp4", slow, tags={"com.android.capture.fps": "30.02"})
    for clip, fps in (
        (Clip(tagged), 240),
        (Clip(plain, recorded_fps=240), 240),
        (Clip(stretched), 240),
        (Clip(near), 30),
    ):
        with clip:
            frames = list(clip)
            assert [number_of(frame.image) for frame in frames] == list(range(24))
            assert [frame.time_s for frame in frames] == pytest.approx([n / fps for n in range(24)], abs=1e-4)
            assert clip.nominal_fps == pytest.approx(fps, rel=0.001)
            assert any("8 times slower" in line for line in clip.notices()) == (clip.pace_known and fps == 240)
    reader = Reader(tagged)
    assert grab_at(reader, 20, np.array([n / 240 for n in range(24)]))
    assert number_of(reader.picture()) == 20
    reader.close()


@pytest.mark.parametrize("pix_fmt", ["yuv420p", "yuvj420p", "yuv420p10le"])
def test_colours_and_levels_come_right(tmp_path: Path, pix_fmt: str) -> None:
    """Full range and 10 bits too: white, black and colours are what they were."""
    colours = ((255, 255, 255), (0, 0, 0), (128, 128, 128), (40, 160, 220))
    image = np.zeros((64, 256, 3), np.uint8)
    for n, colour in enumerate(colours):
        image[:, 64 * n : 64 * n + 64] = colour
    codec = "libx265" if "10" in pix_fmt else "libx264"
    path = coded(tmp_path / "a.mp4", [image] * 3, at_rate(30, 3), codec, pix_fmt, QUIET if "10" in pix_fmt else None)
    file = VideoFile(path)
    file.grab()
    seen = file.picture()
    file.close()
    for n, colour in enumerate(colours):
        assert list(map(int, seen[32, 64 * n + 32])) == pytest.approx(colour, abs=6)  # a wrong range is off by 16


def test_large_pictures_are_reduced_and_one_line_says_so(tmp_path: Path) -> None:
    path = coded(tmp_path / "a.mp4", [picture(n, 1920, 1080) for n in range(2)], at_rate(30, 2))
    with Clip(path) as clip:
        frames = list(clip)
        assert clip.notices() == ("pictures of 1920 x 1080 are looked at in 1280 x 720",)
    assert frames[0].image.shape == (720, 1280, 3)
    assert clip.size == (1280, 720)
    wanted = cv2.resize(picture(0, 1920, 1080), (1280, 720), interpolation=cv2.INTER_AREA)
    assert np.abs(frames[0].image.astype(int) - wanted).mean() < 4
    assert reduced(640, 480) == (640, 480)
    assert reduced(2160, 3840) == (720, LONGEST_PX)


@pytest.mark.parametrize(
    "name", ["12:30:05.mp4", os.fsdecode(b"Jos\xe9 \xff.mp4"), "-a.mp4", "a%03d.mp4", "pipe:0.mp4"]
)
def test_odd_names_are_names(tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    numbered(tmp_path / "plain.mp4", at_rate(30, 3)).rename(tmp_path / name)
    monkeypatch.chdir(tmp_path)
    with Clip(Path(name)) as clip:
        assert [number_of(frame.image) for frame in clip] == [0, 1, 2]


# ---- files that are no clips


def sound_only(path: Path) -> None:
    import av

    with av.open(str(path), "w") as out:
        stream = out.add_stream("aac", rate=44100)
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), format="fltp", layout="mono")
        frame.sample_rate, frame.pts = 44100, 0
        out.mux(stream.encode(frame))
        out.mux(stream.encode(None))


def playlist(path: Path) -> None:
    """Names another file, as a list that players follow does."""
    other = numbered(path.with_name("other.ts"), at_rate(30, 3))
    path.write_text(f"#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\n{other.name}\n#EXT-X-ENDLIST\n")


def still(path: Path) -> None:
    path.write_bytes(cv2.imencode(".png", picture(0, 320, 240))[1].tobytes())


def two_sizes(path: Path) -> None:
    """A stream whose pictures grow half way."""
    small = numbered(path.with_name("small.ts"), at_rate(30, 8))
    large = numbered(path.with_name("large.ts"), [t + 8 / 30 for t in at_rate(30, 8)], size=(480, 360))
    path.write_bytes(small.read_bytes() + large.read_bytes())


def tiny(path: Path) -> None:
    coded(path, [np.zeros((1, 1, 3), np.uint8)], [0.0], "mjpeg", "yuvj420p")


def wide(path: Path) -> None:
    coded(path, [np.zeros((16, 16384, 3), np.uint8)], [0.0], "mjpeg", "yuvj420p")


def without_frames(path: Path) -> None:
    whole = numbered(path.with_name("whole.mp4"), at_rate(30, 3), options={"x264-params": "annexb=0"}).read_bytes()
    at = whole.index(b"mdat")
    path.write_bytes(
        whole[: at + 4] + bytes(len(whole[at + 4 : whole.index(b"moov") - 4])) + whole[whole.index(b"moov") - 4 :]
    )


BAD: dict[str, tuple[Callable[[Path], None], str]] = {
    "sound only": (sound_only, "there is no picture in it"),
    "playlist": (playlist, "not a video"),
    "picture": (still, "not a video"),
    "two sizes": (two_sizes, "change their size half way"),
    "1x1": (tiny, "its pictures are 1 x 1"),
    "16k": (wide, "its pictures are 16384 x 16"),
    "no frames": (without_frames, "there is no picture in it|stops after"),
}


@pytest.mark.parametrize("kind", BAD)
def test_what_is_no_clip_is_one_line_soon(tmp_path: Path, kind: str, capfd: pytest.CaptureFixture[str]) -> None:
    make, words = BAD[kind]
    path = tmp_path / ("a.avi" if kind in ("16k", "1x1") else "a.mp4")
    make(path)
    begun, before_kb = time.perf_counter(), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(ClipError, match=words) as caught:
        list(Clip(path))
    assert time.perf_counter() - begun < 10.0
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before_kb < 500_000  # it grows only
    assert "\n" not in str(caught.value)
    assert capfd.readouterr() == ("", "")


def test_a_clip_cut_or_damaged_anywhere_gives_right_frames_or_a_line(tmp_path: Path) -> None:
    whole = numbered(tmp_path / "a.mp4", at_rate(30, 20), options={"g": "5"}).read_bytes()
    rng = np.random.default_rng(1)
    path = tmp_path / "b.mp4"
    for n in range(60):
        data = bytearray(whole)
        if n % 3 == 0:
            data = data[: int(rng.integers(1, len(data)))]
        else:
            for at in rng.integers(0, len(data) if n % 3 == 1 else 600, 6):
                data[-int(at) - 1 if n % 3 == 2 else int(at)] = int(rng.integers(0, 256))
        path.write_bytes(bytes(data))
        times = []
        with contextlib.suppress(ClipError), Clip(path) as clip:  # nothing else may be raised
            times.extend(frame.time_s for frame in clip)
        assert all(a < b for a, b in pairwise(times))
