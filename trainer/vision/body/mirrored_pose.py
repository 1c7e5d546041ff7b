"""Body points of one still picture, looked at twice: as it is and mirrored. And is there a second person?

The pose model is not the same left and right: one look in a hundred took a left-hander's hands for a right-hander's, the
mean of both looks none, and the knee's bend came out by a tenth better. The model follows a player from picture to picture,
so it is made to forget what it followed, and each look is repeated until its window has settled on the player.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from trainer.domain.player_frame import mirrored_x
from trainer.vision.body.painted_over import painted_over
from trainer.vision.body.pose import Array, BodyTracker
from trainer.vision.body.who import is_another

FROM_EDGE_PX = 0.5  # the model counts from the picture's edge, not from the middle of its first pixel
REPEATS = 4  # rendered stills: hardly a point moves by more than 1 px after the third


def mirrored_pose(body: BodyTracker, image_bgr: Any) -> dict[str, Array] | None:
    """name -> (x px, y px, visibility) as ``BodyTracker.find`` gives it; None when nobody is seen.

    body: a tracker that need not go on following the frames it was on.
    """
    width = image_bgr.shape[1]
    plain = _settled(body, image_bgr)
    turned = _settled(body, np.ascontiguousarray(image_bgr[:, ::-1]))
    if plain is None or turned is None:
        return plain
    out = {}
    for name, point in plain.items():
        other = turned[_other_side(name)]
        x = mirrored_x(other[0] - FROM_EDGE_PX, width) + FROM_EDGE_PX
        out[name] = (point + np.array([x, other[1], other[2]])) / 2
    return out


def somebody_else(body: BodyTracker, image_bgr: Any, player: dict[str, Array]) -> bool:
    """Whether another person, not much smaller, is in the picture: looks again with the player painted over."""
    found = _settled(body, painted_over(image_bgr, player))
    return found is not None and is_another(found, player)


def _settled(body: BodyTracker, image_bgr: Any) -> dict[str, Array] | None:
    found = body.find(np.zeros_like(image_bgr))  # nobody: it forgets, and then searches the whole picture
    for _ in range(REPEATS):
        found = body.find(image_bgr)
    return found


def _other_side(name: str) -> str:
    side, _, rest = name.partition("_")
    return {"left": f"right_{rest}", "right": f"left_{rest}"}.get(side, name)
