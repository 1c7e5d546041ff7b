"""What a run of practice saw: advice said once, a wrong view, strokes that are not counted, and why there was no stroke."""

from __future__ import annotations

from trainer.app.clip_pace import ClipPace, SlowMotion
from trainer.app.practice.view_teller import ViewTeller
from trainer.app.visibility import Visibility
from trainer.live.pipeline import StepResult
from trainer.settings.model import Settings
from trainer.texts import tr

TRIED_FRAMES = 90  # practice that was ended sooner asks for no reason why there was no stroke


class Seen:
    """``see`` with every frame that is judged. pace: of the clip in the camera's place."""

    def __init__(self) -> None:
        self.pace: ClipPace | None = None
        self._visibility, self._view_teller = Visibility(), ViewTeller()
        self._any_stroke = False  # on record, left out or broken off

    def slow_motion(self) -> SlowMotion | None:
        """What is wrong with a clip in which no stroke was found, for it plays slower than life."""
        try:
            if self.pace is not None:
                self.pace.end()
        except SlowMotion as slow:
            return slow
        return None

    def see(self, result: StepResult) -> tuple[str, ...]:
        """Lines to say. Raises SlowMotion."""
        if self.pace is not None:
            self.pace.see(result)
        moment = result.moment
        lines = self._visibility.add(result.observation, moment.phase)
        lines += self._view_teller.see(result.observation, moment.phase)
        self._any_stroke |= result.finished is not None or bool(moment.uncounted)
        return lines

    @property
    def advice(self) -> tuple[str, ...]:
        """What stands now."""
        return self._visibility.advice

    def nothing_found(self, settings: Settings, at_end: bool) -> tuple[str, ...]:
        """Why there was no stroke, where there was none and frames enough for one. at_end: one came with the last frame."""
        if at_end or self._any_stroke or self._visibility.frames < TRIED_FRAMES:
            return ()
        if self._view_teller.line:
            return (tr("no stroke found; {line}", line=self._view_teller.line),)
        return (self._visibility.no_stroke(settings, tr("camera or clip")),)
