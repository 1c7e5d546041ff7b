"""Gets camera, light, ball and player right: findings from every frame until all is well, then the camera is remembered."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import dataclass, replace
from datetime import datetime, timezone
from functools import partial
from pathlib import Path

from trainer.app.camera_mode import best_mode, camera_mode, may_choose, mode_line, with_mode
from trainer.app.context import Reporter, RunContext
from trainer.app.devices import MACHINE, Devices, Openers, source_and_body
from trainer.camera_setup.camera_memory import Remembered, differs, recall, recall_mode, remember, remember_mode
from trainer.camera_setup.findings import Finding
from trainer.camera_setup.mode_cost import Cost
from trainer.camera_setup.setup_observer import SetupObserver, SetupOptions, SetupStep
from trainer.domain.naming import view_words
from trainer.domain.observation import Frame, Handedness, View
from trainer.live.frame_loop import run_frame_loop
from trainer.texts import tr
from trainer.vision.sources.base import Clock, MonotonicClock, Source
from trainer.vision.sources.camera_device import Mode

LINGER_S = 1.5  # the last state and the bells, before it ends


@dataclass(frozen=True)
class CameraSetupRequest:
    """clip: in place of the camera; view, handedness: None to have them proposed; level: the user set it level by hand."""

    context: RunContext
    clip: Path | None = None
    view: View | None = None
    handedness: Handedness | None = None
    level: bool = False


@dataclass(frozen=True)
class CameraSetupResult:
    """findings: the last ones, empty without a frame; view: of the camera; changed: since it was last set up, in words."""

    done: bool
    findings: tuple[Finding, ...] = ()
    view: View = "face-on"
    changed: str = ""

    @property
    def left(self) -> list[Finding]:
        """What is still to be done."""
        return [finding for finding in self.findings if finding.state in ("problem", "waiting")]

    @property
    def words(self) -> str:
        """How it ended, in a line."""
        if not self.findings:
            return tr("no picture came")
        if self.done:
            return tr("all set: {view}", view=view_words(self.view)) + (
                tr("; {changed}", changed=self.changed) if self.changed else ""
            )
        left = sorted(self.left, key=lambda finding: finding.state != "problem")
        what = (
            tr(": {state} {title}: {words}", state=left[0].state_words, title=left[0].title, words=left[0].words)
            if left
            else tr(", or not for long enough")
        )
        return tr("not all is well yet{what}", what=what)


def set_up_camera(
    request: CameraSetupRequest, devices: Devices, openers: Openers = MACHINE, clock: Clock | None = None
) -> CameraSetupResult:
    """Until all was well for a while, or the user or the clip ends it. Reports each finding when its state changes."""
    settings, display = request.context.settings, devices.display
    last: SetupStep | None = None
    reported: dict[str, str] = {}
    with ExitStack() as opened:
        opens = partial(_opened, request, openers, paced=display.visible)
        made = source_and_body(opened, openers, display, clock or MonotonicClock(), opens)
        if made is None:
            return CameraSetupResult(False)
        source, body = made
        if _chooses_mode(request) and recall_mode(request.context.base, str(settings.camera.source)) is not None:
            devices.reporter.report(mode_line(settings.camera, request.context.base))
        options = SetupOptions(
            request.view, request.handedness, settings.player.height_cm, camera_mode(settings.camera, request.context.base).fps,
            settings.vision.tape_colour, request.level, settings.player.grip,
        )  # fmt: skip
        observer = SetupObserver(body, options)

        def step(frame: Frame) -> tuple[object, str | None]:
            nonlocal last
            last = observer.step(frame)
            for finding in last.findings:
                if finding.state not in (reported.get(finding.name), "waiting"):
                    reported[finding.name] = finding.state
                    devices.reporter.report(
                        tr(
                            "{state:<15} {title:<14} {words}",
                            state=finding.state_words,
                            title=finding.title + ":",
                            words=finding.words,
                        )
                    )
            return last, last.sound

        done = run_frame_loop(source, step, devices, lambda: last is not None and last.done)
        if done and (display.visible or request.clip is None):
            (clock or MonotonicClock()).sleep(LINGER_S)
    if last is None or not done:
        return CameraSetupResult(False, last.findings if last is not None else ())
    return CameraSetupResult(True, last.findings, last.facts.view, _remember(request, observer, last))


def _opened(request: CameraSetupRequest, openers: Openers, paced: bool) -> Source:
    """The clip; or the camera in its best mode, which is measured and kept as far as the settings leave it open."""
    context = request.context
    if _chooses_mode(request):

        def in_mode(mode: Mode) -> Source:
            return openers.source(with_mode(context.settings, mode), folder=context.base)

        costs: dict[tuple[int, int], Cost] = {}

        def cost(size: tuple[int, int]) -> Cost:
            costs[size] = openers.cost(size)
            return costs[size]

        best = best_mode(in_mode, cost)
        if best is not None:
            known, now = costs.get((best.width, best.height)), datetime.now(timezone.utc)
            remember_mode(context.base, str(context.settings.camera.source), best, now, known)
    return openers.source(context.settings, request.clip, paced=paced, folder=context.base)


def _chooses_mode(request: CameraSetupRequest) -> bool:
    return request.clip is None and may_choose(request.context.settings.camera)


def _remember(request: CameraSetupRequest, observer: SetupObserver, last: SetupStep) -> str:
    """Keeps how the camera stands; how it differs from last time, in words."""
    base, clip = request.context.base, request.clip
    camera = tr("clip {name}", name=clip.name) if clip is not None else str(request.context.settings.camera.source)
    before = recall(base, camera)
    if observer.stand is None:
        return ""
    now = remember(base, camera, last.facts, observer.stand, datetime.now(timezone.utc))
    return differs(before, now) if before is not None and now is not None else ""


def remembered(context: RunContext) -> Remembered | None:
    """How the camera of these settings stood when it was last set up; None when it never was."""
    return recall(context.base, str(context.settings.camera.source))


def as_set_up(context: RunContext, reporter: Reporter) -> RunContext:
    """The settings with the view that this camera was set up for; reported if that is another."""
    known = remembered(context)
    if known is None or known.view == context.settings.camera.view:
        return context
    reporter.report(
        tr(
            "{called} was set up {view}; `--view` says otherwise",
            called=context.settings.camera.called,
            view=view_words(known.view),
        )
    )
    camera = context.settings.camera.model_copy(update={"view": known.view})
    return replace(context, settings=context.settings.changed(camera=camera))
