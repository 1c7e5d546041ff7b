"""Memory of pictures is not given back to the system between two frames."""

from __future__ import annotations

import platform
import sys

import numpy as np
import pytest

import trainer.vision  # noqa: F401  # it is what does it

PICTURES, ROUNDS, BYTES = 8, 20, 640 * 480 * 3
PAGE = 4096


@pytest.mark.skipif(sys.platform != "linux" or platform.libc_ver()[0] != "glibc", reason="of Linux' glibc")
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
