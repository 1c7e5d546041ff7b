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
    deck = deck_of()
    deck.do("first")
    on = [deck.index]
    while deck.index < deck.last:
        deck.do("on")
        on.append(deck.index)
    back = [deck.index]
    while deck.index > deck.first:
        deck.do("back")
        back.append(deck.index)
    assert on == list(range(deck.first, deck.last + 1))
    assert back == on[::-1]
    deck.do("back")
    assert deck.index == deck.first


@pytest.mark.parametrize("word", EVENT_WORDS.values())
def test_an_events_frame_is_the_nearest(word: str) -> None:
    deck = deck_of()
    assert deck.jump(word)
    at = deck.main.tracked.event_s(word)
    assert at is not None
    times = deck.main.shot.frames.times_s
    assert deck.index == int(np.argmin(np.abs(times - at)))
    assert word in deck.event
    assert word in deck.where


def test_an_event_that_was_not_seen_is_said() -> None:
    deck = deck_of(BEHIND)
    before = deck.index
    deck.do("look")
    assert deck.message == "look was not seen in this stroke"
    assert deck.index == before


def test_ten_frames_and_the_ends() -> None:
    deck = deck_of()
    deck.do("impact")
    here = deck.index
    deck.do("on10")
    assert deck.index == here + 10
    deck.do("back10")
    assert deck.index == here
    deck.do("last")
    assert deck.index == deck.last
    deck.do("first")
    assert deck.index == deck.first


def test_playing_takes_the_strokes_own_time_and_a_quarter_takes_four() -> None:
    deck = deck_of()
    begin = deck.shown_s
    deck.do("play")
    for _ in range(10):
        deck.tick(0.05)
    assert deck.shown_s - begin == pytest.approx(0.5, abs=0.02)
    deck.do("slow")
    before = deck.time_s
    for _ in range(10):
        deck.tick(0.05)
    assert deck.time_s - before == pytest.approx(0.125, abs=1e-9)
    deck.tick(1000.0)
    assert not deck.playing
    assert deck.index == deck.last
    deck.do("play")  # from the end it begins anew
    assert deck.index == deck.first


def test_a_loop_stays_between_its_events() -> None:
    deck = deck_of()
    seen = set()
    for _ in range(len(LOOPS)):
        deck.do("loop")
        seen.add(deck.loop)
        if deck.loop is None:
            continue
        low, high = (deck.main.tracked.event_s(word) for word in deck.loop)
        assert low is not None
        assert high is not None
        deck.playing = True
        for _ in range(200):
            deck.tick(0.031)
            assert low - 1e-9 <= deck.time_s <= high + 1e-9
        assert deck.playing
    assert seen == set(LOOPS)


def test_scrubbing_lands_on_a_frame() -> None:
    deck = deck_of()
    times = deck.main.shot.frames.times_s
    for share in (-1.0, 0.0, 0.31, 0.77, 1.0, 5.0):
        deck.scrub(deck.main.shot.start_s + share * (deck.main.shot.end_s - deck.main.shot.start_s))
        assert deck.time_s == times[deck.index]
        assert deck.first <= deck.index <= deck.last


@pytest.mark.parametrize("on", ["takeaway", "top", "impact", "finish", "settle", "look", "phase"])
def test_both_sides_show_frames_within_half_a_frame(on: str) -> None:
    deck = deck_of(LOOKED, STALL, on)
    other = deck.other
    assert other is not None
    times = other.shot.frames.times_s
    for k in range(deck.first, deck.last + 1):
        deck.scrub(float(deck.main.shot.frames.times_s[k]))
        wanted = deck.their_s(deck.shown_s)
        if times[0] <= wanted <= times[-1]:
            assert deck.other_index is not None
            far = abs(times[deck.other_index] - wanted)
            assert far <= half_frame_s(other.shot.frames, deck.other_index) + 1e-9


def test_alignment_goes_round_and_says_so() -> None:
    deck = deck_of(HELD, LOOKED)
    ways = [deck.aligned_on]
    for _ in range(6):
        deck.do("align")
        ways.append(deck.aligned_on)
    assert set(ways) == {*EVENT_WORDS.values(), "phase"}


def test_layouts_need_another_stroke() -> None:
    deck = deck_of()
    deck.do("beside")
    assert deck.layout == "one"
    assert deck.message
    deck = deck_of(HELD, LOOKED)
    assert deck.layout == "beside"
    deck.do("ghost")
    assert deck.layout == "ghost"
    deck.do("ghost")
    assert deck.layout == "one"


def test_strokes_of_two_views_are_refused_in_a_line() -> None:
    with pytest.raises(UsageError, match="different views"):
        deck_of(HELD, BEHIND)


def test_every_command_is_understood_and_others_are_not() -> None:
    deck = deck_of(HELD, LOOKED)
    for command in COMMANDS:
        assert deck.do(command), command
    assert not deck.do("nonsense")


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
    shot = loaded.shot
    placing = fit(shot, loaded.tracked, shot.frames.size, close=False)
    return number_of(pane_image(shot, frame, placing, shot.frames.size, (0, 0, 0)))


@pytest.mark.parametrize(("kind", "beside"), [("30", "60"), ("60", "uneven"), ("uneven", "30")])
def test_the_pane_shows_the_very_frame(burnt: dict[str, Path], kind: str, beside: str) -> None:
    shots = [
        StrokeClip(figure(name).record, ClipFrames(burnt[k]), label=k) for name, k in ((HELD, kind), (LOOKED, beside))
    ]
    main, other = (Loaded.of(one) for one in shots)
    try:
        deck = Playback(main, other)
        times, theirs = (one.frames.times_s for one in shots)
        for word in EVENT_WORDS.values():
            assert deck.jump(word)
            at = main.tracked.event_s(word)
            assert at is not None
            assert shown_number(main, deck.index) == int(np.argmin(np.abs(times - at)))
        deck.do("impact")
        here = deck.index
        seen = []
        for command in ["on"] * 20 + ["back"] * 30 + ["on"] * 10:
            deck.do(command)
            assert deck.other_index is not None
            seen.append(shown_number(main, deck.index))
            wanted = deck.their_s(float(times[deck.index]))
            number = shown_number(other, deck.other_index)
            assert abs(theirs[number] - wanted) <= half_frame_s(shots[1].frames, number) + 1e-9
        steps = [here, *seen]
        assert list(np.diff(steps)) == [1] * 20 + [-1] * 30 + [1] * 10
    finally:
        for one in shots:
            one.close()
