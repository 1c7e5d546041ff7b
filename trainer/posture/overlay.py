"""How one address is laid over another: by ball and feet, turned and scaled as the cameras stood."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from trainer.coaching.posture.address import AddressSeen
from trainer.coaching.posture.address_measures import scale_reference

FEET = tuple(f"{side}_{part}" for side in ("lead", "trail") for part in ("heel", "toe", "ankle"))
BALL_WEIGHT = 3.0  # beside one point of a foot


def onto(after: AddressSeen, before: AddressSeen) -> Any:
    """(2, 3) turn, scale and shift that lay one picture over another (px), both mirrored alike (``AddressSeen``).

    Ball and feet come as near to each other as can be. Turn and scale are those of the cameras, so that a wider stance stays
    wider; where a picture has no size reference, ball and feet have to tell them too (least squares in the plane).
    """
    pairs, weights = [], []
    for name in FEET:
        a, b = after.mark(name), before.mark(name)
        if a is not None and b is not None:
            pairs.append((complex(a.x, a.y), complex(b.x, b.y)))
            weights.append(1.0)
    if after.ball is not None and before.ball is not None:
        pairs.append((complex(after.ball.x, after.ball.y), complex(before.ball.x, before.ball.y)))
        weights.append(BALL_WEIGHT)
    if len(pairs) < 2:
        return np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    z, w = np.array(pairs).T
    share = np.array(weights) / np.sum(weights)
    z0, w0 = (share * z).sum(), (share * w).sum()
    references = scale_reference(after), scale_reference(before)
    if references[0] is not None and references[1] is not None:
        per_cm = [one.camera.focal_px / r.distance_cm for one, r in zip((after, before), references, strict=True) if r]
        roll = math.radians(before.camera.roll_deg - after.camera.roll_deg)
        turn = per_cm[1] / per_cm[0] * complex(math.cos(roll), math.sin(roll))
    else:
        turn = (share * (w - w0) * np.conj(z - z0)).sum() / max(float((share * np.abs(z - z0) ** 2).sum()), 1e-9)
    shift = w0 - turn * z0
    return np.array([[turn.real, -turn.imag, shift.real], [turn.imag, turn.real, shift.imag]])
