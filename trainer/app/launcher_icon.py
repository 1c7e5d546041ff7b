"""Our own icon, drawn: a ball on a green strip before a putter's head, an eye's line down to it. As PNG, ICO and ICNS."""

from __future__ import annotations

import struct
from functools import lru_cache

SIDE = 256
_SMOOTH = 4  # drawn so much larger, then made smaller
# BGR, of the window's own colours.
GROUND, GREEN, BALL, PUTTER, LINE = (19, 22, 15), (115, 158, 0), (236, 244, 246), (0, 159, 230), (233, 180, 86)


@lru_cache(maxsize=1)
def png() -> bytes:
    """256 px a side."""
    import cv2
    import numpy as np

    n = SIDE * _SMOOTH

    def px(share: float) -> int:
        return round(share * n)

    image = np.zeros((n, n, 4), np.uint8)
    corner = px(0.18)
    for centre in ((corner, corner), (n - corner, corner), (corner, n - corner), (n - corner, n - corner)):
        cv2.circle(image, centre, corner, (*GROUND, 255), -1)
    cv2.rectangle(image, (corner, 0), (n - corner, n), (*GROUND, 255), -1)
    cv2.rectangle(image, (0, corner), (n, n - corner), (*GROUND, 255), -1)
    cv2.rectangle(image, (px(0.09), px(0.76)), (px(0.91), px(0.86)), (*GREEN, 255), -1)
    cv2.line(image, (px(0.52), px(0.12)), (px(0.30), px(0.62)), (*PUTTER, 255), px(0.05), cv2.LINE_AA)
    cv2.rectangle(image, (px(0.22), px(0.60)), (px(0.40), px(0.74)), (*PUTTER, 255), -1)
    cv2.circle(image, (px(0.60), px(0.64)), px(0.12), (*BALL, 255), -1)
    for top in (0.16, 0.28, 0.40):
        cv2.line(image, (px(0.76), px(top)), (px(0.735), px(top + 0.07)), (*LINE, 255), px(0.03), cv2.LINE_AA)
    small = cv2.resize(image, (SIDE, SIDE), interpolation=cv2.INTER_AREA)
    _, data = cv2.imencode(".png", small, [cv2.IMWRITE_PNG_COMPRESSION, 9])
    return bytes(data)


def ico() -> bytes:
    """One picture of 256 px, as PNG inside; 0 stands for 256."""
    data = png()
    return struct.pack("<HHH", 0, 1, 1) + struct.pack("<BBBBHHII", 0, 0, 0, 0, 1, 32, len(data), 22) + data


def icns() -> bytes:
    """One picture of 256 px: ic08."""
    data = png()
    return struct.pack(">4sI", b"icns", 16 + len(data)) + struct.pack(">4sI", b"ic08", 8 + len(data)) + data
