"""`review` as a command: from the record and from clips, to files, in the window; every wrong wish gets one line."""

from __future__ import annotations

import re
import threading
import time
from dataclasses import replace
from datetime import datetime, timezone
from functools import partial
from pathlib import Path
from typing import Any, Callable

import numpy as np
import pytest
from pygame import Surface

from tests.support.phone_clips import at_rate, coded
from tests.support.review_clips import BEHIND, CLIPS, HELD, LOOKED, STALL, figure, record_of, stroke_clip
from trainer.app import review_strokes
from trainer.app.context import load_context
from trainer.coaching.faults import judge
from trainer.commands.cli import run
from trainer.domain.record import StrokeRecord
from trainer.replay.best_stroke import best_of, noise_of
from trainer.replay.retention import stored_shot
from trainer.replay.review_session import Choice, Entry, ReviewSession
from trainer.replay.stroke_clip import StrokeClip
from trainer.settings.limits import Limits
from trainer.settings.load import from_options, load
from trainer.store import video
from trainer.store.store import Store
from trainer.ui.drawing.window import PygameWindow, WindowConfig
from trainer.ui.export.review_clip import save_clip, save_picture
from trainer.ui.export.save_beside import save_beside
from trainer.ui.review.reviewer import ALL_COMMANDS, KEYS, Reviewer, Save
from trainer.ui.review.scene import Shown
from trainer.ui.review.window import ReviewWindow
from trainer.vision.sources.clip import Clip
from trainer.worker import Progress, Stopped


def kept(folder: Path, player: str, *names: str, rehearsals: int = 0) -> list[int]:
    """A session of these strokes on record, the first ``rehearsals`` of them as such; their ids."""
    settings = load([from_options(player__name=player)])
    with Store(folder, "test") as store:
        session = store.begin_session(player, "clip", datetime.now(timezone.utc))
        for k, name in enumerate(names):
            record = replace(record_of(name), kind="rehearsal" if k < rehearsals else "ball")
            verdict = judge(record, settings.limits)
            store.keep(session, record, verdict, (), settings, datetime.now(timezone.utc))
        return [line.stroke_id for line in store.recent(len(names))][::-1]


def keep_video(folder: Path, stroke_id: int, name: str) -> Path:
    """The clip's pictures beside the record."""
    import cv2

    opened = stroke_clip(name)
    times = opened.frames.times_s
    jpegs = [cv2.imencode(".jpg", opened.frames.frame(i))[1].tobytes() for i in range(len(times))]
    with Store(folder, "test") as store:
        path = video.put(folder, video.key_of(store, stroke_id), jpegs, list(map(float, times)), opened.frames.size)
    opened.close()
    return path


def reviewer_of(title: str, opens: Callable[[], StrokeClip], save: Save | None = None) -> Reviewer:
    """The window's state for one stroke."""
    entry = Entry(title, "ball", opens)
    return Reviewer(ReviewSession(Choice((entry,), entry)), save=save)


@pytest.fixture
def quick_clips(monkeypatch: pytest.MonkeyPatch) -> None:
    """The small clips' strokes as they were kept: no pose model."""

    def entries(path: Path, settings: Any, *_: Any) -> tuple[list[Entry], list[StrokeRecord]]:
        name = path.stem
        return [Entry(f"{name}, stroke 1", "ball", lambda: stroke_clip(name))], [record_of(name)]

    monkeypatch.setattr(review_strokes, "clip_entries", entries)


def line_of(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Of a command that must end with exit code 2: its one line."""
    assert run(["review", *arguments]) == 2
    err = [line for line in capsys.readouterr().err.splitlines() if not line.startswith("putting-trainer: Reading ")]
    assert len(err) == 1, err
    return err[0]


# ---- to files


def test_still_clip_sheet_and_numbers(
    own_data_folder: Path, tmp_path: Path, quick_clips: None, capsys: pytest.CaptureFixture[str]
) -> None:
    import cv2

    png, mp4, pdf = (tmp_path / name for name in ("a.png", "a.mp4", "a.pdf"))
    wish = ["--still", "impact", "--out", str(png), "--clip-out", str(mp4), "--from", "top", "--to", "impact"]
    assert run(["review", str(CLIPS / f"{STALL}.mp4"), *wish, "--sheet", str(pdf), "--numbers"]) == 0
    out = capsys.readouterr().out
    assert cv2.imread(str(png)).shape == (720, 1280, 3)
    assert pdf.read_bytes().startswith(b"%PDF")
    assert b"/Count 1" in pdf.read_bytes()  # one page
    measure = record_of(STALL).measures["hinge_change_deg"].value
    assert measure is not None
    assert f"{measure:+.1f}°" in out
    events = record_of(STALL).events
    capture = cv2.VideoCapture(str(mp4))
    frames = capture.get(cv2.CAP_PROP_FRAME_COUNT)
    lasts = (events.impact_s or 0.0) - (events.top_s or 0.0)
    assert frames == pytest.approx(lasts * 30, abs=1.5)
    assert "kept" in out
    assert f"kept {mp4}" in out


def test_a_clip_at_quarter_speed_lasts_four_times_as_long(tmp_path: Path, quick_clips: None) -> None:
    import av

    lasts = []
    for speed in ("1", "0.25"):
        path = tmp_path / f"{speed}.mp4"
        wish = ["--clip-out", str(path), "--from", "top", "--to", "impact", "--speed", speed]
        assert run(["review", str(CLIPS / f"{HELD}.mp4"), *wish]) == 0
        with av.open(str(path)) as written:
            times = [frame.time for frame in written.decode(video=0)]
        lasts.append(times[-1] - times[0])
    assert lasts[1] == pytest.approx(4 * lasts[0], rel=0.02)


def test_the_same_strokes_give_the_same_sheet(tmp_path: Path, quick_clips: None) -> None:
    for name in ("a.pdf", "b.pdf"):
        clips = [str(CLIPS / f"{n}.mp4") for n in (HELD, LOOKED)]
        assert run(["review", *clips, "--sheet", str(tmp_path / name)]) == 0
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_two_clips_stand_side_by_side(quick_clips: None, capsys: pytest.CaptureFixture[str]) -> None:
    clips = [str(CLIPS / f"{n}.mp4") for n in (HELD, STALL)]
    assert run(["review", *clips, "--numbers", "--align", "phase"]) == 0
    out = capsys.readouterr().out
    assert "aligned by phase" in out
    assert any("wrist angle change" in line and line.rstrip().endswith("differs") for line in out.splitlines())


def test_the_second_clip_may_be_a_left_handers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    hands: list[str] = []
    views: list[str] = []
    named: list[tuple[str, ...]] = []

    def entries(path: Path, settings: Any, _: Any, names: tuple[str, ...]) -> tuple[list[Entry], list[StrokeRecord]]:
        hands.append(settings.player.handedness)
        views.append(settings.camera.view)
        named.append(names)
        return [Entry(path.stem, "ball", lambda: stroke_clip(path.stem))], [record_of(path.stem)]

    monkeypatch.setattr(review_strokes, "clip_entries", entries)
    clips = [str(CLIPS / f"{n}.mp4") for n in (HELD, STALL)]
    assert run(["review", *clips, "--other-handedness", "left", "--numbers"]) == 0
    assert hands == ["right", "left"]
    assert "no second clip" in line_of(capsys, clips[0], "--other-handedness", "left")
    # What is said of a clip without a stroke names the options that are that clip's own.
    assert named == [("--handedness", "--view"), ("--other-handedness", "--other-view")]
    assert run(["review", *clips, "--handedness", "left", "--other-view", "down-the-line", "--numbers"]) == 0
    assert (hands[2:], views[2:]) == (["left", "left"], ["face-on", "down-the-line"])
    assert "no second clip" in line_of(capsys, clips[0], "--other-view", "face-on")


def test_still_and_clip_are_the_windows_own_drawing(tmp_path: Path) -> None:
    import cv2

    reviewer = reviewer_of("a", lambda: stroke_clip(HELD))
    try:
        reviewer.do("top")
        save_picture(reviewer, tmp_path / "a.png")
        begin, end = (reviewer.session.playback.main.tracked.event_s(w) for w in ("top", "finish"))
        assert begin is not None
        assert end is not None
        save_clip(reviewer, tmp_path / "a.mp4", (begin, end))
        assert "top" in reviewer.session.playback.event  # the review stays where it was
    finally:
        reviewer.session.close()
    with Clip(tmp_path / "a.mp4") as clip:
        frames = list(clip)
    begins, ends = frames[0].time_s, frames[-1].time_s
    assert begins == 0.0
    assert ends == pytest.approx(end - begin, abs=0.04)  # in its own time, to a frame
    off = np.abs(frames[0].image.astype(int) - cv2.imread(str(tmp_path / "a.png")).astype(int))
    assert off.mean() < 4.5  # what compressing does to the letters and edges of a sharp picture


@pytest.mark.slow
def test_a_clip_from_picture_to_still(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With the pose model and all."""
    png = tmp_path / "tap.png"
    assert run(["review", str(CLIPS / "tap_in.mp4"), "--still", "finish", "--out", str(png), "--numbers"]) == 0
    assert "tap_in.mp4, stroke 1, ball" in capsys.readouterr().out
    assert png.stat().st_size > 50_000


# ---- the record


def test_the_last_session_and_the_one_before(own_data_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kept(own_data_folder, "Ann", LOOKED)
    kept(own_data_folder, "Ann", HELD, STALL)
    assert run(["review", "--numbers"]) == 0
    out, err = capsys.readouterr()
    assert ", stroke 2, ball, at " in out.splitlines()[0]
    assert "drawn from its stored points" in err
    assert run(["review", "--stroke", "1", "--against", "2/1", "--numbers", "--at", "top"]) == 0
    out = capsys.readouterr().out
    assert ", at top" in out
    assert re.search(r"against .*, stroke 1, ball", out)
    assert run(["review", "--stroke", "2", "--against", "best", "--numbers"]) == 0
    assert "the best so far" in capsys.readouterr().out


def test_the_pair_that_teaches_most_is_proposed_and_says_why(
    own_data_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kept(own_data_folder, "Ann", HELD, LOOKED, STALL, rehearsals=1)
    assert run(["review", "--against", "pair", "--numbers"]) == 0
    out = capsys.readouterr().out
    assert ", stroke 1, rehearsal, at " in out.splitlines()[0]
    (why,) = [line for line in out.splitlines() if "times what two strokes differ by anyway" in line]
    assert re.search(r"in the rehearsal \([^)]*, stroke 1\)", why)
    context = load_context(own_data_folder)
    with context.open_store() as store:
        choice = review_strokes.from_record(context, store, None)
        reviewer = Reviewer(ReviewSession(choice))
        reviewer.do("pair")  # the same in the window
        assert reviewer.session.main.title.endswith(", stroke 1, rehearsal")
        assert reviewer.session.why == why
        reviewer.session.close()


@pytest.mark.timed
def test_a_stroke_with_video_opens_at_once_and_without_it_is_a_figure(own_data_folder: Path) -> None:
    (stroke_id,) = kept(own_data_folder, "Ann", HELD)
    import pygame

    path = keep_video(own_data_folder, stroke_id, HELD)
    took = []
    with Store(own_data_folder, "test") as store:
        for _ in range(3):
            begun = time.perf_counter()
            reviewer = reviewer_of("a", lambda: stored_shot(store, own_data_folder, stroke_id))
            reviewer.draw(pygame.Surface((1280, 720)))
            took.append(time.perf_counter() - begun)
            assert not reviewer.session.playback.main.stroke_clip.frames.drawn
            assert not reviewer.message
            reviewer.session.close()
        assert min(took) < 0.5, took
        for damage in ("cut", "gone"):
            if damage == "cut":
                path.write_bytes(path.read_bytes()[:1000])
            else:
                path.unlink()
            reviewer = reviewer_of("a", lambda: stored_shot(store, own_data_folder, stroke_id))
            assert reviewer.session.playback.main.stroke_clip.frames.drawn
            assert "stored points" in reviewer.message
            assert "\n" not in reviewer.message
            reviewer.session.close()


def test_the_best_is_held_without_fault_and_quiet() -> None:
    limits = Limits()
    strokes = [("looked", record_of(LOOKED)), ("stall", record_of(STALL)), ("held", record_of(HELD))]
    assert best_of(strokes, limits) == "held"
    assert best_of(strokes[:2], limits) is None
    noise = noise_of(record_of(HELD), limits)
    stall = noise_of(record_of(STALL), limits)
    assert noise is not None
    assert stall is not None
    assert 0 < noise < stall


# ---- what cannot be done


def test_nothing_on_record(capsys: pytest.CaptureFixture[str]) -> None:
    assert "no strokes on record yet" in line_of(capsys, "--numbers")


def test_wrong_wishes_get_one_line(
    own_data_folder: Path, tmp_path: Path, quick_clips: None, capsys: pytest.CaptureFixture[str]
) -> None:
    kept(own_data_folder, "Bob", STALL)
    kept(own_data_folder, "Ann", HELD, LOOKED, BEHIND)
    clip = str(CLIPS / f"{HELD}.mp4")
    cases = {
        "there is no stroke 9 in that session": ["--stroke", "9"],
        "three is not a stroke": ["--stroke", "three"],
        "there is no session 7": ["--stroke", "7/1"],
        "of Ann and of Bob": ["--stroke", "1", "--against", "2/1", "--numbers"],
        "different views": ["--stroke", "1", "--against", "3", "--numbers"],
        "against itself": ["--stroke", "1", "--against", "1"],
        "differ by more than the measuring varies": ["--against", "pair"],
        "no student Cid": ["--student", "Cid", "--numbers"],
        "nowhere is no instant": ["--still", "nowhere"],
        "seconds, or one of": ["--at", "noon"],
        "look was not seen": ["--stroke", "3", "--still", "look"],
        "outside of it": [clip, "--still", "99", "--out", str(tmp_path / "a.png")],
        "no such line: elbow": [clip, "--lines", "elbow"],
        "cannot be aligned on noon": ["--stroke", "1", "--against", "2", "--align", "noon", "--numbers"],
        "a still is a PNG file": [clip, "--still", "top", "--out", str(tmp_path / "a.gif")],
        "a sheet is a PDF or PNG file": [clip, "--sheet", str(tmp_path / "a.txt")],
        "no such folder": [clip, "--sheet", str(tmp_path / "no" / "a.pdf")],
        "end before it begins": [clip, "--clip-out", str(tmp_path / "a.mp4"), "--from", "impact", "--to", "top"],
        "a name without a still": [clip, "--out", str(tmp_path / "a.png")],
        "a ghost of which stroke": [clip, "--ghost"],
        "3 clips": [clip, clip, clip],
    }
    for words, arguments in cases.items():
        assert words in line_of(capsys, *arguments), words
    assert not list(tmp_path.iterdir())


def test_clips_that_cannot_be_used_get_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import cv2

    gone, empty = tmp_path / "gone.mp4", tmp_path / "empty.mp4"
    empty.write_bytes(b"")
    still_room = tmp_path / "room.mp4"
    writer = cv2.VideoWriter(str(still_room), cv2.VideoWriter.fourcc(*"mp4v"), 30.0, (320, 240))
    for _ in range(20):
        writer.write(np.full((240, 320, 3), 90, np.uint8))
    writer.release()
    assert "no such file" in line_of(capsys, str(gone), "--numbers")
    assert "the file is empty" in line_of(capsys, str(empty), "--numbers")
    assert "no stroke found: nobody is seen" in line_of(capsys, str(still_room), "--numbers")
    slow = coded(tmp_path / "slow.mp4", [np.full((240, 320, 3), 90, np.uint8)] * 8, at_rate(1, 8))
    assert "no stroke found; 1 frames/s are too few" in line_of(capsys, str(slow), "--numbers")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_is_one_line(tmp_path: Path, quick_clips: None, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "a.pdf").symlink_to("/dev/full")
    assert "No space left" in line_of(capsys, str(CLIPS / f"{HELD}.mp4"), "--sheet", str(tmp_path / "a.pdf"))
    assert [path.name for path in tmp_path.iterdir()] == ["a.pdf"]


# ---- the window


class Ticking:
    """A clock that goes on by itself."""

    def __init__(self) -> None:
        self._now = 0.0

    def now(self) -> float:
        self._now += 0.02
        return self._now

    def sleep(self, seconds: float) -> None:
        self._now += seconds


def key(code: int, mod: int = 0) -> Any:
    import pygame

    return pygame.event.Event(pygame.KEYDOWN, key=code, mod=mod)


def window(reviewer: Reviewer, *events: Any, last: Any = None) -> None:
    """Opens it, gives it these events, then Q or the last one."""
    import pygame

    opened = PygameWindow(WindowConfig(960, 540))
    pygame.event.clear()
    for event in (*events, last or key(pygame.K_q)):
        pygame.event.post(event)
    ReviewWindow(reviewer, Ticking()).run()
    opened.close()
    assert not pygame.display.get_init()


class Settling(Reviewer):
    """Its pictures are the very ones only when they are drawn for the fourth time; then it is left."""

    draws = 0

    def draw(self, on: Any, bare: bool = False) -> Shown:
        import pygame

        self.draws += 1
        shown = super().draw(on, bare)
        shown.settled = self.draws >= 4
        if shown.settled:
            pygame.event.post(key(pygame.K_q))
        return shown


def test_the_window_draws_again_until_the_very_picture_is_there() -> None:
    """Nobody touches anything meanwhile."""
    import pygame

    reviewer = Settling(reviewer_of("a", lambda: figure(HELD)).session)
    opened = PygameWindow(WindowConfig(320, 240))
    pygame.event.clear()
    ReviewWindow(reviewer, Ticking()).run()
    opened.close()
    reviewer.session.close()
    assert reviewer.draws == 4


def saved(reviewer: Reviewer, command: str) -> str:
    """The line that says so."""
    reviewer.do(command)
    assert reviewer.saving.wait(60.0)
    reviewer.tick(0.0)
    return reviewer.message


def test_keys_and_mouse_in_the_window(tmp_path: Path) -> None:
    import pygame

    save = partial(save_beside, folder=tmp_path)
    reviewer = reviewer_of("stroke 1", lambda: stroke_clip(HELD), save)
    try:
        window(reviewer, key(pygame.K_3), key(pygame.K_RIGHT), key(pygame.K_RIGHT), key(pygame.K_LEFT), key(pygame.K_l))
        frames, impact = (
            reviewer.session.playback.main.stroke_clip.frames,
            reviewer.session.playback.main.tracked.event_s("impact"),
        )
        assert impact is not None
        assert reviewer.session.playback.index == frames.nearest(impact) + 1
        assert "leg" not in reviewer.session.playback.show
        wheel = pygame.event.Event(pygame.MOUSEWHEEL, x=0, y=-1, flipped=False)
        move = pygame.event.Event(pygame.MOUSEMOTION, pos=(600, 440), rel=(0, 0), buttons=(0, 0, 0))
        window(reviewer, wheel, key(pygame.K_RIGHT, pygame.KMOD_LSHIFT), move)
        assert reviewer.session.playback.index == frames.nearest(impact) + 12
        assert reviewer.hover_s is not None
        assert all(saved(reviewer, what).startswith("kept ") for what in ("picture", "sheet"))
        assert all(path.name.isascii() and " " not in path.name for path in tmp_path.iterdir())
        names = sorted(path.suffix for path in tmp_path.iterdir())
        assert names == [".pdf", ".png"]
        window(reviewer, key(pygame.K_4), key(pygame.K_r))
        before = reviewer.session.playback.time_s
        assert "kept " in saved(reviewer, "clip")
        assert reviewer.session.playback.time_s == before
        assert any(path.suffix == ".mp4" for path in tmp_path.iterdir())
    finally:
        reviewer.session.close()


class Slow:
    """In place of what saves: goes on until it is told to end, as a very long clip does."""

    def __init__(self) -> None:
        self.begun: list[str] = []

    def __call__(self, reviewer: Reviewer, what: str, progress: Progress) -> str:
        self.begun.append(what)
        while True:
            progress.tell(0.5)
            reviewer.draw(Surface((320, 240)), bare=True)


def test_a_save_key_held_down_saves_once_and_the_window_goes_on() -> None:
    import pygame

    slow = Slow()
    reviewer = reviewer_of("stroke 1", lambda: stroke_clip(HELD), slow)
    try:
        held = [key(pygame.K_d)] * 70 + [key(pygame.K_c)] * 70
        window(reviewer, *held, key(pygame.K_3), key(pygame.K_l), key(pygame.K_h), last=pygame.event.Event(pygame.QUIT))
        assert slow.begun == ["sheet"]  # one at a time, and what SIGTERM becomes was heeded
        assert reviewer.session.playback.event == "impact"
        assert not {"leg", "head"} & reviewer.session.playback.show  # a held switch switches once
    finally:
        reviewer.session.close()


def test_escape_stops_what_is_written_and_then_quits() -> None:
    slow = Slow()
    reviewer = reviewer_of("stroke 1", lambda: stroke_clip(HELD), slow)
    try:
        assert not reviewer.escape()
        reviewer.do("clip")
        assert "Escape stops it" in reviewer.message
        reviewer.do("next")  # would close what is being written
        assert reviewer.session.main.name == "stroke 1"
        assert reviewer.saving.busy
        assert reviewer.escape()
        assert reviewer.saving.wait(30.0)
        reviewer.tick(0.0)
        assert reviewer.message == "stopped: a clip was not written"
        assert not reviewer.escape()
    finally:
        reviewer.session.close()


@pytest.mark.parametrize("what", ["clip", "sheet"])
def test_nothing_is_left_of_what_was_stopped(tmp_path: Path, what: str) -> None:
    reviewer = reviewer_of("stroke 1", lambda: stroke_clip(HELD))
    stop = threading.Event()

    class Half(Progress):
        def tell(self, share: float | None, words: str | None = None) -> None:
            if share is not None and share > 0.5:
                stop.set()
            super().tell(share, words)

    try:
        with pytest.raises(Stopped):
            save_beside(reviewer, what, Half(stop), tmp_path)
        assert not list(tmp_path.iterdir())
    finally:
        reviewer.session.close()


def test_the_command_opens_the_window_and_quits(
    own_data_folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    kept(own_data_folder, "Ann", HELD)
    drawn: list[str] = []

    def run_once(self: ReviewWindow) -> None:
        drawn.append(self._reviewer.session.main.title)
        self._draw()

    monkeypatch.setattr(ReviewWindow, "run", run_once)
    assert run(["review"]) == 0
    assert drawn
    assert drawn[0].endswith(", stroke 1, ball")
    monkeypatch.setenv("SDL_VIDEODRIVER", "no such driver")
    assert "there is no display" in line_of(capsys)


def test_every_command_has_a_key_and_every_key_a_command() -> None:
    assert set(KEYS.values()) == set(ALL_COMMANDS)
