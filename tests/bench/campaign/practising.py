"""Practice in a process of its own, for campaigns that harm it: the real session, loop and record, fed as fast as it goes.

    python -m tests.bench.campaign.practising FOLDER SEED STROKES [STUDENT]

What vision would have seen is invented beforehand. Each stroke is told on standard output as practice tells it, each sound with
"sound NAME". A student is made before, and exported, erased and imported again afterwards, which is told too.
"""

from __future__ import annotations

import re
import sys
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Iterator, Sequence

import numpy as np

from tests.support.practice_stage import FPS, PICTURE, QUIET, Watches, joined, stroke
from trainer.app.practice.practice import Machine
from trainer.commands.cli import _guarded, run
from trainer.commands.console import CONSOLE
from trainer.commands.practice import PracticeOptions, practise
from trainer.domain.observation import Frame, Observation
from trainer.live.ports import Devices, Sounds
from trainer.settings.model import Settings
from trainer.testing.fakes import FakeTonePlayer, ListSource
from trainer.testing.simulate_idle import idle, idle_observations
from trainer.ui.drawing.window import NoWindow
from trainer.vision.sources.base import Source

ERASE, IMPORT = "erase", "import"
TELLS = re.compile(r"^stroke ([0-9]+) \(", re.MULTILINE)  # begins a line that tells a stroke


class SaysSounds(FakeTonePlayer):
    """A loudspeaker that prints."""

    def play(self, name: str) -> None:
        print(f"sound {name}", flush=True)


@dataclass
class QuickStage:
    """A machine without waiting: neither window nor camera."""

    seen: Sequence[Observation]

    @property
    def machine(self) -> Machine:
        return Machine(self.open_devices, self._source, lambda settings: Watches(self.seen), cautions_s=0.0)

    @contextmanager
    def open_devices(self, settings: Settings, sounds: Sounds, window: bool) -> Iterator[Devices]:
        yield Devices(NoWindow(), SaysSounds(lambda: 0.0), CONSOLE)

    def _source(
        self, settings: Settings, clip: Path | None = None, paced: bool = True, folder: Path | None = None
    ) -> Source:
        return ListSource([Frame(s.index, s.time_s, PICTURE) for s in self.seen], name="stage")


def session_seen(seed: int, strokes: int, idle_s: float = 0.0) -> list[Observation]:
    """Ball strokes, with idle minutes between them if wanted."""
    rng = np.random.default_rng(seed)
    parts: list[list[Observation]] = []
    for k in range(strokes):
        if idle_s:
            scene = idle(idle_s, int(rng.integers(1 << 30)))
            parts.append(list(idle_observations(scene, FPS, QUIET, np.random.default_rng(k))))
        parts.append(stroke(float(rng.uniform(-0.4, 1.4))))
    return joined(*parts)


def main(folder: str, seed: str, strokes: str, student: str = "") -> int:
    stage = QuickStage(session_seen(int(seed), int(strokes)))
    if student and run(["--data-folder", folder, "students", "add", student]):
        return 1
    options = PracticeOptions(student=student or None, window=False)
    code = _guarded(lambda: practise(Path(folder), options, stage.machine))
    if student and not code:
        code = _erased_and_back(folder, student)
    return code


def _erased_and_back(folder: str, student: str) -> int:
    """Each begun and done is told."""
    on, out = ["--data-folder", folder, "students"], str(Path(folder).with_name(f"{student}.zip"))
    code = run([*on, "export", student, "--out", out])
    for words, command in ((ERASE, ["erase", student, "--yes"]), (IMPORT, ["import", out])):
        print(f"begins: {words}", flush=True)
        code = code or run([*on, *command])
        print(f"is done: {words}", flush=True)
    return code


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
