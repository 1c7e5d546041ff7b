"""A practising child made by fork: no interpreter has to start, so that a round takes a second."""

from __future__ import annotations

import gc
import io
import os
import signal
import sys
import tempfile
import time
import traceback
from contextlib import redirect_stdout, suppress
from functools import cache
from pathlib import Path
from typing import Callable

from tests.bench.campaign.checks import spoken
from tests.bench.campaign.practising import TELLS, main

LONGEST_S = 120.0
COMMANDS = (["strokes"], ["students", "list"], ["drills", "list"], ["students", "add", "Kim"])


class Child:
    """work runs in a process of its own; what it prints is in ``out`` and ``err`` once it is gone."""

    def __init__(self, work: Callable[[], int]) -> None:
        self._files = [os.memfd_create(name) for name in ("out", "err")]
        self.code: int | None = None
        self.most_bytes, self.cpu_s = 0, 0.0
        sys.stdout.flush()
        sys.stderr.flush()
        self.pid = os.fork()
        if self.pid == 0:  # never returns
            gc.freeze()  # what is left of a clip read before waits, when it is collected, for threads that are not here
            code = 70
            with suppress(BaseException):
                for descriptor, file in zip((1, 2), self._files, strict=True):
                    os.dup2(file, descriptor)
                sys.stdout, sys.stderr = os.fdopen(1, "w", closefd=False), os.fdopen(2, "w", closefd=False)
                signal.signal(signal.SIGINT, signal.default_int_handler)
                code = self._worked(work)
            os._exit(code)

    @staticmethod
    def _worked(work: Callable[[], int]) -> int:
        try:
            return work()
        except Exception:
            traceback.print_exc()
            raise
        finally:
            sys.stdout.flush()
            sys.stderr.flush()

    def poll(self) -> bool:
        """Whether it is gone."""
        if self.code is None:
            pid, status, used = os.wait4(self.pid, os.WNOHANG)
            if pid:
                self.most_bytes, self.cpu_s = used.ru_maxrss * 1024, used.ru_utime + used.ru_stime
                self.code = os.waitstatus_to_exitcode(status)
        return self.code is not None

    def wait(self, timeout_s: float = LONGEST_S, until: Callable[[], bool] = lambda: False) -> bool:
        """Until it is gone, or ``until`` holds, or the time is over. Whether it is gone."""
        end = time.monotonic() + timeout_s
        while not self.poll() and not until() and time.monotonic() < end:
            time.sleep(0.002)
        return self.poll()

    def kill(self, how: signal.Signals = signal.SIGKILL) -> None:
        with suppress(ProcessLookupError):
            if not self.poll():
                os.kill(self.pid, how)
        if not self.wait(30.0):
            os.kill(self.pid, signal.SIGKILL)
            self.wait(30.0)

    @property
    def out(self) -> str:
        return self._read(0)

    @property
    def err(self) -> str:
        return self._read(1)

    def _read(self, which: int) -> str:
        """Opened anew: the child's place in the file is not moved."""
        return Path(f"/proc/self/fd/{self._files[which]}").read_text(encoding="utf-8", errors="replace")

    def close(self) -> None:
        for file in self._files:
            os.close(file)


@cache
def warm() -> None:
    """All that practice and the lists import is imported before the forks: none pays for it, or needs the right to read it."""
    with tempfile.TemporaryDirectory() as folder, redirect_stdout(io.StringIO()):
        main(folder, "1", "1")
        for command in COMMANDS:
            spoken("--data-folder", folder, *command)


def practising(folder: Path, seed: int, strokes: int, before: Callable[[], None] = lambda: None) -> Child:
    """A child that practises; before: done in it first."""

    def work() -> int:
        before()
        return main(str(folder), str(seed), str(strokes))

    return Child(work)


def told(out: str) -> list[int]:
    """Numbers of the strokes whose result was told."""
    whole = out[: out.rfind("\n") + 1]
    return [int(number) for number in TELLS.findall(whole)]
