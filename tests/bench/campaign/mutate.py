"""Sound files spoilt at random, each in the way of its kind."""

from __future__ import annotations

import hashlib
import io
import json
import random
import warnings
import zipfile
from typing import Any, Callable

import numpy as np

ODD: tuple[Any, ...] = (
    None, True, -1, 0, 1, 10**30, -(10**30), 1e308, 1e-320, 0.5, "", "x", "x" * 400, "\ud800", "[/b]", "../../x", "\0", [], {},
    [[]], "9999-12-31T23:59:59+00:00", "0001-01-01T00:00:00-23:59", "2026-03-01", "NaN", "a" * 32, float("nan"), float("inf"),
)  # fmt: skip
TOKENS = (
    b"1e400", b"nan", b"-inf", b"9" * 5000, b"[" * 3000, b'"' * 3, b"'''", b"\n[player]\n", b"\nname = 3\n", b"\xff\xfe", b"\0",
    b"=", b"[[a]]\n", b"{a={b=[{}]}}", b'"[/] \\u0007"', b"true", b"2026-01-01", b"0x", b"#" * 9999, b"[limits.sway]\n",
)  # fmt: skip


def bytes_of(data: bytes, rng: random.Random) -> bytes:
    """Bits turned, a stretch cut out, doubled, zeroed or put elsewhere."""
    out = bytearray(data)
    for _ in range(rng.randint(1, 12)):
        if not out:
            break
        at, size = rng.randrange(len(out)), rng.choice([1, 1, 1, 4, 64, 4096])
        way = rng.randrange(6)
        if way == 0:
            out[at] ^= 1 << rng.randrange(8)
        elif way == 1:
            out[at : at + size] = rng.randbytes(len(out[at : at + size]))
        elif way == 2:
            del out[at : at + size]
        elif way == 3:
            out[at : at + size] = bytes(len(out[at : at + size]))
        elif way == 4:
            out[at:at] = out[at : at + size]
        elif rng.random() < 0.3:
            del out[at:]
    return bytes(out)


def clip_of(data: bytes, rng: random.Random) -> bytes:
    """A clip harmed among its pictures or, as often, in what its head says of them: sizes, times, counts."""
    if rng.random() < 0.5:
        return bytes_of(data, rng)
    out = bytearray(data)
    marks = [mark for mark in CLIP_MARKS if mark in data]
    for _ in range(rng.randint(1, 3)):
        at = data.find(rng.choice(marks)) + 4 + rng.randrange(60)
        out[at : at + 4] = rng.choice(
            [b"\0\0\0\0", b"\xff\xff\xff\xff", b"\x7f\xff\xff\xff", b"\0\0\0\1", rng.randbytes(4)]
        )
    return bytes(out)


CLIP_MARKS = (
    b"mvhd",
    b"tkhd",
    b"mdhd",
    b"stsd",
    b"stts",
    b"stsz",
    b"stco",
    b"stsc",
    b"ftyp",
    b"avih",
    b"strh",
    b"strf",
    b"idx1",
)


def text_of(data: bytes, rng: random.Random) -> bytes:
    """A text whose words were exchanged for odd ones."""
    out = data
    for _ in range(rng.randint(1, 4)):
        at = rng.randrange(len(out) + 1)
        out = out[:at] + rng.choice(TOKENS) + out[at + rng.choice([0, 0, 1, 5, 20]) :]
    return out if rng.random() < 0.8 else bytes_of(out, rng)


def values_of(values: Any, rng: random.Random) -> Any:
    """A JSON tree with some leaves, keys or branches otherwise."""
    copy = json.loads(json.dumps(values))
    for _ in range(rng.randint(1, 3)):
        place = copy
        while isinstance(place, (dict, list)) and place:
            key = rng.choice(list(place)) if isinstance(place, dict) else rng.randrange(len(place))
            if not isinstance(place[key], (dict, list)) or not place[key] or rng.random() < 0.15:
                way = rng.randrange(6)
                if way == 0:
                    del place[key]
                elif way == 1 and isinstance(place, dict):
                    place[rng.choice(["", "x", "uid", "name", "__class__"])] = place[key]
                elif way == 2 and isinstance(place, list):
                    place += [place[key]] * rng.choice([1, 3, 500])
                elif way == 3 and isinstance(place[key], (int, float)):
                    place[key] = place[key] * rng.choice([-1, 1e3, 1e9, 0])
                else:
                    place[key] = rng.choice(ODD)
                break
            place = place[key]
    return copy


def json_of(data: bytes, rng: random.Random) -> bytes:
    if rng.random() < 0.2:
        return text_of(data, rng)
    try:
        return json.dumps(values_of(json.loads(data), rng)).encode()
    except ValueError:  # spoilt already
        return text_of(data, rng)


def signals_of(data: bytes, rng: random.Random) -> bytes:
    """Arrays of another size, kind, order or content, in a sound npz."""
    try:
        with np.load(io.BytesIO(data)) as kept:
            arrays: dict[str, Any] = dict(kept)
    except (ValueError, zipfile.BadZipFile):  # spoilt already
        return bytes_of(data, rng)
    name = rng.choice(list(arrays))
    array = arrays[name]
    ways: list[Callable[[], Any]] = [
        lambda: array[..., : array.shape[-1] // 2] if array.ndim else array,
        lambda: np.array(rng.choice([1e300, -5.0, np.nan, np.inf, 0.0])),
        lambda: np.zeros((0, *array.shape[1:]), array.dtype) if array.ndim else np.zeros(0),
        lambda: array.astype(np.float32) if array.dtype.kind == "f" else array.astype("S8"),
        lambda: array[::-1] if array.ndim else array,
        lambda: array * rng.choice([1e-300, 1e3, 1e7, np.nan]) if array.dtype.kind == "f" else array,
        lambda: np.tile(array, (*([1] * (array.ndim - 1)), 40)) if array.ndim else array,
        lambda: np.full_like(array, np.nan) if array.dtype.kind == "f" else array,
        lambda: np.round(array, -2) if array.dtype.kind == "f" else array,
        lambda: array[..., None],
    ]
    arrays[name] = rng.choice(ways)()
    if rng.random() < 0.15:
        del arrays[name]
    out = io.BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        np.savez_compressed(out, **arrays)
    return out.getvalue()


def export_of(data: bytes, rng: random.Random) -> bytes:
    """An export file: spoilt as bytes, or with right sums of spoilt parts."""
    if rng.random() < 0.15:
        return bytes_of(data, rng)
    with zipfile.ZipFile(io.BytesIO(data)) as file:
        parts = {name: file.read(name) for name in file.namelist()}
    manifest = json.loads(parts.pop("manifest.json"))
    for _ in range(rng.choice([1, 1, 1, 2, 4])):
        name = rng.choice(
            [n for n in parts if rng.random() < (0.15 if n.startswith("signals/") else 1.0)] or list(parts)
        )
        parts[name] = SPOILS.get(name.rpartition(".")[2], bytes_of)(parts[name], rng)
    if rng.random() < 0.1:
        parts.pop(rng.choice(list(parts)))
    manifest["parts"] = {n: {"sha256": hashlib.sha256(d).hexdigest(), "bytes": len(d)} for n, d in parts.items()}
    if rng.random() < 0.1:
        manifest = values_of(manifest, rng)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("manifest.json", json.dumps(manifest))
        for name, part in parts.items():
            file.writestr(name, part)
    return out.getvalue()


SPOILS: dict[str, Callable[[bytes, random.Random], bytes]] = {
    "json": json_of,
    "toml": text_of,
    "npz": signals_of,
    "jpg": bytes_of,
    "zip": export_of,
    "sqlite": bytes_of,
    "mp4": bytes_of,
    "avi": bytes_of,
}
