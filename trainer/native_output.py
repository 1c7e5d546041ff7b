"""Keeps other people's C++ chatter off the terminal: the model, the decoder, ALSA and V4L2 all write to descriptor 2.

The one place that moves descriptor 2. Our own lines go to the real stderr. PUTTING_TRAINER_NOISE=1 lets everything through.
"""

from __future__ import annotations

import os
import sys
import tempfile
import threading
from contextlib import ExitStack, contextmanager
from typing import Any, Iterator

NOISE_VARIABLE = "PUTTING_TRAINER_NOISE"

_QUIET_ENVIRONMENT = {
    "OPENCV_LOG_LEVEL": "SILENT",
    "OPENCV_FFMPEG_LOGLEVEL": "-8",
    "PYGAME_HIDE_SUPPORT_PROMPT": "1",
}


class _Silence:
    """Descriptor 2 is the process's, so it is turned away by the first who asks and given back by the last."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._holders = 0
        self._undo = ExitStack()

    def enter(self) -> None:
        with self._lock:
            if self._holders == 0:
                with ExitStack() as undo:
                    _redirect(undo)
                    self._undo = undo.pop_all()
            self._holders += 1

    def leave(self) -> None:
        with self._lock:
            self._holders -= 1
            if self._holders == 0:
                self._undo.close()


_silence = _Silence()


@contextmanager
def quiet() -> Iterator[None]:
    """While it lasts, descriptor 2 leads nowhere and ``sys.stderr`` writes to where descriptor 2 led before.

    May be nested and may overlap in several threads.
    """
    if os.environ.get(NOISE_VARIABLE):
        yield
        return
    for name, value in _QUIET_ENVIRONMENT.items():
        os.environ.setdefault(name, value)
    _silence.enter()
    try:
        yield
    finally:
        _silence.leave()


@contextmanager
def gathered() -> Iterator[list[str]]:
    """What other people's code writes to descriptor 2 meanwhile: its lines, once it is over. Not beside others' ``quiet``."""
    lines: list[str] = []
    with tempfile.TemporaryFile() as kept, ExitStack() as undo:
        try:
            before = os.dup(2)
        except OSError:  # started without a stderr
            yield lines
            return
        undo.callback(os.close, before)
        os.dup2(kept.fileno(), 2)
        undo.callback(os.dup2, before, 2)
        yield lines
        kept.seek(0)
        lines += kept.read().decode(errors="replace").splitlines()


def _redirect(undo: ExitStack) -> None:
    try:
        real = os.dup(2)
    except OSError:  # started without a stderr
        return
    undo.callback(os.close, real)
    before = sys.stderr
    if before is not None:
        before.flush()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 2)
    os.close(nowhere)
    undo.callback(os.dup2, real, 2)
    if _is_descriptor_2(before):
        ours = os.fdopen(os.dup(real), "w", buffering=1, encoding=before.encoding, errors="backslashreplace")
        undo.callback(ours.close)
        undo.callback(setattr, sys, "stderr", before)
        sys.stderr = ours


def _is_descriptor_2(stream: Any) -> bool:
    try:
        return bool(stream.fileno() == 2)
    except (AttributeError, OSError, ValueError):
        return False
