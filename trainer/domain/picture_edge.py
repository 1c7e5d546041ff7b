"""What touches the picture's edge, or lies past it, is not seen; and which way the camera is to be moved then. Pure."""

from __future__ import annotations

from typing import Literal

from trainer.texts import tr, tr_of

Edge = Literal["left", "right", "top", "bottom"]
Size = tuple[float, float]  # width, height px

EDGE_SHARE = 0.005  # of the picture's size: nearer to its edge nothing is whole (common practice, no source)
_TO_DO: dict[Edge, str] = {
    "left": tr("turn the camera to that side, or move it back"),
    "right": tr("turn the camera to that side, or move it back"),
    "top": tr("tilt the camera up, or move it back"),
    "bottom": tr("tilt the camera down, or move it back"),
}
# What is looked for in the picture, as observations name it -> in words.
_THINGS = {
    "body": tr_of("in the picture", "body"),
    "head": tr_of("in the picture", "head"),
    "hands": tr_of("in the picture", "hands"),
    "feet": tr_of("in the picture", "feet"),
    "hips": tr_of("in the picture", "hips"),
    "ball": tr_of("in the picture", "ball"),
    "putter": tr_of("in the picture", "putter"),
}
_WHERE: dict[Edge, str] = {
    "left": tr("on its left"),
    "right": tr("on its right"),
    "top": tr("at its top"),
    "bottom": tr("at its bottom"),
}


def edge_passed(x_px: float, y_px: float, size: Size, reach_px: float = 0.0) -> Edge | None:
    """The edge that a thing at this place with this half width touches or has passed, the farthest passed; None: inside."""
    width, height = size
    past: dict[Edge, float] = {
        "left": reach_px + EDGE_SHARE * width - x_px,
        "right": x_px + reach_px - (1 - EDGE_SHARE) * width,
        "top": reach_px + EDGE_SHARE * height - y_px,
        "bottom": y_px + reach_px - (1 - EDGE_SHARE) * height,
    }
    edge = max(past, key=lambda name: past[name])
    return edge if past[edge] > 0 else None


def thing_words(name: str) -> str:
    """What an observation names, as people read it."""
    return _THINGS.get(name, name)


def out_words(thing: str, edge: Edge) -> str:
    """thing: "putter", "feet". Where it is out of the picture."""
    return tr("{thing} out of the picture {where}", thing=thing_words(thing), where=_WHERE[edge])


def what_helps(edge: Edge) -> str:
    """What to do about a thing that is out of the picture there."""
    return _TO_DO[edge]


def out_advice(thing: str, edge: Edge) -> str:
    """The same, with what to do about it."""
    return tr("{out_words}: {what_helps}", out_words=out_words(thing, edge), what_helps=what_helps(edge))
