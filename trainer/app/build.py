"""Puts the floors together: settings in, a working pipeline out. The one place that knows every concrete part."""

from __future__ import annotations

from typing import Sequence

from trainer.domain.record import StrokeRecord
from trainer.domain.verdict import Fault
from trainer.feedback.cues import CueChooser
from trainer.feedback.schedule import Plan
from trainer.live.pipeline import Pipeline, Save
from trainer.live.practice_state import Targets
from trainer.settings.model import Settings
from trainer.vision.observer import Observer, ObserverOptions


def observer(settings: Settings) -> Observer:
    """Loads the pose model: takes about a second."""
    from trainer.vision.body.pose import PoseBody

    options = ObserverOptions(
        handedness=settings.player.handedness,
        view=settings.camera.view,
        height_cm=settings.player.height_cm,
        putter=settings.vision.putter,
        tape_colour=settings.vision.tape_colour,
    )
    return Observer(PoseBody(mirrored=options.handedness == "left"), options)


def pipeline(
    settings: Settings, watches: Observer, save: Save | None = None, chooser: CueChooser | None = None
) -> Pipeline:
    """save: called with each finished stroke before it is handed out; chooser: of another plan than the settings'."""
    from trainer.coaching.live_judge import LiveJudge
    from trainer.stroke.tracker import Tracker

    return Pipeline(
        watches,
        Tracker(settings.limits.early_look.value),
        LiveJudge(settings.limits),
        lambda record: judged(record, settings),
        chooser or CueChooser(plan(settings)),
        save,
    )


def change(pipeline: Pipeline, settings: Settings) -> None:
    """The same pipeline by other limits: another drill's."""
    from trainer.coaching.live_judge import LiveJudge
    from trainer.stroke.tracker import Tracker

    limits = settings.limits
    pipeline.change(Tracker(limits.early_look.value), LiveJudge(limits), lambda record: judged(record, settings))


def judged(record: StrokeRecord, settings: Settings) -> Sequence[Fault]:
    """The verdict on a record: the same now and years later."""
    from trainer.coaching.faults import judge

    found: Sequence[Fault] = judge(record, settings.limits)
    return found


def unsure(record: StrokeRecord, settings: Settings) -> tuple[str, ...]:
    """The faults that could not be judged."""
    from trainer.coaching import faults

    return faults.indeterminate(record, settings.limits)


def plan(settings: Settings, seed: int = 0) -> Plan:
    """Which strokes are told."""
    wish = settings.feedback
    asked = wish.feel  # how it felt comes first: a sound would answer
    return Plan(wish.schedule, wish.strokes, seed, wish.summary_after, tone=not asked, praise=not asked)


def targets(settings: Settings, notes: tuple[str, ...] = ()) -> Targets:
    """What is drawn as the mark to reach. notes: small lines."""
    return Targets(
        hold_s=settings.limits.short_hold.value,
        turn_deg=settings.limits.early_look.value,
        handedness=settings.player.handedness,
        silent=settings.feedback.schedule == "silent",
        result_delay_s=settings.feedback.result_delay_s,
        notes=notes,
    )
