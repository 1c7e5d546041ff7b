"""The address before each stroke: recorded while frames go by, measured when the strokes are over."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Any

from trainer.coaching.player_profile import ranges_for
from trainer.coaching.posture.address import BallMark
from trainer.coaching.posture.address_measures import scale_hints, setup, stand_hints
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.ranges import Check
from trainer.domain.observation import Frame, Observation
from trainer.domain.record import LiveState, StrokeRecord
from trainer.posture.analysis import Given, ball_of, look
from trainer.posture.guidance import main_sign
from trainer.settings.model import Settings
from trainer.texts import tr
from trainer.vision.body.pose import BodyTracker

KEPT_FRAMES, APART_S = 10, 0.1  # the last second or so of an address
BEFORE_TAKEAWAY_S = 0.15


@dataclass(frozen=True)
class AddressFrame:
    """The picture of an address, with the ball as it was found then (px in the picture as it is)."""

    image: Any
    time_s: float
    ball: BallMark | None


class AddressRecorder:
    """``add`` every frame; ``addresses`` then holds the address of every stroke, None where none was seen.

    Keeps about a second of pictures of the player standing at address.
    """

    def __init__(self) -> None:
        self.addresses: list[AddressFrame | None] = []
        self._kept: deque[AddressFrame] = deque(maxlen=KEPT_FRAMES)

    def add(self, frame: Frame, observation: Observation, state: LiveState) -> None:
        """One frame on; a stroke that it closes gets its address."""
        if state.closed is not None:
            self.end_stroke(state.closed)
        if not state.phase.standing:
            return
        if self._kept and frame.time_s - self._kept[-1].time_s < APART_S:
            return
        self._kept.append(AddressFrame(frame.image, frame.time_s, ball_of(observation)))

    def end_stroke(self, record: StrokeRecord) -> None:
        """The last picture well before its takeaway, one with the ball where there is one."""
        takeaway = record.events.takeaway_s
        before = [
            frame for frame in self._kept if takeaway is not None and frame.time_s <= takeaway - BEFORE_TAKEAWAY_S
        ]
        with_ball = [frame for frame in before if frame.ball is not None]
        self.addresses.append(next(reversed(with_ball or before), None))


@dataclass(frozen=True)
class Setup:
    """An address against its ranges; hints: why there are no numbers, or what they lack."""

    checks: tuple[Check, ...]
    hints: tuple[Hint, ...] = ()

    @property
    def to_mend(self) -> Hint | None:
        """What is clearly outside its range and is to be mended first; None: nothing is."""
        sign = main_sign(self.checks, ()) if any(check.fault for check in self.checks) else None
        return None if sign is None else Hint(sign.word, sign.detail)


NOT_STANDING = Setup((), (Hint(tr("the player was not seen standing at address before it")),))


def setup_at(body: BodyTracker, address: AddressFrame, settings: Settings) -> Setup:
    """The setup of one stroke. body: free of other frames."""
    player = settings.player
    looked = look(
        body, address.image, Given(settings.camera.view, player.handedness, player.height_cm, player.grip), address.ball
    )
    if looked.seen is None:
        return Setup((), looked.hints)
    hints = *looked.hints, *scale_hints(looked.seen), *stand_hints(looked.seen)
    return Setup(tuple(setup(looked.seen, ranges_for(player, settings.posture))), hints)
