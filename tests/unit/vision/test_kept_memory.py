"""Memory of pictures is not given back to the system between two frames, and is kept once for all threads."""

from __future__ import annotations

import platform
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import trainer.vision  # noqa: F401  # it is what does it

PICTURES, ROUNDS, BYTES = 8, 20, 640 * 480 * 3
PAGE = 4096


# Three threads at once take and keep memory; then glibc writes into the file named what it keeps, a <heap> each.
AT_ONCE = """
import ctypes, sys, threading
import trainer.vision
libc = ctypes.CDLL(None)
libc.malloc.restype = libc.fopen.restype = ctypes.c_void_p
together = threading.Barrier(3)
def take():
    together.wait()
    for _ in range(100):
        libc.malloc(ctypes.c_size_t(1 << 16))
    together.wait()
threads = [threading.Thread(target=take) for _ in range(3)]
for thread in threads:
    thread.start()
for thread in threads:
    thread.join()
file = ctypes.c_void_p(libc.fopen(sys.argv[1].encode(), b"w"))
libc.malloc_info(0, file)
libc.fclose(file)
"""
of_glibc = pytest.mark.skipif(sys.platform != "linux" or platform.libc_ver()[0] != "glibc", reason="of Linux' glibc")


@of_glibc
def test_pictures_that_come_and_go_are_not_mapped_anew() -> None:
    import resource

    def come_and_go(rounds: int) -> int:
        """Page faults meanwhile."""
        before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
        for _ in range(rounds):
            held = [np.full(BYTES, n, np.uint8) for n in range(PICTURES)]
            del held
        return resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before

    come_and_go(2)
    mapped_anew = ROUNDS * PICTURES * BYTES // PAGE
    assert come_and_go(ROUNDS) < mapped_anew / 10


@of_glibc
def test_threads_share_what_is_kept(tmp_path: Path) -> None:
    said = tmp_path / "kept.xml"
    subprocess.run([sys.executable, "-c", AT_ONCE, str(said)], check=True, timeout=60)
    assert said.read_text(encoding="ascii").count("<heap nr=") == 1
