"""Long practice: strokes with everything that players do between them, faster than life; nothing may grow or sound by itself.

A round is an hour of practice. Body points are invented as they are wanted and stand in for the pose model. Seeds that MODEL
divides are a shorter piece with the model, before a clip shown over and over.
"""

from __future__ import annotations

import os
import random
import re
import threading
from dataclasses import replace
from pathlib import Path
from typing import Any, Iterable, Iterator

from tests.bench.campaign.checks import record_faults, spoken_faults
from tests.bench.campaign.forked import Child, told
from tests.bench.campaign.practising import QuickStage, session_seen
from tests.support.paths import DATA
from tests.support.practice_stage import FPS, PICTURE
from trainer.app.practice.practice import Machine, load_observer
from trainer.commands.cli import _guarded
from trainer.commands.practice import PracticeOptions, practise
from trainer.domain.observation import Frame, Observation
from trainer.domain.verdict import FAULT_NAMES
from trainer.settings.model import Settings
from trainer.store.database import FILE_NAME
from trainer.vision.sources.base import Source
from trainer.vision.sources.clip import Clip

STROKES, IDLE_S, STROKES_AT_ONCE = 30, 113.0, 2
MODEL, MODEL_MINUTES, CLIP = 100, 6.0, DATA / "clips" / "recoil_dark.mp4"
GROWN_BYTES, EACH_STROKE = 40e6, (10e3, 150e3)
NOT_COUNTED = "a stroke was seen and not counted: "
_TOLD = re.compile(r"^(?:sound (?P<cue>\w+)|stroke (?P<number>\d+) \(.*?(?P<none>: none)?)$", re.MULTILINE)


class Sampled(Source):
    """Frames; notes memory, threads and open files at each minute of practice."""

    name, size = "stage", (640, 480)

    def __init__(self, frames: Iterable[Frame]) -> None:
        self._frames = iter(frames)
        self._minute = 0
        self.samples: list[tuple[float, int, int]] = []

    def read(self) -> Frame | None:
        frame = next(self._frames, None)
        if frame is not None and frame.time_s >= 60 * self._minute:
            self._minute += 1
            pages = int(Path("/proc/self/statm").read_text().split()[1])
            handles = len(list(Path("/proc/self/fd").iterdir()))
            self.samples.append((pages * float(os.sysconf("SC_PAGE_SIZE")), threading.active_count(), handles))
        return frame

    @property
    def measured_fps(self) -> float | None:
        return FPS

    def close(self) -> bool:
        return True

    def faults(self) -> Iterator[str]:
        """What grew from the third minute on."""
        early, late = self.samples[2], self.samples[-1]
        if late[0] - early[0] > GROWN_BYTES:
            yield f"memory grew from {early[0] / 1e6:.0f} to {late[0] / 1e6:.0f} MB"
        if late[1] > early[1] or late[2] > early[2]:
            yield f"threads and handles went from {early[1:]} to {late[1:]}"


class _Stage(QuickStage):
    """Observations that are gone once they were looked at."""

    def __init__(self, seed: int, strokes: int) -> None:
        super().__init__(())
        self._known: dict[int, Observation] = {}
        self.source = Sampled(self._frames(seed, strokes))

    @property
    def machine(self) -> Machine:
        return Machine(self.open_devices, self._source, lambda settings: self, cautions_s=0.0)

    def _frames(self, seed: int, strokes: int) -> Iterator[Frame]:
        index = 0
        for k in range(0, strokes, STROKES_AT_ONCE):
            for seen in session_seen(seed + k, STROKES_AT_ONCE, IDLE_S):
                self._known[index] = replace(seen, index=index, time_s=index / FPS)
                yield Frame(index, index / FPS, PICTURE)
                index += 1

    def _source(
        self, settings: Settings, clip: Path | None = None, paced: bool = True, folder: Path | None = None
    ) -> Source:
        return self.source

    def find_body(self, frame: Frame) -> None:
        return None

    def look(self, frame: Frame, found: Any) -> Observation:
        return self._known.pop(frame.index)


class _ModelStage(_Stage):
    """The pose model before a clip that is shown forth and back."""

    @property
    def machine(self) -> Machine:
        return Machine(self.open_devices, self._source, load_observer, cautions_s=0.0)

    def _frames(self, seed: int, strokes: int) -> Iterator[Frame]:
        clip = Clip(CLIP)
        images = [frame.image for frame in iter(clip.read, None)]
        clip.close()
        there_and_back = [*images, *images[-2:0:-1]]
        for index in range(int(MODEL_MINUTES * 60 * FPS)):
            yield Frame(index, index / FPS, there_and_back[index % len(there_and_back)])


def _cue_faults(out: str) -> Iterator[str]:
    """A cue stands before the stroke that it is of, and that one has a fault."""
    cue = None
    for line in _TOLD.finditer(out):
        if line["cue"] is None:
            if cue is not None and line["none"]:
                yield f"{cue} was heard and stroke {line['number']} has no fault"
            cue = None
        elif line["cue"] in FAULT_NAMES:
            if cue is not None:
                yield f"{cue} and {line['cue']} were heard for one stroke"
            cue = line["cue"]
    if cue is not None:
        yield f"{cue} was heard and no stroke came"


def one_round(seed: int, folder: Path, strokes: int = STROKES) -> list[str]:
    """One piece, in a process of its own."""
    modelled = seed % MODEL == 0
    stage = (_ModelStage if modelled else _Stage)(random.Random(seed).randrange(1 << 30), strokes)

    def work() -> int:
        code = _guarded(lambda: practise(folder / "data", PracticeOptions(window=False), stage.machine))
        print(*(f"found {fault}" for fault in stage.source.faults()), sep="\n")
        first, last = stage.source.samples[2], stage.source.samples[-1]
        print(f"soaked: {first[0] / 1e6:.0f} to {last[0] / 1e6:.0f} MB, threads and handles {first[1:]} to {last[1:]}")
        return code

    child = Child(work)
    if not child.wait(3600.0):
        child.kill()
        return ["did not end"]
    found = [*spoken_faults(child.code, child.err, (0,)), *_cue_faults(child.out)]
    found += [line for line in child.out.splitlines() if line.startswith("found ")]
    numbers = told(child.out)
    print(*(line for line in child.out.splitlines() if line.startswith("soaked")), f"{len(numbers)} strokes")
    if modelled and not numbers:
        found.append("no stroke was told")
    if not modelled and len(numbers) != strokes:
        reasons = child.out.count(NOT_COUNTED)
        found.append(f"{len(numbers)} strokes were told where {strokes} were made, {reasons} with a reason why not")
    size = sum(path.stat().st_size for path in (folder / "data").glob(f"{FILE_NAME}*")) / max(len(numbers), 1)
    if not EACH_STROKE[0] < size < EACH_STROKE[1]:
        found.append(f"{size / 1e3:.0f} kB a stroke")
    child.close()
    return found + list(record_faults(folder / "data", numbers))
