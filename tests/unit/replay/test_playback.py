"""Where in the stroke one is: stepping, jumping, looping, playing, two aligned. No window, no clock."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.support.burnt import make_uneven, number_of, write
from tests.support.review_clips import BEHIND, HELD, LOOKED, STALL, figure
from trainer.errors import UsageError
from trainer.replay.clip_frames import ClipFrames
from trainer.replay.derived_signals import EVENT_WORDS
from trainer.replay.frames import Frames
from trainer.replay.playback import COMMANDS, LOOPS, Loaded, Playback
from trainer.replay.stroke_clip import StrokeClip
from trainer.ui.review.picture import pane_image
from trainer.ui.review.placement import fit


def half_frame_s(frames: Frames, index: int) -> float:
    """Half of the larger gap between a frame and its neighbours."""
    return float(np.diff(frames.times_s[max(0, index - 1) : index + 2]).max()) / 2


def deck_of(name: str = HELD, other: str | None = None, on: str = "impact") -> Playback:
    return Playback(Loaded.of(figure(name)), Loaded.of(figure(other)) if other else None, on)


def test_stepping_shows_every_frame_once_and_back_again() -> None:
    playback = deck_of()
    playback.do("first")
    on = [playback.index]
    while playback.index < playback.last:
        playback.do("on")
        on.append(playback.index)
    back = [playback.index]
    while playback.index > playback.first:
        playback.do("back")
        back.append(playback.index)
    assert on == list(range(playback.first, playback.last + 1))
    assert back == on[::-1]
    playback.do("back")
    assert playback.index == playback.first


@pytest.mark.parametrize("word", EVENT_WORDS.values())
def test_an_events_frame_is_the_nearest(word: str) -> None:
    playback = deck_of()
    assert playback.jump(word)
    at = playback.main.tracked.event_s(word)
    assert at is not None
    times = playback.main.stroke_clip.frames.times_s
    assert playback.index == int(np.argmin(np.abs(times - at)))
    assert word in playback.event
    assert word in playback.where


def test_an_event_that_was_not_seen_is_said() -> None:
    playback = deck_of(BEHIND)
    before = playback.index
    playback.do("look")
    assert playback.message == "look was not seen in this stroke"
    assert playback.index == before


def test_ten_frames_and_the_ends() -> None:
    playback = deck_of()
    playback.do("impact")
    here = playback.index
    playback.do("on10")
    assert playback.index == here + 10
    playback.do("back10")
    assert playback.index == here
    playback.do("last")
    assert playback.index == playback.last
    playback.do("first")
    assert playback.index == playback.first


def test_playing_takes_the_strokes_own_time_and_a_quarter_takes_four() -> None:
    playback = deck_of()
    begin = playback.shown_s
    playback.do("play")
    for _ in range(10):
        playback.tick(0.05)
    assert playback.shown_s - begin == pytest.approx(0.5, abs=0.02)
    playback.do("slow")
    before = playback.time_s
    for _ in range(10):
        playback.tick(0.05)
    assert playback.time_s - before == pytest.approx(0.125, abs=1e-9)
    playback.tick(1000.0)
    assert not playback.playing
    assert playback.index == playback.last
    playback.do("play")  # from the end it begins anew
    assert playback.index == playback.first


def test_a_loop_stays_between_its_events() -> None:
    playback = deck_of()
    seen = set()
    for _ in range(len(LOOPS)):
        playback.do("loop")
        seen.add(playback.loop)
        if playback.loop is None:
            continue
        low, high = (playback.main.tracked.event_s(word) for word in playback.loop)
        assert low is not None
        assert high is not None
        playback.playing = True
        for _ in range(200):
            playback.tick(0.031)
            assert low - 1e-9 <= playback.time_s <= high + 1e-9
        assert playback.playing
    assert seen == set(LOOPS)


def test_scrubbing_lands_on_a_frame() -> None:
    playback = deck_of()
    times = playback.main.stroke_clip.frames.times_s
    for share in (-1.0, 0.0, 0.31, 0.77, 1.0, 5.0):
        playback.scrub(
            playback.main.stroke_clip.start_s
            + share * (playback.main.stroke_clip.end_s - playback.main.stroke_clip.start_s)
        )
        assert playback.time_s == times[playback.index]
        assert playback.first <= playback.index <= playback.last


@pytest.mark.parametrize("on", ["takeaway", "top", "impact", "finish", "settle", "look", "phase"])
def test_both_sides_show_frames_within_half_a_frame(on: str) -> None:
    playback = deck_of(LOOKED, STALL, on)
    other = playback.other
    assert other is not None
    times = other.stroke_clip.frames.times_s
    for k in range(playback.first, playback.last + 1):
        playback.scrub(float(playback.main.stroke_clip.frames.times_s[k]))
        wanted = playback.their_s(playback.shown_s)
        if times[0] <= wanted <= times[-1]:
            assert playback.other_index is not None
            far = abs(times[playback.other_index] - wanted)
            assert far <= half_frame_s(other.stroke_clip.frames, playback.other_index) + 1e-9


def test_alignment_goes_round_and_says_so() -> None:
    playback = deck_of(HELD, LOOKED)
    ways = [playback.aligned_on]
    for _ in range(6):
        playback.do("align")
        ways.append(playback.aligned_on)
    assert set(ways) == {*EVENT_WORDS.values(), "phase"}


def test_layouts_need_another_stroke() -> None:
    playback = deck_of()
    playback.do("beside")
    assert playback.layout == "one"
    assert playback.message
    playback = deck_of(HELD, LOOKED)
    assert playback.layout == "beside"
    playback.do("ghost")
    assert playback.layout == "ghost"
    playback.do("ghost")
    assert playback.layout == "one"


def test_strokes_of_two_views_are_refused_in_a_line() -> None:
    with pytest.raises(UsageError, match="different views"):
        deck_of(HELD, BEHIND)


def test_every_command_is_understood_and_others_are_not() -> None:
    playback = deck_of(HELD, LOOKED)
    for command in COMMANDS:
        assert playback.do(command), command
    assert not playback.do("nonsense")


# ---- frame exact, read from the pane itself


@pytest.fixture(scope="module")
def burnt(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Clips of 5.4 s whose frames carry their number."""
    folder = tmp_path_factory.mktemp("burnt")
    made = {
        "30": write(folder / "a.mp4", 30, 162),
        "60": write(folder / "b.mp4", 60, 324),
        "uneven": write(folder / "c.mp4", 30, 162),
    }
    make_uneven(made["uneven"])
    return made


def shown_number(loaded: Loaded, frame: int) -> int:
    """The number in the picture as it lies on a pane of its own size."""
    stroke_clip = loaded.stroke_clip
    placing = fit(stroke_clip, loaded.tracked, stroke_clip.frames.size, close=False)
    return number_of(pane_image(stroke_clip.frames.frame(frame), placing, stroke_clip.frames.size, (0, 0, 0)))


@pytest.mark.parametrize(("kind", "beside"), [("30", "60"), ("60", "uneven"), ("uneven", "30")])
def test_the_pane_shows_the_very_frame(burnt: dict[str, Path], kind: str, beside: str) -> None:
    pictures_folder = [
        StrokeClip(figure(name).record, ClipFrames(burnt[k]).start(), label=k)
        for name, k in ((HELD, kind), (LOOKED, beside))
    ]
    main, other = (Loaded.of(one) for one in pictures_folder)
    try:
        playback = Playback(main, other)
        times, theirs = (one.frames.times_s for one in pictures_folder)
        for word in EVENT_WORDS.values():
            assert playback.jump(word)
            at = main.tracked.event_s(word)
            assert at is not None
            assert shown_number(main, playback.index) == int(np.argmin(np.abs(times - at)))
        playback.do("impact")
        here = playback.index
        seen = []
        for command in ["on"] * 20 + ["back"] * 30 + ["on"] * 10:
            playback.do(command)
            assert playback.other_index is not None
            seen.append(shown_number(main, playback.index))
            wanted = playback.their_s(float(times[playback.index]))
            number = shown_number(other, playback.other_index)
            assert abs(theirs[number] - wanted) <= half_frame_s(pictures_folder[1].frames, number) + 1e-9
        steps = [here, *seen]
        assert list(np.diff(steps)) == [1] * 20 + [-1] * 30 + [1] * 10
    finally:
        for one in pictures_folder:
            one.close()
