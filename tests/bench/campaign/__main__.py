"""Campaigns: the trainer harmed in every way that can be thought of, round after round; nothing may be lost.

    python -m tests.bench.campaign NAME [--rounds N] [--seed S] [--jobs J] [--note TEXT]

What a round finds is printed with its seed, by which the same round is made again (--rounds 1 --seed S). Each run ends as a row
of campaign.md, where the kinds are told.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import signal
import sys
import tempfile
import time
import traceback
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from datetime import date
from importlib import import_module
from pathlib import Path

KINDS = (
    "kill",
    "power",
    "full",
    "together",
    "hostile",
    "camera",
    "monkey",
    "soak",
    "invariants",
    "clock",
    "many",
    "display",
)
TABLE = Path(__file__).parent.parent / "campaign.md"


def guarded_round(kind: str, seed: int) -> list[str]:
    """One round in a folder of its own; what is raised is found too."""
    one_round = import_module(f"tests.bench.campaign.{kind}").one_round
    with tempfile.TemporaryDirectory(prefix=f"campaign-{kind}-", ignore_cleanup_errors=True) as folder:
        try:
            return list(one_round(seed, Path(folder)))
        except Exception as error:
            where = traceback.extract_tb(error.__traceback__)[-1]
            return [f"raised {type(error).__name__}: {str(error)[:300]} at {where.filename}:{where.lineno}"]


def rounds(kind: str, seeds: range, jobs: int) -> tuple[int, dict[int, list[str]]]:
    """(rounds made, seed -> what was found, of those that found something). Ctrl-C ends it early."""
    import_module(f"tests.bench.campaign.{kind}")  # before the fork, once
    found: dict[int, list[str]] = {}
    begun, done = time.monotonic(), 0
    with ProcessPoolExecutor(jobs, multiprocessing.get_context("fork")) as pool, suppress(KeyboardInterrupt):
        waiting = {seed: pool.submit(guarded_round, kind, seed) for seed in seeds}
        try:
            for seed, task in waiting.items():
                try:
                    faults = task.result()
                except BrokenProcessPool:
                    faults = ["the process died"]
                done += 1
                if faults:
                    found[seed] = faults
                    print(f"\nseed {seed}:", *faults, sep="\n  ", flush=True)
                said = f"\r{kind}: {done}/{len(seeds)}, {time.monotonic() - begun:.0f} s "
                print(said, end="", file=sys.stderr, flush=True)
        finally:
            pool.shutdown(cancel_futures=True)
    return done, found


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("kind", choices=KINDS)
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--note", default="", help="for the table: what was mended")
    options = parser.parse_args()
    os.environ |= {"SDL_VIDEODRIVER": "dummy", "SDL_AUDIODRIVER": "dummy", "PYGAME_HIDE_SUPPORT_PROMPT": "1"}
    begun = time.monotonic()
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    done, found = rounds(options.kind, range(options.seed, options.seed + options.rounds), options.jobs)
    minutes = (time.monotonic() - begun) / 60
    seeds = f"{options.seed} to {options.seed + done - 1}"
    words = f"{len(found)} rounds: seeds {', '.join(map(str, list(found)[:8]))}" if found else "nothing"
    each = getattr(import_module(f"tests.bench.campaign.{options.kind}"), "EACH", "")  # what a round is made of
    size = f"{done} of {each}" if each else f"{done}"
    row = f"| {date.today()} | {options.kind} | {seeds} | {size} | {minutes:.1f} | {words} | {options.note} |"
    with TABLE.open("a", encoding="utf-8") as file:
        print(row, file=file)
    print(f"\n{row}")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
