"""A plain loop for screens that look at every frame and judge no stroke: read, step, sound, show, until told to end."""

from __future__ import annotations

from typing import Any, Callable

from trainer.domain.observation import Frame
from trainer.feedback.tones import Muting
from trainer.live.keys import PAUSE_KEY
from trainer.live.linking import LINK_LOOK_S, TellsLink
from trainer.live.ports import MUTE, PAUSE, QUIT, Devices
from trainer.texts import tr
from trainer.vision.sources.base import Source, Waiting

# A picture that stands still looks like a program that hangs.
PAUSED = Waiting(tr("Paused"), tr("{key}: go on", key=PAUSE_KEY.label))
Step = Callable[[Frame], "tuple[Any, str | None]"]


def run_frame_loop(source: Source, step: Step, devices: Devices, done: Callable[[], bool] = lambda: False) -> bool:
    """Until the source ends, the user does, or ``done`` says so. Returns whether it ended by itself (``done``).

    step: from a frame to (what to show, the sound to play or None). Raises what the source or the step raises.
    """
    display, sounds = devices.display, Muting(devices.tones, source.play)
    tells = TellsLink([source], devices.reporter, display)
    paused = waits = False
    try:
        while not done():
            for command in display.poll():
                if command == QUIT:
                    return False
                paused = paused != (command == PAUSE)
                if command == MUTE:
                    sounds.muted = not sounds.muted
                if paused:
                    display.show(PAUSED)
            if not source.ready(LINK_LOOK_S):
                waits = tells.tell()
                continue
            waits = waits and tells.tell()
            frame = source.read()
            if frame is None:
                return False
            if paused:
                continue
            view, sound = step(frame)
            if sound is not None:
                sounds.play(sound)
            display.show(view)
    except KeyboardInterrupt:  # Ctrl-C is how a run without a window ends
        return False
    return True
