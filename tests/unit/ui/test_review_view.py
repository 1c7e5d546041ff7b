"""The review's window: approved pictures of each view, reading by hovering, and how soon it answers."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path
from typing import Any, Callable, Iterator

import numpy as np
import pytest

from tests.support.approved_pictures import FAR_SHARE, assert_approved, difference, half
from tests.support.paths import CLIPS
from tests.support.review_clips import BEHIND, HELD, LOOKED, STALL, figure, record_of, stroke_clip
from trainer.domain.record import EVENT_NAMES, Events, Signals
from trainer.languages import LANGUAGES
from trainer.replay.clip_frames import ClipFrames
from trainer.replay.derived_signals import EVENT_WORDS
from trainer.replay.frames import Frames, Still, exact
from trainer.replay.lines import LINE_NAMES
from trainer.replay.review_session import Choice, Entry, Lookups, ReviewSession
from trainer.replay.stroke_clip import StrokeClip
from trainer.texts import speaking
from trainer.ui.review.reviewer import TARGET_PX, Reviewer

SIZE = (1280, 720)
LEAST_PX = 14
NOTHING = Lookups()
Opens = Callable[[], StrokeClip]


@pytest.fixture
def reviewing() -> Iterator[Callable[..., Reviewer]]:
    """Makes reviewers of strokes; closes them."""
    made: list[ReviewSession] = []

    def review(
        main: Opens, other: Opens | None = None, why: str = "", lookups: Lookups = NOTHING, theme: str = "dark"
    ) -> Reviewer:
        entries = [Entry(f"stroke {k}", "ball", opens) for k, opens in enumerate((main, other), 1) if opens is not None]
        choice = Choice(tuple(entries), entries[0], entries[1] if other else None, why, lookups)
        made.append(ReviewSession(choice))
        return Reviewer(made[-1], theme)

    yield review
    for session in made:
        session.close()


def picture(reviewer: Reviewer, size: tuple[int, int] = SIZE, bare: bool = False) -> Any:
    """(height, width, 3) BGR of the window."""
    import pygame

    surface = pygame.Surface(size)
    while not reviewer.draw(surface, bare).settled:  # until every picture is the very one
        pass
    rgb = np.frombuffer(pygame.image.tobytes(surface, "RGB"), np.uint8).reshape(size[1], size[0], 3)
    return rgb[:, :, ::-1]


# ---- approved pictures


def test_one_stroke(reviewing: Callable[..., Reviewer]) -> None:
    reviewer = reviewing(lambda: stroke_clip(LOOKED))
    reviewer.do("settle")
    assert_approved(picture(reviewer), "one")


def test_all_lines(reviewing: Callable[..., Reviewer]) -> None:
    reviewer = reviewing(lambda: stroke_clip(STALL))
    reviewer.do("finish")
    reviewer.do("outline")
    reviewer.do("spine")
    assert_approved(picture(reviewer, bare=True), "all-lines")


def test_side_by_side_and_mirrored(reviewing: Callable[..., Reviewer]) -> None:
    reviewer = reviewing(lambda: stroke_clip(HELD), lambda: stroke_clip(STALL), why="beside it: the best so far")
    reviewer.do("finish")
    assert_approved(picture(reviewer), "side-by-side")


def test_ghost(reviewing: Callable[..., Reviewer]) -> None:
    reviewer = reviewing(lambda: stroke_clip(LOOKED), lambda: stroke_clip(HELD))
    reviewer.do("ghost")
    reviewer.do("top")
    assert_approved(picture(reviewer), "ghost")


def test_figure_on_light(reviewing: Callable[..., Reviewer]) -> None:
    reviewer = reviewing(lambda: figure(HELD), theme="light")
    reviewer.do("top")
    assert_approved(picture(reviewer), "figure-light")


def test_down_the_line_figure(reviewing: Callable[..., Reviewer]) -> None:
    reviewer = reviewing(lambda: figure(BEHIND))
    reviewer.do("impact")
    assert_approved(picture(reviewer), "down-the-line")


def test_all_keys(reviewing: Callable[..., Reviewer]) -> None:
    reviewer = reviewing(lambda: figure(HELD))
    reviewer.do("keys")
    assert_approved(picture(reviewer), "keys")


def test_sheet(reviewing: Callable[..., Reviewer]) -> None:
    import cv2

    from trainer.ui.export.sheet import page

    reviewer = reviewing(lambda: stroke_clip(HELD), lambda: stroke_clip(LOOKED))
    png, labels = page(reviewer, "png")
    assert {label.name for label in labels} >= {"hinge_change_deg", "head_turn_deg", "hands_past_leg_cm"}
    assert_approved(cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_COLOR), "sheet")


def test_the_comparison_would_see_a_line_gone_or_moved(reviewing: Callable[..., Reviewer]) -> None:
    """The tolerance is no blindfold: without one line, a frame on, or with another number, the picture is another one."""
    reviewer = reviewing(lambda: stroke_clip(STALL))
    reviewer.do("finish")
    before = half(picture(reviewer))
    for command in ("leg", "arm", "head", "paths", "spine", "outline", "back10"):
        reviewer.do(command)
        assert difference(before, half(picture(reviewer)))[0] > FAR_SHARE, command
        reviewer.do("on10" if command == "back10" else command)
        assert difference(before, half(picture(reviewer)))[0] == 0.0


@pytest.mark.parametrize("size", [(640, 480), (1024, 600), (1366, 768), (1920, 1080)])
def test_every_size_holds_it_all(reviewing: Callable[..., Reviewer], size: tuple[int, int]) -> None:
    reviewer = reviewing(lambda: figure(HELD), lambda: figure(LOOKED))
    ways = [(layout, language) for layout in ("one", "beside", "ghost") for language in LANGUAGES.values()]
    for layout, language in ways if size == (1024, 600) else ways[:: len(LANGUAGES)]:
        reviewer.session.playback.layout = layout  # type: ignore[assignment]
        with speaking(language):
            picture(reviewer, size)
        boxes = [box for box, _ in reviewer.shown.hits] + reviewer.shown.pictures
        assert all(b.left >= 0 and b.right <= size[0] and b.top >= 0 and b.bottom <= size[1] for b in boxes)
        if size[0] >= 1024:  # read at a desk
            letters = {text: px for text, px, _ in reviewer._view._canvas.texts}
            assert not {text: px for text, px in letters.items() if px < LEAST_PX}


def test_the_mouse_leaves_by_the_cross_and_nothing_is_drawn_under_it(reviewing: Callable[..., Reviewer]) -> None:
    import pygame

    from trainer.ui.review.window import ReviewWindow

    reviewer = reviewing(lambda: figure(HELD), lambda: figure(LOOKED))
    pygame.display.init()
    surface = pygame.display.set_mode((1024, 600))
    for layout in ("one", "beside", "ghost"):
        reviewer.session.playback.layout = layout  # type: ignore[assignment]
        reviewer.do("settle")
        window = ReviewWindow(reviewer)
        reviewer.draw(surface)
        under = pygame.surfarray.array3d(surface)[-reviewer.corner_px :, : reviewer.corner_px]
        assert (under == under[-1, 0]).all()
        shown = set(reviewer.session.playback.show)
        pygame.event.post(pygame.event.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=(1010, 12)))
        pygame.event.post(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_l, mod=0))  # comes too late
        pygame.event.post(pygame.event.Event(pygame.QUIT))
        window.run()
        assert set(reviewer.session.playback.show) == shown
        pygame.event.clear()
    pygame.display.quit()


def test_without_video_the_keys_are_told_all_the_same(reviewing: Callable[..., Reviewer]) -> None:
    reviewer = reviewing(lambda: figure(HELD))
    picture(reviewer, (1024, 600))
    texts = [text for text, *_ in reviewer._view._canvas.texts]
    assert any("Esc close" in text for text in texts)
    assert [text for text in texts if "stored points" in text]


# ---- reading and clicking


def test_hovering_reads_the_numbers_there(reviewing: Callable[..., Reviewer]) -> None:
    reviewer = reviewing(lambda: figure(HELD))
    reviewer.do("takeaway")
    picture(reviewer)
    curves, tracked = reviewer.shown.curves, reviewer.session.playback.main.tracked
    at = tracked.event_s("top")
    assert at is not None
    reviewer.point((curves.x_of(at), curves.plot.centery), pressed=False)
    picture(reviewer)
    read = {r.name: r.value for r in reviewer.shown.readings}
    k = tracked.sample(curves.time_at(round(curves.x_of(at))))
    assert read["hands_along_cm"] == tracked.columns["hands_along_cm"][k]
    assert reviewer.session.playback.event == "takeaway"  # hovering moves nothing
    reviewer.point((0, 0), pressed=False)
    picture(reviewer)
    here = tracked.sample(reviewer.session.playback.shown_s)
    assert {r.name: r.value for r in reviewer.shown.readings}["hands_along_cm"] == tracked.columns["hands_along_cm"][
        here
    ]


def test_a_click_on_the_curves_scrubs_and_on_an_events_word_jumps(reviewing: Callable[..., Reviewer]) -> None:
    reviewer = reviewing(lambda: figure(HELD))
    picture(reviewer)
    curves = reviewer.shown.curves
    box, _ = next((b, w) for b, w in curves.marks if w == "top")
    assert reviewer.click(box.center)
    assert "top" in reviewer.session.playback.event
    x = curves.x_of(reviewer.session.playback.main.tracked.event_s("impact"))
    reviewer.click((x, curves.plot.centery))
    assert "impact" in reviewer.session.playback.event


def test_every_switch_on_the_window_is_a_command(reviewing: Callable[..., Reviewer]) -> None:
    reviewer = reviewing(lambda: figure(HELD), lambda: figure(LOOKED))
    picture(reviewer)
    commands = {command for _, command in reviewer.shown.hits}
    assert {"arm", "leg", "outline", "paths", "head", "spine", "play", "loop", "beside", "ghost", "align"} <= commands
    for box, command in list(reviewer.shown.hits):
        if command == "leg":
            reviewer.click(box.center)
    assert "leg" not in reviewer.session.playback.show


def test_a_finger_just_beside_a_switch_finds_it_but_not_where_something_else_is(
    reviewing: Callable[..., Reviewer],
) -> None:
    reviewer = reviewing(lambda: figure(HELD), lambda: figure(LOOKED))
    picture(reviewer)
    box = next(box for box, command in reviewer.shown.hits if command == "leg")
    assert box.height < TARGET_PX
    reviewer.click((box.centerx, box.centery - TARGET_PX // 2 + 1))
    assert "leg" not in reviewer.session.playback.show
    before_s = reviewer.session.playback.shown_s
    curves = reviewer.shown.curves
    mark, _ = next((b, w) for b, w in curves.marks if w == "top")
    place = mark.right + 8, curves.plot.top + 2  # beside the word, but on the curves
    assert mark.inflate(0, TARGET_PX - mark.height).bottom > place[1]
    reviewer.click(place)
    assert reviewer.session.playback.shown_s != before_s
    assert "top" not in reviewer.session.playback.event


def test_a_frame_that_is_gone_is_said_and_the_review_goes_on(reviewing: Callable[..., Reviewer]) -> None:
    from trainer.errors import ClipError

    reviewer = reviewing(lambda: figure(HELD))
    frames = reviewer.session.playback.main.stroke_clip.frames

    def gone(index: int) -> Any:
        raise ClipError("no such file", "stroke.mp4", "check the name")

    frames.frame = gone  # type: ignore[method-assign]
    picture(reviewer)
    assert "no such file" in reviewer.message
    del frames.frame  # type: ignore[attr-defined]
    picture(reviewer)
    assert reviewer.shown.labels


def test_other_strokes_are_opened_and_closed_as_one_goes(reviewing: Callable[..., Reviewer]) -> None:
    closed: list[str] = []

    def opens(name: str) -> Opens:
        def opened() -> StrokeClip:
            made = figure(name)
            made.frames.close = lambda: closed.append(name)  # type: ignore[method-assign]
            return made

        return opened

    reviewer = reviewing(opens(HELD))
    reviewer.session.entries += (Entry("stroke 2", "ball", opens(LOOKED)),)
    reviewer.do("next")
    assert reviewer.session.main.title == "stroke 2, ball"
    assert closed == [HELD]
    reviewer.do("next")
    assert reviewer.message == "that was the last stroke"


def test_the_best_comes_as_a_ghost_when_asked(reviewing: Callable[..., Reviewer]) -> None:
    best = Entry("stroke 9", "ball", lambda: figure(HELD))
    reviewer = reviewing(lambda: figure(LOOKED), lookups=Lookups(best=lambda: best))
    reviewer.do("impact")
    here = reviewer.session.playback.shown_s
    reviewer.do("ghost")
    assert reviewer.session.other is best
    assert reviewer.session.playback.layout == "ghost"
    assert reviewer.session.playback.shown_s == here
    assert "best" in reviewer.session.why


class Coming:
    """The frames of another, each there when it is asked for the third time; until then the one five before it."""

    def __init__(self, frames: Frames) -> None:
        self._frames, self._asked = frames, 0

    def __getattr__(self, name: str) -> Any:
        return getattr(self._frames, name)

    def soon(self, index: int) -> Still:
        self._asked += 1
        return exact(self._frames, index) if self._asked >= 3 else Still(self.frame(index - 5), index - 5, False)


def test_a_picture_that_is_not_the_very_one_says_so_and_its_lines_are_its_own(
    reviewing: Callable[..., Reviewer],
) -> None:
    import pygame

    def opened() -> StrokeClip:
        stroke = figure(LOOKED)
        return replace(stroke, frames=Coming(stroke.frames))

    coming, known, surface = reviewing(opened), reviewing(lambda: figure(LOOKED)), pygame.Surface(SIZE)
    for reviewer in (coming, known):
        reviewer.do("top")
    kept = picture(coming, bare=True)  # what is kept is the very frame
    assert (kept == picture(known, bare=True)).all()
    wanted = picture(known)
    shown = coming.draw(surface)
    assert not shown.settled
    near = pygame.surfarray.array3d(surface).swapaxes(0, 1)[:, :, ::-1]
    known.session.playback.step(-5)
    five_before = picture(known)
    pane = shown.pictures[0]
    inside = (slice(pane.top, pane.bottom), slice(pane.left, pane.right))
    assert (near[inside] == five_before[inside]).all()
    above = (slice(0, pane.top), slice(0, None))
    assert (near[above] != wanted[above]).any()  # the same instant is named, and a word more
    assert not coming.draw(surface).settled
    assert coming.draw(surface).settled
    assert (picture(coming) == wanted).all()


def test_strokes_of_two_students_are_refused_in_a_line(reviewing: Callable[..., Reviewer]) -> None:
    from trainer.errors import UsageError

    with pytest.raises(UsageError, match="of Ann and of Bob"):
        reviewing(lambda: figure(HELD, "Ann"), lambda: figure(LOOKED, "Bob"))


@pytest.mark.parametrize("name", [HELD, BEHIND])
def test_a_stroke_that_lacks_anything_is_drawn_all_the_same(reviewing: Callable[..., Reviewer], name: str) -> None:
    """Each event, and at random every tenth, every other and all of what was seen."""
    whole, rng = record_of(name), np.random.default_rng(5)
    signals = whole.signals
    poor = [replace(whole, events=replace(whole.events, **{event: None})) for event in EVENT_NAMES]
    poor.append(replace(whole, events=Events(), measures={}))
    for share in (0.1, 0.5, 1.0):
        holes = {n: np.where(rng.random(len(c)) < share, np.nan, c) for n, c in signals.columns.items()}
        poor.append(replace(whole, signals=Signals(signals.time_s, signals.index, holes, signals.frame)))
    for record in poor:
        reviewer = reviewing(lambda record=record: figure(name, record=record))
        reviewer.session.playback.show = set(LINE_NAMES)
        for command in ("first", *EVENT_WORDS.values(), "loop", "play", "last"):
            reviewer.do(command)
            reviewer.tick(0.1)
            assert picture(reviewer, (640, 480)).std() > 10  # something is drawn: the player at least


# ---- how soon it answers


def ten_seconds(folder: Path, size: tuple[int, int]) -> Path:
    """A clip of 10 s in which every frame is another picture."""
    import cv2

    path = folder / f"{size[0]}.mp4"
    writer = cv2.VideoWriter(str(path), cv2.VideoWriter.fourcc(*"mp4v"), 30.0, size)
    source = cv2.VideoCapture(str(CLIPS / f"{HELD}.mp4"))
    image = None
    for k in range(300):
        ok, frame = source.read()
        image = cv2.resize(frame, size) if ok else image
        cv2.putText(image, str(k), (30, 60), cv2.FONT_HERSHEY_SIMPLEX, 2, (255, 255, 255), 3)
        writer.write(image)
    writer.release()
    return path


@pytest.mark.timed
@pytest.mark.parametrize("size", [(640, 480), (1280, 720)])
def test_it_opens_and_answers_at_once(
    tmp_path: Path, reviewing: Callable[..., Reviewer], size: tuple[int, int]
) -> None:
    """Measured with two cores free: 0.1 s to open, 9 ms a step. A test may not have them: of three runs, each on a clip opened
    anew, the quickest answer to the same step counts."""
    from trainer.replay.clip_reader import times_of

    path = ten_seconds(tmp_path, size)
    times = times_of(path)
    record = figure(HELD).record
    found = []
    for _ in range(3):
        begun = time.perf_counter()
        reviewer = reviewing(
            lambda: StrokeClip(record, ClipFrames(path, times, (0.8, 4.6)).start(), label="ten seconds")
        )
        picture(reviewer)
        opened = time.perf_counter() - begun
        steps = []
        rng = np.random.default_rng(1)
        frames = reviewer.session.playback.main.stroke_clip.frames
        assert isinstance(frames, ClipFrames)
        for k in range(80):
            while k == 20 and frames.ready < 1.0:  # the far ends of a clip are there a moment after it has opened
                time.sleep(0.02)
            begun = time.perf_counter()
            if k >= 20 and k % 2:
                reviewer.session.playback.scrub(float(rng.uniform(*reviewer.shown.curves.span_s)))
            else:
                reviewer.do("on" if k % 3 else "back")
            picture(reviewer)
            steps.append(time.perf_counter() - begun)
        found.append([opened, *steps])
        reviewer.session.close()
    opened, *steps = np.min(found, axis=0)
    assert opened < 0.5
    assert np.median(steps) < 0.050
    assert max(steps) < 0.100


def test_a_label_without_room_beside_it_folds_and_never_covers_what_it_speaks_of() -> None:
    """As long words do in a small window, where the player stands near the pane's border."""
    import pygame as pg

    from trainer.domain.player_frame import PlayerFrame
    from trainer.replay.lines import Label
    from trainer.ui.drawing.canvas import Canvas
    from trainer.ui.review.picture import SPOKEN_OF, draw_labels
    from trainer.ui.review.placement import Placement

    surface, pane = pg.Surface((390, 290)), pg.Rect(0, 0, 390, 290)
    surface.fill((0, 0, 255))
    frame = PlayerFrame("face-on", "right", 0.0)
    placement = Placement(1.0, 0.0, 300.0, False, frame, (0.0, 0.0))  # up 150 is at 150 px
    x, y = placement.point((270.0, 150.0))
    words = "Handgelenkwinkel 139 Grad"
    label = Label("wrist", words, "+21.4", (270.0, 150.0), "sky blue", "right", 270.0)
    draw_labels(Canvas(), surface, pane, [label], placement)
    ends = [surface.get_at((round(x) + dx, round(y) + dy))[:3] for dx in (-SPOKEN_OF + 1, 0) for dy in (-5, 5)]
    assert ends == [(0, 0, 255)] * 4
