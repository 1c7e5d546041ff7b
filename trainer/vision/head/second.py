"""A second outline of the head, followed only while the head turns.

Of the outlines that ``outline`` tries several are about as good as the best, and where it is put decides whether the registration
holds on (STUDY.md, "Two ellipses side by side"). The patch and what the witness says are the first's.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from trainer.vision.head.follower import Follower, HeadOptions
from trainer.vision.head.fusion import Found
from trainer.vision.head.hypotheses import REST_FRAMES
from trainer.vision.head.outline import HeadEllipse
from trainer.vision.head.patch import Patch
from trainer.vision.head.witness import Seen

AT_REST = Seen(0.0, 1.0)  # what the witness says of the reference picture, as good as


class Second:
    """Of one reference picture."""

    def __init__(self, options: HeadOptions, patch: Patch, ellipse: HeadEllipse) -> None:
        """patch: of the reference picture; ellipse: the outline in it."""
        self._options = options.second
        self._head_options = replace(options, shapes=options.second.shapes)
        self._patch, self._ellipse = patch, ellipse
        self._follower: Follower | None = None
        self._frames = 0
        self._quiet = options.second.sleep_frames

    def follow(
        self, patch: Patch, hint_deg: float | None, seen: Seen, first: Follower, turn_deg: float
    ) -> Found | None:
        """What it finds in the next patch; None where it is not needed or has lost the head.

        first, turn_deg: the first outline's, and its turn, in the same patch.
        """
        o = self._options
        turning = abs(turn_deg) > o.turn_deg or abs(seen.turn_deg) > o.seen_deg or first.farthest_deg > o.hypothesis_deg
        asleep = self._quiet >= o.sleep_frames
        self._quiet = 0 if turning else self._quiet + 1
        self._frames += 1
        learning = self._frames <= REST_FRAMES
        if self._frames == 1 or (self._quiet >= o.sleep_frames and not learning):
            return None
        follower = self._follower
        if follower is None:
            follower = self._follower = Follower(self._head_options, self._patch, self._ellipse)
            follower.follow(self._patch, None, lambda _: AT_REST)
        elif asleep and not learning:
            follower.start_from(first)
        follower.follow(patch, hint_deg, lambda _: seen)
        heard = self._quiet < o.sleep_frames and not follower.lost and not self._apart(follower, first)
        return follower.found if heard else None

    def _apart(self, follower: Follower, first: Follower) -> bool:
        moved = follower.moved - first.moved
        return bool(np.hypot(*moved) > self._options.apart * first.half_px)
