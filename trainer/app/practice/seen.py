"""What a run of practice saw: advice said once, a wrong view, strokes that are not counted, and why there was no stroke."""

from __future__ import annotations

from trainer.app.practice.view_teller import ViewTeller
from trainer.app.sightings import Sightings
from trainer.live.pipeline import StepResult
from trainer.settings.model import Settings
from trainer.texts import tr

TRIED_FRAMES = 90  # practice that was ended sooner asks for no reason why there was no stroke


class Seen:
    """``see`` with every frame that is judged."""

    def __init__(self) -> None:
        self._sightings, self._view_teller = Sightings(), ViewTeller()
        self._any_stroke = False  # on record, left out or broken off

    def see(self, result: StepResult) -> tuple[str, ...]:
        """Lines to say."""
        moment = result.moment
        lines = self._sightings.add(result.observation, moment.phase)
        lines += self._view_teller.see(result.observation, moment.phase)
        self._any_stroke |= result.finished is not None or bool(moment.uncounted)
        return lines

    @property
    def advice(self) -> tuple[str, ...]:
        """What stands now."""
        return self._sightings.advice

    def nothing_found(self, settings: Settings, at_end: bool) -> tuple[str, ...]:
        """Why there was no stroke, where there was none and frames enough for one. at_end: one came with the last frame."""
        if at_end or self._any_stroke or self._sightings.frames < TRIED_FRAMES:
            return ()
        if self._view_teller.line:
            return (tr("no stroke found; {line}", line=self._view_teller.line),)
        return (self._sightings.no_stroke(settings, tr("camera or clip")),)
