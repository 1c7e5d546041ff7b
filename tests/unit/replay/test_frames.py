"""Frames seen again are frame exact: numbers burnt into the pictures are read back and compared."""

from __future__ import annotations

import threading
import time
from pathlib import Path
from typing import Iterator, Sequence

import numpy as np
import pytest

from tests.support.burnt import make_uneven, number_of, picture, write
from tests.support.made_strokes import record as made_stroke
from tests.support.phone_clips import at_rate, numbered
from trainer.domain.record import EVENT_NAMES, EventName, Events, Floats, Signals, StrokeRecord
from trainer.errors import ClipError
from trainer.replay.clip_frames import ClipFrames
from trainer.replay.clip_reader import Reader, times_of
from trainer.replay.figure import FigureFrames
from trainer.replay.frames import Frames, MemoryFrames, Still, nearest
from trainer.replay.stroke_clip import StrokeClip
from trainer.vision.sources.clip import Clip

KINDS = ("30", "60", "uneven")


@pytest.fixture(scope="module")
def burnt(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("burnt")
    made = {
        "30": write(folder / "a.mp4", 30, 90),
        "60": write(folder / "b.mp4", 60, 180),
        "uneven": write(folder / "c.mp4", 30, 90),
    }
    make_uneven(made["uneven"])
    return made


@pytest.fixture
def opened(burnt: dict[str, Path], request: pytest.FixtureRequest) -> Iterator[ClipFrames]:
    frames = ClipFrames(burnt[request.param]).start()
    yield frames
    frames.close()


def record_of(times_s: np.ndarray, events: dict[EventName, float]) -> StrokeRecord:
    signals = Signals(times_s, np.arange(len(times_s)), {})
    return StrokeRecord("ball", Events.of(events), {}, signals)


@pytest.mark.parametrize("kind", KINDS)
def test_times_are_those_of_reading_the_clip(burnt: dict[str, Path], kind: str) -> None:
    with Clip(burnt[kind]) as clip:
        read = [(frame.time_s, number_of(frame.image)) for frame in clip]
    times = times_of(burnt[kind])
    assert [t for t, _ in read] == list(times)
    assert [n for _, n in read] == list(range(len(times)))
    if kind == "uneven":
        gaps = np.diff(times)
        assert gaps.max() > 2 * gaps.min()


@pytest.mark.parametrize("opened", KINDS, indirect=True)
def test_any_frame_in_any_order_is_the_very_frame(opened: ClipFrames) -> None:
    for index in np.random.default_rng(3).integers(0, len(opened.times_s), 60):
        assert number_of(opened.frame(int(index))) == index


@pytest.mark.parametrize("opened", KINDS, indirect=True)
def test_stepping_skips_none_and_repeats_none(opened: ClipFrames) -> None:
    there = [number_of(opened.frame(i)) for i in range(len(opened.times_s))]
    back = [number_of(opened.frame(i)) for i in reversed(range(len(opened.times_s)))]
    assert there == list(range(len(opened.times_s)))
    assert back == there[::-1]


@pytest.mark.parametrize("opened", KINDS, indirect=True)
def test_the_frame_of_an_event_is_the_nearest(opened: ClipFrames) -> None:
    times = opened.times_s
    rng = np.random.default_rng(8)
    for _ in range(20):
        at = np.sort(rng.uniform(times[0], times[-1], len(EVENT_NAMES)))
        stroke_clip = StrokeClip(record_of(times, dict(zip(EVENT_NAMES, at, strict=True))), opened)
        for name, time_s in zip(EVENT_NAMES, at, strict=True):
            index = stroke_clip.frame_of(name)
            assert index is not None
            assert number_of(opened.frame(index)) == int(np.argmin(np.abs(times - time_s)))


def test_nearest_of_two_as_near_is_the_earlier_and_ends_hold() -> None:
    times = np.array([0.0, 0.5, 1.0])
    assert [nearest(times, t) for t in (-3.0, 0.25, 0.2501, 0.75, 9.0)] == [0, 0, 1, 1, 2]
    with pytest.raises(ValueError, match="no frames"):
        nearest(np.array([]), 0.0)


def test_long_clip_with_a_small_cache_stays_exact_and_small(tmp_path: Path) -> None:
    """Jumps over more frames than are decoded on for, in a file with even and with uneven times."""
    path = write(tmp_path / "long.mp4", 30, 900, (320, 240))
    for uneven in (False, True):
        if uneven:
            make_uneven(path)
        frames = ClipFrames(path, times_of(path), around_s=(25.0, 26.0), cache_mb=0.5).start()
        try:
            for index in (760, 761, 20, 899, 450, 449, 448, 0, 820):
                assert number_of(frames.frame(index)) == index
                assert cached_bytes(frames) <= 0.5e6
        finally:
            frames.close()


def cached_bytes(frames: ClipFrames) -> int:
    """Of the pictures that are kept."""
    with frames._change:
        return sum(map(len, frames._kept.values()))


def settled(frames: ClipFrames, index: int) -> Still:
    """Scrubbed to, and asked again until it is the very one; each picture on the way is the one that it is said to be."""
    while True:
        still = frames.soon(index)
        assert number_of(still.image) == still.index
        if still.exact:
            return still


class Held(Reader):
    """Takes one step toward a frame and waits before the next one, while it is held."""

    def __init__(self, path: Path) -> None:
        super().__init__(path)
        self.free = threading.Event()
        self.free.set()
        self.steps: list[int] = []

    def step_toward(self, index: int, times_s: Floats) -> int | None:
        if self.steps and self.steps[-1] == index:
            assert self.free.wait(30.0)
        self.steps.append(index)
        return super().step_toward(index, times_s)


def test_the_nearest_picture_is_there_at_once_and_the_very_one_after_it(tmp_path: Path) -> None:
    path = numbered(tmp_path / "a.mp4", at_rate(30, 120), options={"g": "40", "bf": "2", "sc_threshold": "0"})
    times, reader = times_of(path), Held(path)
    frames = ClipFrames(path, times, (0.0, 0.1), cache_mb=0.2, reader=reader).start()
    try:
        reader.free.clear()
        while (still := frames.soon(115)).index != 80:  # the key frame before it, as soon as this machine has it
            assert (number_of(still.image), still.exact) == (still.index, False)
        assert (number_of(still.image), still.exact) == (80, False)
        again = frames.soon(70)  # gone on to another place before the first was reached
        assert (number_of(again.image), again.exact) == (again.index, False)
        reader.free.set()
        for index in (70, 115, 71):
            assert settled(frames, index).index == index
        assert number_of(frames.frame(3)) == 3
    finally:
        reader.free.set()
        frames.close()


def test_a_frame_that_the_file_does_not_hold_is_told_when_it_is_scrubbed_to(tmp_path: Path) -> None:
    frames = ClipFrames(write(tmp_path / "a.mp4", 30, 30), [i / 30 for i in range(60)]).start()
    try:
        with pytest.raises(ClipError, match="frame 40 cannot be read"):
            settled(frames, 40)
    finally:
        frames.close()


@pytest.mark.timed
def test_wanted_stretch_is_there_before_the_rest(tmp_path: Path) -> None:
    path = write(tmp_path / "a.mp4", 30, 300)
    times = times_of(path)
    begun = time.perf_counter()
    frames = ClipFrames(path, times, around_s=(5.0, 6.5)).start()
    took_s = time.perf_counter() - begun
    try:
        assert took_s < 0.5
        assert number_of(frames.frame(frames.nearest(5.0))) == 150
    finally:
        frames.close()


def answers_s(path: Path, times: Sequence[float]) -> list[float]:
    """How long each step and scrub took."""
    opened = time.perf_counter()
    frames = ClipFrames(path, times).start()
    answers: list[float] = []
    try:
        scrubs = [*map(int, np.random.default_rng(2).integers(0, 300, 80)), *range(299, 220, -1)]
        for index in (*range(40), *range(40, 0, -1), *scrubs):
            while frames.ready < 1.0 and len(answers) >= 80:
                assert time.perf_counter() - opened < 8.0
                time.sleep(0.02)
            begun = time.perf_counter()
            image = frames.frame(index)
            answers.append(time.perf_counter() - begun)
            assert number_of(image) == index
            time.sleep(0.01)  # a hand is no faster
    finally:
        frames.close()
    return answers


@pytest.mark.timed
@pytest.mark.parametrize("size", [(640, 480), (1280, 720)])
def test_stepping_and_scrubbing_answer_in_time(tmp_path: Path, size: tuple[int, int]) -> None:
    """Ten seconds of clip. Steps at once while the rest is still being decoded; scrubbing when that is done, soon after.

    The best of up to three runs: another program that takes the processor for a tenth of a second is not ours to answer for.
    """
    path = write(tmp_path / "a.mp4", 30, 300, size)
    times = list(times_of(path))
    runs: list[tuple[float, float]] = []
    while len(runs) < 3 and not (runs and min(runs)[0] < 0.100):
        answers = answers_s(path, times)
        runs.append((max(answers), float(np.median(answers))))
    worst, median = min(runs)
    assert median < 0.050
    assert worst < 0.100


def test_a_clip_that_is_gone_is_a_plain_line(tmp_path: Path) -> None:
    with pytest.raises(ClipError, match="no such file"):
        ClipFrames(tmp_path / "gone.mp4").start()
    path = write(tmp_path / "a.mp4", 30, 30)
    times = times_of(path)
    path.unlink()
    with pytest.raises(ClipError, match="no such file"):
        ClipFrames(path, times).start()


def test_a_file_with_fewer_frames_than_said_gives_a_plain_line(tmp_path: Path) -> None:
    path = write(tmp_path / "a.mp4", 30, 30)
    frames = ClipFrames(path, [i / 30 for i in range(60)]).start()
    try:
        assert number_of(frames.frame(29)) == 29
        with pytest.raises(ClipError, match="frame 40 cannot be read"):
            frames.frame(40)
        assert number_of(frames.frame(12)) == 12
        with pytest.raises(IndexError):
            frames.frame(60)
        with pytest.raises(IndexError):
            frames.frame(-1)
    finally:
        frames.close()
        frames.close()
    with pytest.raises(ClipError, match="closed"):
        frames.frame(3)


def test_frames_from_memory() -> None:
    import cv2

    jpegs = [cv2.imencode(".jpg", picture(n, 320, 240))[1].tobytes() for n in range(5)]
    frames = MemoryFrames(jpegs, [0.0, 0.1, 0.25, 0.3, 0.9])
    assert frames.size == (320, 240)
    assert [number_of(frames.frame(i)) for i in (4, 0, 2)] == [4, 0, 2]
    assert frames.nearest(0.5) == 3
    with pytest.raises(ValueError, match="rising"):
        MemoryFrames(jpegs, [0.0, 0.1, 0.1, 0.3, 0.9])
    with pytest.raises(ValueError, match="one time"):
        MemoryFrames([], [])
    with pytest.raises(ClipError, match="damaged"):
        MemoryFrames([b"no picture"], [0.0])


@pytest.mark.parametrize("handedness", ["right", "left"])
def test_a_figure_shows_the_points_where_they_are_said_to_be(handedness: str) -> None:
    record = made_stroke()
    frames = FigureFrames(record, handedness)  # type: ignore[arg-type]
    stroke_clip = StrokeClip(record, frames, handedness=handedness)  # type: ignore[arg-type]
    index = stroke_clip.frame_of("top_s")
    assert index is not None
    image = frames.frame(index).astype(int)
    ground = image[2, 2]
    for name in ("putter", "lead_elbow", "lead_ankle", "trail_hip"):
        x, y = stroke_clip.places(name)[index]
        assert 0 <= x < frames.size[0]
        assert 0 <= y < frames.size[1]
        assert np.abs(image[round(y), round(x)] - ground).max() > 60, name
    # Backward is away from the target: to the left for a right-hander filmed face-on, to the right for a left-hander.
    start, top = (
        stroke_clip.places("putter")[stroke_clip.sample_at(stroke_clip.events[n])][0] for n in ("takeaway_s", "top_s")
    )
    assert (top < start) == (handedness == "right")


def test_all_kinds_of_frames_are_frames(tmp_path: Path) -> None:
    clip = ClipFrames(write(tmp_path / "a.mp4", 30, 3)).start()
    every: list[Frames] = [clip, FigureFrames(made_stroke())]
    for frames in every:
        assert frames.frame(0).shape == (frames.size[1], frames.size[0], 3)
    clip.close()
