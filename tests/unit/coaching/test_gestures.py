"""Hands-free: the positions that are orders, and all that must never be one."""

from __future__ import annotations

import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.support.made_bodies import NO_ORDER, ORDERS, POSES, body, observations
from tests.support.observations import observations_from_truth
from trainer.coaching.gestures import AWAY_S, BACK_S, Gestures, Question, arms_of
from trainer.domain.observation import Observation
from trainer.domain.phases import Phase
from trainer.domain.player_frame import Point
from trainer.testing.simulate_idle import idle, idle_observations
from trainer.testing.simulate_observations import Noise

QUESTIONED: tuple[Question | None, ...] = (None, "feel", "guess")


def events(
    seen: list[Observation], asking: Question | None = None, gestures: Gestures | None = None
) -> list[tuple[float, str]]:
    gestures = gestures or Gestures()
    return [(s.time_s, e) for s in seen if (e := gestures.update(s, asking=asking).event) is not None]


@pytest.mark.parametrize("pose", ORDERS)
@pytest.mark.parametrize("fps", [15.0, 30.0, 60.0])
@pytest.mark.parametrize("down_the_line", [False, True])
def test_a_position_held_is_one_order(pose: str, fps: float, down_the_line: bool) -> None:
    found = events(observations([("down", 1.0), (pose, 6.0), ("down", 1.0)], fps, down_the_line=down_the_line))
    assert [name for _, name in found] == [ORDERS[pose]]


@pytest.mark.parametrize("pose", ORDERS)
def test_it_takes_its_time_and_shows_how_much_is_left(pose: str) -> None:
    seen = observations([("down", 1.0), (pose, 4.0)])
    gestures, shares = Gestures(), []
    for s in seen:
        now = gestures.update(s)
        if now.event is not None:
            break
        if now.holding is not None:
            assert now.holding[0] == ORDERS[pose]
            shares.append(now.holding[1])
    assert shares[-20:] == sorted(shares[-20:])  # it may begin anew while the arms are still on their way
    assert shares[-1] > 0.9
    assert shares[0] > 0.05
    held_s = {"pause": 1.2, "next": 1.5, "quit": 2.5}[ORDERS[pose]]
    assert 1.0 + held_s <= s.time_s <= 1.0 + 0.35 + held_s + 0.15  # 0.35 s for the arms to get there


@pytest.mark.parametrize("pose", ORDERS)
def test_shorter_is_no_order(pose: str) -> None:
    assert not events(observations([("down", 1.0), (pose, 1.1), ("down", 1.0)] * 3))


@pytest.mark.parametrize("pose", NO_ORDER)
@pytest.mark.parametrize("asking", [None, "feel", "guess"])
def test_what_people_do_is_no_order(pose: str, asking: Question | None) -> None:
    for seed in range(3):
        seen = observations([("down", 0.5), (pose, 5.0), ("down", 1.0), (pose, 1.0)], seed=seed, noise_px=2.5)
        assert not events(seen, asking)
        assert not any((a := arms_of(s)) is not None and a.position for s in seen[30:160])


@pytest.mark.parametrize("asking", [None, "feel", "guess"])
def test_going_from_any_pose_to_any_other_is_no_order(asking: Question | None) -> None:
    story = [(name, 0.45) for first in NO_ORDER for second in NO_ORDER for name in (first, second)]
    assert not events(observations(story), asking)


def test_waving_is_no_order() -> None:
    story = [("trail hand up", 0.3), ("shrugging", 0.3)] * 12
    assert not events(observations([("down", 1.0), *story]))


def test_a_second_order_needs_the_arms_down_between() -> None:
    found = events(
        observations(
            [("down", 1.0), ("lead hand up", 2.0), ("trail hand up", 3.0), ("down", 1.0), ("lead hand up", 2.0)]
        )
    )
    assert [name for _, name in found] == ["pause", "pause"]


def test_single_frames_lost_do_not_matter_and_many_do() -> None:
    seen = observations([("down", 1.0), ("lead hand up", 2.5), ("down", 1.0)])
    some = [replace(s, body=None) if i % 9 == 0 else s for i, s in enumerate(seen)]
    assert [e for _, e in events(some)] == ["pause"]
    rarely = [s if i % 12 == 0 else replace(s, body=None) for i, s in enumerate(seen)]
    assert not events(rarely)


def test_points_that_are_not_sure_count_for_nothing() -> None:
    seen = observations([("down", 1.0), ("lead hand up", 4.0)])
    faint = [
        replace(s, body={n: Point(p.along_px, p.up_px, 0.3) if "wrist" in n else p for n, p in (s.body or {}).items()})
        for s in seen
    ]
    assert not events(faint)


def test_while_the_putter_swings_nothing_is_an_order() -> None:
    gestures = Gestures()
    seen = observations([("down", 1.0), ("lead hand up", 4.0)])
    assert not [s for s in seen if gestures.update(s, phase=Phase.FORWARD).event]


def test_leaving_and_entering() -> None:
    found = events(observations([("down", 2.0), (None, 8.0), ("down", 3.0)]))
    assert [name for _, name in found] == ["left", "entered"]
    assert found[0][0] == pytest.approx(2.0 + AWAY_S, abs=0.1)
    assert found[1][0] == pytest.approx(10.0 + BACK_S, abs=0.1)
    assert not events(observations([("down", 2.0), (None, AWAY_S - 0.5), ("down", 2.0)]))
    assert not events(observations([(None, 9.0), ("down", 3.0)]))  # who was not there has not left


def test_a_player_seen_from_the_side_has_not_left() -> None:
    """Down-the-line the far shoulder and hip may be hidden for the whole stroke."""
    seen = observations([("down", 8.0)], down_the_line=True)
    half = [replace(s, body={n: p for n, p in (s.body or {}).items() if not n.startswith("lead_")}) for s in seen]
    assert not events([*seen[:60], *half[60:]])


def test_asked_how_it_felt_a_raised_hand_answers() -> None:
    for pose, answer in (("lead hand up", "good"), ("trail hand up", "not good")):
        found = events(observations([("down", 1.0), (pose, 1.5), ("down", 1.0)]), asking="feel")
        assert [name for _, name in found] == [answer]


def test_an_answer_held_too_long_is_not_an_order_as_well() -> None:
    gestures, found = Gestures(), []
    for s in observations([("down", 1.0), ("trail hand up", 6.0), ("down", 2.0)]):
        event = gestures.update(s, asking=None if found else "feel").event
        if event is not None:
            found.append(event)
    assert found == ["not good"]


@pytest.mark.parametrize("scale", [0.4, 1.0, 2.5])
def test_near_and_far_are_the_same(scale: float) -> None:
    found = events(observations([("down", 1.0), ("lead hand up", 2.5), ("down", 1.0)], scale=scale, noise_px=1.0))
    assert [name for _, name in found] == ["pause"]


@pytest.mark.parametrize("seed", range(6))
def test_an_invented_minute_between_strokes_has_no_order(seed: int) -> None:
    rng = np.random.default_rng(seed)
    seen = idle_observations(idle(60.0, seed), 30.0, Noise(), rng)
    for asking in QUESTIONED:
        assert not [e for e in events(seen, asking) if e[1] not in ("left", "entered")]


@pytest.mark.slow
def test_no_rendered_stroke_has_an_order(clips: Path) -> None:
    found = sorted(clips.glob("*.json"))
    assert found
    rng = np.random.default_rng(2)
    for path in found:
        seen = observations_from_truth(path, 1.5, rng)
        for asking in QUESTIONED:
            assert not events(seen, asking), path.name
        assert not [s for s in seen if (a := arms_of(s)) is not None and a.position], path.name


def test_recorded_observations_have_no_order() -> None:
    """Where observations of whole clips were recorded by the real vision (a folder of pickles named by the environment)."""
    import os

    folder = os.environ.get("PUTTING_OBSERVATIONS")
    if not folder:
        pytest.skip("no recorded observations: PUTTING_OBSERVATIONS names no folder")
    for path in sorted(Path(folder).glob("*.sight.pkl")):
        seen, _ = pickle.loads(path.read_bytes())
        for asking in QUESTIONED:
            assert not events(seen, asking), path.name


def test_every_pose_is_told_as_what_it_is() -> None:
    for name in POSES:
        told = arms_of(Observation(0, 0.0, body(POSES[name])))
        assert told is not None
        wanted = {"trail arm straight up": "trail hand up"}.get(name, name)
        assert told.position == (wanted if wanted in ORDERS or wanted == "lead hand up" else None), name


@pytest.mark.parametrize(
    ("pose", "order"),
    [("trail hand up", "guess short"), ("both hands up", "guess right"), ("lead hand up", "guess long")],
)
def test_a_guess_is_given_by_the_hands(pose: str, order: str) -> None:
    found = events(observations([("down", 1.0), (pose, 1.5), ("down", 1.0)]), asking="guess")
    assert [event for _, event in found] == [order]


@pytest.mark.parametrize(("up", "hangs"), [("lead", "trail"), ("trail", "lead")])
def test_one_hand_up_is_an_order_only_where_the_other_stays_below_its_shoulder(up: str, hangs: str) -> None:
    points = body(POSES[f"{up} hand up"])
    shoulder = points[f"{hangs}_shoulder"]
    for above_px, position in ((-10.0, f"{up} hand up"), (10.0, None)):
        other = points[f"{hangs}_wrist"]._replace(up_px=shoulder.up_px + above_px)
        told = arms_of(Observation(0, 0.0, {**points, f"{hangs}_wrist": other}))
        assert told is not None
        assert told.position == position


WAVE_PX = 25.0  # to each side


@pytest.mark.parametrize(("up", "hangs"), [("lead", "trail"), ("trail", "lead")])
def test_the_hand_that_is_up_is_to_be_still_and_the_other_may_move(up: str, hangs: str) -> None:
    seen = observations([("down", 1.0), (f"{up} hand up", 3.0), ("down", 1.0)])

    def waving(side: str) -> list[Observation]:
        """That wrist back and forth, by less than what makes it another position."""
        out = []
        for k, one in enumerate(seen):
            points = dict(one.body or {})
            wrist = points[f"{side}_wrist"]
            points[f"{side}_wrist"] = wrist._replace(along_px=wrist.along_px + WAVE_PX * (-1) ** (k // 12))
            out.append(replace(one, body=points))
        return out

    assert [name for _, name in events(waving(hangs))] == [ORDERS[f"{up} hand up"]]
    assert not events(waving(up))
