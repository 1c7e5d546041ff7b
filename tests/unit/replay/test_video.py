"""Videos of strokes: only when asked, frame exact with their own times, beside the record, and gone when erased."""

from __future__ import annotations

import contextlib
import os
from datetime import datetime, timedelta, timezone
from pathlib import Path

import cv2
import numpy as np
import pytest

from tests.support import old_avi
from tests.support.burnt import number_of, picture
from tests.support.made_strokes import record as made_stroke
from trainer.app.context import load_context
from trainer.commands.cli import run
from trainer.errors import StoreError
from trainer.replay.frames import MemoryFrames
from trainer.replay.retention import VideoKeeper, stored_shot, tidy
from trainer.store import video
from trainer.store.video import StrokeKey, key_of

KEY = StrokeKey(1, "0" * 32, "")
NOW = datetime(2026, 11, 25, 12, 0, tzinfo=timezone.utc)


def numbered(count: int, start_s: float = 0.0, first: int = 0) -> MemoryFrames:
    """Numbered frames at uneven times."""
    rng = np.random.default_rng(4)
    times = start_s + np.cumsum(rng.uniform(0.02, 0.06, count))
    jpegs = [cv2.imencode(".jpg", picture(first + n, 320, 240))[1].tobytes() for n in range(count)]
    return MemoryFrames(jpegs, times)


@pytest.fixture
def base(tmp_path: Path) -> Path:
    return tmp_path / "data"


def stroke_of(base: Path, player: str = "player", student: str | None = None) -> StrokeKey:
    """One made-up stroke on record; its numbers."""
    context = load_context(base)
    with context.open_store() as store:
        session = store.begin_session(player, "made up", NOW, student)
        store.keep(session, made_stroke(), (), (), context.settings, NOW)
        key = video.newest_of(store, session)
    assert key is not None
    return key


def keep(base: Path, key: StrokeKey, frames: MemoryFrames | None = None) -> Path:
    frames = frames or numbered(5)
    return video.put(base, key, frames.jpegs, list(map(float, frames.times_s)), frames.size)


# ---- the file


def old(path: Path, frames: MemoryFrames) -> Path:
    """The same as release 0.1 kept it."""
    path = path.with_suffix(".avi")
    path.write_bytes(old_avi.packed(frames.jpegs, list(map(float, frames.times_s)), frames.size))
    return path


def test_another_reader_finds_every_frame_at_its_time_in_half_the_size(base: Path) -> None:
    frames = numbered(40, 123456.789)
    path = keep(base, KEY, frames)
    capture = cv2.VideoCapture(str(path), cv2.CAP_FFMPEG)
    seen, times = [], []
    while capture.grab():
        seen.append(number_of(capture.retrieve()[1]))
        times.append(capture.get(cv2.CAP_PROP_POS_MSEC) / 1000.0)
    capture.release()
    assert seen == list(range(40))
    assert times == pytest.approx(frames.times_s - frames.times_s[0], abs=1e-4)
    assert video.times_of(path) == pytest.approx(list(frames.times_s), abs=1e-4)
    assert path.stat().st_size < 0.5 * old(path, frames).stat().st_size


def test_a_video_of_the_release_before_is_still_shown(base: Path) -> None:
    """Its times are as uneven as they were, and those of its file are not."""
    frames = numbered(60, 5.0)
    key = stroke_of(base)
    path = old(keep(base, key, frames), frames)
    path.with_suffix(".mp4").unlink()
    assert video.find(base, key) == path
    assert video.times_of(path) == list(frames.times_s)
    with load_context(base).open_store() as store:
        clip = stored_shot(store, base, key.stroke_id)
    assert not clip.frames.drawn
    assert [number_of(clip.frames.frame(n)) for n in (50, 3, 20, 59, 0)] == [50, 3, 20, 59, 0]
    clip.close()


def test_a_damaged_file_is_a_plain_line(base: Path) -> None:
    frames = numbered(12)
    path = keep(base, KEY, frames)
    for whole in (path, old(path, frames)):
        data = whole.read_bytes()
        for broken in (
            b"",
            b"RIFF",
            data[:100],
            data[: len(data) // 2],
            data[:-20],
            b"x" * 5000,
            data[:4] + b"\xff" * 4,
        ):
            whole.write_bytes(broken)
            with pytest.raises(StoreError, match="damaged"):
                video.times_of(whole)
        rng = np.random.default_rng(0)
        for _ in range(60):  # whatever is flipped: read, or told, never anything else
            noisy = bytearray(data)
            for at in rng.integers(0, 400, 4):
                noisy[int(at)] = int(rng.integers(0, 256))
            whole.write_bytes(bytes(noisy))
            with contextlib.suppress(StoreError):
                video.times_of(whole)


def test_a_disk_without_room_is_said_before_anything_is_written(base: Path) -> None:
    frames = numbered(3)
    with pytest.raises(StoreError, match="No space left"):
        video.put(base, KEY, frames.jpegs, list(map(float, frames.times_s)), frames.size, free=lambda folder: 10e6)
    assert not [path for path in base.rglob("*") if path.is_file()]


# ---- beside the record


def test_a_kept_video_is_shown_frame_exact(base: Path) -> None:
    key = stroke_of(base)
    with load_context(base).open_store() as store:
        assert stored_shot(store, base, key.stroke_id).frames.drawn
        path = keep(base, key, numbered(30, 1.0))
        stroke_clip = stored_shot(store, base, key.stroke_id)
        assert not stroke_clip.frames.drawn
        assert not stroke_clip.note
        assert stroke_clip.student == "player"
        index = stroke_clip.frame_of("top_s")
        assert index is not None
        assert number_of(stroke_clip.frames.frame(index)) == int(
            np.argmin(np.abs(stroke_clip.frames.times_s - stroke_clip.events["top_s"]))
        )
    assert path.parent == base / "students" / "files" / "nobody"


def test_without_its_video_a_stroke_is_a_figure_and_says_why(base: Path) -> None:
    key = stroke_of(base)
    path = keep(base, key)
    with load_context(base).open_store() as store:
        path.write_bytes(b"broken")
        broken = stored_shot(store, base, key.stroke_id)
        path.unlink()
        gone = stored_shot(store, base, key.stroke_id)
    for stroke_clip in (broken, gone):
        assert stroke_clip.frames.drawn
        assert stroke_clip.frames.frame(0).any()
    assert "damaged" in broken.note
    assert "no video was kept" in gone.note
    assert "\n" not in broken.note + gone.note
    with load_context(base).open_store() as store, pytest.raises(StoreError, match="no stroke 99"):
        stored_shot(store, base, 99)


def test_a_number_that_is_a_path_is_refused(base: Path) -> None:
    with pytest.raises(StoreError, match="not one"):
        keep(base, StrokeKey(1, "../../evil", ""))


def test_what_cannot_be_written_is_told_and_can_be_tried_again(base: Path) -> None:
    key = stroke_of(base)
    (base / "students").mkdir()
    (base / "students" / "files").write_text("in the way")
    told: list[str] = []
    done: list[Path] = []
    keeper = VideoKeeper(base, told.append, done.append)
    keeper.start()
    assert keeper.put(key, numbered(3))
    assert keeper.settled(10.0)
    assert "video was not kept" in told[0]
    assert not done
    (base / "students" / "files").unlink()
    assert keeper.put(key, numbered(3))
    keeper.close()
    assert not keeper.put(key, numbered(3))
    keeper.close()
    assert len(done) == 1
    assert done[0].is_file()


# ---- retention


def test_retention_by_age_and_by_size(base: Path) -> None:
    paths = [keep(base, StrokeKey(i, f"{i:032x}", "")) for i in range(6)]
    for age_days, path in enumerate(paths):
        at = (NOW - timedelta(days=age_days)).timestamp()
        os.utime(path, (at, at))
    size = paths[0].stat().st_size
    assert set(video.outlived(base, 3.5, 1000, NOW)) == set(paths[4:])
    assert video.outlived(base, 0, 1000, NOW) == []
    assert set(video.outlived(base, 0, 2.5 * size / 1e6, NOW)) == set(paths[2:])
    line = tidy(base, 3.5, 1000, NOW)
    assert line is not None
    assert line.startswith("deleted 2 kept videos")
    assert tidy(base, 3.5, 1000, NOW) is None
    assert [path.is_file() for path in paths] == [True] * 4 + [False] * 2
    paths[0].with_name(f"{9:032x}.mp4").symlink_to("gone")  # one that goes as they are counted
    assert set(video.outlived(base, 0, 1000, NOW)) == set()


# ---- shown and erased


def test_videos_are_shown_and_erased_with_their_student(base: Path, capsys: pytest.CaptureFixture[str]) -> None:
    early = keep(base, stroke_of(base, "Kim"))  # before Kim was a student
    other = keep(base, stroke_of(base, "Lee"))
    assert run(["--data-folder", str(base), "students", "add", "Kim"]) == 0
    with load_context(base).open_store() as store:
        student = key_of(store, 1).student
    assert student
    own = keep(base, stroke_of(base, "Kim", student))
    assert own.parent.name == student
    with load_context(base).open_store() as store:
        assert not stored_shot(store, base, 1).frames.drawn  # still found though kept in nobody's folder
    capsys.readouterr()
    assert run(["--data-folder", str(base), "students", "show", "Kim"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "2 files, 2 of them strokes" in said
    assert run(["--data-folder", str(base), "students", "erase", "Kim", "--yes"]) == 0
    said = capsys.readouterr().out
    assert "2 pictures and videos (2 of strokes" in said
    assert not early.exists()
    assert not own.exists()
    assert not own.parent.exists()
    assert other.exists()
