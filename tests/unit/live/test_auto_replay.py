"""The replay that runs by itself: slow, after the result, gone the moment the player is at address; and what it keeps."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Iterator

import cv2
import numpy as np
import pygame
import pytest

from tests.support.approved_pictures import assert_approved
from tests.support.burnt import number_of, picture
from tests.support.made_strokes import SETTLE, TAKE
from tests.support.made_strokes import record as made_stroke
from tests.support.review_clips import CLIPS, LOOKED, STALL, record_of
from tests.unit.live.test_loop import FPS, Run, frames
from trainer.app.context import load_context
from trainer.coaching.faults import verdict
from trainer.coaching.verdict import Verdict
from trainer.commands.cli import run
from trainer.domain.observation import Frame, Observation
from trainer.domain.phases import Phase
from trainer.domain.record import EventName, Events, LiveState, StrokeRecord
from trainer.feedback.schedule import NOTHING, FeedbackLevel
from trainer.feedback.signs import result_sign
from trainer.live.auto_replay import LiveReplay, ReplayConfig
from trainer.live.display_types import Targets
from trainer.live.pipeline import Finished, StepResult
from trainer.live.ports import SAVE
from trainer.live.practice_state import DisplayState, ReplayView
from trainer.live.practice_step import PracticeStep
from trainer.live.slow_motion import slow_times
from trainer.replay.frames import MemoryFrames
from trainer.replay.retention import stored_shot
from trainer.replay.stroke_clip import LEAD_IN_S, LEAD_OUT_S, StrokeClip
from trainer.settings.limits import Limits
from trainer.store.sessions import sessions
from trainer.testing.fakes import FakeClock, ListSource
from trainer.ui.practice.practice_view import PracticeView
from trainer.vision.sources.clip import Clip

STROKE: StrokeRecord = made_stroke(0.9)
LOOK = SETTLE + 0.9
CLOSED = LOOK + 0.5


class Videos:
    """Takes videos; as the real one, each stroke's once."""

    def __init__(self) -> None:
        self.kept: dict[int, MemoryFrames] = {}
        self.started = self.closed = 0

    def start(self) -> None:
        self.started += 1

    def keep(self, number: int, frames: MemoryFrames) -> bool:
        if number in self.kept:
            return False
        self.kept[number] = frames
        return True

    def close(self) -> None:
        self.closed += 1


class Scene:
    """Numbered frames go by, with the phases of one stroke or several of CLOSED + 2 s each."""

    def __init__(
        self, config: ReplayConfig, targets: Targets | None = None, feedback_level: FeedbackLevel | None = None
    ) -> None:
        self.clock, self.videos, self.said = FakeClock(), Videos(), list[str]()
        self.replay = LiveReplay(config, self.clock, self.videos, self.said.append)
        self.targets = targets or Targets()
        self.replay.start()
        self.feedback_level = feedback_level
        self.number = 0
        self.index = 0

    def to(self, time_s: float, phase: Phase = Phase.SETTING, close: bool = False) -> None:
        """On to that time in this phase; close: the stroke is over with the last frame."""
        while self.index / FPS <= time_s:
            at = self.index / FPS
            finished = None
            if close and (self.index + 1) / FPS > time_s:
                self.number += 1
                more = {"feedback_level": self.feedback_level} if self.feedback_level is not None else {}
                finished = Finished(self.number, STROKE, Verdict(), (), **more)
            frame = Frame(self.index, at, picture(self.index, 320, 240))
            result = StepResult(Observation(self.index, at), LiveState(at, phase, Events()), None, finished)
            self.replay.see(frame, PracticeStep(result, finished, targets=self.targets))
            self.replay.ring.settled()
            self.index += 1

    def stroke(self) -> None:
        self.to(TAKE, Phase.ADDRESS)
        self.to(SETTLE, Phase.FOLLOW)
        self.to(CLOSED - 0.1, Phase.HOLD)
        self.to(CLOSED, Phase.LOOKED, close=True)

    def shown(self) -> int | None:
        """Number of the frame that is replayed now."""
        view = self.replay.shown(DisplayState()).replay
        return None if view is None else number_of(view.stroke_clip.frames.frame(view.frame))


@pytest.fixture
def scene(request: pytest.FixtureRequest) -> Iterator[Scene]:
    made = Scene(*getattr(request, "param", (ReplayConfig(),)))
    yield made
    made.replay.close()


def watched(scene: Scene, step_s: float = 0.02, most_s: float = 60.0) -> list[int]:
    """Every frame shown until there is none, at that many seconds."""
    out = []
    for _ in range(round(most_s / step_s)):
        number = scene.shown()
        if number is None:
            break
        out.append(number)
        scene.clock.advance(step_s)
    return out


def test_it_runs_once_and_shows_every_frame_of_the_stroke_slow(scene: Scene) -> None:
    scene.stroke()
    seen = watched(scene)
    times = Counter(seen)
    order = sorted(times)
    assert seen == sorted(seen)
    slow = [n for n in order if TAKE - 0.15 < n / FPS < SETTLE + 0.15 or abs(n / FPS - LOOK) < 0.15]
    assert slow == [n for n in range(order[0], order[-1]) if n in slow or TAKE - 0.15 < n / FPS < SETTLE + 0.15]
    assert max(b - a for a, b in pairwise(order)) <= 0.1 * FPS + 1, "where it is not slowed ten a second will do"
    assert abs(order[0] / FPS - (TAKE - LEAD_IN_S)) <= 0.5 / FPS + 1e-9
    assert abs(order[-1] / FPS - CLOSED) <= 1.5 / FPS  # what is there; the stretch goes on to LOOK + LEAD_OUT_S
    # Four times as long in the stroke, as long as it was in the hold.
    inside = np.median([times[n] for n in order if TAKE < n / FPS < SETTLE])
    held = [n for n in seen if SETTLE + 0.25 < n / FPS < LOOK - 0.25]
    assert inside * 0.02 == pytest.approx(4 / FPS, abs=0.02)
    assert len(held) * 0.02 == pytest.approx(LOOK - SETTLE - 0.5, abs=0.15)
    assert scene.shown() is None, "once"
    scene.to(CLOSED + 3.0, Phase.SETTING)
    assert scene.shown() is None


@pytest.mark.parametrize("scene", [(ReplayConfig("loop"),), (ReplayConfig("once"),)], indirect=True)
def test_it_gives_way_the_moment_the_player_is_at_address(scene: Scene) -> None:
    scene.stroke()
    scene.to(CLOSED + 1.0, Phase.SETTING)
    assert scene.shown() is not None
    scene.clock.advance(1.0)
    scene.to(CLOSED + 1.1, Phase.ADDRESS)
    assert scene.shown() is None
    scene.to(CLOSED + 2.0, Phase.SETTING)
    assert scene.shown() is None, "it does not come back"


@pytest.mark.parametrize("scene", [(ReplayConfig("loop"),)], indirect=True)
def test_loop_goes_round_until_then(scene: Scene) -> None:
    scene.stroke()
    seen = watched(scene, 0.02, 40.0)
    assert len(seen) == 2000
    assert sum(b < a for a, b in pairwise(seen)) >= 2


@pytest.mark.parametrize(
    "scene",
    [
        (ReplayConfig("off"),),
        (ReplayConfig(), Targets(silent=True)),
        (ReplayConfig(), None, NOTHING),
        (ReplayConfig(), None, replace(FeedbackLevel(), outside_only=True)),
    ],
    indirect=True,
)
def test_what_the_player_is_not_told_is_not_shown_either(scene: Scene) -> None:
    scene.stroke()
    scene.to(CLOSED + 3.0)
    assert scene.shown() is None


@pytest.mark.parametrize("scene", [(ReplayConfig(), Targets(result_delay_s=2.0))], indirect=True)
def test_it_comes_with_the_result_not_before(scene: Scene) -> None:
    scene.stroke()
    assert scene.shown() is None
    scene.to(SETTLE + 1.9)
    assert scene.shown() is None
    scene.to(SETTLE + 2.1)
    assert scene.shown() is not None


def test_the_hold_in_between_is_not_slowed() -> None:
    times = np.arange(0.0, 6.0, 1 / FPS)
    at = slow_times(made_stroke(2.5), times, 0.25)
    real = np.diff(times)
    factor = np.diff(at) / real
    middle = (times[1:] + times[:-1]) / 2
    assert factor[(middle > SETTLE + 0.3) & (middle < SETTLE + 2.2)] == pytest.approx(1.0)
    assert factor[(middle > TAKE) & (middle < SETTLE)] == pytest.approx(4.0)
    assert factor[np.abs(middle - SETTLE - 2.5) < 0.15] == pytest.approx(4.0)
    unseen = slow_times(replace(made_stroke(), events=Events()), times, 0.5)
    assert np.diff(unseen) == pytest.approx(2 * real)


# ---- what is kept


@pytest.mark.parametrize("scene", [(ReplayConfig(keep_video=True),)], indirect=True)
def test_with_keep_video_the_strokes_stretch_is_kept_whole(scene: Scene) -> None:
    scene.stroke()
    assert scene.videos.kept == {}, "the last frames are still to come"
    scene.to(LOOK + LEAD_OUT_S + 1.0)
    kept = scene.videos.kept[1]
    numbers = [number_of(kept.frame(i)) for i in range(len(kept.times_s))]
    assert numbers == list(range(numbers[0], numbers[-1] + 1))
    assert list(kept.times_s) == [n / FPS for n in numbers]
    assert TAKE - LEAD_IN_S <= kept.times_s[0] < TAKE - LEAD_IN_S + 1.01 / FPS
    assert LOOK + LEAD_OUT_S - 1.01 / FPS < kept.times_s[-1] <= LOOK + LEAD_OUT_S


@pytest.mark.parametrize("scene", [(ReplayConfig("off", keep_video=True),)], indirect=True)
def test_frames_that_end_first_keep_what_there_is(scene: Scene) -> None:
    scene.stroke()
    scene.replay.ended(None)
    assert list(scene.videos.kept) == [1]
    scene.replay.close()
    assert scene.videos.closed == 1


def test_nothing_is_kept_unless_asked_and_the_key_asks(scene: Scene) -> None:
    assert not scene.replay.may_save
    scene.replay.save()
    scene.stroke()
    scene.to(CLOSED + 5.0)
    assert scene.replay.may_save
    assert scene.videos.kept == {}
    assert scene.replay.save() == "stroke 1: video kept"
    scene.replay.save()
    assert list(scene.videos.kept) == [1]
    assert scene.said[0] == "there is no stroke to keep yet"
    assert scene.said[1] == "stroke 1: video kept"
    assert "already" in scene.said[2]


# ---- in the loop


def test_the_loop_shows_it_and_its_threads_end() -> None:
    """The stand-in tracker's strokes have no events: each whole signal is its stretch."""
    plain = Run(ListSource(frames(100)))
    expected = plain()
    clock, said = FakeClock(), list[str]()
    replay = LiveReplay(ReplayConfig(), clock, say=said.append)
    again = Run(ListSource(frames(100)), clock, keys=[SAVE], replay=replay)
    summary = again()
    assert [f.number for f in summary.strokes] == [f.number for f in expected.strokes]
    assert [c.name for c in summary.cues] == [c.name for c in expected.cues]
    assert said == ["no video is kept in this run"]
    assert replay.ring.bytes == 0


def test_the_signs_beside_it_speak_of_that_stroke(scene: Scene) -> None:
    scene.stroke()
    words, turns = [], []
    for _ in range(3000):
        view = scene.replay.shown(DisplayState(moment=LiveState(99.0, Phase.SETTING, Events(), turn_deg=-50.0)))
        if view.replay is None:
            break
        assert view.moment is not None
        words.append(view.moment.phase)
        turns.append(view.moment.turn_deg)
        scene.clock.advance(0.02)
    assert [w for w, before in zip(words, ["", *words]) if w != before] == [
        Phase.ADDRESS, Phase.BACKSTROKE, Phase.FORWARD, Phase.FOLLOW, Phase.HOLD, Phase.LOOKED,
    ]  # fmt: skip
    assert turns[0] == pytest.approx(0.0, abs=2.0)
    assert turns[-1] > 30.0
    assert (
        scene.replay.shown(DisplayState(moment=LiveState(99.0, Phase.SETTING, Events()))).moment.phase == Phase.SETTING
    )  # type: ignore[union-attr]


def test_a_frame_of_a_replay_is_drawn_once() -> None:
    given = frames(60)
    clock = FakeClock()
    drawn: list[DisplayState] = []
    replay = LiveReplay(ReplayConfig(), clock)
    loop = Run(ListSource([]), clock, on_show=drawn.append, replay=replay).loop
    jpegs = [cv2.imencode(".jpg", picture(n, 320, 240))[1].tobytes() for n in range(3)]
    stroke_clip = StrokeClip(STROKE, MemoryFrames(jpegs, [0.0, 0.1, 0.2]))
    for n, frame in enumerate(given):
        replay.shown = lambda view, n=n: replace(view, replay=ReplayView(stroke_clip, n // 20, 0.25))  # type: ignore[method-assign]
        loop._draw(DisplayState(image=frame.image, fps=float(n)), cautions=False)
    assert len(drawn) == 3
    loop._draw(DisplayState(strokes=2), cautions=False)
    assert len(drawn) == 4
    replay.close()


def test_the_board_marks_it_as_a_replay(scene: Scene) -> None:
    scene.stroke()
    surface = pygame.Surface((1280, 720))
    PracticeView().draw(surface, scene.replay.shown(DisplayState(image=np.zeros((480, 640, 3), np.uint8))))
    shown = pygame.surfarray.array3d(surface).swapaxes(0, 1)
    PracticeView().draw(surface, DisplayState(image=np.zeros((480, 640, 3), np.uint8)))
    live = pygame.surfarray.array3d(surface).swapaxes(0, 1)
    assert shown[60:400, 60:600].mean() > live[60:400, 60:600].mean() + 20


@pytest.mark.parametrize(
    ("name", "hand", "event", "theme"),
    [(STALL, "left", "finish_s", "dark"), (LOOKED, "right", "look_s", "light")],
)
def test_it_looks_as_approved(name: str, hand: str, event: EventName, theme: str) -> None:
    """The whole way: the clip's frames through the ring, then the board at an event's instant."""
    record = record_of(name)
    clock = FakeClock()
    targets = Targets(handedness=hand)  # type: ignore[arg-type]
    replay = LiveReplay(ReplayConfig(), clock)
    replay.start()
    with Clip(CLIPS / f"{name}.mp4") as clip:
        for frame in clip:
            replay.ring.add(frame)
            replay.ring.settled()
    judged = verdict(record, Limits())
    replay.ended(PracticeStep(None, Finished(1, record, judged, ()), targets=targets))
    live = DisplayState(sign=result_sign(record, judged.faults, judged.too_close), strokes=1, targets=targets)
    at, best = record.events.named(event), None
    while (view := replay.shown(live)).replay is not None:
        time_s = float(view.replay.stroke_clip.frames.times_s[view.replay.frame])
        if best is None or abs(time_s - at) < abs(best[0] - at):  # type: ignore[operator]
            best = (time_s, view)
        clock.advance(0.01)
    replay.close()
    assert best is not None
    surface = pygame.Surface((1280, 720))
    PracticeView(theme).draw(surface, best[1])
    rgb = pygame.surfarray.array3d(surface).swapaxes(0, 1)
    assert_approved(np.ascontiguousarray(rgb[:, :, ::-1]), f"live-replay-{theme}")


def test_practice_keeps_video_from_a_clip_and_shows_it_again(
    own_data_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    clip = CLIPS / "tap_in.mp4"
    assert run(["practice", "--clip", str(clip), "--no-window"]) == 0
    assert not list(own_data_folder.rglob("*.mp4"))
    assert run(["practice", "--clip", str(clip), "--no-window", "--keep-video"]) == 0
    assert "video of 1 stroke kept in" in capsys.readouterr().out
    with load_context(None).open_store() as store:
        [stroke] = sessions(store, 1)[0].strokes
        stroke_clip = stored_shot(store, own_data_folder, stroke.stroke_id)
    assert not stroke_clip.frames.drawn
    assert stroke_clip.start_s < stroke_clip.events["takeaway_s"] < stroke_clip.end_s
    with Clip(clip) as source:
        of_clip = {frame.time_s: frame.image.astype(int) for frame in source}
    for event in ("takeaway_s", "impact_s"):
        nearest = min(of_clip, key=lambda t: abs(t - stroke_clip.events[event]))
        index = stroke_clip.frame_of(event)
        assert index is not None
        assert stroke_clip.frames.times_s[index] == nearest
        # A frame's neighbours differ by more than compressing it does: by where the putter is. At impact that is where it
        # was at address, so those of long before may look the same.
        near = {t: image for t, image in of_clip.items() if abs(t - nearest) < 0.2}
        errors = {t: np.abs(image - stroke_clip.frames.frame(index)).mean() for t, image in near.items()}
        assert min(errors, key=lambda t: errors[t]) == nearest
