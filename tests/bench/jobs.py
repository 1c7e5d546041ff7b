"""`analyse` of several clips, with one job, with two, and with one held to one core: whole commands, clips judged a minute.

Two such commands at once, a core each, over all clips each: what the machine itself gives with a second core.

    python -m tests.bench.jobs CLIP... [--rounds 3] [--out FILE.md]

Rounds in turn, medians; loading counts, as it does for a user. With two cores one job already uses more than one of them: points
are found in one thread, the rest in another. Of Linux: cores are given by affinity.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Sequence

from tests.bench.tables import tell
from tests.support.paths import ROOT

# Kind of run -> jobs, cores (None: all there are).
RUNS: dict[str, tuple[int, int | None]] = {"one job": (1, None), "two jobs": (2, None), "one job on one core": (1, 1)}
BARS = {"one job": 1.2, "one job on one core": 1.7}  # how many times as fast two jobs are wanted


def started(clips: Sequence[Path], jobs: int, cores: set[int], data: str) -> subprocess.Popen[bytes]:
    """One command over all clips."""
    command = [sys.executable, "-m", "trainer", "--data-folder", data, "analyse", "--jobs", str(jobs), *map(str, clips)]
    before = os.sched_getaffinity(0)
    os.sched_setaffinity(0, cores)  # the command inherits it
    try:
        return subprocess.Popen(
            command, stdout=subprocess.DEVNULL, env=os.environ | {"PYTHONPATH": str(ROOT)}, cwd=ROOT
        )
    finally:
        os.sched_setaffinity(0, before)


def took_s(clips: Sequence[Path], jobs: int, each: Sequence[set[int]]) -> float:
    """Of a command over all clips on each of these sets of cores, all at once; s."""
    with tempfile.TemporaryDirectory() as data:
        begun = time.monotonic()
        commands = [started(clips, jobs, cores, data) for cores in each]
        codes = [command.wait() for command in commands]
        if any(codes):
            raise SystemExit("analyse failed")
        return time.monotonic() - begun


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.jobs", description="analyse --jobs.")
    parser.add_argument("clips", type=Path, nargs="+")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--out", type=Path)
    args = parser.parse_args()
    clips = [clip.resolve() for clip in args.clips]
    took: dict[str, list[float]] = {kind: [] for kind in RUNS}
    cores = sorted(os.sched_getaffinity(0))
    apart: list[float] = []
    for _ in range(args.rounds):
        for kind, (jobs, count) in RUNS.items():
            took[kind].append(took_s(clips, jobs, [set(cores[:count])]))
        apart.append(took_s(clips, 1, [{core} for core in cores[:2]]))
    middle = {kind: statistics.median(times) for kind, times in took.items()}
    load = ", ".join(f"{share:.1f}" for share in os.getloadavg())
    lines = [
        f"\n{len(clips)} clips, {args.rounds} rounds, {len(os.sched_getaffinity(0))} cores, load {load}\n",
        "| run | s | clips a minute | two jobs are so many times as fast | wanted |\n|---|---|---|---|---|",
    ]
    for kind, each_s in middle.items():
        gain, wanted = each_s / middle["two jobs"], BARS.get(kind)
        bar = f"{wanted:g}: {'reached' if gain >= wanted else 'missed'}" if wanted is not None else "-"
        lines.append(f"| {kind} | {each_s:.1f} | {60 * len(clips) / each_s:.1f} | {gain:.2f} | {bar} |")
    gives = 2 * middle["one job on one core"] / statistics.median(apart)
    lines.append(f"\nTwo commands of one job at once, a core each, get {gives:.2f} times as much done as one.")
    tell(lines, args.out)


if __name__ == "__main__":
    main()
