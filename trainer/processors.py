"""How many processors there are for this program."""

from __future__ import annotations

import os


def usable_processors() -> int:
    """Those that this process may run on: fewer than the machine has where it was told so (taskset, a container). At least 1."""
    if hasattr(os, "process_cpu_count"):  # Python 3.13
        return os.process_cpu_count() or 1
    if hasattr(os, "sched_getaffinity"):  # not on Windows and macOS
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
