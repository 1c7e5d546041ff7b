"""Two strokes side by side: within half a frame of alignment; differences that are real; the pair that teaches most."""

from __future__ import annotations

import threading
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from tests.support.burnt import make_uneven, number_of, write
from tests.support.made_strokes import record as made_stroke
from trainer.domain.measures import MEASURES
from trainer.domain.record import EVENT_NAMES, EventName, Events, Floats, Measure, Signals, StrokeRecord
from trainer.errors import UsageError
from trainer.replay.align import PHASE, PHASE_EVENTS, Pair, align, events_in_both
from trainer.replay.clip_frames import ClipFrames
from trainer.replay.differences import compared, differing, measured
from trainer.replay.pair_suggestion import propose
from trainer.replay.stroke_clip import StrokeClip, figure_shot

EVENTS = Events(0.61, 1.22, 1.535, 1.91, 2.02, 2.6)


def with_events(events: Events, last_s: float = 3.0) -> StrokeRecord:
    times = np.array([0.0, last_s])
    return StrokeRecord("ball", events, {}, Signals(times, np.arange(2), {}))


def stretched(by: float, shift_s: float) -> Events:
    return Events.of({name: t * by + shift_s for name, t in EVENTS})


def half_frame_s(times: Floats, index: int) -> float:
    """Half of the larger gap between a frame and its neighbours: as near as any frame can be to an instant beside it."""
    return float(np.diff(times[max(0, index - 1) : index + 2]).max()) / 2.0


@pytest.fixture(scope="module")
def pictures_folder(tmp_path_factory: pytest.TempPathFactory) -> dict[str, StrokeClip]:
    folder = tmp_path_factory.mktemp("pairs")
    paths = {
        "30": write(folder / "a.mp4", 30, 96),
        "60": write(folder / "b.mp4", 60, 240),
        "uneven": write(folder / "c.mp4", 30, 96),
    }
    make_uneven(paths["uneven"])
    events = {"30": EVENTS, "60": stretched(1.3, 0.11), "uneven": stretched(0.9, 0.05)}
    return {k: StrokeClip(with_events(events[k]), ClipFrames(p).start(), label=k) for k, p in paths.items()}


@pytest.mark.parametrize("on", [*EVENT_NAMES, PHASE])
@pytest.mark.parametrize("kinds", [("30", "60"), ("60", "30"), ("30", "uneven"), ("uneven", "60")])
def test_both_sides_show_frames_within_half_a_frame(
    pictures_folder: dict[str, StrokeClip], kinds: tuple[str, str], on: str
) -> None:
    a, b = (pictures_folder[k] for k in kinds)
    pair = Pair(a, b, on)
    low, high = pair.span_s
    seen = 0
    for master_s in np.linspace(low, high, 97):
        ideal = pair.alignment.at(float(master_s))
        for stroke_clip, time_s, picture in zip((a, b), ideal, pair.frames(float(master_s)), strict=True):
            times = stroke_clip.frames.times_s
            if not times[0] <= time_s <= times[-1]:
                continue  # this stroke has no picture of that instant
            index = number_of(picture)
            assert abs(times[index] - time_s) <= half_frame_s(times, index) + 1e-9
            seen += 1
    assert seen > 100


@pytest.mark.parametrize("on", EVENT_NAMES)
def test_at_the_event_both_show_its_nearest_frame(pictures_folder: dict[str, StrokeClip], on: EventName) -> None:
    pair = Pair(pictures_folder["30"], pictures_folder["60"], on)
    assert pair.indices(0.0) == (pictures_folder["30"].frame_of(on), pictures_folder["60"].frame_of(on))


def test_by_phase_every_event_falls_together(pictures_folder: dict[str, StrokeClip]) -> None:
    pair = Pair(pictures_folder["30"], pictures_folder["60"])
    for name in PHASE_EVENTS:
        at = pair.event_s(name)
        assert at is not None
        assert pair.event_s(name, "b") == pytest.approx(at)
        assert pair.indices(at) == (pictures_folder["30"].frame_of(name), pictures_folder["60"].frame_of(name))
    assert pair.event_s("takeaway_s") == 0.0


def test_steps_over_the_first_strokes_frames_skip_none_and_repeat_none(pictures_folder: dict[str, StrokeClip]) -> None:
    for first, second in (("uneven", "60"), ("60", "uneven")):
        pair = Pair(pictures_folder[first], pictures_folder[second])
        at, seen = pair.alignment.of_first(float(pair.a.frames.times_s[0])), []
        for _ in range(len(pair.a.frames.times_s)):
            seen.append(number_of(pair.frames(at)[0]))
            at = pair.step(at, 1)
        assert seen == list(range(len(seen)))
        for expected in reversed(seen):
            assert pair.indices(at)[0] == expected
            at = pair.step(at, -1)


def test_time_maps_there_and_back_and_always_runs_forward(pictures_folder: dict[str, StrokeClip]) -> None:
    for on in (*EVENT_NAMES, PHASE):
        alignment = align(pictures_folder["30"], pictures_folder["uneven"], on)
        grid = np.linspace(-2, 6, 200)
        second = [alignment.at(float(m))[1] for m in grid]
        assert all(x < y for x, y in pairwise(second))
        back = [alignment.of_second(t) for t in second]
        assert back == pytest.approx(list(grid))
        assert [alignment.of_first(alignment.at(float(m))[0]) for m in grid] == pytest.approx(list(grid))


def test_a_look_before_the_settle_is_no_knot_that_runs_backward() -> None:
    early = replace(EVENTS, look_s=1.8)
    a = figure_shot(replace(made_stroke(), events=EVENTS), "right")
    b = figure_shot(replace(made_stroke(), events=early), "right")
    alignment = align(a, b)
    assert all(x < y for x, y in pairwise(alignment.knots_a))
    assert all(x < y for x, y in pairwise(alignment.knots_b))


def test_what_cannot_be_aligned_is_a_plain_line() -> None:
    a = replace(figure_shot(made_stroke(), "right"), label="stroke 1")
    b = figure_shot(replace(made_stroke(), events=Events(takeaway_s=1.0, look_s=None)), "right")
    b = replace(b, label="stroke 2")
    assert events_in_both(a, b) == ("takeaway_s",)
    assert align(a, b).knots_a == (a.events["takeaway_s"],)
    with pytest.raises(UsageError, match="look was not seen in stroke 2"):
        align(a, b, "look")
    with pytest.raises(UsageError, match="one of: takeaway, top"):
        align(a, b, "banana")
    with pytest.raises(UsageError, match="no event in common"):
        align(a, figure_shot(replace(made_stroke(), events=Events()), "right"))


def test_other_hands_are_mirrored() -> None:
    right, left = figure_shot(made_stroke(), "right"), figure_shot(made_stroke(), "left")
    assert Pair(right, left).mirrored
    assert not Pair(left, left).mirrored


# ---- what differs


def test_only_real_differences_are_listed() -> None:
    a, b = made_stroke(hinge_deg=4.0, back_cm=24.0), made_stroke(hinge_deg=15.0, back_cm=24.5)
    rows = differing(a, b)
    assert [row.measure for row in rows] == ["hinge_change_deg"]
    assert rows[0].difference == pytest.approx(11.0)
    assert rows[0].smallest == pytest.approx(2.772 * (MEASURES["hinge_change_deg"].repeatability or 0.0), rel=1e-3)
    assert rows[0].text(rows[0].second) == "15.0 deg"
    assert {row.measure for row in compared(a, b)} > {"hinge_change_deg", "back_cm"}


def test_an_early_look_and_a_hold_are_one_measure() -> None:
    assert measured(made_stroke(look_after_s=1.2).measures, "look_after_s") == (pytest.approx(1.2), "s")
    assert measured(made_stroke(look_after_s=-0.3).measures, "look_after_s") == (pytest.approx(-0.3), "s")
    row = differing(made_stroke(look_after_s=1.2), made_stroke(look_after_s=-0.3))[0]
    assert row.measure == "look_after_s"
    assert row.difference == pytest.approx(-1.5)


def test_unseen_unsure_and_other_views_are_left_out() -> None:
    a = made_stroke(hinge_deg=4.0)
    b = made_stroke(hinge_deg=25.0)
    unsure = replace(b, measures={**b.measures, "hinge_change_deg": Measure(25.0, "deg", 0.1)})
    unseen = replace(b, measures={**b.measures, "hinge_change_deg": Measure(None, "deg", 0.0, "no")})
    for other in (unsure, unseen):
        assert "hinge_change_deg" not in {row.measure for row in compared(a, other)}
    assert compared(a, replace(b, view="down-the-line")) == ()


def test_the_players_own_spread_is_told_apart_from_the_methods() -> None:
    own = [made_stroke(hinge_deg=x).measures for x in (2.0, 5.0, 9.0, 13.0, 16.0)]
    row = differing(made_stroke(hinge_deg=4.0), made_stroke(hinge_deg=12.0), own)[0]
    assert row.plain
    assert row.unusual is False
    assert differing(made_stroke(hinge_deg=4.0), made_stroke(hinge_deg=12.0), own[:3])[0].unusual is None


# ---- the pair that teaches most


def test_the_pair_with_the_largest_difference_is_proposed() -> None:
    strokes = [made_stroke(0.8 + 0.3 * i, "rehearsal", hinge_deg=5.0 + 0.3 * i) for i in range(6)]
    strokes += [made_stroke(hinge_deg=7.0), made_stroke(hinge_deg=24.0), made_stroke(look_after_s=1.1)]
    found = propose(strokes)
    assert found is not None
    assert (strokes[found.first].kind, found.second) == ("rehearsal", 7)
    assert found.by.measure == "hinge_change_deg"
    assert "wrist angle change" in found.why
    assert "24.0 deg with the ball (stroke 8)" in found.why
    assert found.why.count("\n") == 0


def test_of_two_long_holds_neither_teaches_anything() -> None:
    assert propose([made_stroke(3.0, "rehearsal"), made_stroke(1.5)]) is None
    found = propose([made_stroke(3.0, "rehearsal"), made_stroke(0.4)])
    assert found is not None
    assert found.by.measure == "look_after_s"


def test_no_pair_without_a_rehearsal_a_ball_or_a_difference() -> None:
    ball, rehearsal = made_stroke(), made_stroke(kind="rehearsal")
    assert propose([]) is None
    assert propose([ball, ball]) is None
    assert propose([rehearsal, rehearsal]) is None
    assert propose([rehearsal, ball]) is None
    longer = made_stroke(back_cm=40.0)  # another length of putt is no lesson
    assert propose([rehearsal, longer]) is None
    assert propose([rehearsal, replace(made_stroke(hinge_deg=25.0), view="down-the-line")]) is None


def test_a_clip_is_closed(tmp_path: Path) -> None:
    def readers() -> int:
        return sum(thread.name.startswith("clip ") for thread in threading.enumerate())

    before = readers()
    stroke_clip = StrokeClip(with_events(EVENTS), ClipFrames(write(tmp_path / "a.mp4", 30, 10)).start())
    assert readers() > before
    stroke_clip.close()
    assert readers() == before
