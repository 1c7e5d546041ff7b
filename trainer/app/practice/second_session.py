"""The second camera's session: judged and put on record by the drill that the first camera's session is at."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Protocol

from trainer.app import build
from trainer.app.practice.stroke_recorder import Practised, StrokeRecorder
from trainer.app.practice.stroke_words import stroke_line
from trainer.app.practice.two_cameras import CameraLink
from trainer.coaching.gestures import Order
from trainer.domain.observation import Frame
from trainer.feedback.cues import CueChooser
from trainer.live.advice import AdviceTeller
from trainer.live.pipeline import Finished, Watches
from trainer.live.practice_step import PracticeStep
from trainer.settings.model import Settings
from trainer.texts import tr


class Leads(Protocol):
    """The first camera's session. practised: read from this one's thread."""

    @property
    def practised(self) -> Practised: ...


class SecondSession:
    """No sound, no orders, nothing shown. settings: of the second camera, without a drill; lead: the first's session.

    A stroke is judged by what was practised when it began, also where the drill has changed since.
    """

    def __init__(
        self, settings: Settings, recorder: StrokeRecorder, observer: Watches, lead: Leads, link: CameraLink
    ) -> None:
        self._recorder, self._observer, self._lead, self._link = recorder, observer, lead, link
        self._camera = settings.camera
        self._followed = lead.practised
        self._practised = self._on_this_camera(self._followed)
        self._pipeline = build.pipeline(self._practised.settings, observer, self._chooser())
        self._under_way = False
        self._advice = AdviceTeller()

    def find_body(self, frame: Frame) -> Any:
        return self._observer.find_body(frame)

    def order(self, order: Order) -> None:
        """Orders are the first session's."""

    def step(self, frame: Frame, body: Any) -> PracticeStep:
        if not self._under_way:
            self._follow()
        result = self._pipeline.step(frame, body)
        self._under_way = result.moment.phase.under_way
        news = self._advice.see(result.observation, result.moment.phase)
        messages = tuple(tr("second camera: {line}", line=line) for line in news)
        messages += self._keep(result.finished) if result.finished is not None else ()
        return PracticeStep(result, result.finished, messages=messages)

    def finish(self) -> PracticeStep | None:
        finished = self._pipeline.finish()
        if finished is None:
            return None
        return PracticeStep(finished=finished, messages=self._keep(finished))

    def _on_this_camera(self, practised: Practised) -> Practised:
        return replace(practised, settings=practised.settings.changed(camera=self._camera))

    def _chooser(self) -> CueChooser:
        return CueChooser(build.plan(self._practised.settings))

    def _follow(self) -> None:
        before, self._followed = self._followed, self._lead.practised
        self._practised = self._on_this_camera(self._followed)
        if before.settings is not self._followed.settings:
            settings, strokes = self._practised.settings, self._pipeline.strokes
            self._pipeline = build.pipeline(settings, self._observer, self._chooser(), strokes)

    def _keep(self, finished: Finished) -> tuple[str, ...]:
        record = self._link.linked(finished.number, finished.record)
        self._recorder.save(record, finished.verdict, finished.cues, self._practised)
        self._link.recorded_in(self._recorder.session)
        return (stroke_line(finished, tr("second camera")),)
