"""`check`: is everything ready? One line each for camera, frame rate, light, sound, model and disk, with what to do."""

from __future__ import annotations

import sys
import threading
from pathlib import Path
from typing import Callable, Sequence

import click

from trainer.commands.options import CAMERA
from trainer.worker import Worker


@click.command()
@CAMERA
@click.option(
    "--sound",
    is_flag=True,
    help="How late tones are heard: clicks are played, a microphone or you tell when they came.",
)
@click.pass_obj
def check(folder: Path | None, camera: int | str | None, sound: bool) -> int:
    """Is everything ready? Camera, frame rate, light, sound, model, disk."""
    if sound:
        return _sound(folder)
    from trainer.app.checkup import check_everything
    from trainer.app.context import load_context
    from trainer.commands.console import CONSOLE, report

    ready = True
    for finding in check_everything(load_context(folder, camera__source=camera), reporter=CONSOLE):
        report(f"{finding.state:<8} {finding.title.lower() + ':':<12} {finding.words}")
        ready = ready and finding.state != "problem"
    return 0 if ready else 2


def _sound(folder: Path | None) -> int:
    """The loudspeaker alone."""
    from trainer.app.context import load_context
    from trainer.app.devices import open_tones
    from trainer.app.practice.hearing import open_microphone
    from trainer.app.sound_check import SoundRoom, check_sound
    from trainer.commands.console import CONSOLE, report
    from trainer.vision.sources.base import MonotonicClock

    clock = MonotonicClock()
    taps = EnterKey(clock.now)
    taps.start()
    found = check_sound(load_context(folder), SoundRoom(open_tones, open_microphone, taps.times, clock), CONSOLE)
    report(
        found.words if found is not None else "too few clicks were heard alike: louder, in a quiet room, and try again"
    )
    return 0 if found is not None else 2


class EnterKey:
    """When the Enter key was pressed. now: the clock. Its thread waits for a line, and so ends with the program."""

    def __init__(self, now: Callable[[], float]) -> None:
        self._now = now
        self._times: list[float] = []
        self._worker = Worker("taps", self._run)

    def start(self) -> None:
        self._worker.start()

    def times(self) -> Sequence[float]:
        return tuple(self._times)

    def _run(self, stop: threading.Event) -> None:
        while not stop.is_set() and sys.stdin.readline():
            self._times.append(self._now())
