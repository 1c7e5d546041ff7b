"""A stroke's raw signals as one compressed block of bytes, exact to the last bit."""

from __future__ import annotations

import io
import zipfile
import zlib

import numpy as np

from trainer.errors import StoreError
from trainer.stroke.record import Signals


def pack(signals: Signals) -> bytes:
    """Signals -> compressed npz. The columns' names travel along, so that later versions may add columns."""
    names = list(signals.columns)
    columns = np.array([signals.columns[name] for name in names], dtype=np.float64).reshape(len(names), -1)
    out = io.BytesIO()
    np.savez_compressed(
        out,
        time_s=np.asarray(signals.time_s, dtype=np.float64),
        index=np.asarray(signals.index, dtype=np.int64),
        names=np.array(names, dtype=np.str_),
        columns=columns,
        view=np.array(signals.view),
    )
    return out.getvalue()


# What coaching.faults.judge reads of the raw signals.
JUDGED_COLUMNS = ("head_turn_deg", "head_turn_conf")


def pack_turns(signals: Signals) -> bytes | None:
    """The few columns that judging needs, in a form that is read in microseconds; None when they are not there."""
    if any(name not in signals.columns for name in JUDGED_COLUMNS):
        return None
    rows = [signals.time_s, *(signals.columns[name] for name in JUDGED_COLUMNS)]
    return zlib.compress(np.ascontiguousarray(rows, dtype="<f8").tobytes(), 1)


def unpack_turns(block: bytes, view: str, where: str) -> Signals:
    """The reverse: signals with those columns only. Raises StoreError when the block is damaged."""
    try:
        rows = np.frombuffer(zlib.decompress(block), dtype="<f8").reshape(1 + len(JUDGED_COLUMNS), -1)
    except (zlib.error, ValueError):
        raise StoreError(
            "the stroke's head turn is damaged", where, "its events and measures can still be read"
        ) from None
    columns = dict(zip(JUDGED_COLUMNS, rows[1:], strict=True))
    return Signals(rows[0], np.arange(rows.shape[1]), columns, view)


def unpack(block: bytes, where: str) -> Signals:
    """The reverse. Raises StoreError, naming ``where``, when the block is damaged."""
    try:
        with np.load(io.BytesIO(block), allow_pickle=False) as kept:
            columns = {str(name): column for name, column in zip(kept["names"], kept["columns"], strict=True)}
            return Signals(kept["time_s"], kept["index"], columns, str(kept["view"]))
    except (ValueError, KeyError, EOFError, OSError, zipfile.BadZipFile, zlib.error):
        raise StoreError(
            "the stroke's raw signals are damaged", where, "its events and measures can still be read"
        ) from None
