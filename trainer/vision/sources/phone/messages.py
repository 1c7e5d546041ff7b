"""What phone and trainer say to each other. Every message is checked as if a stranger had sent it: sizes, types, ranges.

Phone to trainer, binary: one picture, a header (HEADER, little endian) and a JPEG. Phone to trainer, text: JSON objects, ``t``
says which. Trainer to phone, text: likewise; binary: a sound (a byte with its name's length, the name, a WAV file).
"""

from __future__ import annotations

import json
import math
import re
import struct
from dataclasses import dataclass
from typing import Any

HEADER = struct.Struct("<BxxxIdd")  # kind, number, captured (ms of the phone's clock), sent (likewise)
PICTURE = 1
MOST_BYTES = 1_500_000  # of one message: 1080p at quality 0.9 is about 400 kB
MOST_TEXT = 2_000
MOST_SIDE = 2_560
LEAST_SIDE = 120
MOST_MS = 1e13  # a page's clock counts from its opening
NAME = re.compile(r"[0-9a-f]{32}")
TEXT_LETTERS = 80


class Malformed(ValueError):
    """No page of ours sends this."""


@dataclass(frozen=True, slots=True)
class Picture:
    """number: counts what the page saw, sent or left out; captured_ms, sent_ms: the phone's clock; size: (width, height) px
    as its own header says.
    """

    number: int
    captured_ms: float
    sent_ms: float
    size: tuple[int, int]
    jpeg: bytes


@dataclass(frozen=True, slots=True)
class Hello:
    """The page's first words. phone: the name it gave itself, kept while its page is."""

    phone: str


@dataclass(frozen=True, slots=True)
class Answer:
    """To ping ``number``. at_ms: the phone's clock when it came."""

    number: int
    at_ms: float


@dataclass(frozen=True, slots=True)
class State:
    """How the phone films. rate: frames/s that its camera says of itself, None: it does not; dropped:
    pictures that it left out since it was linked; held: exposure and focus are locked; sounds: it plays the cues."""

    rate: float | None
    dropped: int
    held: bool
    sounds: bool


@dataclass(frozen=True, slots=True)
class Sounded:
    """A cue was begun. late_ms: from its coming to when it is heard, as the phone's own sound says."""

    name: str
    late_ms: float


@dataclass(frozen=True, slots=True)
class Wish:
    """what: "sounds" (the samples are wanted), "end" (the user ends it)."""

    what: str


Message = Picture | Hello | Answer | State | Sounded | Wish


def read(data: bytes | str) -> Message:
    """Raises Malformed."""
    return _picture(data) if isinstance(data, bytes) else _words(data)


def said(kind: str, **values: Any) -> str:
    """A text message of ours."""
    return json.dumps({"t": kind, **values}, separators=(",", ":"))


def sound(name: str, wav: bytes) -> bytes:
    """A sound's samples for the phone."""
    letters = name.encode("ascii")
    return bytes([len(letters)]) + letters + wav


def _picture(data: bytes) -> Picture:
    if len(data) <= HEADER.size or len(data) > MOST_BYTES:
        raise Malformed("size")
    kind, number, captured_ms, sent_ms = HEADER.unpack_from(data)
    if kind != PICTURE or not (_is_time(captured_ms) and _is_time(sent_ms)):
        raise Malformed("header")
    jpeg = data[HEADER.size :]
    return Picture(number, captured_ms, sent_ms, jpeg_size(jpeg), jpeg)


def jpeg_size(jpeg: bytes) -> tuple[int, int]:
    """(width, height) by its own header, which alone says how much memory decoding takes. Raises Malformed."""
    if jpeg[:2] != b"\xff\xd8" or jpeg[-2:] != b"\xff\xd9":
        raise Malformed("no whole JPEG")
    at = 2
    while at + 9 <= len(jpeg) and jpeg[at] == 0xFF:
        marker, length = jpeg[at + 1], int.from_bytes(jpeg[at + 2 : at + 4], "big")
        if 0xC0 <= marker <= 0xC2:  # baseline, extended, progressive
            height, width = struct.unpack_from(">HH", jpeg, at + 5)
            if not (LEAST_SIDE <= width <= MOST_SIDE and LEAST_SIDE <= height <= MOST_SIDE):
                raise Malformed("picture's size")
            return width, height
        if length < 2:
            break
        at += 2 + length
    raise Malformed("no size in the JPEG")


def _words(text: str) -> Message:
    if len(text) > MOST_TEXT:
        raise Malformed("size")
    try:
        found = json.loads(text, parse_constant=_no_constant)
    except (ValueError, RecursionError):
        raise Malformed("no JSON") from None
    if not isinstance(found, dict):
        raise Malformed("no object")
    kind = found.get("t")
    if kind == "pong":
        return Answer(_whole(found, "n"), _real(found, "at", MOST_MS))
    if kind == "hello":
        name = found.get("phone")
        if not isinstance(name, str) or not NAME.fullmatch(name):
            raise Malformed("phone's name")
        return Hello(name)
    if kind == "state":
        rate = _real(found, "rate", 1000.0) if found.get("rate") is not None else None
        return State(rate, _whole(found, "dropped"), _flag(found, "held"), _flag(found, "sounds"))
    if kind == "sounded":
        return Sounded(_text(found, "name"), _real(found, "late", 60_000.0))
    if kind in ("sounds", "end"):
        return Wish(str(kind))
    raise Malformed("kind")


def _no_constant(name: str) -> None:
    raise ValueError(name)


def _is_time(value: float) -> bool:
    return math.isfinite(value) and 0.0 <= value <= MOST_MS


def _real(found: dict[str, Any], key: str, most: float) -> float:
    value = found.get(key)
    if not isinstance(value, (int, float)) or isinstance(value, bool) or not 0.0 <= value <= most:
        raise Malformed(key)
    return float(value)


def _whole(found: dict[str, Any], key: str) -> int:
    value = found.get(key)
    if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value < 2**32:
        raise Malformed(key)
    return value


def _flag(found: dict[str, Any], key: str) -> bool:
    value = found.get(key)
    if not isinstance(value, bool):
        raise Malformed(key)
    return value


def _text(found: dict[str, Any], key: str) -> str:
    value = found.get(key)
    if not isinstance(value, str) or len(value) > TEXT_LETTERS:
        raise Malformed(key)
    return "".join(letter for letter in value if letter.isprintable())
