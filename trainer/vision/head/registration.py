"""Head turn by registering the head's own picture against key pictures taken of it (idea: registration of a
texture-mapped model; Basu, Essa and Pentland 1996; La Cascia, Sclaroff and Athitsos 2000).

Each frame, for several hypotheses of the head's shape at once, six numbers (turn, nod, lean, shift in two directions,
size) are found by ``solver`` on a contrast-normalised patch of about 110 x 110 pixels (``patch``); the hypothesis that
explains the picture best has most weight (``hypotheses``). While the head turns the same is done on a second outline of it
(``second``). Under a wide brim the turn is the rim's (``rim``). All of it is numpy and cv2.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.domain.player_frame import mirrored_x
from trainer.vision.head.doubt import Told, confidence, most_confidence
from trainer.vision.head.follower import Follower, HeadOptions
from trainer.vision.head.fusion import Hard, Turn, fuse, hard_deg, together, why_hard
from trainer.vision.head.outline import HeadEllipse
from trainer.vision.head.patch import PatchSampler
from trainer.vision.head.rim import Rim, RimFollower
from trainer.vision.head.second import Second
from trainer.vision.head.witness import Seen, Witness

Array = npt.NDArray[Any]


class HeadRegistration:
    """Follows one head from a reference picture. Places are px of the picture, which is mirrored first if asked."""

    def __init__(
        self,
        image: Array,
        ellipse: HeadEllipse,
        options: HeadOptions | None = None,
        *,
        mirrored: bool = False,
        second: HeadEllipse | None = None,
        rim: Rim | None = None,
    ) -> None:
        """Takes the reference. image: (h, w, 3) uint8; ellipse: the head's outline in the (mirrored) picture; second: another
        that is about as good.

        mirrored: the target is to the picture's left. rim: of a wide brim that the head is under, in the camera's picture: then
        that tells the turn.
        """
        o = options or HeadOptions()
        self._options = o
        self._mirrored = mirrored
        self.half_px = float(ellipse.half_width)
        centre = np.array((ellipse.x, ellipse.y), float)
        self._sampler = PatchSampler(o.patch, self.half_px, mirrored=mirrored)
        self._sampler.learn_colours(image, centre)
        patch = self._sampler.take(image, centre)
        self._first = Follower(o, patch, ellipse)
        self._second = Second(o, patch, second) if second is not None and rim is None else None
        self._rim = RimFollower(o.rim, image, rim, mirrored=mirrored) if rim is not None else None
        self._witness = Witness(image, self._in_camera(image), self.half_px, mirrored=mirrored)
        self._rest = replace(self._witness.rest, brim=rim is not None)
        self._seen: Seen | None = None
        self._turn = Turn(0.0, 0.0)
        self.confidence = 0.0  # 0..1, in the turn that was told last

    def follow(self, image: Array, hint_deg: float | None = None, *, ask_witness: bool = True) -> None:
        """Finds the head in the next picture. hint_deg: turn that the pose landmarks see, if known.

        ask_witness: else what it said last goes along with the turn, as it does where a rim tells that.
        """
        patch = self._sampler.take(image, self._first.middle)
        ask = ask_witness and self._rim is None
        self._first.follow(patch, hint_deg, lambda back: self._witnessed(image, ask or back))
        seen, rest, o = self._seen, self._rest, self._options
        assert seen is not None
        first, other = self._first.found, None
        turn = fuse(o.fusion, first, seen, rest)
        if self._second is not None:
            other = self._second.follow(patch, hint_deg, seen, self._first, turn.turn_deg)
            turn = turn if other is None else together(o.fusion, turn, fuse(o.fusion, other, seen, rest))
        self._turn = turn
        self.confidence = confidence(o.doubt, Told(turn, first, other, seen, hard_deg(o.fusion, rest)))
        by_rim = self._rim.follow(image) if self._rim is not None else None
        if by_rim is not None:
            self._turn, self.confidence = by_rim, most_confidence(o.doubt, by_rim.error_deg)

    def _witnessed(self, image: Array, ask: bool) -> Seen:
        """What the witness says now, or what it said last and the turn since."""
        if ask or self._seen is None:
            self._seen = self._witness.see(image, self._in_camera(image))
        else:
            self._seen = replace(self._seen, turn_deg=self._seen.turn_deg + self._first.turned_deg)
        return self._seen

    def _in_camera(self, image: Array) -> tuple[float, float]:
        """The head's centre in the picture as the camera gives it."""
        x, y = self.place
        return (mirrored_x(x, image.shape[1]) if self._mirrored else x), y

    @property
    def turn_deg(self) -> float:
        """Turn since the reference, + toward the target."""
        return self._turn.turn_deg

    @property
    def place(self) -> tuple[float, float]:
        """Centre of the head in (mirrored) image px, as the hypotheses agree on it."""
        return self._first.place

    @property
    def lost(self) -> bool:
        """No hypothesis explains the picture any more."""
        return self._first.lost

    @property
    def hard(self) -> Hard:
        """Why this head is hard to read, if it is."""
        return why_hard(self._options.fusion, self._rest)
