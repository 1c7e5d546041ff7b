"""How the player stands: one picture judged, or live until all is well."""

from __future__ import annotations

from contextlib import ExitStack, closing
from dataclasses import dataclass
from datetime import datetime, timezone
from functools import partial
from pathlib import Path
from typing import Any, Mapping, Sequence

from trainer.app.camera_setup import remembered
from trainer.app.context import RunContext
from trainer.app.devices import MACHINE, Devices, Openers, source_and_body
from trainer.app.snapshots import snapshots_of
from trainer.coaching.player_profile import ranges_for
from trainer.coaching.posture.address_measures import scale_hints, setup
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.ranges import Check
from trainer.coaching.posture.words import advice_among, reading, span, title
from trainer.domain.observation import Frame, View
from trainer.domain.record import Measure
from trainer.errors import ClipError
from trainer.feedback.cues import THERE
from trainer.live.frame_loop import run_frame_loop
from trainer.posture.analysis import Given as Given
from trainer.posture.analysis import Looked, look
from trainer.posture.guidance import PostureState, judged, main_sign
from trainer.posture.live_posture import PostureLive
from trainer.posture.snapshots import read_image
from trainer.texts import tr
from trainer.vision.sources.base import MonotonicClock

STILL_FRAMES = 6  # of one clip in which the player stood still, before its picture is taken


@dataclass(frozen=True)
class PostureRequest:
    """One of image and clip; live: neither is the camera. at_s: that second of the clip, else its first still address.

    student: whose reference stands beside the numbers, and with save whose picture is kept as label.
    """

    context: RunContext
    given: Given
    image: Path | None = None
    clip: Path | None = None
    at_s: float | None = None
    student: str | None = None
    save: bool = False
    label: str = ""


@dataclass(frozen=True)
class MeasureRow:
    """One measure in words. reference: of the student's own posture, None without one."""

    title: str
    now: str
    range: str
    reference: str | None
    state: str
    advice: str


@dataclass(frozen=True)
class PostureReport:
    """One picture. source: its name; hints: what is wrong or lacking; saved: the name it is kept by, or empty."""

    source: str
    image: Any
    looked: Looked
    checks: tuple[Check, ...]
    hints: tuple[Hint, ...]
    reference: Mapping[str, Measure] | None = None
    saved: str = ""

    @property
    def rows(self) -> list[MeasureRow]:
        return [_row(check, self.checks, self.reference) for check in self.checks]

    @property
    def state(self) -> PostureState:
        """To be drawn."""
        notes = (self.source, *map(str, self.hints))
        return PostureState(
            self.image, self.looked.seen, self.checks, main_sign(self.checks, self.hints), notes=notes, keys=False
        )

    def as_json(self) -> dict[str, Any]:
        seen = self.looked.seen
        return {
            "source": self.source,
            "view": seen.view if seen is not None else None,
            "handedness": seen.handedness if seen is not None else None,
            "setup": {check.name: check.as_json() for check in self.checks},
            "faults": [check.name for check in self.checks if check.fault],
            "hints": [str(hint) for hint in self.hints],
        }


def judge_picture(request: PostureRequest, openers: Openers = MACHINE) -> PostureReport:
    """Raises StoreError or ClipError for a picture that cannot be had."""
    context = request.context
    snapshots = snapshots_of(context, request.student) if request.student is not None else None
    if request.image is not None:
        image, source = read_image(request.image), request.image.name
    else:
        image, source = _frame_of_clip(request, openers)
    with closing(openers.body()) as body:
        looked = look(body, image, request.given, find_ball=True, others=True)
    seen = looked.seen
    if seen is None:
        return PostureReport(source, image, looked, (), looked.hints)
    reference = snapshots.reference(seen.view) if snapshots is not None else None
    saved = ""
    if request.save and snapshots is not None:
        saved = snapshots.save(seen, image, datetime.now(timezone.utc), request.label).name
    return PostureReport(
        source,
        image,
        looked,
        tuple(setup(seen, ranges_for(context.settings.player, context.settings.posture))),
        (*looked.hints, *scale_hints(seen)),
        reference.measures if reference is not None else None,
        saved,
    )


def _frame_of_clip(request: PostureRequest, openers: Openers) -> tuple[Any, str]:
    """The picture and what it is called."""
    clip = request.clip
    assert clip is not None, "neither a picture nor a clip"
    with openers.source(request.context.settings, clip, paced=False) as source:
        if request.at_s is not None:
            for frame in source:
                if frame.time_s >= request.at_s - 1e-6:
                    return frame.image, tr("{name} at {time_s:.2f} s", name=clip.name, time_s=frame.time_s)
            raise ClipError(
                tr("it is over before {at_s:g} s", at_s=request.at_s), str(clip), tr("give an earlier second")
            )
        with closing(openers.body()) as body:
            live = PostureLive(body, request.given)
            still = still_at_ball = 0
            hint, without_ball = "", None
            for frame in source:
                state = live.step(frame).state
                still = still + 1 if state.seen is not None else 0
                still_at_ball = still_at_ball + 1 if state.seen is not None and state.seen.ball is not None else 0
                hint = hint if state.seen is not None else state.sign.word
                found = frame.image, tr("{name} at {time_s:.2f} s", name=clip.name, time_s=frame.time_s)
                if still_at_ball >= STILL_FRAMES:
                    return found
                if still >= STILL_FRAMES and without_ball is None:
                    without_ball = found
            if without_ball is not None:  # spine and knees need no ball
                return without_ball
    raise ClipError(
        tr("no still address in it ({lower})", lower=hint.lower()), str(clip), tr("name a second with --at")
    )


def _row(check: Check, checks: Sequence[Check], reference: Mapping[str, Measure] | None) -> MeasureRow:
    state = tr("in range") if check.inside else tr("OUT OF RANGE") if check.fault else tr("at the edge")
    theirs = None
    if reference is not None:
        theirs = reading(check.name, reference[check.name]) if check.name in reference else "-"
    return MeasureRow(
        title(check.name),
        reading(check.name, check.measure),
        span(check),
        theirs,
        state if judged(check) else tr("not judged"),
        advice_among(check, checks) if judged(check) else "",
    )


def find_posture(request: PostureRequest, devices: Devices, openers: Openers = MACHINE) -> None:
    """Live on the camera or the clip until the user or the clip ends it; with save, a picture is kept each time all is well."""
    settings = request.context.settings
    snapshots = snapshots_of(request.context, request.student) if request.student is not None else None

    def reference(view: View) -> Mapping[str, Measure] | None:
        chosen = snapshots.reference(view) if snapshots is not None else None
        return None if chosen is None else chosen.measures

    with ExitStack() as opened:
        opens = partial(openers.source, settings, request.clip, folder=request.context.base)
        made = source_and_body(opened, openers, devices.display, MonotonicClock(), opens)
        if made is None:
            return
        source, body = made
        known = remembered(request.context) if request.clip is None else None
        live: PostureLive | None = None
        reported = ""

        def begun() -> PostureLive:
            """Once its first picture tells how large a phone's are."""
            same = known is not None and request.given.view in (None, known.view) and known.size == source.size
            stand = known.stand if known is not None and same else None
            return PostureLive(body, request.given, ranges_for(settings.player, settings.posture), stand, reference)

        def step(frame: Frame) -> tuple[PostureState, str | None]:
            nonlocal live, reported
            live = live or begun()
            result = live.step(frame)
            state, sign = result.state, result.state.sign
            line = tr("{word}: {detail}", word=sign.word, detail=sign.detail) if sign.detail else sign.word
            if line != reported and state.checks:
                devices.reporter.report(line)
                reported = line
            if result.there and state.seen is not None and request.save and snapshots is not None:
                saved = snapshots.save(state.seen, frame.image, datetime.now(timezone.utc), request.label)
                devices.reporter.report(tr("kept as {name}", name=saved.name))
            return state, THERE if result.there else None

        run_frame_loop(source, step, devices)
