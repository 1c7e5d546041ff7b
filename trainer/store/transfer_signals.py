"""The signals of strokes in an export file: only such as a stroke can have get into a record."""

from __future__ import annotations

import io
import zipfile
from typing import Any, Sequence

import numpy as np

from trainer.domain.record import Signals, signal_names
from trainer.errors import StoreError, TransferError
from trainer.store.signals import unpack
from trainer.store.transfer_json import TODO
from trainer.store.transfer_values import StrokeValue
from trainer.texts import tr

MOST_SAMPLES = 20_000  # 80 s at 240 frames/s; a stroke has some 150 at 30
MOST_COLUMNS = 200
MOST_SPAN_S = 300.0
MOST_VALUE = 1e6  # px, degrees, cm: no picture or player has more
AROUND_S = 60.0  # an event may lie so far outside of the frames kept


def checked_signals(block: bytes, stroke: StrokeValue, name: str) -> Signals:
    """A stroke's, unpacked once the size of what is in them is known. Raises TransferError for signals that no stroke has."""
    damaged = TransferError(tr("the signals of stroke {uid} are damaged", uid=stroke.uid), name, TODO)
    try:
        with zipfile.ZipFile(io.BytesIO(block)) as file:
            sizes = [member.file_size for member in file.infolist()]
            if len(sizes) > 10 or sum(sizes) > 8 * MOST_SAMPLES * MOST_COLUMNS // 4:
                raise damaged
        signals = unpack(block, name)
    except (StoreError, zipfile.BadZipFile, RuntimeError, MemoryError, OSError, UnicodeError):
        raise damaged from None
    n = len(signals.time_s) if getattr(signals.time_s, "ndim", 0) == 1 else 0
    sound = (
        0 < n <= MOST_SAMPLES
        and len(signals.columns) <= MOST_COLUMNS
        and signals.time_s.dtype == "float64"
        and signals.index.shape == (n,)
        and signals.index.dtype == "int64"
        and bool((signals.time_s[1:] > signals.time_s[:-1]).all())
        and bool(abs(signals.time_s[[0, -1]]).max() <= 1e9)
        and signals.time_s[-1] - signals.time_s[0] <= MOST_SPAN_S
        and set(signal_names(stroke.view)) <= set(signals.columns)
        and _are_columns(list(signals.columns.values()), n)
        and signals.view == stroke.view
        and signals.frame.handedness in ("right", "left")
        and 0 <= signals.frame.width_px <= 1e5
        and all(
            t is None or signals.time_s[0] - AROUND_S <= t <= signals.time_s[-1] + AROUND_S
            for t in stroke.events.values()
        )
    )
    if not sound:
        raise damaged
    return signals


def _are_columns(columns: Sequence[Any], samples: int) -> bool:
    """NaN is what was not seen."""
    right = all(column.shape == (samples,) and column.dtype == "float64" for column in columns)
    return right and not bool((abs(np.array(columns)) > MOST_VALUE).any())
