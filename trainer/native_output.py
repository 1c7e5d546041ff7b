"""Keeps other people's C++ chatter off the terminal: the model, the decoder, ALSA and V4L2 all write to descriptor 2.

Our own lines go to the real stderr. PUTTING_TRAINER_NOISE=1 lets everything through.
"""

from __future__ import annotations

import os
import sys
import warnings
from contextlib import contextmanager
from typing import Iterator

NOISE_VARIABLE = "PUTTING_TRAINER_NOISE"

_QUIET_ENVIRONMENT = {
    "GLOG_minloglevel": "3",
    "TF_CPP_MIN_LOG_LEVEL": "3",
    "OPENCV_LOG_LEVEL": "SILENT",
    "OPENCV_FFMPEG_LOGLEVEL": "-8",
    "PYGAME_HIDE_SUPPORT_PROMPT": "1",
}


@contextmanager
def quiet() -> Iterator[None]:
    """While it lasts, descriptor 2 leads nowhere and ``sys.stderr`` writes to where descriptor 2 led before."""
    if os.environ.get(NOISE_VARIABLE):
        yield
        return
    for name, value in _QUIET_ENVIRONMENT.items():
        os.environ.setdefault(name, value)
    try:
        real = os.dup(2)
    except OSError:  # started without a stderr
        yield
        return
    before, ours = sys.stderr, None
    with warnings.catch_warnings():
        # mediapipe 0.10.21 with protobuf 4; the user can do nothing about it
        warnings.filterwarnings("ignore", message="SymbolDatabase.GetPrototype", category=UserWarning)
        try:
            if _is_descriptor_2(before):
                ours = os.fdopen(os.dup(real), "w", buffering=1, encoding=before.encoding, errors="backslashreplace")
                sys.stderr = ours
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, 2)
            os.close(nowhere)
            yield
        finally:
            if ours is not None:
                ours.flush()
                sys.stderr = before
                ours.close()
            os.dup2(real, 2)
            os.close(real)


def _is_descriptor_2(stream: object) -> bool:
    try:
        return bool(stream.fileno() == 2)  # type: ignore[attr-defined]
    except (AttributeError, OSError, ValueError):
        return False
