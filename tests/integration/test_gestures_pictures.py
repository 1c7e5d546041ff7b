"""Arm positions on rendered people, seen by the real pose model."""

from __future__ import annotations

from typing import Any, Iterator

import cv2
import numpy as np
import pytest

from tests.support.paths import DATA
from trainer.coaching.gestures import Gestures, arms_of
from trainer.domain.observation import Frame, Observation
from trainer.vision.body.pose import PoseBody
from trainer.vision.observer import Observer, ObserverOptions

PICTURES = DATA / "arms"
WANTED = {
    "lead_up": ("lead hand up", "pause"),
    "trail_up": ("trail hand up", "next"),
    "both_up": ("both hands up", "quit"),
    "trail_straight_up": ("trail hand up", "next"),
    "both_straight_up": ("both hands up", "quit"),
}
NAMES = sorted(path.stem for path in PICTURES.glob("*.jpg"))


@pytest.fixture
def model() -> Iterator[PoseBody]:
    """One for each test: it goes on from where it saw the body last."""
    model = PoseBody()
    yield model
    model.close()


def seen(model: PoseBody, name: str, handedness: Any = "right", frames: int = 6) -> list[Observation]:
    """The picture as a camera would give it again and again, with a sensor's noise. A left-hander's is mirrored."""
    picture = cv2.imread(str(PICTURES / f"{name}.jpg")).astype(float)
    if handedness == "left":
        picture = picture[:, ::-1]
    rng = np.random.default_rng(1)
    observer = Observer(model, ObserverOptions(handedness=handedness))
    out = []
    for i in range(frames + 2):  # the model needs a frame or two to turn to another picture
        image = np.ascontiguousarray(np.clip(picture + rng.normal(0, 4, picture.shape), 0, 255).astype(np.uint8))
        frame = Frame(i, i / 30, image)
        out.append(observer.look(frame, observer.find_body(frame)))
    return out[2:]


@pytest.mark.parametrize("name", NAMES)
def test_every_position_is_told_and_nothing_else_is(model: PoseBody, name: str) -> None:
    wanted = WANTED.get(name.partition("_")[2], (None, None))[0]
    told = [arms.position for s in seen(model, name) if (arms := arms_of(s)) is not None]
    assert len(told) == 6
    if wanted is None:
        assert set(told) == {None}
    else:
        assert told.count(wanted) >= 5
        assert set(told) <= {wanted, None}


@pytest.mark.parametrize("name", ["man_lead_up", "woman_trail_up"])
def test_left_handers_have_their_own_lead_hand(model: PoseBody, name: str) -> None:
    wanted = WANTED[name.partition("_")[2]][0]
    assert {arms.position for s in seen(model, name, "left") if (arms := arms_of(s)) is not None} == {wanted}


@pytest.mark.parametrize("name", NAMES)
def test_a_picture_that_stays_is_one_order_or_none(model: PoseBody, name: str) -> None:
    """The observations of a few frames over and over, as long as the longest order takes."""
    wanted = WANTED.get(name.partition("_")[2], (None, None))[1]
    few = seen(model, name, frames=4)
    down = [Observation(s.index, s.time_s, s.body) for s in seen(model, f"{name.partition('_')[0]}_down", frames=2)]
    gestures, events = Gestures(), []
    for i in range(150):
        source = down if i < 15 else few
        s = source[i % len(source)]
        event = gestures.update(Observation(i, i / 30, s.body)).event
        if event is not None:
            events.append(event)
    assert events == ([wanted] if wanted is not None else [])
