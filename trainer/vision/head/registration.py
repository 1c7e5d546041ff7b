"""Head turn by registering the head's own picture against key pictures taken of it (idea: registration of a
texture-mapped model; Basu, Essa and Pentland 1996; La Cascia, Sclaroff and Athitsos 2000).

Each frame, for several hypotheses of the head's shape at once, six numbers (turn, nod, lean, shift in two directions,
size) are found by ``solver`` on a contrast-normalised patch of about 110 x 110 pixels (``patch``); the hypothesis that
explains the picture best has most weight (``hypotheses``). While the head turns the same is done on a second outline of it
(``second``). All of it is numpy and cv2.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.domain.player_frame import mirrored_x
from trainer.vision.head.follower import Follower, HeadOptions
from trainer.vision.head.fusion import Hard, Turn, fuse, together, why_hard
from trainer.vision.head.outline import HeadEllipse
from trainer.vision.head.patch import PatchSampler
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
    ) -> None:
        """Takes the reference. image: (h, w, 3) uint8; ellipse: the head's outline in the (mirrored) picture; second: another
        that is about as good.

        mirrored: the target is to the picture's left.
        """
        o = options or HeadOptions()
        self._fusion = o.fusion
        self._mirrored = mirrored
        self.half_px = float(ellipse.half_width)
        centre = np.array((ellipse.x, ellipse.y), float)
        self._sampler = PatchSampler(o.patch, self.half_px, mirrored=mirrored)
        self._sampler.learn_colours(image, centre)
        patch = self._sampler.take(image, centre)
        self._first = Follower(o, patch, ellipse)
        self._second = Second(o, patch, second) if second is not None else None
        self._witness = Witness(image, self._in_camera(image), self.half_px, mirrored=mirrored)
        self._seen: Seen | None = None
        self._turn = Turn(0.0, 0.0)

    def follow(self, image: Array, hint_deg: float | None = None, *, ask_witness: bool = True) -> None:
        """Finds the head in the next picture. hint_deg: turn that the pose landmarks see, if known.

        ask_witness: else what it said last goes along with the turn.
        """
        patch = self._sampler.take(image, self._first.middle)
        self._first.follow(patch, hint_deg, lambda back: self._witnessed(image, ask_witness or back))
        seen, rest = self._seen, self._witness.rest
        assert seen is not None
        turn = fuse(self._fusion, self._first.found, seen, rest)
        if self._second is not None:
            other = self._second.follow(patch, hint_deg, seen, self._first, turn.turn_deg)
            turn = turn if other is None else together(self._fusion, turn, fuse(self._fusion, other, seen, rest))
        self._turn = turn

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
        return why_hard(self._fusion, self._witness.rest)

    @property
    def confidence(self) -> float:
        """0..1."""
        return self._turn.confidence
