"""Orders while strokes are watched, how it felt, the mark on the floor, and all of them in the running loop."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.support.made_bodies import observations
from tests.support.practice_stage import Stage, StageDisplay, joined, positions, shots_folder, stroke
from trainer.app.context import load_context
from trainer.app.practice.gesture_control import GestureControl, Obeyed
from trainer.app.practice.ground_mark import MEMORY_S, GroundMarker
from trainer.coaching.distance.chart import mark_behind_ball_cm
from trainer.commands.cli import run
from trainer.domain.observation import BallObservation, Observation, Scale
from trainer.domain.phases import Phase
from trainer.domain.player_frame import PlayerFrame, Point
from trainer.domain.record import Events, LiveState
from trainer.store.distance import Distances


def moment(t: float, phase: str = Phase.AWAY, **more: Any) -> LiveState:
    return LiveState(t, phase, Events(), **more)  # type: ignore[arg-type]


def shown(
    hands: GestureControl, pose: str, lasts_s: float, start_s: float = 0.0, phase: str = Phase.SETTING
) -> list[Obeyed]:
    """What came of it, frame by frame."""
    seen = observations([("down", 1.0), (pose, lasts_s), ("down", 1.0)])
    return [hands.see(replace(s, time_s=start_s + s.time_s), moment(start_s + s.time_s, phase)) for s in seen]


def test_a_raised_lead_hand_rests_and_goes_on() -> None:
    hands = GestureControl()
    obeyed = shown(hands, "lead hand up", 2.0)
    assert not any(o.ended for o in obeyed)
    assert sum(o.confirmed for o in obeyed) == 1
    assert hands.resting
    assert "go on" in hands.view().hint
    assert not any(hands.see(s).ended for s in observations([("down", 1.0), ("lead hand up", 2.0), ("down", 1.0)]))
    assert not hands.resting


def test_both_hands_up_end_it_also_while_resting() -> None:
    hands = GestureControl()
    assert any(o.ended for o in shown(hands, "both hands up", 3.5))
    hands = GestureControl()
    hands.order("pause")
    assert not hands.see(Observation(0, 0.0)).ended
    assert hands.resting
    assert any(hands.see(s).ended for s in observations([("down", 1.0), ("both hands up", 3.5)]))


def test_leaving_rests_and_entering_goes_on_but_not_after_an_order_to_pause() -> None:
    story = [("down", 2.0), (None, 5.0), ("down", 2.0)]
    hands, was = GestureControl(), set()
    for s in observations(story):
        hands.see(s, None if hands.resting else moment(s.time_s))
        was.add(hands.resting)
    assert was == {True, False}
    assert not hands.resting
    hands = GestureControl()
    hands.order("pause")
    for s in observations(story):
        hands.see(s)
    assert hands.resting  # who paused it goes on with it


def test_the_next_drill_by_hand_and_by_key() -> None:
    hands = GestureControl()
    assert sum(o.next_drill for o in shown(hands, "trail hand up", 2.5)) == 1
    hands.order("next")
    assert hands.see(Observation(0, 9.0), moment(9.0)).next_drill
    assert "next drill" in hands.view(drills=True).hint
    assert "next drill" not in hands.view(drills=False).hint


def test_the_answer_is_told_once_and_only_when_the_stroke_is_on_record() -> None:
    hands = GestureControl(feel_wait_s=6.0)
    hands.see(Observation(0, 1.0), moment(1.0, Phase.BACKSTROKE, new_events=("takeaway_s",)))
    assert not hands.asking
    hands.see(Observation(1, 2.0), moment(2.0, Phase.HOLD, new_events=("settle_s",)))
    assert hands.asking
    assert hands.view().asks
    hands.order("good")
    assert hands.see(Observation(2, 2.5), moment(2.5, Phase.LOOKED)).felt is None
    assert not hands.asking
    assert hands.see(Observation(3, 3.0), moment(3.0, Phase.SETTING), kept=True).felt is True
    assert hands.see(Observation(4, 3.5), moment(3.5, Phase.SETTING)).felt is None
    hands.order("not good")  # too late
    assert hands.see(Observation(5, 4.0), moment(4.0, Phase.SETTING)).felt is None


def test_patience_ends_and_the_next_stroke_takes_the_question_away() -> None:
    for later, phase, events in ((8.1, Phase.SETTING, ()), (3.0, Phase.BACKSTROKE, ("takeaway_s",))):
        hands = GestureControl(feel_wait_s=6.0)
        hands.see(Observation(0, 2.0), moment(2.0, Phase.HOLD, new_events=("settle_s",)))
        hands.see(Observation(1, later), moment(later, phase, new_events=events))
        assert not hands.asking
    hands = GestureControl(feel_wait_s=0.0)
    hands.see(Observation(0, 2.0), moment(2.0, Phase.HOLD, new_events=("settle_s",)))
    assert not hands.asking


@pytest.mark.parametrize("order", ["pause", "next"])
def test_what_would_break_off_a_stroke_waits_until_it_is_over(order: Any) -> None:
    hands = GestureControl()
    hands.order(order)
    for i, phase in enumerate((Phase.BACKSTROKE, Phase.FORWARD, Phase.FOLLOW, Phase.HOLD, Phase.LOOKED)):
        assert hands.see(Observation(i, i / 30), moment(i / 30, phase)) == Obeyed()
        assert not hands.resting
    obeyed = hands.see(Observation(9, 1.0), moment(1.0, Phase.SETTING))
    assert hands.resting is (order == "pause")
    assert obeyed == Obeyed(confirmed=order == "pause", next_drill=order == "next")
    assert hands.see(Observation(10, 1.1), None if hands.resting else moment(1.1, Phase.SETTING)) == Obeyed()


# ---- the floor

BALL = BallObservation(Point(300.0, -420.0, 0.9), 10.0)
SCALE = Scale(0.42, 0.45, 80.0, "ball")


def test_the_mark_lies_behind_the_ball_by_its_centimetres() -> None:
    for back_cm in (12.0, 30.0, 60.0):
        behind = mark_behind_ball_cm(back_cm)
        mark = GroundMarker().mark(Observation(0, 0.0, None, ball=BALL, scale=SCALE), Phase.ADDRESS, behind)
        assert mark.at is not None
        assert (300.0 - mark.at.along_px) * 0.42 == pytest.approx(behind)
        assert mark.at.up_px < -420.0  # on the player's near side of the line, so that it is not under the putter


def test_the_mark_stays_while_the_ball_is_struck_and_goes_after_a_while() -> None:
    marker = GroundMarker()
    before = marker.mark(Observation(0, 0.0, None, ball=BALL, scale=SCALE), Phase.ADDRESS, 20.0)
    rolling = replace(BALL, centre=Point(420.0, -420.0, 0.9))
    for phase in (Phase.FOLLOW, Phase.HOLD, Phase.LOOKED):  # the ball still rolls when the player looks after it
        during = marker.mark(Observation(1, 1.0, None, ball=rolling, scale=SCALE), phase, 20.0)
        assert during.at == before.at, phase
    gone = marker.mark(Observation(2, MEMORY_S + 1.0), Phase.SETTING, 20.0)
    assert gone.at is None
    assert gone.reason == "no ball seen"


@pytest.mark.parametrize(
    ("observation", "reason"),
    [
        (Observation(0, 0.0), "no ball seen"),
        (Observation(0, 0.0, None, ball=BALL), "scale not known"),
        (Observation(0, 0.0, None, ball=BALL, scale=Scale(None, 0.4, 80.0, "height")), "scale not known"),
        (
            Observation(0, 0.0, None, ball=BALL, scale=SCALE, frame=PlayerFrame("down-the-line")),
            "the line is seen face-on only",
        ),
        (Observation(0, 0.0, None, ball=BallObservation(Point(math.nan, 0, 0.1), 9), scale=SCALE), "scale not known"),
    ],
)
def test_what_is_not_known_is_said(observation: Observation, reason: str) -> None:
    mark = GroundMarker().mark(observation, Phase.ADDRESS, 20.0)
    assert mark.at is None
    assert mark.reason == reason


# ---- in the loop


def strokes_of(folder: Path) -> int:
    with load_context(folder).open_store() as store:
        return len(store.recent(100))


@pytest.mark.parametrize("live", [True, False])
def test_while_resting_no_stroke_is_followed(tmp_path: Path, live: bool) -> None:
    rest = positions(("down", 1.0), ("lead hand up", 2.0), ("down", 1.0))
    display = StageDisplay()
    Stage(joined(stroke(), rest, stroke(), stroke(), rest, stroke()), display, live).practise(tmp_path)
    assert strokes_of(tmp_path) == 2
    assert any(view.paused for view in display.views)


def test_both_hands_up_end_the_run(tmp_path: Path) -> None:
    display = StageDisplay()
    seen = joined(stroke(), positions(("down", 1.0), ("both hands up", 4.0)), stroke(), stroke())
    Stage(seen, display).practise(tmp_path)
    assert strokes_of(tmp_path) == 1


def test_keys_do_the_same(tmp_path: Path) -> None:
    run(["--data-folder", str(tmp_path), "students", "add", "Robin", "feedback.feel=true"])
    display = StageDisplay(keys=[(4.6, "not good"), (7.2, "pause"), (15.0, "pause"), (29.0, "quit")])
    Stage(joined(stroke(), stroke(), stroke(), stroke(), stroke()), display).practise(tmp_path, student="Robin")
    assert strokes_of(tmp_path) == 3  # the second was rested through, the fifth never came
    with load_context(tmp_path).open_store() as store, store.reading() as db:
        assert [row[0] for row in db.execute("SELECT felt FROM strokes ORDER BY id")] == [0, None, None]


def test_a_distance_drill_shows_how_far_back_marks_the_floor_and_keeps_the_putts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    base = ["--data-folder", str(tmp_path)]
    run([*base, "students", "add", "Robin"])
    (tmp_path / "drills").mkdir()
    (tmp_path / "drills" / "far.toml").write_text(
        '[drill]\nname = "Far"\ninstruction = "I"\ncue = "none"\n[block]\nstrokes = 4\nsilent_strokes = 2\n'
        '[feedback]\nschedule = "every"\n[ladder]\ndistances_m = [2, 5]\n[pass]\ngood = 7\nof = 50\nfaults = []\n'
    )
    display = StageDisplay(
        wanted={"no-green": lambda view: view.drill is not None and "no green speed" in view.drill.distance}
    )
    Stage(joined(stroke()), display).practise(tmp_path, student="Robin", drill="far")
    assert "no-green" in display.drawn
    assert "distance not known: no green speed yet" in capsys.readouterr().out
    for line in (["unit", "m"], ["green", "9"]):
        assert run([*base, "distance", *line, "--student", "Robin"]) == 0
    display = StageDisplay(
        shots_folder(),
        wanted={
            "12-distance": lambda view: view.mark is not None and view.mark.at is not None and view.drill.mark_cm > 20,
            "13-distance-result": lambda view: view.drill is not None and view.drill.tally.endswith(" good"),
        },
    )  # fmt: skip
    seen = joined(*[stroke(back_deg=d) for d in (13.0, 15.0, 14.0, 16.0, 13.5, 14.5, 13.0, 15.0, 14.0, 16.0)])
    capsys.readouterr()
    Stage(seen, display).practise(tmp_path, student="Robin", drill="far")
    said = capsys.readouterr().out
    assert set(display.drawn) == {"12-distance", "13-distance-result"}
    with load_context(tmp_path).open_store() as store:
        kept = Distances(store).putts("Robin")
    assert len(kept) == 10  # 4, and 6 in silence: what so low a goal takes
    assert sorted(k.putt.target_m for k in kept[:4]) == [2.0, 2.0, 5.0, 5.0]
    assert all(k.putt.ball_speed_m_s is not None and k.stroke_id is not None for k in kept)
    lasts = {view.drill.last for view in display.views if view.drill is not None and not view.drill.silent}
    assert sum("by ball speed" in last for last in lasts) >= 3
    assert said.count("by ball speed") == 4  # of the silent test nothing is told until it is over
    assert "distance: 10 putts" in said
    assert "rhythm: " in said
    assert "for context, not a target" in said
    silent = [view.drill for view in display.views if view.drill is not None and view.drill.silent]
    assert {view.distance for view in silent} == {
        "for 2.0 m, level",
        "for 5.0 m, level",
    }  # not how far back: that is what is tested
    assert all(view.mark_cm is None for view in silent)
    words = {view.drill.distance for view in display.views if view.drill is not None}
    assert any(w.startswith("for 2.0 m, level, window 1.7 m to 2.3 m: ") for w in words)
    assert any(w.startswith("for 5.0 m, level, window 4.2 m to 5.8 m: ") for w in words)
