"""The display goes while a window is open: the X server is killed at any instant of practice, or within moments of a told stroke.

Xlib ends a program whose server is gone, at once and without a word: what was told has to be on record by then. Needs Xvfb.
"""

from __future__ import annotations

import os
import random
import shutil
import subprocess
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Iterator

from tests.bench.campaign.checks import record_faults
from tests.bench.campaign.forked import Child, told, warm
from tests.bench.campaign.practising import QuickStage, SaysSounds, session_seen
from trainer.commands.cli import _guarded
from trainer.commands.console import CONSOLE
from trainer.commands.practice import PracticeOptions, practise
from trainer.live.ports import Devices, Sounds
from trainer.settings.model import Settings

LOSSES, STROKES = 20, 2
EACH = f"{LOSSES} losses"
LONGEST_S, AFTER_S, ENDS_S = 3.0, 0.03, 60.0
HERE = shutil.which("Xvfb") is not None


@contextmanager
def _screen() -> Iterator[tuple[subprocess.Popen[bytes], str]]:
    """A server of its own and the name of its display."""
    read, write = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-screen", "0", "800x600x24", "-nolisten", "tcp"],
        pass_fds=(write,),
        stderr=subprocess.DEVNULL,
    )
    os.close(write)
    try:
        with os.fdopen(read) as said:
            yield server, f":{said.readline().strip()}"
    finally:
        server.kill()
        server.wait()


class _WindowStage(QuickStage):
    @contextmanager
    def open_devices(self, settings: Settings, sounds: Sounds, window: bool) -> Iterator[Devices]:
        from trainer.ui.drawing.window import open_window

        shown = open_window(settings.window, "display")
        assert shown is not None, "no window"
        print("window is there", flush=True)
        yield Devices(shown, SaysSounds(lambda: 0.0), CONSOLE)


def _work(folder: Path, seed: int, display: str) -> int:
    import pygame

    pygame.display.quit()  # a display that was open before the fork is another one
    os.environ |= {"SDL_VIDEODRIVER": "x11", "DISPLAY": display}
    stage = _WindowStage(session_seen(seed, STROKES))
    return _guarded(lambda: practise(folder, PracticeOptions(), stage.machine))


def one_round(seed: int, folder: Path, losses: int = LOSSES) -> list[str]:
    """Losses on one record."""
    assert HERE, "Xvfb is not here"
    rng, found = random.Random(seed), []
    warm()
    for k in range(losses):
        with _screen() as (server, display):
            child = Child(partial(_work, folder, rng.randrange(1 << 30), display))
            child.wait(ENDS_S, until=lambda child=child: "window is there" in child.out)  # type: ignore[misc]
            if rng.random() < 0.5:
                child.wait(rng.uniform(0.0, LONGEST_S))
            else:
                wanted = rng.randint(1, STROKES)
                child.wait(ENDS_S, until=lambda child=child, wanted=wanted: len(told(child.out)) >= wanted)  # type: ignore[misc]
                child.wait(rng.choice([0.0, rng.uniform(0.0, AFTER_S)]))
            server.kill()
        if not child.wait(ENDS_S):
            child.kill()
            found.append(f"loss {k}: it went on without an end")
        if "window is there" not in child.out or "Traceback" in child.err:
            found.append(f"loss {k}: {child.code} {child.err.strip()[-300:]}")
        found += [f"loss {k}: {fault}" for fault in record_faults(folder, told(child.out))]
        child.close()
    return found
