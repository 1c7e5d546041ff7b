"""From the start of `practice` to its first judged frame, with what is on the disk in the file cache and not.

    python -m tests.bench.starts [--rounds 5] [--clip CLIP] [--out FILE.md]

The command itself is run on a clip, in a window and with a loudspeaker that SDL only plays; the interpreter's own start counts.
Cold: before each such run this interpreter's files, its packages and the trainer are put out of the file cache as far as no other
program has them mapped (of Linux): a machine just switched on is slower still. Rounds in turn, medians.
"""

from __future__ import annotations

import argparse
import os
import re
import statistics
import subprocess
import sys
import sysconfig
import tempfile
import time
from pathlib import Path

from tests.bench.tables import tell
from tests.support.paths import ROOT
from trainer.resources import data_path

FIRST = re.compile(r"the first ([\d.]+) s after the start")
BAR_S = 3.0
# The command, which first says when it began by the machine's clock, as it counts itself.
CHILD = """
import sys, time
from trainer.app.context import since_start_s
print("began", time.monotonic() - since_start_s(), flush=True)
from trainer.commands.cli import run
sys.exit(run(sys.argv[1:]))
"""
BEGAN = re.compile(r"began ([\d.]+)")


def first_frame_s(clip: Path) -> float:
    """From the start of a process of its own, s."""
    with tempfile.TemporaryDirectory() as data:
        command = [sys.executable, "-c", CHILD, "--data-folder", data, "practice", "--clip", str(clip)]
        quiet = {"SDL_VIDEODRIVER": "dummy", "SDL_AUDIODRIVER": "dummy", "PYTHONPATH": str(ROOT)}
        started_s = time.monotonic()
        done = subprocess.run(command, capture_output=True, text=True, check=True, env=os.environ | quiet, cwd=ROOT)
    began, first = BEGAN.search(done.stdout), FIRST.search(done.stdout)
    if began is None or first is None:
        raise SystemExit(f"practice did not say when its first frame was judged:\n{done.stdout}{done.stderr}")
    return float(began.group(1)) - started_s + float(first.group(1))


def forget_files() -> int:
    """Bytes of files whose pages were put out of the cache."""
    paths = sysconfig.get_paths()
    folders = {Path(paths[name]) for name in ("stdlib", "platstdlib", "purelib", "platlib")} | {ROOT / "trainer"}
    size = 0
    for path in {file for folder in folders for file in folder.rglob("*") if file.is_file()}:
        with path.open("rb") as file:
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
            size += path.stat().st_size
    return size


def row(kind: str, times_s: list[float]) -> str:
    low, middle, high = min(times_s), statistics.median(times_s), max(times_s)
    return f"| {kind} | {middle:.1f} | {low:.1f} to {high:.1f} | {'yes' if middle <= BAR_S else 'no'} |"


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.starts", description="Start to first judged frame.")
    parser.add_argument("--clip", type=Path, default=data_path("demo", "demo.mp4"))
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--out", type=Path)
    args = parser.parse_args()
    warm, cold = [], []
    first_frame_s(args.clip)  # compiles, and warms the cache
    for _ in range(args.rounds):
        warm.append(first_frame_s(args.clip))
        forget_files()
        cold.append(first_frame_s(args.clip))
    load = ", ".join(f"{share:.1f}" for share in os.getloadavg())
    lines = (
        f"\n{args.clip.name}, {args.rounds} rounds, load {load}\n",
        f"| file cache | s to the first judged frame | least and most | within {BAR_S:g} s |\n|---|---|---|---|",
        row("warm", warm),
        row("cold", cold),
    )
    tell(lines, args.out)


if __name__ == "__main__":
    main()
