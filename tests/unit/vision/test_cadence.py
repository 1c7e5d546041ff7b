"""When the pose model is asked, and what becomes of the points where it is not."""

from __future__ import annotations

import gc
import threading
from collections import deque
from itertools import count
from typing import Any, Callable

import cv2
import numpy as np
import pytest

from trainer.domain.observation import Frame
from trainer.resources import data_path
from trainer.vision.body.cadence import FOUND_S, BodyCadence
from trainer.vision.body.carried import PointCarrier
from trainer.vision.body.pose import POSE_POINTS, PoseBody
from trainer.vision.sources.clip import Clip

SIZE = (640, 480)
WIDE, TALL = 120.0, 330.0  # px that the points of the player below reach over


def wall(seed: int = 1) -> Any:
    """Something with structure at every place."""
    noise = np.random.default_rng(seed).uniform(0, 255, (SIZE[1], SIZE[0], 3)).astype(np.float32)
    soft = cv2.GaussianBlur(noise, (0, 0), 3.0)
    return np.clip(127 + 6 * (soft - soft.mean()), 0, 255).astype(np.uint8)


def moved(image: Any, right_px: float, down_px: float) -> Any:
    return cv2.warpAffine(
        image, np.array([[1, 0, right_px], [0, 1, down_px]], np.float32), SIZE, borderMode=cv2.BORDER_REFLECT
    )


def player() -> dict[str, Any]:
    """Every point at a place of its own."""
    rows = np.linspace(70, 70 + TALL, len(POSE_POINTS))
    columns = 320 + WIDE * np.sin(np.arange(len(POSE_POINTS)))
    return {name: np.array([x, y, 0.9]) for name, x, y in zip(POSE_POINTS, columns, rows)}


class Model:
    """Says what it is told, and counts how often it is asked."""

    def __init__(self, says: Callable[[], dict[str, Any] | None] = player) -> None:
        self.says = says
        self.asked = 0

    def find(self, image_bgr: Any) -> dict[str, Any] | None:
        self.asked += 1
        return self.says()

    def close(self) -> None:
        """There is none."""


def asked(pictures: Callable[[int], Any], fps: float, model: Model | None = None, seconds: float = 2.0) -> list[bool]:
    """Of every frame whether the model was asked."""
    model = model or Model()
    cadence, out = BodyCadence(model), []
    for k in range(round(seconds * fps)):
        before = model.asked
        cadence.find(Frame(k, k / fps, pictures(k)))
        cadence.settle()
        out.append(model.asked > before)
    return out


@pytest.mark.parametrize(("fps", "every"), [(15, 1), (25, 2), (30, 2), (50, 3), (60, 4)])
def test_the_model_is_asked_seldom_once_a_player_stands_there(fps: float, every: int) -> None:
    still = wall()
    seen = asked(lambda k: still, fps)
    first = int(FOUND_S * fps)
    assert all(np.diff(np.flatnonzero(seen[:first])) == (1 if fps <= 30 else 2))
    gaps = np.diff(np.flatnonzero(seen[first + every :]))
    assert set(gaps) == {every}


def test_less_often_while_a_camera_loses_frames_and_at_once_after_a_gap() -> None:
    still, model = wall(), Model()
    cadence, times, gap = BodyCadence(model), [], []
    for k in range(0, 90, 2):  # every second one of 30 a second is lost
        before = model.asked
        cadence.find(Frame(k, k / 30, still))
        if model.asked > before and k / 30 > FOUND_S:
            times.append(k / 30)
    assert np.diff(times) == pytest.approx(4 / 30)
    for k in (90, 100):
        before = model.asked
        cadence.find(Frame(k, k / 30, still))
        gap.append(model.asked > before)
    assert gap[1]


def test_on_every_frame_while_nobody_is_found() -> None:
    still = wall()
    assert all(asked(lambda k: still, 30, Model(lambda: None)))


def test_on_every_frame_while_the_player_goes() -> None:
    image = wall()
    assert all(asked(lambda k: moved(image, 6.0 * k, 0), 30))


def test_on_every_frame_where_there_is_nothing_to_follow() -> None:
    plain = np.full((SIZE[1], SIZE[0], 3), 90, np.uint8)
    assert all(asked(lambda k: plain, 30))


def test_soon_where_what_is_under_a_wrist_changes() -> None:
    image, changed = wall(), wall()
    x, y = player()["left_wrist"][:2].astype(int)
    changed[y - 40 : y + 40, x - 40 : x + 40] = wall(2)[y - 40 : y + 40, x - 40 : x + 40]
    usual = asked(lambda k: image, 60)
    k = int(np.flatnonzero(usual)[-5]) + 2  # of four; the last answer is too young for another until then
    assert not usual[k]
    assert asked(lambda k_: changed if k_ >= k else image, 60)[k]


def test_hands_are_steadier_than_the_model_and_go_where_it_says() -> None:
    """Its answers err by 2 px, anew each time, about a place that is 3 px from where they were at first."""
    still, rng, told = wall(), np.random.default_rng(4), {name: [] for name in ("left_wrist", "left_ankle", "nose")}
    answers = iter([0.0] * 10 + [3.0] * 90)

    def says() -> dict[str, Any]:
        right = next(answers)
        off = np.array([right, 0.0, 0.0])
        return {n: p + off + rng.normal(0, [2.0, 2.0, 0.0]) for n, p in player().items()}

    cadence = BodyCadence(Model(says))
    for k in range(90):
        found = cadence.find(Frame(k, k / 30, still))
        assert found is not None
        for name, seen in told.items():
            seen.append(found[name][:2] - player()[name][:2])
    spread = {name: float(np.std(np.array(seen)[30:], axis=0).max()) for name, seen in told.items()}
    assert spread["left_wrist"] < 0.75 * min(spread["left_ankle"], spread["nose"])
    assert np.mean(np.array(told["left_wrist"])[30:], axis=0) == pytest.approx([3.0, 0.0], abs=0.7)


def test_again_soon_where_a_wrist_is_not_where_it_was_carried_to() -> None:
    """The answers of the model jump back and forth: what is carried cannot be trusted."""
    still, here = wall(), player()
    there = {**here, "left_wrist": here["left_wrist"] + np.array([30.0, 0, 0])}
    model = Model()
    model.says = lambda: there if model.asked % 2 else here
    assert all(asked(lambda k: still, 60, model)[::2])


@pytest.mark.parametrize("light", [1.0, 1.4, 0.5])
def test_arms_and_head_go_with_the_picture_and_legs_stay(light: float) -> None:
    """Where the light of a sudden is another one, too."""
    image, before, carrier = wall(), player(), PointCarrier()
    carrier.take(image, before)
    for k in range(1, 4):
        there = moved(image, 2.3 * k, -1.2 * k)
        carried = carrier.carry(there if k < 3 else np.clip(light * there, 0, 255).astype(np.uint8))
        assert carried is not None
    assert not carried.doubtful
    for name in ("left_wrist", "right_wrist", "left_elbow", "right_shoulder", "nose"):
        assert carried.points[name][:2] - before[name][:2] == pytest.approx([6.9, -3.6], abs=0.25)
        assert 0.8 < carried.points[name][2] <= 0.9
    for name in ("left_hip", "right_knee", "left_toe"):
        assert carried.points[name] == pytest.approx(before[name])
    assert carried.moved * TALL == pytest.approx(np.hypot(2.3, 1.2), abs=0.2)


def test_what_lies_under_a_point_is_another_thing_and_the_point_is_trusted_less() -> None:
    image, changed, carrier = wall(), wall(), PointCarrier()
    x, y = player()["left_wrist"][:2].astype(int)
    changed[y - 40 : y + 40, x - 40 : x + 40] = wall(2)[y - 40 : y + 40, x - 40 : x + 40]
    carrier.take(image, player())
    carried = carrier.carry(changed)
    assert carried is not None
    assert "left_wrist" in carried.doubtful
    assert "nose" not in carried.doubtful
    assert carried.points["left_wrist"][2] <= 0.46


def test_a_point_that_was_seen_is_not_lost_by_doubt() -> None:
    """Half hidden, then carried over nothing that can be followed, again and again."""
    before = player()
    for name in ("left_ear", "left_wrist"):
        before[name][2] = 0.4
    before["nose"][2] = 0.2
    carrier = PointCarrier()
    carrier.take(np.full((SIZE[1], SIZE[0], 3), 90, np.uint8), before)
    for seed in range(3):
        carried = carrier.carry(wall(seed))
        assert carried is not None
        assert carried.points["left_ear"][2] == carried.points["left_wrist"][2] == pytest.approx(0.3)
        assert carried.points["nose"][2] == pytest.approx(0.2)
        assert carried.points["right_ear"][2] == pytest.approx(0.45)


def test_another_size_of_picture_is_not_carried_over() -> None:
    carrier = PointCarrier()
    carrier.take(wall(), player())
    assert carrier.carry(np.zeros((240, 320, 3), np.uint8)) is None
    assert carrier.carry(wall()) is None


def test_on_a_clip_half_of_the_frames_are_spared_and_the_points_stay_near() -> None:
    with Clip(data_path("demo", "demo.mp4")) as clip:
        frames = [frame for frame, _ in zip(clip, range(50))]
    body = PoseBody()
    known = [body.find(frame.image) for frame in frames]
    body.close()
    model, now = Model(), [0]
    model.says = lambda: known[now[0]]
    cadence, spared, off = BodyCadence(model), 0, []
    for k, frame in enumerate(frames):
        now[0], before = k, model.asked
        points, said = cadence.find(frame), known[k]
        assert points is not None
        assert said is not None
        if model.asked == before:
            spared += 1
            off += [np.hypot(*(points[n][:2] - said[n][:2])) for n in ("left_wrist", "right_wrist", "left_shoulder")]
    assert spared >= 15
    assert np.sqrt(np.mean(np.square(off))) < 2.0


class Held(Model):
    """Answers, beyond the first so many, only once it may. It is asked in another thread."""

    def __init__(self, free: int) -> None:
        super().__init__()
        self._free, self.may = free, threading.Event()

    def find(self, image_bgr: Any) -> dict[str, Any] | None:
        if self.asked >= self._free:
            assert self.may.wait(10.0)
        return super().find(image_bgr)


def test_a_frame_does_not_wait_for_an_answer_that_is_merely_due() -> None:
    still = wall()
    due = int(np.flatnonzero(asked(lambda k: still, 30))[-1])
    model = Held(sum(asked(lambda k: still, 30)) - 1)
    cadence = BodyCadence(model, aside=True)
    for k in range(due + 1):
        assert cadence.find(Frame(k, k / 30, still)) is not None  # with the last answer still open
    model.may.set()
    assert cadence.find(Frame(due + 1, (due + 1) / 30, still)) is not None
    cadence.close()


def test_the_points_are_the_same_whether_the_model_has_a_thread_or_not() -> None:
    def points(aside: bool) -> list[Any]:
        rng = np.random.default_rng(3)
        model = Model(lambda: {n: p + rng.normal(0, [2.0, 2.0, 0.0]) for n, p in player().items()})
        cadence = BodyCadence(model, aside)
        try:
            return [cadence.find(Frame(k, k / 30, picture)) for k, picture in enumerate(pictures)]
        finally:
            cadence.close()

    image = wall()
    pictures = [moved(image, 8 * np.sin(k / 6), 0) for k in range(30)]
    for one, other in zip(points(False), points(True)):
        assert all(np.array_equal(one[name], other[name]) for name in POSE_POINTS)


@pytest.mark.parametrize("aside", [False, True])
def test_what_fails_beside_a_frame_is_raised_with_the_next(aside: bool) -> None:
    def says() -> dict[str, Any]:
        if model.asked > 14:
            raise ValueError("the model")
        return player()

    still, model = wall(), Model(says)
    cadence, shown = BodyCadence(model, aside), (Frame(k, k / 30, still) for k in count())
    with pytest.raises(ValueError, match="the model"):
        deque((cadence.find(frame) for frame in shown), maxlen=0)
    assert cadence.find(next(shown)) is not None
    cadence.close()


def test_the_thread_ends_when_nobody_has_the_cadence_any_more() -> None:
    still, before = wall(), set(threading.enumerate())
    cadence = BodyCadence(Model(), aside=True)
    for k in range(20):
        cadence.find(Frame(k, k / 30, still))
    (thread,) = (each for each in threading.enumerate() if each.name == "pose model" and each not in before)
    del cadence
    gc.collect()
    thread.join(5.0)
    assert not thread.is_alive()
