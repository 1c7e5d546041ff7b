"""Small matrices are multiplied by one thread, whatever the machine has."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from tests.support.paths import ROOT
from trainer.processors import usable_processors

# Both libraries: scipy brings one of its own.
CODE = """
import {first}, os, numpy as np, scipy.linalg
a = np.eye(900)
scipy.linalg.lu_factor(a @ a)
print(len(os.listdir("/proc/self/task")))
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="threads are counted in /proc, of Linux")
@pytest.mark.skipif(usable_processors() < 2, reason="one core: there is one thread in any case")
@pytest.mark.parametrize(("first", "alone"), [("trainer.__main__", True), ("tests.bench", True), ("math", False)])
def test_no_threads_for_small_matrices(first: str, alone: bool) -> None:
    environment = {n: v for n, v in os.environ.items() if not n.endswith("_NUM_THREADS")} | {"PYTHONPATH": str(ROOT)}
    said = subprocess.run(
        [sys.executable, "-c", CODE.format(first=first)], env=environment, capture_output=True, check=True
    )
    assert (int(said.stdout) == 1) == alone
