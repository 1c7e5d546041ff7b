"""The microphone beside the camera, where it is wanted: opened, given to the strokes, told of at the end."""

from __future__ import annotations

from contextlib import ExitStack, closing
from dataclasses import dataclass
from datetime import datetime, timezone
from pathlib import Path
from typing import Callable

from trainer.camera_setup.camera_memory import recall_sound, remember_sound
from trainer.errors import SoundError, StoreError
from trainer.hearing.ears import Ears, SoundStream
from trainer.live.ports import Reporter
from trainer.settings.model import Settings
from trainer.stroke.click_delay import expected
from trainer.stroke.impact_sound import ImpactSound
from trainer.texts import tr
from trainer.vision.sources.base import Clock

OpensMicrophone = Callable[[Settings, Clock], SoundStream]
WHAT_IS_HEARD = tr(
    "listening for the click of the ball ({microphone}): "
    "only when, how loudly and how brightly it clicked is used, no sound is kept"
)


def open_microphone(settings: Settings, clock: Clock) -> SoundStream:
    """That of the settings. Raises SoundError where there is none."""
    from trainer.hearing.microphone import Microphone

    return Microphone(clock.now, settings.hearing.device)


@dataclass(frozen=True)
class DelayMemory:
    """Where the delay of this camera against each microphone is kept from session to session."""

    base: Path
    camera: str


class Hearing:
    """What a run of practice hears."""

    def __init__(self, ears: Ears, reporter: Reporter, memory: DelayMemory) -> None:
        self._ears, self._memory, self._reporter = ears, memory, reporter
        self.impact = ImpactSound(ears.onsets, expected(recall_sound(memory.base, memory.camera, ears.name)))
        reporter.report(WHAT_IS_HEARD.format(microphone=ears.name))

    def keep(self) -> None:
        """What this session found of the delay, for the next ones."""
        own, memory = self.impact.own, self._memory
        if own is None:
            return
        try:
            remember_sound(memory.base, memory.camera, self._ears.name, own, datetime.now(timezone.utc))
        except StoreError as error:
            self._reporter.report(error.line())

    def result(self) -> tuple[str, ...]:
        """How it went, in lines."""
        if self._ears.failure is not None:
            return (
                tr(
                    "the microphone gave out ({name}): from then on impact is by the picture alone",
                    name=type(self._ears.failure).__name__,
                ),
            )
        strokes, delay = self.impact.strokes, self.impact.delay
        if not strokes:
            return ()
        heard = tr("the click was heard in {heard} of {strokes} ball strokes", heard=self.impact.heard, strokes=strokes)
        if delay is None:
            return (tr("{heard}; impact is by the picture alone until three agree", heard=heard),)
        late_ms = -1000 * delay.value_s
        return (tr("{heard}; the picture comes {late_ms:.0f} ms after the sound", heard=heard, late_ms=late_ms),)


def open_hearing(
    settings: Settings, clock: Clock, opens: OpensMicrophone, opened: ExitStack, reporter: Reporter, base: Path
) -> Hearing | None:
    """None where it is not wanted, or there is none, which is said. opened: gives it back; base: the data folder."""
    if not settings.hearing.microphone:
        return None
    try:
        ears = Ears(opens(settings, clock))
        opened.enter_context(closing(ears))
        ears.start()
    except SoundError as error:
        reporter.report(tr("{line}: impact is by the picture alone", line=error.line()))
        return None
    return Hearing(ears, reporter, DelayMemory(base, str(settings.camera.source)))
