"""A stroke's raw signals as one compressed block of bytes, exact to the last bit."""

from __future__ import annotations

import io
import zipfile
import zlib

import numpy as np

from trainer.domain.record import Signals
from trainer.errors import StoreError


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


# What coaching.faults.judge reads of the raw signals: the head's turn, and down-the-line the spine too.
JUDGED_COLUMNS = ("head_turn_deg", "head_turn_conf")
SIDE_COLUMNS = (
    *JUDGED_COLUMNS,
    *(
        f"{side}_{part}_{way}_px"
        for side in ("lead", "trail")
        for part in ("shoulder", "hip")
        for way in ("along", "up")
    ),
    *(f"{part}_up_px" for part in ("hands", "lead_ankle", "trail_ankle")),
)
SIDE_MARK = b"D"  # begins a block with the columns of a stroke seen down-the-line; others begin as zlib does


def pack_turns(signals: Signals) -> bytes | None:
    """The few columns that judging needs, in a form that is read in microseconds; None when they are not there."""
    side = signals.view != "face-on"
    names = SIDE_COLUMNS if side else JUDGED_COLUMNS
    if any(name not in signals.columns for name in names):
        return None
    rows = [signals.time_s, *(signals.columns[name] for name in names)]
    block = zlib.compress(np.ascontiguousarray(rows, dtype="<f8").tobytes(), 1)
    return SIDE_MARK + block if side else block


def unpack_turns(block: bytes, view: str, where: str) -> Signals:
    """The reverse: signals with those columns only. Raises StoreError when the block is damaged."""
    side = block.startswith(SIDE_MARK)
    names = SIDE_COLUMNS if side else JUDGED_COLUMNS
    try:
        packed = block[len(SIDE_MARK) :] if side else block
        rows = np.frombuffer(zlib.decompress(packed), dtype="<f8").reshape(1 + len(names), -1)
    except (zlib.error, ValueError):
        raise StoreError(
            "the stroke's head turn is damaged", where, "its events and measures can still be read"
        ) from None
    columns = dict(zip(names, rows[1:], strict=True))
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
