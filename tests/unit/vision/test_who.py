"""Which of several people is followed: who stands as one does over a putt, at first and later."""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np

from tests.support.paths import DATA
from trainer.vision.body.landmarks import Landmarks
from trainer.vision.body.pose import ALONE, LOOK_AROUND, POSE_POINTS, PoseBody
from trainer.vision.body.region import Picture, Region
from trainer.vision.body.who import holds_a_putter, likeness

PICTURE: Picture = np.zeros((480, 640, 3), np.uint8)
TRUNK_PX = 80.0


def person(x: float, hands_apart: float = 0.2, hands_under_hips: float = 0.1, nose_up: float = 0.2) -> Landmarks:
    """Standing at x; in lengths of the trunk."""
    at = dict.fromkeys(POSE_POINTS, (x, 300.0))
    for side, sign in (("left", 1), ("right", -1)):
        at[f"{side}_shoulder"] = (x + sign * 0.45 * TRUNK_PX, 200.0)
        at[f"{side}_hip"] = (x + sign * 0.2 * TRUNK_PX, 200 + TRUNK_PX)
        at[f"{side}_wrist"] = (x + sign * hands_apart / 2 * TRUNK_PX, 200 + (1 + hands_under_hips) * TRUNK_PX)
    at["nose"] = (x, 200 - nose_up * TRUNK_PX)
    places = np.array([at[name] for name in POSE_POINTS])
    return Landmarks(places, np.ones(len(places), np.float32), np.array([[x, 280.0], [x, 80.0]]))


@dataclass
class People:
    """As ``PoseModels``: who is where; it counts how often it was asked for everybody."""

    there: list[Landmarks]
    asked: int = 0
    landmarks: People = field(init=False)
    detector: Finder = field(init=False)

    def __post_init__(self) -> None:
        self.landmarks, self.detector = self, Finder(self)

    def find(self, _: Picture, region: Region) -> Landmarks | None:
        near = [p for p in self.there if abs(p.next_region[0, 0] - region.x_px) < 60]
        return near[0] if near else None


@dataclass
class Finder:
    """Sure of one at a time: of the next once one is painted over."""

    people: People
    next: int = 0

    def find(self, picture: Picture) -> Region | None:
        if picture is PICTURE:
            self.people.asked, self.next = self.people.asked + 1, 0
        there, self.next = self.people.there[self.next :], self.next + 1
        return Region.around(there[0].next_region) if there else None


def followed_x(body: PoseBody, pictures: int = 1) -> float:
    for _ in range(pictures):
        points = body.find(PICTURE)
        assert points is not None
    return float(points["nose"][0])


def test_hands_together_and_low_hold_a_putter() -> None:
    def holds(**how: float) -> bool:
        return holds_a_putter(dict(zip(POSE_POINTS, person(300, **how).places)))

    assert holds()
    assert not holds(hands_apart=0.8)  # hanging at the sides
    assert not holds(hands_under_hips=-0.17)  # a coach who shows something


def test_of_two_who_hold_a_putter_the_one_who_bows_is_liker() -> None:
    bowed, upright = (dict(zip(POSE_POINTS, person(300, nose_up=up).places)) for up in (0.2, 0.7))
    assert likeness(bowed) > likeness(upright) > 0


def test_the_player_is_followed_whoever_is_found_first() -> None:
    coach, player = person(150, hands_apart=0.8, nose_up=0.7), person(320)
    for there in ([coach, player], [player, coach]):
        assert followed_x(PoseBody(models=People(there))) == 320  # type: ignore[arg-type]


def test_who_comes_to_putt_later_is_followed_then() -> None:
    coach, people = person(150, hands_apart=0.8, nose_up=0.7), People([])
    people.there = [coach]
    body = PoseBody(models=people)  # type: ignore[arg-type]
    assert followed_x(body) == 150
    people.there = [coach, person(320)]
    assert followed_x(body, ALONE * LOOK_AROUND + 1) == 320


def test_a_coach_who_folds_his_hands_is_left_for_the_player() -> None:
    people = People([person(150, nose_up=0.7)])
    body = PoseBody(models=people)  # type: ignore[arg-type]
    assert followed_x(body, LOOK_AROUND) == 150
    people.there = [person(150, nose_up=0.7), person(320)]
    assert followed_x(body, ALONE * LOOK_AROUND + 1) == 320


def test_a_player_who_lets_go_is_kept_unless_another_putts() -> None:
    people = People([person(320)])
    body = PoseBody(models=people)  # type: ignore[arg-type]
    followed_x(body)
    people.there = [person(320, hands_apart=0.9), person(150, hands_apart=0.8)]
    assert followed_x(body, (ALONE + 2) * LOOK_AROUND) == 320
    assert people.asked == 4  # not on every picture


def test_nobody_else_is_looked_for_while_somebody_putts() -> None:
    people = People([person(320), person(150)])
    body = PoseBody(models=people)  # type: ignore[arg-type]
    followed_x(body, 3 * LOOK_AROUND)
    assert people.asked == 1


def test_the_player_beside_a_coach_is_found_in_a_picture() -> None:
    picture = cv2.imread(str(DATA / "people" / "coach_beside.jpg"))
    assert picture is not None
    points = PoseBody().find(np.asarray(picture, np.uint8))
    assert points is not None
    assert abs(points["nose"][0] - 321) < 8
