"""Ways of showing a picture in which a ball stands out from its ground: as it is, its blue, how warm or rosy its colours are."""

from __future__ import annotations

from typing import Any, Literal

import cv2

Shown = Literal["plain", "blue", "warm", "rosy"]
ROSY = 3.0  # times the difference, which is 15 to 35 grey levels on a pink ball in the shade of a green


def shown_as(image: Any, how: Shown) -> Any:
    """(h, w, 3) uint8: the picture itself, or three times the same grey.

    blue: grass is dark there even where it shines in a low sun, a ball's shaded side is not, for leaves take blue light in, and
    the sky's falls on the ball. warm: red over blue; concrete, asphalt, grass, and all that is white or black are dark there,
    a yellow or orange ball is not, in the sun or out of it (both common knowledge). rosy: red over green; green ground is dark
    there in any light, a pink ball is not, even where the sky alone lights it and takes all warmth away.
    """
    if how == "plain":
        return image
    grey = cv2.extractChannel(image, 0)
    if how == "warm":
        grey = cv2.subtract(cv2.extractChannel(image, 2), grey)
    if how == "rosy":
        grey = cv2.multiply(cv2.subtract(cv2.extractChannel(image, 2), cv2.extractChannel(image, 1)), ROSY)
    return cv2.merge((grey, grey, grey))
