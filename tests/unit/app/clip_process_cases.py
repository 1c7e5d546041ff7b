"""Clips read in a process of its own: the same frames and points, failures told of, nothing left behind.

``test_clip_process`` runs these in an interpreter of their own: a fork of one whose other threads decode clips may hang.
"""

from __future__ import annotations

import multiprocessing
import os
import select
import subprocess
import sys
from pathlib import Path
from typing import Any, Iterator

import numpy as np
import pytest

from trainer.app import build, clip_serving
from trainer.app.clip_process import ClipProcess
from trainer.app.clip_serving import AHEAD
from trainer.errors import ClipError, TrainerError
from trainer.live.pipeline import Failed
from trainer.live.prefetch import Found, found_in_turn
from trainer.resources import data_path
from trainer.settings.load import load
from trainer.vision.body.pose import PoseBody
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.clip import Clip

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="of Linux")
DEMO = data_path("demo", "demo.mp4")
ENDS_WITHIN_S = 20.0
SETTINGS = load([])


@pytest.fixture(params=[-1, AHEAD], ids=["model in one thread", "model in two"])
def reader_by_threads(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[ClipProcess]:
    """Whatever waits for it."""
    monkeypatch.setattr(clip_serving, "FEW", request.param)
    with ClipProcess() as process:
        yield process


@pytest.fixture
def reader() -> Iterator[ClipProcess]:
    assert ClipProcess.possible()
    with ClipProcess() as process:
        yield process


def same(a: Found, b: Found) -> bool:
    """To the last bit."""
    points = [repr(None if f.body is None else {n: p.tolist() for n, p in f.body.items()}) for f in (a, b)]
    frames = [(f.frame.index, f.frame.time_s, f.frame.shake) for f in (a, b)]
    return points[0] == points[1] and frames[0] == frames[1] and np.array_equal(a.frame.image, b.frame.image)


def test_frames_and_points_are_those_of_one_thread_clip_after_clip(reader_by_threads: ClipProcess) -> None:
    reader = reader_by_threads
    with Clip(DEMO) as clip:
        observer = build.observer(SETTINGS)
        expected = list(found_in_turn(clip, observer.find_body, MonotonicClock()))
        picture = expected[40].frame.image
        points = observer.body.find(picture)
        notices, size = clip.notices(), clip.size
    assert any(found.body for found in expected)
    assert len(expected) > 2 * AHEAD
    for _ in range(2):
        with reader.open(DEMO, SETTINGS) as elsewhere:
            found = list(elsewhere.found())
            assert len(found) == len(expected)
            assert all(map(same, found, expected))
            assert (elsewhere.notices(), elsewhere.size) == (notices, size)
            again = reader.body.find(picture)  # the model as the clip has left it
            assert points is not None
            assert again is not None
            assert {n: p.tolist() for n, p in again.items()} == {n: p.tolist() for n, p in points.items()}


def test_given_up_half_way_or_not_readable_the_next_clip_is_read(reader: ClipProcess, tmp_path: Path) -> None:
    for taken in (1, AHEAD + 3):
        with reader.open(DEMO, SETTINGS) as clip:
            for _, _ in zip(range(taken), clip.found(), strict=False):
                pass
    (tmp_path / "no.mp4").write_text("no clip")
    with pytest.raises(ClipError, match="not a video") as caught:
        reader.open(tmp_path / "no.mp4", SETTINGS)
    assert "in _read" in str(caught.value.__cause__)
    with reader.open(DEMO, SETTINGS) as clip:
        first = clip.read()
    assert first is not None
    assert first.index == 0


def test_a_clip_that_is_cut_short_says_so_after_its_last_good_frame(monkeypatch: pytest.MonkeyPatch) -> None:
    read = Clip.read

    def short(self: Clip) -> Any:
        if self._index == AHEAD + 3:
            raise ClipError("it stops", self.where)
        return read(self)

    monkeypatch.setattr(Clip, "read", short)
    seen = []
    with ClipProcess() as reader, reader.open(DEMO, SETTINGS) as clip:
        with pytest.raises(ClipError, match="it stops"):
            seen.extend(found.frame.index for found in clip.found())
        assert seen == list(range(AHEAD + 3))
        assert clip.read() is None


def test_a_fault_of_ours_comes_with_its_frame(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(self: PoseBody, image: Any) -> Any:
        raise IndexError("of nothing")

    monkeypatch.setattr(PoseBody, "find", broken)
    with ClipProcess() as reader, reader.open(DEMO, SETTINGS) as clip:
        found = next(clip.found())
    assert found.frame.index == 0
    assert isinstance(found.body, Failed)
    assert isinstance(found.body.error, IndexError)
    assert "in broken" in str(found.body.error.__cause__)


def test_a_model_that_cannot_be_loaded_is_told_of(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(threads: int) -> Any:
        raise FileNotFoundError("landmarks.tflite")

    monkeypatch.setattr(clip_serving, "PoseModels", missing)
    with ClipProcess() as reader, pytest.raises(FileNotFoundError, match="landmarks") as caught:
        reader.open(DEMO, SETTINGS)
    assert "in missing" in str(caught.value.__cause__)


def test_a_process_that_is_ended_from_outside_is_told_of() -> None:
    with ClipProcess() as reader, reader.open(DEMO, SETTINGS) as clip:
        (child,) = multiprocessing.active_children()
        child.kill()
        with pytest.raises(TrainerError, match=r"demo\.mp4: its process was ended from outside"):
            list(clip.found())
    assert not multiprocessing.active_children()


def test_it_ends_with_whoever_started_it() -> None:
    code = "from trainer.app.clip_process import ClipProcess; kept = ClipProcess(); print(flush=True); input()"
    with subprocess.Popen([sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE) as owner:
        assert owner.stdout is not None
        assert owner.stdout.readline()
        (child,) = Path(f"/proc/{owner.pid}/task/{owner.pid}/children").read_text().split()
        ended = os.pidfd_open(int(child))
        owner.kill()
    assert select.select([ended], [], [], ENDS_WITHIN_S)[0]
    os.close(ended)
