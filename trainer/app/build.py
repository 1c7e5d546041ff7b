"""Puts the floors together: settings in, a working pipeline out. The one place that knows every concrete part."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from trainer.feedback.cues import CueChooser
from trainer.feedback.schedule import Plan
from trainer.live.display_types import Targets
from trainer.live.guarded_observer import MOST_IN_A_ROW, GuardedObserver
from trainer.live.pipeline import Pipeline, Watches
from trainer.settings.model import Settings
from trainer.stroke.impact_sound import ImpactSound
from trainer.vision.observer import Observer, ObserverOptions

if TYPE_CHECKING:
    from trainer.vision.body.pose import BodyTracker, PoseModels


def guarded(observer: Watches) -> Watches:
    """A fault of ours in one frame costs that frame only; with PUTTING_TRAINER_STRICT=1, as in tests, it is raised."""
    strict = os.environ.get("PUTTING_TRAINER_STRICT") == "1"
    return GuardedObserver(observer, 1 if strict else MOST_IN_A_ROW)


def pose_body(settings: Settings, models: PoseModels | None = None) -> BodyTracker:
    """The pose model for this player. models: loaded already, None: loads its own."""
    from trainer.vision.body.pose import PoseBody

    return PoseBody(mirrored=settings.player.handedness == "left", models=models)


def observer(settings: Settings, aside: bool = False, body: BodyTracker | None = None) -> Observer:
    """body: None loads the pose model; aside: it works in a thread of its own where it is not waited for."""
    options = ObserverOptions(
        handedness=settings.player.handedness,
        view=settings.camera.view,
        height_cm=None if settings.player.seated else settings.player.height_cm,
        putter=settings.vision.putter,
        tape_colour=settings.vision.tape_colour,
        grip=settings.player.grip,
        long_putter=settings.player.long_putter,
    )
    return Observer(body or pose_body(settings), options, aside)


def load_code() -> None:
    """Imports ahead of time what a run imports late: the camera, and what ``observer`` and ``pipeline`` are made of."""
    import trainer.app.camera_setup
    import trainer.vision.sources.camera  # noqa: F401

    load_judging()


def load_judging() -> None:
    """The same without a camera."""
    import trainer.coaching.faults
    import trainer.coaching.live_judge
    import trainer.stroke.tracker
    import trainer.vision.body.pose  # noqa: F401
    from trainer.stroke import filters

    filters.load()


def pipeline(
    settings: Settings,
    observer: Watches,
    chooser: CueChooser | None = None,
    strokes: int = 0,
    sound: ImpactSound | None = None,
) -> Pipeline:
    """chooser: of which strokes are told, None: every one; strokes: finished before in the same run; sound: of the click at
    impact.
    """
    from trainer.coaching.faults import verdict
    from trainer.coaching.live_judge import LiveJudge
    from trainer.stroke.tracker import Tracker

    limits = settings.limits
    return Pipeline(
        observer,
        Tracker(limits.early_look.value, sound),
        LiveJudge(limits),
        lambda record: verdict(record, limits),
        chooser or CueChooser(),
        strokes,
    )


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
