"""When the pose model is asked: on every frame until a player is found, then as seldom as the task allows.

Between two of its answers the points are carried along by the picture (``carried``). Where it is asked because it is time, its
answer is that of the next frame, which it is carried to: nothing of this one waits for it. Where a hand is carried with doubt or
the player goes about it is asked sooner, and waited for. All is decided by the frames, their times and their numbers (of a
camera some are missing where the machine is too slow), so that one clip gives the same points on any machine.
"""

from __future__ import annotations

from functools import partial
from typing import Callable

import numpy as np

from trainer.domain.observation import Frame
from trainer.vision.body.aside import Aside
from trainer.vision.body.carried import Carried, PointCarrier, Points, body_px
from trainer.vision.body.points import HANDS
from trainer.vision.body.pose import Array, BodyTracker
from trainer.vision.lost_frames import LostFrames

MODEL_S = 0.055  # between two answers of the model: every second frame of 30 a second, every fourth of 60
LEAST_S = 0.03  # at most every second frame of 60 a second, whatever asks for it: the model takes longer than such a frame lasts
BEHIND_S = 0.12  # the same while the machine loses frames of a camera
GAP_S = 0.25  # frames further apart than this: what was between them was not followed
FOUND_S = 0.4  # as often as may be for so long after somebody is found: the model's window settles on the player
GOES_PER_S = 0.25  # of the body's height, by head and shoulders: faster, and the player is not standing over a ball
SURPRISE = 0.03  # of the body's height, from a wrist as it was carried to what the model says: it is asked again
CARRIED_SHARE = 0.5  # of a hand's place, where the model was asked: the rest is what it says
WRISTS = ("left_wrist", "right_wrist")  # the putter is found by them: carried with doubt, the model is asked at once


class BodyCadence:
    """``find`` every frame in order of time. Not for two threads at once.

    aside: where an answer is not waited for the model works in a thread of its own; else when the next frame comes.
    """

    def __init__(self, model: BodyTracker, aside: bool = False) -> None:
        self.model = model
        self._carrier = PointCarrier()
        self._last_s = self._asked_s = self._found_s = -np.inf
        self._lost = LostFrames()
        self._surprised = False
        self._aside = Aside("pose model") if aside else None
        self._open: tuple[Frame, Carried, Callable[[], Points | None]] | None = None  # what is not waited for

    def find(self, frame: Frame) -> dict[str, Array] | None:
        """name -> (x px, y px, how sure 0..1), or None when nobody is seen."""
        self.settle()
        carried = self._carrier.carry(frame.image)
        frame_s, self._last_s = frame.time_s - self._last_s, frame.time_s
        every_s = BEHIND_S if self._lost.see(frame) else MODEL_S
        if carried is None:
            self._found_s = frame.time_s
            return self._answered(frame, None, self.model.find(frame.image))
        ago_s = frame.time_s - self._asked_s
        if ago_s < LEAST_S:
            return carried.points
        if self._wanted(frame.time_s, frame_s, carried):
            return self._answered(frame, carried if frame_s <= GAP_S else None, self.model.find(frame.image))
        if ago_s >= every_s:
            self._ask(frame, carried)
        return carried.points

    def settle(self) -> None:
        """Waits for the answer that is still open: the model is free then."""
        asked, self._open = self._open, None
        if asked is not None:
            frame, carried, answer = asked
            self._answered(frame, carried, answer())

    def close(self) -> None:
        """No more frames come."""
        self._open = None
        if self._aside is not None:
            self._aside.close()

    def _ask(self, frame: Frame, carried: Carried) -> None:
        find = partial(self.model.find, frame.image)
        self._open = frame, carried, find if self._aside is None else self._aside.begin(find)

    def _answered(self, frame: Frame, carried: Carried | None, found: Points | None) -> dict[str, Array] | None:
        """What the model says of the newest frame. carried: what it was expected to say, None: nothing."""
        if found is None:
            self._carrier.forget()
            return None
        self._asked_s = frame.time_s
        self._surprised = carried is not None and _wrists_apart(carried.points, found) > SURPRISE
        points = dict(found) if carried is None or self._surprised else _steadied(found, carried)
        self._carrier.take(frame.image, points)
        return points

    def _wanted(self, time_s: float, frame_s: float, carried: Carried) -> bool:
        """Sooner than it is due."""
        return (
            self._surprised
            or frame_s > GAP_S
            or time_s - self._found_s < FOUND_S
            or not carried.doubtful.isdisjoint(WRISTS)
            or carried.moved > GOES_PER_S * frame_s
        )


def _steadied(found: Points, carried: Carried) -> dict[str, Array]:
    """The model's points; hands between there and where they were carried to, unless that is in doubt.

    The model errs anew each time it is asked, flow adds up small errors: hands at rest would jump at each answer.
    """
    points = dict(found)
    for name in HANDS:
        if name in found and name in carried.points and name not in carried.doubtful:
            place = points[name] = found[name].copy()
            place[:2] += CARRIED_SHARE * (carried.points[name][:2] - place[:2])
    return points


def _wrists_apart(carried: Points, found: Points) -> float:
    """How far the further wrist was carried from where it is, in shares of the body's height."""
    ways = [float(np.hypot(*(carried[n][:2] - found[n][:2]))) for n in WRISTS if n in found and n in carried]
    return max(ways, default=0.0) / body_px(found)
