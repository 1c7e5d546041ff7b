"""The head's picture as the learned witness gets it: cut out around the head, colours and contrast brought to one scale."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

Array = npt.NDArray[Any]

# Cut-out: so many half-widths of the head to either side, above and below its centre, in so many pixels; then halved.
SIDE, ABOVE, BELOW = 1.6, 1.6, 2.0
_WIDTH, _HEIGHT = 48, 54
WIDTH, HEIGHT = _WIDTH // 2, _HEIGHT // 2
CHANNELS = 4  # three colours, local contrast
_CLIP = 3.0  # standard deviations of the head's own colours: what is beyond is as good as white or black
_FLOOR = 4.0  # grey levels of spread below which a plain head stays plain
_CONTRAST_PX = 5.0


def _inner() -> Array:
    """Weights of the pixels that belong to the head for sure: an ellipse well inside its outline."""
    ys, xs = np.mgrid[0:_HEIGHT, 0:_WIDTH]
    x = (xs + 0.5) / _WIDTH * 2 * SIDE - SIDE
    y = (ys + 0.5) / _HEIGHT * (ABOVE + BELOW) - ABOVE
    inside: Array = (x**2 / 0.8**2 + y**2 / 1.1**2 < 1).astype(np.float32)
    return np.asarray(inside / inside.sum())


_INNER = _inner()


def _cut(image: Array, centre: tuple[float, float], half_px: float, scale: float, sign: float) -> Array:
    """(_HEIGHT, _WIDTH, 3) float32 around the head. scale: px of the picture per pixel; sign: -1 turns it over."""
    height, width = image.shape[:2]
    r = 2.2 * half_px
    left, top = int(np.clip(centre[0] - r, 0, width - 2)), int(np.clip(centre[1] - r, 0, height - 2))
    part = image[top : max(int(centre[1] + r), top + 2), left : max(int(centre[0] + r), left + 2)]
    if scale > 1.3:  # a large head: single pixels would be read
        part = cv2.GaussianBlur(part, (0, 0), 0.4 * scale)
    x0 = centre[0] - left - sign * (SIDE * half_px - scale / 2)
    y0 = centre[1] - top - ABOVE * half_px + scale / 2
    back = np.array([[sign * scale, 0, x0], [0, scale, y0]], np.float32)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    cut = cv2.warpAffine(part, back, (_WIDTH, _HEIGHT), flags=flags, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(cut, np.float32)


def _tone(cut: Array) -> tuple[Array, float]:
    """The cut-out (h, w, 3) less the head's mean colour, and the spread about that (grey levels) inside the head."""
    off = cut - np.einsum("hw,hwc->c", _INNER, cut)
    return off, float(np.sqrt(np.einsum("hw,hwc->", _INNER, off * off) / 3))


def head_contrast(image: Array, centre: tuple[float, float], half_px: float) -> float:
    """Spread of the colours inside the head, grey levels: little where it is dark against the light."""
    return _tone(_cut(image, centre, half_px, 2 * SIDE * half_px / _WIDTH, 1.0))[1]


def head_look(image: Array, centre: tuple[float, float], half_px: float, *, mirrored: bool = False) -> Array:
    """(HEIGHT, WIDTH, CHANNELS) float32. image: (h, w, 3) BGR; centre, half_px: of the head in that picture, px."""
    scale = 2 * SIDE * half_px / _WIDTH
    cut = _cut(image, centre, half_px, scale, -1.0 if mirrored else 1.0)
    off, spread = _tone(cut)
    grey = cut[..., 0] + cut[..., 1]
    grey += cut[..., 2]
    grey /= 3
    high = grey - cv2.GaussianBlur(grey, (0, 0), 3.0)
    deviation = cv2.GaussianBlur(high * high, (0, 0), _CONTRAST_PX)
    deviation += _FLOOR**2
    np.sqrt(deviation, out=deviation)
    look = np.empty((_HEIGHT, _WIDTH, CHANNELS), np.float32)
    np.divide(off, spread + _FLOOR, out=look[..., :3])
    np.multiply(2, high / deviation, out=look[..., 3])
    np.minimum(np.maximum(look, -_CLIP, out=look), _CLIP, out=look)
    return np.asarray(cv2.resize(look, (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA))
