"""Clips as sources: nothing lost or doubled, times in order, paced by an injected clock, bad files in one line."""

from __future__ import annotations

import math
import threading
from pathlib import Path

import cv2
import numpy as np
import pytest

from tests.support.paths import ROOT
from trainer.domain.observation import Frame
from trainer.errors import ClipError
from trainer.testing.fakes import FakeCamera, FakeClock, ListSource, bursts
from trainer.vision.sources.base import RateMeter
from trainer.vision.sources.clip import LATE_S, Clip, Stamper

FPS = 25.0
SIDE = 64


def numbered(index: int) -> np.ndarray:
    """A picture that carries its number in 8 black or white columns, which survive compression, over noise."""
    image = np.random.default_rng(index).integers(90, 160, (SIDE, SIDE, 3), dtype=np.uint8)
    for bit in range(8):
        image[:32, bit * 8 : bit * 8 + 8] = 255 if index >> bit & 1 else 0
    return image


def number_of(image: np.ndarray) -> int:
    return sum(1 << bit for bit in range(8) if image[4:28, bit * 8 + 2 : bit * 8 + 6].mean() > 128)


def written(path: Path, codec: str = "mp4v", count: int = 40) -> Path:
    writer = cv2.VideoWriter(str(path), cv2.CAP_FFMPEG, cv2.VideoWriter.fourcc(*codec), FPS, (SIDE, SIDE))
    assert writer.isOpened()
    for index in range(count):
        writer.write(numbered(index))
    writer.release()
    return path


@pytest.mark.parametrize(("name", "codec"), [("a.mp4", "mp4v"), ("a.avi", "MJPG"), ("a.mkv", "MJPG")])
def test_every_frame_once_in_order_with_its_time(tmp_path: Path, name: str, codec: str) -> None:
    clip = Clip(written(tmp_path / name, codec))
    with clip:
        assert clip.size == (SIDE, SIDE)
        assert clip.nominal_fps == pytest.approx(FPS)
        frames = list(clip)
    assert [number_of(f.image) for f in frames] == list(range(40))
    assert [f.index for f in frames] == list(range(40))
    # Matroska stamps are whole milliseconds.
    assert [f.time_s for f in frames] == pytest.approx([i / FPS for i in range(40)], abs=0.0006)
    assert clip.measured_fps == pytest.approx(FPS, rel=1e-3)


def test_times_of_a_rendered_clip_are_those_of_its_truth(clips: Path) -> None:
    import json

    truth = json.loads((clips / "T11_60fps_good.json").read_text())
    times = [f.time_s for f in Clip(clips / "T11_60fps_good.mp4")]
    assert times == pytest.approx([f["t"] for f in truth["frames"]], abs=1e-4)


STEP = 0.04


@pytest.mark.parametrize(
    ("said", "used"),
    [
        ([0.0, 0.04, 0.08], [0.0, 0.04, 0.08]),
        ([0.5, 0.54, 0.61], [0.5, 0.54, 0.61]),  # a phone's varying rate, a late start
        ([0.0, 0.0, 0.0], [0.0, 0.04, 0.08]),  # no stamps at all
        ([math.nan, math.nan], [0.0, 0.04]),
        ([-1.0, 0.04], [0.0, 0.04]),
        ([0.0, 0.04, 0.0, 0.04], [0.0, 0.04, 0.08, 0.12]),  # two clips joined
        ([0.0, 0.04, 0.03, 0.08], [0.0, 0.04, 0.08, 0.13]),  # one step back
        ([0.0, 0.04, 0.04, 0.12], [0.0, 0.04, 0.08, 0.12]),  # one without a stamp of its own
        ([0.0, 2.0], [0.0, 2.0]),  # a gap is a gap
    ],
)
def test_time_stamps_rise(said: list[float], used: list[float]) -> None:
    stamper = Stamper(STEP)
    assert [stamper.stamp(t) for t in said] == pytest.approx(used)


def test_paced_frames_come_when_they_are_due(tmp_path: Path) -> None:
    clock = FakeClock(100.0)
    arrived = []
    for frame in Clip(written(tmp_path / "a.mp4"), pace=clock):
        arrived.append((clock.now(), frame.time_s))
    assert [a - 100.0 for a, _ in arrived] == pytest.approx([t for _, t in arrived])
    assert sum(nap for _, nap in clock.naps) == pytest.approx(39 / FPS)


def test_a_slow_reader_gets_every_frame_and_no_rush(tmp_path: Path) -> None:
    clock = FakeClock()
    arrived = []
    for frame in Clip(written(tmp_path / "a.mp4"), pace=clock):
        arrived.append((clock.now(), frame.index))
        if frame.index == 10:
            clock.advance(5.0)
    assert [i for _, i in arrived] == list(range(40))
    gaps = np.diff([t for t, _ in arrived])
    assert gaps[10] == pytest.approx(5.0)
    assert gaps[11:] == pytest.approx(1 / FPS)
    assert LATE_S < 5.0


def test_closing_ends_a_waiting_clip(tmp_path: Path) -> None:
    """Close comes from another thread than the one that reads."""

    class Sleeper(FakeClock):
        def sleep(self, seconds: float) -> None:
            closer = threading.Thread(target=clip.close)
            closer.start()
            closer.join(5.0)
            super().sleep(seconds)

    clip = Clip(written(tmp_path / "a.mp4"), pace=Sleeper())
    assert clip.read() is not None
    assert clip.read() is None
    assert clip.read() is None
    assert clip.close()


def bad_clip(folder: Path, kind: str) -> Path:
    path = folder / f"{kind}.mp4"
    if kind == "text":
        path.write_text("this is a letter, not a video\n" * 50)
    elif kind == "empty":
        path.touch()
    elif kind == "folder":
        path.mkdir()
    elif kind == "cut before its index":
        whole = written(folder / "whole.mp4").read_bytes()
        path.write_bytes(whole[: len(whole) * 2 // 3])
    elif kind == "zeros":
        path.write_bytes(bytes(20_000))
    return path


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("missing", "no such file"),
        ("empty", "the file is empty"),
        ("folder", "is a folder"),
        ("text", "not a video"),
        ("zeros", "not a video"),
        ("cut before its index", "cut short"),
    ],
)
def test_what_cannot_be_read_is_said_in_one_line(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], kind: str, words: str
) -> None:
    path = bad_clip(tmp_path, kind)
    with pytest.raises(ClipError, match=words) as caught:
        Clip(path)
    line = str(caught.value)
    assert str(path) in line
    assert "\n" not in line
    assert isinstance(caught.value, OSError)
    assert capfd.readouterr() == ("", "")  # nothing from the decoder


def test_a_clip_that_stops_short_gives_what_it_has_and_then_says_so(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    whole = written(tmp_path / "whole.avi", "MJPG").read_bytes()
    path = tmp_path / "cut.avi"
    path.write_bytes(whole[: len(whole) // 2])
    numbers: list[int] = []
    with pytest.raises(ClipError, match=r"stops after \d+ of 40 frames") as caught:
        numbers.extend(number_of(frame.image) for frame in Clip(path))
    assert numbers == list(range(len(numbers)))
    assert 10 < len(numbers) < 36
    assert f"after {len(numbers)} of" in str(caught.value)
    assert capfd.readouterr() == ("", "")


def test_rate_is_gaps_over_time() -> None:
    meter = RateMeter()
    assert meter.fps is None
    meter.add(5.0)
    assert meter.fps is None
    meter.add(5.1)
    assert meter.fps == pytest.approx(10.0)  # one gap, not two frames
    for i in range(2, 31):
        meter.add(5.0 + i * 0.1)
    assert meter.fps == pytest.approx(10.0)


def test_fake_camera_gives_bursts_and_gaps() -> None:
    frames = [Frame(i, i / 10, None) for i in range(7)]
    clock = FakeClock()
    camera = FakeCamera(frames, bursts(frames, 3), clock)
    assert [f.index for f in camera] == list(range(7))
    assert [t for t, _ in camera.log] == pytest.approx([0.2, 0.2, 0.2, 0.5, 0.5, 0.5, 0.6])
    with pytest.raises(ValueError, match="7 frames with 1 arrivals"):
        FakeCamera(frames, [0.0], clock)


def test_list_source_fails_after_its_frames() -> None:
    source = ListSource([Frame(0, 0.0, None)], failure=ClipError("gone"))
    assert source.read() is not None
    with pytest.raises(ClipError, match="gone"):
        source.read()


def test_the_decoder_is_quiet_in_a_process_of_its_own(tmp_path: Path) -> None:
    import os
    import subprocess
    import sys

    code = (
        "import sys; from trainer.vision.sources.clip import Clip\n"
        "from trainer.errors import ClipError\n"
        "for path in sys.argv[1:]:\n"
        "    try: list(Clip(path))\n"
        "    except ClipError as error: print(error)"
    )
    cut = tmp_path / "cut.avi"
    cut.write_bytes(written(tmp_path / "whole.avi", "MJPG").read_bytes()[:30_000])
    paths = [bad_clip(tmp_path, "text"), bad_clip(tmp_path, "cut before its index"), cut]
    plain = {k: v for k, v in os.environ.items() if not k.startswith("OPENCV_")}
    root = ROOT
    done = subprocess.run(
        [sys.executable, "-c", code, *paths], cwd=root, env=plain, capture_output=True, text=True, timeout=60
    )
    assert len(done.stdout.splitlines()) == 3
    assert done.stderr == ""
