"""`check`: is everything ready? One line each for camera, frame rate, light, sound, model and disk, with what to do."""

from __future__ import annotations

import sys
import threading
from pathlib import Path
from typing import Callable, Sequence

import click

from trainer.commands.options import CAMERA
from trainer.texts import printed
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
        report(
            f"{printed(finding.state_words):<15} {printed(finding.title).lower() + ':':<12} {printed(finding.words)}"
        )
        ready = ready and finding.state != "problem"
    return 0 if ready else 2


def _sound(folder: Path | None) -> int:
    """The loudspeaker alone."""
    from trainer.app.context import load_context
    from trainer.app.sound_check import check_sound, machine_room
    from trainer.commands.console import CONSOLE

    return 0 if check_sound(load_context(folder), machine_room(taps_by_enter), CONSOLE) is not None else 2


def taps_by_enter(now: Callable[[], float]) -> Callable[[], Sequence[float]]:
    """Begins to note them."""
    key = EnterKey(now)
    key.start()
    return key.times


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
