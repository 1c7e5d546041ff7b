"""A video of what the window would have shown, drawn by the same code. Needs no display."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from trainer.domain.observation import Frame
from trainer.live.display_types import Targets
from trainer.live.pipeline import Finished, StepResult
from trainer.live.practice_state import DisplayState, DisplayStateBuilder
from trainer.ui.export.encoder import Encoder
from trainer.ui.export.files import SIZE, pixels
from trainer.ui.practice.practice_view import PracticeView, head_turn_deg

LINGER_S = 1.0  # the last result is shown so long


class AnnotatedClip:
    """``add`` every frame with its step, then ``close``, or ``abandon``: then there is no file. Each picture has the frame's
    own time.

    Raises UsageError when the file cannot be written.
    """

    def __init__(
        self, path: Path, fps: float, targets: Targets | None = None, theme: str = "dark", size: tuple[int, int] = SIZE
    ) -> None:
        import pygame

        self._step_s = 1.0 / fps
        self._states = DisplayStateBuilder(targets)
        self._view = PracticeView(theme)
        self._surface = pygame.Surface(size)
        self._encoder = Encoder(path, size, fps)
        self._begun = False
        self._last_s = 0.0
        self._until_s: float | None = None

    def add(self, frame: Frame, step: StepResult) -> None:
        self._write(self._states.see(frame, step), frame.time_s)

    def finish(self, finished: Finished | None, linger_s: float = LINGER_S) -> None:
        """After the last frame: the result of the last stroke, if it did not come to be shown, for ``linger_s``."""
        if finished is not None:
            self._states.close(finished)
        if finished is not None or self._states.waiting:
            self._write(self._states.end(), self._last_s + self._step_s)
        self._until_s = self._last_s + linger_s

    def close(self) -> None:
        """Finishes the file. May be called twice."""
        self._encoder.close(self._until_s)

    def abandon(self) -> None:
        """May be called twice, and after ``close``."""
        self._encoder.abandon()

    def _write(self, view: DisplayState, time_s: float) -> None:
        shown = replace(view, recorded=True)
        self._view.draw(self._surface, shown if self._begun else _thumbnail(shown))
        self._begun = True
        self._encoder.add(pixels(self._surface), time_s)
        self._last_s = time_s


def _thumbnail(view: DisplayState) -> DisplayState:
    """The first picture stands for the clip where clips are listed: without what is not seen yet."""
    observation = view.observation
    if observation is not None:
        observation = replace(observation, reasons={})
    return replace(view, observation=observation, dial=view.dial if head_turn_deg(view) is not None else "hidden")
