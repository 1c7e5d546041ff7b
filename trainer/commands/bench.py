"""`bench`: how much of the pose model's own speed is left when everything else runs too."""

from __future__ import annotations

import time
from pathlib import Path

from trainer.commands import assemble
from trainer.commands.analyse import watch
from trainer.commands.wiring import setup
from trainer.resources import data_path
from trainer.settings.model import Settings
from trainer.vision.body import PoseBody
from trainer.vision.clip import Clip

WANTED_RATIO = 0.75


def run_bench(data_folder: Path | None, clip: Path | None, rounds: int) -> int:
    """Both loops in turn, ``rounds`` times each, so that both meet the same machine. Loading does not count."""
    path = clip or data_path("demo", "demo.mp4")
    settings = setup(data_folder).settings
    bare_s = analyse_s = 0.0
    frames = 0
    for _ in range(rounds):
        count, took_s = _bare(path)
        frames += count
        bare_s += took_s
        analyse_s += _analyse(path, settings)
    bare_fps, analyse_fps = frames / bare_s, frames / analyse_s
    print(f"{path.name}: {frames // rounds} frames, each loop {rounds} times in turn")
    print(f"bare loop (decode, pose model): {bare_fps:.1f} frames/s")
    print(f"analyse (everything):           {analyse_fps:.1f} frames/s")
    print(f"ratio:                          {analyse_fps / bare_fps:.2f} (wanted: {WANTED_RATIO} or more)")
    return 0


def _bare(path: Path) -> tuple[int, float]:
    """(frames, s) of a loop that only decodes and runs the pose model."""
    import cv2

    Clip(path).close()  # says in a line what is wrong with the file
    body = PoseBody()
    capture = cv2.VideoCapture(str(path))
    count = 0
    begun = time.perf_counter()
    while True:
        ok, image = capture.read()
        if not ok:
            break
        body.find(image)
        count += 1
    took_s = time.perf_counter() - begun
    capture.release()
    body.close()
    return count, took_s


def _analyse(path: Path, settings: Settings) -> float:
    """Seconds that `analyse` takes for the frames of the clip."""
    watches = assemble.watcher(settings)
    pipeline = assemble.pipeline(settings, watches)
    begun = time.perf_counter()
    clip = Clip(path)
    with clip:
        _, _, error = watch(clip, pipeline)
    took_s = time.perf_counter() - begun
    watches.close()
    if error is not None:
        raise error
    return took_s
