"""Where a frame's processor time goes, stage by stage: tests/bench/PROFILE.md holds what came out.

    python -m tests.bench.profile CLIP [--enlarge 1.5] [--functions 30]

Stages are timed by the thread's own processor time, so that other programs count little; what is timed costs a few microseconds
more. --enlarge shows the frames that much larger: the same picture at another size, for the time alone.
"""

from __future__ import annotations

import argparse
import cProfile
import pstats
import time
from collections import defaultdict
from pathlib import Path
from typing import Any

import cv2

from trainer.app import build
from trainer.domain.observation import Frame
from trainer.settings.load import load
from trainer.vision.observer import Observer
from trainer.vision.sources.clip import Clip

# What is timed: the stage, the observer's part, its method.
PARTS = (
    ("light", "_light", "see"),
    ("camera knocked", "_shake", "see"),
    ("flicker", "_steady", "steadied"),
    ("head turn", "_head", "update"),
    ("ball", "_ball", "update"),
    ("putter", "_putter", "update"),
    ("scale", "_ruler", "update"),
)


class Stages:
    """Seconds by stage."""

    def __init__(self) -> None:
        self.spent_s: dict[str, float] = defaultdict(float)

    def timed(self, stage: str, call: Any) -> Any:
        def timing(*given: Any, **named: Any) -> Any:
            begun = time.thread_time()
            result = call(*given, **named)
            self.spent_s[stage] += time.thread_time() - begun
            return result

        return timing

    def watch(self, observer: Observer) -> None:
        for stage, part, method in PARTS:
            owner = getattr(observer, part)
            setattr(owner, method, self.timed(stage, getattr(owner, method)))
        model = observer.body
        model.find = self.timed("pose model", model.find)  # type: ignore[method-assign]


def profile(path: Path, enlarge: float, functions: int) -> dict[str, float]:
    """Milliseconds a frame by stage; prints the busiest functions where any are asked for."""
    with Clip(path) as clip:
        frames = list(clip)
    if enlarge != 1.0:
        frames = [Frame(f.index, f.time_s, cv2.resize(f.image, None, fx=enlarge, fy=enlarge)) for f in frames]
    settings = load([])
    observer, stages = build.observer(settings), Stages()
    pipeline = build.pipeline(settings, observer)
    stages.watch(observer)
    find, step = stages.timed("body", pipeline.find_body), stages.timed("all but the body", pipeline.step)
    profiler = cProfile.Profile()
    for frame in frames:
        body = find(frame)
        if functions:
            profiler.enable()
        step(frame, body)
        profiler.disable()
    observer.close()
    if functions:
        pstats.Stats(profiler).sort_stats("tottime").print_stats(functions)
    spent = {stage: 1000 * seconds / len(frames) for stage, seconds in stages.spent_s.items()}
    spent["points carried"] = spent.pop("body") - spent["pose model"]
    known = sum(spent[stage] for stage, _, _ in PARTS)
    spent["points put together, stroke, verdict"] = spent["all but the body"] - known
    return spent


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.profile", description="A frame's time by stage.")
    parser.add_argument("clip", type=Path)
    parser.add_argument("--enlarge", type=float, default=1.0)
    parser.add_argument("--functions", type=int, default=0)
    args = parser.parse_args()
    spent = profile(args.clip, args.enlarge, args.functions)
    print("| stage | ms a frame |\n|---|---|")
    for stage, ms in sorted(spent.items(), key=lambda item: -item[1]):
        print(f"| {stage} | {ms:.2f} |")


if __name__ == "__main__":
    main()
