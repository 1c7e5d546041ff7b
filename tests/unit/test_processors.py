"""The processors that a process may run on are counted, not the machine's."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from trainer.processors import usable_processors


@pytest.mark.skipif(not hasattr(os, "sched_setaffinity"), reason="this system keeps no process to some processors")
def test_a_process_kept_to_one_processor_counts_one() -> None:
    told = "import os; os.sched_setaffinity(0, {min(os.sched_getaffinity(0))});"
    count = "from trainer.processors import usable_processors; print(usable_processors())"
    run = subprocess.run([sys.executable, "-c", told + count], capture_output=True, text=True, check=True, timeout=60)
    assert run.stdout.strip() == "1"


def test_there_is_at_least_one_and_no_more_than_the_machine_has() -> None:
    assert 1 <= usable_processors() <= (os.cpu_count() or 1)
