"""A stroke's raw signals as one compressed block of bytes, exact to the last bit.

On disk a stroke seen down the line has two columns a point: along for what is up, and up for the picture's x, unmirrored for
either hand. They are translated here.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from dataclasses import replace
from typing import Mapping

import numpy as np

from trainer.domain.player_frame import PlayerFrame, View
from trainer.domain.record import Floats, Signals
from trainer.errors import StoreError
from trainer.texts import tr


def on_disk(signals: Signals) -> dict[str, Floats]:
    """The columns by the names and meanings that they have there."""
    columns = {name: column for name, column in signals.columns.items() if not name.endswith("_across_px")}
    if signals.frame.face_on:
        return columns
    for across in (name for name in signals.columns if name.endswith("_across_px")):
        along, up = (across.replace("_across_", f"_{axis}_") for axis in ("along", "up"))
        columns[along] = signals.columns[up]
        columns[up] = signals.frame.sideways(signals.columns[across])
    return columns


def from_disk(columns: Mapping[str, Floats], frame: PlayerFrame) -> dict[str, Floats]:
    """The reverse."""
    if frame.face_on:
        return dict(columns)
    out = {name: column for name, column in columns.items() if not name.endswith(("_along_px", "_up_px"))}
    for point in dict.fromkeys(n.removesuffix("_along_px").removesuffix("_up_px") for n in columns if n not in out):
        along, up = (columns.get(f"{point}_{axis}_px") for axis in ("along", "up"))
        nothing = np.full_like(along if along is not None else up, np.nan)
        out[f"{point}_along_px"] = nothing
        out[f"{point}_up_px"] = nothing if along is None else along
        out[f"{point}_across_px"] = nothing if up is None else frame.sideways(up)
    return out


def pack(signals: Signals) -> bytes:
    """Signals -> compressed npz. The columns' names travel along, so that later versions may add columns."""
    stored = on_disk(signals)
    names = list(stored)
    columns = np.array([stored[name] for name in names], dtype=np.float64).reshape(len(names), -1)
    out = io.BytesIO()
    np.savez_compressed(
        out,
        time_s=np.asarray(signals.time_s, dtype=np.float64),
        index=np.asarray(signals.index, dtype=np.int64),
        names=np.array(names, dtype=np.str_),
        columns=columns,
        view=np.array(signals.view),
        handedness=np.array(signals.frame.handedness),
        width_px=np.array(float(signals.frame.width_px)),
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
    stored = on_disk(signals)
    if any(name not in stored for name in names):
        return None
    rows = [signals.time_s, *(stored[name] for name in names)]
    block = zlib.compress(np.ascontiguousarray(rows, dtype="<f8").tobytes(), 1)
    return SIDE_MARK + block if side else block


def unpack_turns(block: bytes, view: View, where: str) -> Signals:
    """The reverse: signals with those columns only. Raises StoreError when the block is damaged."""
    side = block.startswith(SIDE_MARK)
    names = SIDE_COLUMNS if side else JUDGED_COLUMNS
    try:
        packed = block[len(SIDE_MARK) :] if side else block
        rows = np.frombuffer(zlib.decompress(packed), dtype="<f8").reshape(1 + len(names), -1)
    except (zlib.error, ValueError):
        raise StoreError(
            tr("the stroke's head turn is damaged"), where, tr("its events and measures can still be read")
        ) from None
    frame = PlayerFrame(view)
    return Signals(rows[0], np.arange(rows.shape[1]), from_disk(dict(zip(names, rows[1:], strict=True)), frame), frame)


def unpack(block: bytes, where: str) -> Signals:
    """The reverse. Raises StoreError, naming ``where``, when the block is damaged."""
    try:
        with np.load(io.BytesIO(block), allow_pickle=False) as kept:
            names = kept["names"]  # each look at ``kept`` reads and parses anew
            columns = {str(name): column for name, column in zip(names, kept["columns"], strict=True)}
            if len(columns) != len(names):
                raise ValueError("a column stands twice")
            frame = PlayerFrame(str(kept["view"]))  # type: ignore[arg-type]  # as ``pack`` wrote it
            if "handedness" in kept and "width_px" in kept:  # releases before did not say
                hand, width = str(kept["handedness"]), float(kept["width_px"])
                frame = replace(frame, handedness=hand, width_px=width)  # type: ignore[arg-type]  # likewise
            return Signals(kept["time_s"], kept["index"], from_disk(columns, frame), frame)
    except (ValueError, TypeError, KeyError, IndexError, EOFError, OSError, zipfile.BadZipFile, zlib.error):
        raise StoreError(
            tr("the stroke's raw signals are damaged"), where, tr("its events and measures can still be read")
        ) from None
