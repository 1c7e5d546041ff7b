"""Pictures that were looked at and approved, and the comparison with them.

Kept at half size. Letters and edges come out a little differently with another version of a library, and a clip's frames with
another decoder, so both are blurred first; what is compared is whether things are where they were, in the colours they had.
``APPROVE=1 python -m pytest tests/unit/ui/test_review_view.py`` writes them anew: look at them before they are kept.
"""

from __future__ import annotations

import os
from typing import Any

import numpy as np

from tests.support.paths import DATA

FOLDER = DATA / "approved"
BLUR = 2.0  # px of the half-size picture
FAR = 20.0  # grey levels: a pixel farther off than this is another one
FAR_SHARE = (
    0.003  # of the pixels may be; the least of the lines taken away gives 0.005, all of it moved by a pixel 0.0003
)
MEAN = 1.6  # grey levels, of the whole picture


def half(image: Any) -> Any:
    """At half its size, as it is kept."""
    import cv2

    return cv2.resize(image, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)


def difference(image: Any, other: Any) -> tuple[float, float]:
    """(share of pixels that are others, mean difference in grey levels) of two pictures of one size."""
    import cv2

    a, b = (cv2.GaussianBlur(i.astype(np.float32), (0, 0), BLUR) for i in (image, other))
    off = np.abs(a - b).max(axis=2)
    return float((off > FAR).mean()), float(off.mean())


def assert_approved(image: Any, name: str) -> None:
    """image: (height, width, 3) BGR at full size."""
    import cv2

    path, small = FOLDER / f"{name}.png", half(image)
    if os.environ.get("APPROVE"):
        cv2.imwrite(str(path), small, (cv2.IMWRITE_PNG_COMPRESSION, 9))
    kept = cv2.imread(str(path))
    assert kept is not None, f"{path} is not there"
    assert kept.shape == small.shape
    share, mean = difference(small, kept)
    assert share <= FAR_SHARE, f"{name}: {share:.2%} of the picture differs from the approved one"
    assert mean <= MEAN, f"{name}: differs by {mean:.2f} grey levels on average from the approved one"
