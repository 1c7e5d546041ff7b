"""The window and what is drawn on it: letters large enough, both themes, keys, no display. SDL draws in memory."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any, Iterator

import numpy as np
import pygame
import pytest

from tests.support.paths import ROOT
from trainer.app.practice.gesture_control import GestureControl
from trainer.camera_setup.findings import Finding
from trainer.camera_setup.setup_observer import SetupStep
from trainer.coaching.verdict import Verdict
from trainer.domain.observation import BallObservation, Frame, HeadObservation, Observation, PutterObservation
from trainer.domain.phases import Phase
from trainer.domain.player_frame import PlayerFrame, Point
from trainer.domain.record import Events, LiveState, Measure, Signals, StrokeRecord
from trainer.errors import UsageError
from trainer.feedback.signs import FAULT_WORDS, GOOD_WORD, PHASE_WORDS, REHEARSAL_WORD, THEMES, Sign
from trainer.feedback.tones import DEVICE_CAME, DEVICE_LOST
from trainer.live.display_types import Targets
from trainer.live.keys import COMMANDS
from trainer.live.linking import LOST_HERE
from trainer.live.pipeline import Finished, StepResult
from trainer.live.practice_state import DisplayState
from trainer.ui.camera_setup.setup_view import SetupView
from trainer.ui.drawing import overlay
from trainer.ui.drawing.canvas import EM_OF_LINE, Canvas, TurnShown
from trainer.ui.drawing.window import NoWindow, PygameWindow, WindowConfig, on_screen, open_display
from trainer.ui.export.annotated_clip import AnnotatedClip
from trainer.ui.practice.practice_view import MOTTO, PracticeView
from trainer.vision.sources.clip import Clip

SIZES = [(1280, 720), (640, 480), (1920, 1080), (800, 1000)]


def observation(**more: Any) -> Observation:
    body = {
        "lead_shoulder": Point(360.0, -150.0, 1.0),
        "trail_shoulder": Point(280.0, -150.0, 1.0),
        "lead_elbow": Point(365.0, -210.0, 1.0),
        "lead_wrist": Point(330.0, -260.0, 1.0),
        "lead_hip": Point(340.0, -260.0, 1.0),
        "trail_hip": Point(300.0, -260.0, 1.0),
        "trail_knee": Point(float("nan"), -340.0, 0.4),
    }
    seen = Observation(
        7,
        0.2,
        body,
        HeadObservation(5.0, 0.9, Point(320.0, -110.0, 0.9)),
        PutterObservation(Point(325.0, -265.0, 1.0), Point(340.0, -430.0, 1.0), 5.0, 0.9, "tape"),
        BallObservation(Point(350.0, -432.0, 1.0), 11.0),
    )
    return replace(seen, **more)


def view(**more: Any) -> DisplayState:
    moment = LiveState(1.0, Phase.HOLD, Events(), turn_deg=4.0, held_s=0.4)
    base = DisplayState(
        image=np.full((480, 640, 3), 90, np.uint8),
        observation=observation(),
        moment=moment,
        held_s=0.4,
        strokes=3,
        fps=29.97,
    )
    return replace(base, **more)


def drawn(shown: DisplayState, size: tuple[int, int] = (1280, 720), theme: str = "dark") -> np.ndarray:
    """(height, width, 3) RGB."""
    surface = pygame.Surface(size)
    PracticeView(theme).draw(surface, shown)
    return pygame.surfarray.array3d(surface).swapaxes(0, 1)


class Seeing(Canvas):
    """Notes the height of capitals of every text as it comes out, after it was made to fit."""

    def __init__(self) -> None:
        super().__init__()
        self.capitals: dict[str, float] = {}
        self.boxes: dict[str, Any] = {}

    def text(self, on: Any, text: str, *place: Any, **more: Any) -> Any:
        box = super().text(on, text, *place, **more)
        self.boxes[text] = box
        size = max(size for known, size, _ in self.texts if known == text)
        letter = self.rendered("H", size, (255, 255, 255))
        self.capitals[text] = float(letter.get_bounding_rect(min_alpha=128).height)
        return box


def measured(shown: DisplayState, size: tuple[int, int]) -> tuple[dict[str, float], dict[str, Any]]:
    board = PracticeView()
    board._canvas = canvas = Seeing()
    board.draw(pygame.Surface(size), shown)
    return canvas.capitals, canvas.boxes


@pytest.mark.parametrize("size", [(1280, 720), (640, 480), (1920, 1080)])
@pytest.mark.parametrize("word", [*FAULT_WORDS.values(), GOOD_WORD, REHEARSAL_WORD])
def test_the_result_is_read_from_four_metres(size: tuple[int, int], word: str) -> None:
    """Capitals of at least a twelfth of the window's height."""
    capitals, _ = measured(view(sign=Sign(word, "by 4.2 cm, limit 3.0 cm", "fault")), size)
    assert capitals[word] >= size[1] / 12


# Sharp eyes read capitals of 5 minutes of arc: 4.4 mm at 3 m, a 44th of the height of a laptop's screen of 15.6 inches.
LEAST_CAPITALS = 1 / 40


@pytest.mark.parametrize("size", [(1024, 600), (1366, 768)])
def test_the_smallest_words_are_read_from_three_metres(size: tuple[int, int]) -> None:
    shown = view(muted=True, notes=("drill First hold",), sign=Sign("Well held", "1.3 s", "good"))
    capitals, boxes = measured(shown, size)
    assert {"stroke 3", "muted", "drill First hold"} <= set(capitals)
    assert min(capitals.values()) >= LEAST_CAPITALS * size[1], capitals
    assert all(box.left >= 0 and box.right <= size[0] and box.bottom <= size[1] for box in boxes.values())


@pytest.mark.parametrize("size", [(1024, 600), (1366, 768)])
def test_what_arms_order_and_what_came_of_an_order_is_read_from_three_metres(size: tuple[int, int]) -> None:
    gestures = GestureControl().view()
    capitals, _ = measured(view(gestures=gestures), size)
    assert capitals[gestures.hint] >= LEAST_CAPITALS * size[1]
    capitals, boxes = measured(view(gestures=gestures, answer="the ball: holed"), size)
    assert capitals["The ball: holed"] >= LEAST_CAPITALS * size[1]
    assert gestures.hint not in boxes


@pytest.mark.parametrize("size", [(640, 480), (1024, 600), (1366, 768)])
def test_the_footer_says_that_frames_are_lost(size: tuple[int, int]) -> None:
    assert LOST_HERE in measured(view(losing=LOST_HERE), size)[1]
    assert LOST_HERE not in measured(view(), size)[1]
    assert LOST_HERE not in measured(view(losing=LOST_HERE, recorded=True), size)[1]


@pytest.mark.parametrize("size", [(1024, 600), (1366, 768)])
def test_what_setup_finds_wrong_is_read_from_three_metres(size: tuple[int, int]) -> None:
    findings = (
        Finding("body", "problem", "the player fills 48 % of the picture's height", "come nearer by 0.5 m"),
        Finding("light", "warning", "brightness 40 of 255, dark", "put light on the player"),
        Finding("ball", "waiting", "no ball seen"),
        *(Finding(name, "ok", "well") for name in ("view", "hand", "sharp", "rate", "motion")),
    )
    setup = SetupView()
    setup._canvas = canvas = Seeing()
    setup.draw(pygame.Surface(size), SetupStep(None, findings))
    assert min(canvas.capitals.values()) >= LEAST_CAPITALS * size[1], canvas.capitals
    assert all(box.right <= size[0] for box in canvas.boxes.values())


def test_the_foot_leaves_out_what_has_no_room_and_makes_nothing_small() -> None:
    canvas = Seeing()
    canvas.foot(
        pygame.Surface((300, 60)),
        ("stroke 3", "", "muted", "a very long line of notes " * 3, "Q"),
        (5, 50),
        26,
        (9, 9, 9),
        290,
    )
    assert set(canvas.boxes) == {"stroke 3", "muted", "Q"}
    assert len(set(canvas.capitals.values())) == 1


@pytest.mark.parametrize("phase", PHASE_WORDS)
def test_phase_words_are_large_too(phase: str) -> None:
    capitals, _ = measured(view(moment=LiveState(1.0, phase, Events())), (1280, 720))  # type: ignore[arg-type]
    assert capitals[PHASE_WORDS[phase]] >= 720 / 12  # type: ignore[index]


WIDE_SIGN = Sign(max(FAULT_WORDS.values(), key=len), "by 4.2 cm, limit 3.0 cm; also: head going up", "fault")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("sign", [WIDE_SIGN, None])
def test_nothing_sticks_out_and_nothing_overlaps(size: tuple[int, int], sign: Sign | None) -> None:
    _, boxes = measured(view(sign=sign), size)
    window = pygame.Rect((0, 0), size)
    for text, box in boxes.items():
        assert window.contains(box), text
    names = list(boxes)
    for i, one in enumerate(names):
        for other in names[i + 1 :]:
            if {one, other} != {"Head turn", "+4°"}:  # lines of text have room above and below their letters
                assert not boxes[one].colliderect(boxes[other]), (one, other)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("size", SIZES)
def test_every_state_can_be_drawn(size: tuple[int, int], theme: str) -> None:
    unseen = Observation(0, 0.0, reasons={"body": "nobody in the picture"})
    states = [
        view(),
        view(image=None, observation=None, moment=None, status="Opening camera 0"),
        view(cautions=True, status="Opening camera 0"),
        view(observation=unseen, moment=LiveState(0.0, Phase.AWAY, Events()), held_s=None, fps=None),
        view(paused=True, muted=True, can_sound=False, notes=("turn a light on",)),
        view(image=np.zeros((1920, 1080, 3), np.uint8)),
        view(moment=LiveState(1.0, Phase.LOOKED, Events(), turn_deg=70.0), targets=Targets(handedness="left")),
        view(observation=observation(frame=PlayerFrame("down-the-line"))),
    ]
    ground = np.array(THEMES[theme].ground)
    for state in states:
        picture = drawn(state, size, theme)
        assert (picture[0, -1] == ground).all()
        assert (picture != ground).any(axis=2).mean() > 0.02


def test_the_bar_is_as_long_as_the_hold_was() -> None:
    filling = np.array(THEMES["dark"].filling)
    good = np.array(THEMES["dark"].good)

    def share(held_s: float, colour: np.ndarray) -> int:
        shown = view(held_s=held_s, image=None)
        letters = measured(shown, (1280, 720))[1][f"held {held_s:.1f} s"]
        return int((drawn(shown) == colour).all(axis=2)[letters.bottom : letters.bottom + 12].sum())

    amounts = [share(held, filling) for held in (0.0, 0.25, 0.5, 0.75)]
    assert amounts[0] < amounts[1] < amounts[2] < amounts[3]
    assert amounts[2] == pytest.approx((amounts[1] + amounts[3]) / 2, rel=0.05)
    assert share(0.99, good) == 0
    assert share(1.0, good) > amounts[3]


def test_the_length_of_a_hold_is_said_in_words_too() -> None:
    assert "held 1.0 s" in measured(view(held_s=1.0), (1280, 720))[0]
    assert "held 0.9 s" in measured(view(held_s=0.9), (1280, 720))[0]


@pytest.mark.parametrize(("turn", "shown"), [(4.2, "+4°"), (-7.8, "-8°"), (-0.3, "0°"), (None, "not seen")])
def test_the_head_turn_is_said_in_words_too(turn: float | None, shown: str) -> None:
    unseen = observation(head=None)
    assert (
        shown
        in measured(view(observation=unseen, moment=LiveState(1.0, Phase.HOLD, Events(), turn_deg=turn)), (1280, 720))[
            0
        ]
    )


def test_between_strokes_the_head_is_shown_as_it_is_seen() -> None:
    assert "+5°" in measured(view(moment=LiveState(1.0, Phase.ADDRESS, Events())), (1280, 720))[0]
    doubtful = observation(head=HeadObservation(5.0, 0.1, Point(320.0, -110.0, 0.9)))
    assert (
        "not seen"
        in measured(view(observation=doubtful, moment=LiveState(1.0, Phase.ADDRESS, Events())), (1280, 720))[0]
    )


def test_a_video_tells_of_no_keys_and_no_sound() -> None:
    texts = " ".join(measured(view(recorded=True), (1280, 720))[0])
    assert "quit" not in texts
    assert "sound" not in texts
    assert "stroke 3" in texts


def test_the_dial_swings_toward_the_target() -> None:
    """A right-hander seen face-on looks to the right of the picture, a left-hander to the left."""

    def middle(turn_deg: float, hand: str) -> float:
        surface = pygame.Surface((400, 400))
        Canvas().dial(
            surface, (200, 200), 150, TurnShown(turn_deg, 12.0, turn_deg > 12), hand == "right", THEMES["dark"]
        )
        picture = pygame.surfarray.array3d(surface)
        nose = (picture == np.array(THEMES["dark"].text if turn_deg <= 12 else THEMES["dark"].fault)).all(axis=2)
        yy, xx = np.mgrid[:400, :400]
        far = np.hypot(xx - 200, yy - 200).T
        return float(np.nonzero(nose & (far > 70) & (far < 140))[0].mean()) - 200

    assert abs(middle(0.0, "right")) < 2
    assert middle(10.0, "right") > 10
    assert middle(10.0, "left") < -10
    assert middle(40.0, "right") > 50
    assert middle(40.0, "left") < -50


def test_letters_have_the_windows_order_of_colours_and_look_as_they_were_rendered() -> None:
    """Another order is drawn many times as slowly."""
    canvas = Canvas()
    kept = canvas.rendered("Hold", 60, (230, 120, 40))
    assert kept.get_masks()[:3] == pygame.Surface((1, 1), depth=32).get_masks()[:3]
    font = pygame.freetype.Font(None, 32)
    font.kerning, font.pad = False, True
    plain = font.render("Hold", (230, 120, 40), size=60 * EM_OF_LINE)[0]
    shown = []
    for letters in (kept, plain):
        on = pygame.Surface(letters.get_size(), depth=32)
        on.fill((20, 40, 60))
        on.blit(letters, (0, 0))
        shown.append(pygame.surfarray.array3d(on))
    assert np.ptp(shown[0]) > 0
    assert np.array_equal(*shown)


def test_the_overlay_marks_shaft_ball_and_head() -> None:
    surface = pygame.Surface((640, 480))
    overlay.draw(Canvas(), surface, observation(), (0.0, 0.0), 1.0)
    picture = pygame.surfarray.array3d(surface).swapaxes(0, 1)
    for at, colour in (((348, 333), overlay.SHAFT), ((431, 340), overlay.SHAFT)):
        assert (picture[at] == colour).all(), at
    for place, colour in (((350, 432), overlay.BALL), ((320, 110), overlay.HEAD)):
        near = picture[place[1] - 40 : place[1] + 40, place[0] - 40 : place[0] + 40]
        assert (near == np.array(colour)).all(axis=2).any()


@pytest.fixture
def window() -> Iterator[PygameWindow]:
    made = PygameWindow(WindowConfig(800, 600))
    yield made
    made.close()


def test_sound_devices_that_come_and_go(window: PygameWindow) -> None:
    window.poll()
    for kind, which, hears in (
        (pygame.AUDIODEVICEREMOVED, 2, 0),
        (pygame.AUDIODEVICEREMOVED, 0, 0),
        (pygame.AUDIODEVICEREMOVED, 2, 1),
        (pygame.AUDIODEVICEADDED, 0, 0),
    ):
        pygame.event.post(pygame.event.Event(kind, which=which, iscapture=hears))
    assert window.poll() == [DEVICE_LOST, DEVICE_CAME]


def test_keys(window: PygameWindow) -> None:
    window.poll()
    every = {getattr(pygame, name) for name in dir(pygame) if name.startswith("K_")}
    ordered = {}
    for key in every:
        pygame.event.post(pygame.event.Event(pygame.KEYDOWN, key=key))
        ordered.update({pygame.key.name(key): command for command in window.poll()})
    assert ordered == COMMANDS
    pygame.event.post(pygame.event.Event(pygame.QUIT))
    assert window.poll() == ["quit"]
    assert window.poll() == []


def test_t_changes_the_theme(window: PygameWindow) -> None:
    def corner() -> tuple[int, ...]:
        window.show(view())
        return tuple(pygame.display.get_surface().get_at((0, 0)))[:3]

    assert corner() == THEMES["dark"].ground
    pygame.event.post(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_t))
    window.poll()
    assert corner() == THEMES["light"].ground


def test_the_window_leaves_the_mixer_alone(window: PygameWindow) -> None:
    """pygame.init() would open it with a large buffer."""
    pygame.mixer.quit()
    window.show(view())
    assert pygame.mixer.get_init() is None


def test_a_window_is_never_larger_than_the_screen() -> None:
    assert on_screen((1280, 720), (1024, 600)) == (1024, 600)
    assert on_screen((1280, 720), (1366, 768)) == (1280, 720)
    assert on_screen((1280, 820), (1366, 768)) == (1280, 768)


def test_a_window_not_wanted() -> None:
    said: list[str] = []
    assert isinstance(open_display(False, WindowConfig(), said.append), NoWindow)
    assert said == []


@pytest.mark.parametrize("driver", ["", "x11"])
def test_no_display_is_said_once(driver: str) -> None:
    """In a process of its own without a screen: SDL either fails or falls back to drawing nowhere."""
    import os

    code = (
        "from trainer.ui.drawing.window import open_display, WindowConfig\n"
        "shown = open_display(True, WindowConfig(), print)\n"
        "shown.show(None); print(shown.poll(), type(shown).__name__); shown.close()"
    )
    bare = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER")}
    if driver:
        bare["SDL_VIDEODRIVER"] = driver
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, env=bare, capture_output=True, text=True, timeout=60)
    lines = done.stdout.splitlines()
    assert len(lines) == 2, done.stderr
    assert lines[0].startswith("no display")
    assert lines[1] == "[] NoWindow"


def steps(count: int) -> list[tuple[Frame, StepResult]]:
    made = []
    for i in range(count):
        moment = LiveState(i / 30, Phase.HOLD, Events(), turn_deg=float(i), held_s=i / 30)
        image = np.full((48, 64, 3), 40 + 4 * i, np.uint8)
        made.append((Frame(i, i / 30, image), StepResult(observation(index=i), moment, None, None)))
    return made


def test_annotated_video_shows_what_the_window_would(tmp_path: Path) -> None:
    path = tmp_path / "out.mp4"
    video = AnnotatedClip(path, 30.0, size=(640, 480))
    for frame, step in steps(12):
        video.add(frame, step)
    signals = Signals(np.array([0.0]), np.array([0]), {})
    done = Finished(1, StrokeRecord("ball", Events(), {"hold_s": Measure(1.5, "s", 1.0)}, signals), Verdict(), ())
    video.finish(done, linger_s=0.5)
    video.close()
    video.close()
    frames = list(Clip(path))
    assert len(frames) == 12 + 2  # the result, and the end of its time
    assert frames[-1].time_s - frames[-2].time_s == pytest.approx(0.5)
    assert frames[0].image.shape == (480, 640, 3)
    fifth = steps(5)[-1]
    moment = fifth[1].moment
    shown = DisplayState(image=fifth[0].image, observation=fifth[1].observation, moment=moment, recorded=True)
    expected = drawn(shown, (640, 480))
    difference = np.abs(frames[4].image[:, :, ::-1].astype(int) - expected)
    assert difference.mean() < 4.0  # the codec's loss
    result = np.abs(frames[-1].image.astype(int) - frames[11].image)[330:440]
    assert result.mean() > 10.0  # the result has come into its strip


def test_a_result_that_the_end_of_the_clip_came_before_is_shown_after_it(tmp_path: Path) -> None:
    made = steps(12)
    last, step = made[-1]
    signals = Signals(np.array([0.0]), np.array([0]), {})
    record = StrokeRecord("ball", Events(settle_s=last.time_s), {"hold_s": Measure(1.5, "s", 1.0)}, signals)
    done = replace(step, finished=Finished(1, record, Verdict(), ()))
    video = AnnotatedClip(tmp_path / "out.mp4", 30.0, Targets(result_delay_s=1.0), size=(640, 480))
    for frame, before in made[:-1]:
        video.add(frame, before)
    video.add(last, done)
    video.finish(None, linger_s=0.5)
    video.close()
    frames = list(Clip(tmp_path / "out.mp4"))
    assert len(frames) == 12 + 2
    result = np.abs(frames[-1].image.astype(int) - frames[11].image)[330:440]
    assert result.mean() > 10.0


def test_the_first_picture_of_an_annotated_video_tells_nothing_of_what_is_not_seen_yet(tmp_path: Path) -> None:
    """It stands for the clip where clips are listed."""
    video = AnnotatedClip(tmp_path / "out.mp4", 30.0, size=(640, 480))
    shown = []
    for frame, step in steps(2):
        unseen = replace(step.observation, head=None, reasons={"head": "no head"})
        step = replace(step, observation=unseen, moment=replace(step.moment, turn_deg=None))
        video.add(frame, step)
        shown.append(DisplayState(frame.image, unseen, step.moment, recorded=True))
    video.close()
    plain = replace(shown[0], observation=replace(shown[0].observation, reasons={}), dial="hidden")
    frames = [frame.image[:, :, ::-1].astype(int) for frame in Clip(tmp_path / "out.mp4")]
    for frame, state in zip(frames, (plain, shown[1]), strict=True):
        assert np.abs(frame - drawn(state, (640, 480))).mean() < 4.0
    assert np.abs(frames[0] - drawn(shown[0], (640, 480))).max() > 100  # the great question mark is not in it


def test_annotated_video_keeps_the_clips_time(tmp_path: Path) -> None:
    """Time stamps with a gap: the picture stays meanwhile."""
    made = steps(6)
    late = [(Frame(f.index, f.time_s + (0.5 if f.index >= 3 else 0.0), f.image), s) for f, s in made]
    video = AnnotatedClip(tmp_path / "out.mp4", 30.0, size=(640, 480))
    for frame, step in late:
        video.add(frame, step)
    video.close()
    times = [frame.time_s for frame in Clip(tmp_path / "out.mp4")]
    assert times == pytest.approx([frame.time_s for frame, _ in late], abs=1e-4)


def test_annotated_video_that_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no such folder"):
        AnnotatedClip(tmp_path / "none" / "out.mp4", 30.0)
    with pytest.raises(UsageError, match=r"\.mp4"):
        AnnotatedClip(tmp_path / "out.txt", 30.0)
    folder = tmp_path / "folder.mp4"
    folder.mkdir()
    with pytest.raises(UsageError, match="is a folder"):
        AnnotatedClip(folder, 30.0)


def test_the_motto_stands_where_results_will() -> None:
    assert MOTTO in measured(view(strokes=0, held_s=None), (1280, 720))[0]
    assert MOTTO not in measured(view(strokes=1, held_s=None), (1280, 720))[0]


def test_an_upright_picture_fills_the_height_and_words_keep_their_size() -> None:
    """A clip of a phone that was held upright."""
    upright = view(image=np.full((640, 360, 3), 255, np.uint8), observation=None, recorded=True)
    assert (drawn(upright)[:, 200] == 255).all()
    mine, usual = (measured(shown, (1280, 720))[0] for shown in (upright, view(observation=None, recorded=True)))
    assert mine == usual
