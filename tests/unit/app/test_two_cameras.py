"""Two cameras at once: strokes matched and aligned by arrival and by the stroke, both on record, one counted; failures."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.support.made_strokes import record
from trainer.app.practice.two_cameras import SecondCameraRequest, TwoCameras, second_camera_request, settings_together
from trainer.camera_setup.camera_memory import remember_mode
from trainer.camera_setup.mode_cost import Cost
from trainer.commands.cli import run
from trainer.domain.observation import Frame
from trainer.domain.record import Events, Measure, StrokeContext, StrokeRecord
from trainer.errors import CameraError, UsageError
from trainer.live.practice_step import PracticeStep
from trainer.live.second_camera import Arriving, SecondCamera, Together
from trainer.settings.load import load
from trainer.store.history import StudentKey, judgeable, practised, rehearsals
from trainer.store.sessions import sessions
from trainer.store.store import Store
from trainer.store.what_if import strokes_for_what_if
from trainer.stroke.pairing import paired
from trainer.testing.fakes import FakeCamera, FakeClock, FakeReporter, ListSource
from trainer.vision.sources.camera_device import Mode

BLANK = np.zeros((48, 64, 3), np.uint8)

NOW = datetime(2026, 3, 1, tzinfo=timezone.utc)


def moved(by_s: float, view: str = "down-the-line", **events: float | None) -> StrokeRecord:
    """The made stroke on another clock; events: some of them elsewhere."""
    base = record()
    shifted = {n: t + by_s for n, t in base.events}
    return replace(base, view=view, events=Events.of({**shifted, **events}), measures={})


# --- which belong together


def test_the_stroke_tells_how_far_two_clocks_are_apart() -> None:
    pair = paired(record(), moved(0.07))
    assert pair is not None
    assert pair.offset_s == pytest.approx(0.07, abs=1e-9)
    assert pair.by == ("takeaway_s", "top_s", "impact_s")
    assert pair.spread_s == pytest.approx(0.0, abs=1e-9)


def test_arrival_comes_first_the_stroke_refines_it() -> None:
    """A second camera whose clock began 100 s later and whose pictures come 60 ms late."""
    second = moved(-100.0 + 0.06)
    assert paired(record(), second) is None
    pair = paired(record(), second, arrival_s=100.0)
    assert pair is not None
    assert pair.offset_s == pytest.approx(0.06, abs=1e-9)


def test_one_moment_that_is_badly_told_does_not_shift_the_pair() -> None:
    takeaway = record().events.takeaway_s
    assert takeaway is not None
    pair = paired(record(), moved(0.02, takeaway_s=takeaway + 0.4))
    assert pair is not None
    assert pair.offset_s == pytest.approx(0.02, abs=1e-9)
    assert "takeaway_s" not in pair.by


def test_down_the_line_the_ball_tells_the_impact() -> None:
    impact = record().events.impact_s
    assert impact is not None
    late = moved(0.0, impact_s=impact + 0.03)
    late = replace(late, measures={"impact_ball_later_s": Measure(-0.03, "s", 0.9)})
    pair = paired(record(), late)
    assert pair is not None
    assert pair.spread_s == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("by_s", [-5.0, 0.9, 30.0])
def test_another_stroke_is_no_pair(by_s: float) -> None:
    assert paired(record(), moved(by_s)) is None


def test_nothing_seen_no_pair() -> None:
    blind = replace(record(), events=Events())
    assert paired(record(), blind) is None


def test_strokes_find_each_other_whichever_ends_first() -> None:
    together = Together(lambda: None)
    assert together.add("second", 1, moved(0.01)) is None
    assert together.add("first", 1, record()) is not None
    assert together.add("first", 2, moved(20.0, "face-on")) is None
    other = together.add("second", 2, moved(20.03))
    assert other is not None
    assert other[0] == 2
    assert other[1].offset_s == pytest.approx(0.03, abs=1e-9)
    assert [(a, b) for a, b, _ in together.pairs] == [(1, 1), (2, 2)]
    assert together.add("first", 3, record()) is None  # its half is taken


# --- arrival


def test_the_soonest_frames_tell_how_a_camera_lies_against_the_clock() -> None:
    clock = FakeClock(50.0)
    frames = [Frame(k, k / 30, BLANK) for k in range(20)]
    arrivals = [50.0 + k / 30 + 0.04 + (0.3 if k == 7 else 0.01 * (k % 3)) for k in range(20)]
    camera = Arriving(FakeCamera(frames, arrivals, clock), clock)
    assert len(list(camera)) == 20
    assert camera.lag_s == pytest.approx(50.04, abs=1e-6)
    assert camera.over
    stopped = Arriving(ListSource(frames), clock)
    stopped.read()
    stopped.close()
    assert stopped.read() is None
    assert not stopped.over


def test_strokes_of_two_clocks_are_laid_over_each_other_by_arrival() -> None:
    clock = FakeClock(50.0)
    first, second = (FakeCamera([Frame(0, at_s, BLANK)], [50.0], clock) for at_s in (0.0, 7.0))  # of the same moment
    two = TwoCameras(SecondCameraRequest(1), first, second, clock)
    two.first_source.read()
    two.second_source.read()
    two.first.linked(1, record())
    other = two.second.linked(3, moved(7.02)).context.other
    assert other is not None
    assert (other.number, other.offset_ms) == (1, pytest.approx(20.0, abs=0.1))


# --- a second camera that fails


class Failing:
    """A session that sees frames and may fail at each."""

    def __init__(self, fails: Exception | None = None) -> None:
        self.seen, self.finished, self.fails = 0, False, fails

    def find_body(self, frame: Frame) -> None:
        return None

    def order(self, order: Any) -> None:
        return

    def step(self, frame: Frame, body: Any) -> PracticeStep:
        self.seen += 1
        if self.fails is not None:
            raise self.fails
        return PracticeStep()

    def finish(self) -> None:
        self.finished = True


def test_a_lost_second_camera_is_said_and_the_first_goes_on() -> None:
    reporter = FakeReporter()
    lost = CameraError("no more pictures", "camera 1", "plug it in again")
    source = ListSource([Frame(k, k / 30, BLANK) for k in range(5)], failure=lost)
    session = Failing()
    second = SecondCamera(source, lambda: session, FakeClock(), reporter)
    second.start()
    assert second.wait(5.0)
    second.stop()
    assert second.frames == 5
    assert session.finished
    assert len(reporter.lines) == 1
    assert "going on with the first" in reporter.lines[0]


def test_our_own_fault_in_the_second_is_not_hidden() -> None:
    session = Failing(ValueError("ours"))
    second = SecondCamera(ListSource([Frame(0, 0.0, BLANK)]), lambda: session, FakeClock(), FakeReporter())
    second.start()
    second.wait(5.0)
    with pytest.raises(ValueError, match="ours"):
        second.stop()
    assert session.finished


# --- the command


@pytest.mark.parametrize(
    ("wish", "said"),
    [
        ((1, Path("a.mp4"), None, 0, Path("b.mp4")), "give one of them"),
        ((1, None, None, 0, Path("b.mp4")), "two cameras or two clips"),
        ((None, Path("a.mp4"), None, 0, None), "two cameras or two clips"),
        ((0, None, None, 0, None), "that is the first camera"),
        ((None, None, "face-on", 0, None), "give --second-camera too"),
    ],
)
def test_wrong_wishes_are_said(wish: Any, said: str) -> None:
    with pytest.raises(UsageError, match=said):
        second_camera_request(*wish)


def test_no_wish_no_second_camera() -> None:
    assert second_camera_request(None, None, None, 0, None) is None


def test_what_two_cameras_at_once_are_asked_for_is_told(tmp_path: Path) -> None:
    reporter = FakeReporter()
    with_first = settings_together(load(), SecondCameraRequest(1), tmp_path, reporter)
    assert [each.camera.fps for each in with_first] == [30.0, 30.0]
    assert reporter.lines == []
    for camera in ("0", "1"):
        remember_mode(
            tmp_path, camera, Mode(640, 480, 60.0), NOW, Cost(0.0, 0.0, rest_s=99.0)
        )  # no number of cores keeps up
    first, second = settings_together(load(), SecondCameraRequest(1), tmp_path, reporter)
    assert (first.camera.source, first.camera.fps, second.camera.source, second.camera.fps) == (0, 30.0, 1, 30.0)
    assert (first.camera.view, second.camera.view) == ("face-on", "down-the-line")
    best = "640x480 at 30 frames/s is the best that it gives and this computer keeps up with"
    assert reporter.lines == [best, f"second camera: {best}"]


def test_a_stroke_that_two_cameras_saw_counts_once(tmp_path: Path) -> None:
    settings, student_key = load(), StudentKey("", "player")
    with Store(tmp_path, "test") as store:
        for camera, kind in (("first", "rehearsal"), ("second", "rehearsal")):
            session = store.begin_session("player", camera, NOW)
            kept = replace(record(kind=kind), context=StrokeContext(camera=camera))  # type: ignore[arg-type]
            store.keep(session, kept, (), (), settings, NOW)
        assert len(practised(store, student_key, ("hold_s",))) == 1
        assert len(list(judgeable(store, student_key))) == 1
        assert len(rehearsals(store, student_key, 10, datetime.min.replace(tzinfo=timezone.utc))) == 1
        assert len(strokes_for_what_if(store, student_key)) == 1
        assert len(store.recent(10)) == 1  # the other is kept, and seen by its session
        assert [len(session.strokes) for session in sessions(store, 9)] == [1, 1]


@pytest.mark.slow
def test_two_clips_at_once_are_both_recorded_and_matched(
    clips: Path, own_data_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import sqlite3

    first, second = clips / "T01_good.mp4", clips / "T08_dtl_good.mp4"
    assert run(["practice", "--clip", str(first), "--second-clip", str(second), "--no-window"]) == 0
    text = capsys.readouterr().out
    assert "second camera: down-the-line" in text
    assert "stroke 1 is stroke 1 of the second camera" in text
    database = sqlite3.connect(own_data_folder / "strokes.sqlite")
    rows = database.execute("SELECT view, camera, other_offset_ms FROM strokes ORDER BY view").fetchall()
    database.close()
    assert [(view, camera) for view, camera, _ in rows] == [("down-the-line", "second"), ("face-on", "first")]
    offsets = [offset_ms for *_, offset_ms in rows if offset_ms is not None]
    # Both clips show the same moments (to 4 ms) on the same clock.
    assert len(offsets) == 1
    assert abs(offsets[0]) < 40
