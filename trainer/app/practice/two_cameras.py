"""`practice` with a second camera, mostly face-on and down-the-line at once: both recorded and judged, strokes matched."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from trainer.app.camera_mode import best_line, camera_mode, may_choose, modes_together, with_mode
from trainer.domain.naming import PHONE
from trainer.domain.observation import View
from trainer.domain.record import OtherStroke, StrokeRecord
from trainer.errors import UsageError
from trainer.live.ports import Reporter
from trainer.live.second_camera import Arriving, SecondCamera, Together
from trainer.settings.model import Settings
from trainer.stroke.pairing import Pair
from trainer.texts import join, tr
from trainer.vision.sources.base import Clock, Source

ENDS_WITHIN_S = 20.0  # a second clip may be this much longer


@dataclass(frozen=True, slots=True)
class SecondCameraRequest:
    """camera, or clip for tests and recordings; view: None is the one that the first camera has not."""

    camera: int | str | None = None
    clip: Path | None = None
    view: View | None = None

    @property
    def name(self) -> str:
        return (
            self.clip.name
            if self.clip is not None
            else PHONE
            if self.camera == PHONE
            else tr("camera {camera}", camera=self.camera)
        )


def second_camera_request(
    camera: int | str | None, clip: Path | None, view: View | None, first: int | str, first_clip: Path | None
) -> SecondCameraRequest | None:
    """What was asked for; None: no second camera. first: the first camera's source. Raises UsageError."""
    if camera is None and clip is None:
        if view is not None:
            raise UsageError(tr("the view of which camera?"), "--second-view", tr("give --second-camera too"))
        return None
    if camera is not None and clip is not None:
        raise UsageError(
            tr("a camera and a clip at once"), tr("--second-camera, --second-clip"), tr("give one of them")
        )
    if (clip is None) != (first_clip is None):
        raise UsageError(
            tr("one camera and one clip"), tr("--second-camera, --second-clip"), tr("give two cameras or two clips")
        )
    if clip is None and camera == first and camera != PHONE:
        raise UsageError(tr("that is the first camera"), "--second-camera", tr("give another one"))
    return SecondCameraRequest(camera, clip, view)


class CameraLink:
    """One camera's strokes, each with what is known of its other half."""

    def __init__(self, camera: Literal["first", "second"], together: Together) -> None:
        self._camera, self._together = camera, together

    def recorded_in(self, session: int | None) -> None:
        """The session of the record that this camera's strokes are put in."""
        if session is not None:
            self._together.sessions[self._camera] = session

    def linked(self, number: int, record: StrokeRecord) -> StrokeRecord:
        """As it is put on record."""
        match = self._together.add(self._camera, number, record)
        other = None
        if match is not None:
            number, pair = match
            session = self._together.sessions.get("second" if self._camera == "first" else "first")
            other = OtherStroke(number, round(1000 * pair.offset_s, 1), session)
        return replace(record, context=replace(record.context, camera=self._camera, other=other))


class TwoCameras:
    """How two cameras of one run belong together. ``first_source`` and ``first`` go into the first camera's session."""

    def __init__(self, request: SecondCameraRequest, first: Source, second: Source, clock: Clock) -> None:
        self.first_source, self.second_source = Arriving(first, clock), Arriving(second, clock)
        self._clips = request.clip is not None
        # Clips begin together; cameras are laid over each other by when their frames come.
        self._together = Together(lambda: 0.0 if self._clips else _apart(self.first_source, self.second_source))
        self.first, self.second = CameraLink("first", self._together), CameraLink("second", self._together)

    def stop(self, camera: SecondCamera, reporter: Reporter) -> None:
        """Both have ended, or shall. Raises what went wrong in the second and is no user's error."""
        if self.first_source.over and self._clips:
            camera.wait(ENDS_WITHIN_S)
        camera.stop()
        pairs = self._together.pairs
        for first, second, pair in sorted(pairs, key=lambda p: p[0]):
            reporter.report(
                tr(
                    "stroke {first} is stroke {second} of the second camera: {pair_words}",
                    first=first,
                    second=second,
                    pair_words=_pair_words(pair),
                )
            )
        if camera.strokes and not pairs:
            reporter.report(tr("no stroke was seen by both cameras"))


def second_settings(settings: Settings, request: SecondCameraRequest) -> Settings:
    """Of the first camera's settings, those of the second."""
    other: View = "down-the-line" if settings.camera.view == "face-on" else "face-on"
    source = request.camera if request.camera is not None else settings.camera.source
    camera = settings.camera.model_copy(update={"source": source, "view": request.view or other})
    return settings.changed(camera=camera)


def settings_together(
    settings: Settings, request: SecondCameraRequest, folder: Path, reporter: Reporter
) -> tuple[Settings, Settings]:
    """Of the first camera and of the second, with modes that the computer keeps up with at once; what that changes is told."""
    both = settings, second_settings(settings, request)
    cameras = [each.camera for each in both]
    if request.clip is not None or not all(may_choose(camera) for camera in cameras):
        return both
    modes = modes_together(cameras, folder)
    changed = [mode if mode != camera_mode(camera, folder) else None for camera, mode in zip(cameras, modes)]
    if changed[0] is not None:
        reporter.report(best_line(changed[0]))
    if changed[1] is not None:
        reporter.report(tr("second camera: {line}", line=best_line(changed[1])))
    first, second = (with_mode(each, mode) for each, mode in zip(both, modes))
    return first, second


def _apart(first: Arriving, second: Arriving) -> float | None:
    """What is to be added to the second's times to be on the first's clock, by arrival."""
    return None if first.lag_s is None or second.lag_s is None else second.lag_s - first.lag_s


def _pair_words(pair: Pair) -> str:
    by = join(", ", (name.removesuffix("_s") for name in pair.by))
    late = tr(
        "it shows things {offset_s:.0f} ms {words}",
        offset_s=abs(1000 * pair.offset_s),
        words=tr("later") if pair.offset_s > 0 else tr("sooner"),
    )
    return tr(
        "{late}, seen at {by}, which agree within {spread_s:.0f} ms", late=late, by=by, spread_s=1000 * pair.spread_s
    )
