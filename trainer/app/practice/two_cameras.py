"""`practice` with a second camera, mostly face-on and down-the-line at once: both recorded and judged, strokes matched."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Callable, Sequence

from trainer.app import build
from trainer.app.context import RunContext, report_line
from trainer.app.practice.stroke_recorder import StrokeRecorder
from trainer.app.strokes import verdict_words
from trainer.domain.observation import View
from trainer.domain.record import StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.errors import UsageError
from trainer.live.pipeline import Finished, Pipeline
from trainer.live.second_camera import Arriving, SecondCamera, Together
from trainer.settings.model import Settings
from trainer.store.store import Store
from trainer.stroke.pairing import Pair
from trainer.vision.sources.base import MonotonicClock, Source

CAMERA = "camera"  # in a record's meta: "first" or "second"; strokes seen by the second are not counted again
ENDS_WITHIN_S = 20.0  # a second clip may be this much longer
Save = Callable[[StrokeRecord, Sequence[Fault], Sequence[Cue]], None]


@dataclass(frozen=True, slots=True)
class SecondCameraRequest:
    """camera, or clip for tests and recordings; view: None is the one that the first camera has not."""

    camera: int | str | None = None
    clip: Path | None = None
    view: View | None = None

    @property
    def name(self) -> str:
        return self.clip.name if self.clip is not None else f"camera {self.camera}"


def second_camera_request(
    camera: int | str | None, clip: Path | None, view: View | None, first: int | str, first_clip: Path | None
) -> SecondCameraRequest | None:
    """What was asked for; None: no second camera. first: the first camera's source. Raises UsageError."""
    if camera is None and clip is None:
        if view is not None:
            raise UsageError("the view of which camera?", "--second-view", "give --second-camera too")
        return None
    if camera is not None and clip is not None:
        raise UsageError("a camera and a clip at once", "--second-camera, --second-clip", "give one of them")
    if (clip is None) != (first_clip is None):
        raise UsageError("one camera and one clip", "--second-camera, --second-clip", "give two cameras or two clips")
    if clip is None and camera == first:
        raise UsageError("that is the first camera", "--second-camera", "give another one")
    return SecondCameraRequest(camera, clip, view)


class TwoCameras:
    """The second camera's part of a run. ``first_source`` and ``first_save`` go into the first camera's loop."""

    def __init__(
        self,
        store: Store,
        context: RunContext,
        wish: SecondCameraRequest,
        open_it: Callable[[Settings, Path | None], Source],
        first: Source,
        first_session: Callable[[], int | None],
    ) -> None:
        settings = context.settings
        other: View = "down-the-line" if settings.camera.view == "face-on" else "face-on"
        source = wish.camera if wish.camera is not None else settings.camera.source
        camera = settings.camera.model_copy(update={"source": source, "view": wish.view or other})
        self._settings = settings.changed(camera=camera)
        self._first_session = first_session
        self._recorder = StrokeRecorder(store, self._settings, f"second: {wish.name}", context.student_id)
        clock = MonotonicClock()
        self.first_source = Arriving(first, clock)
        second = Arriving(open_it(self._settings, wish.clip), clock)
        # Clips begin together; cameras are laid over each other by when their frames come.
        self._together = Together(lambda: 0.0 if wish.clip is not None else _apart(self.first_source, second))
        self._clip = wish.clip is not None
        self._first_count = self._second_count = 0
        self._camera = SecondCamera(second, self._pipeline, clock, self._tell, report_line)

    def start(self) -> None:
        report_line(f"second camera: {self._settings.camera.view}")
        self._camera.start()

    def stop(self) -> None:
        """Both have ended, or shall."""
        if self.first_source.over and self._clip:
            self._camera.wait(ENDS_WITHIN_S)
        self._camera.stop()
        pairs = self._together.pairs
        for first, second, pair in sorted(pairs, key=lambda p: p[0]):
            report_line(f"stroke {first} is stroke {second} of the second camera: {_told(pair)}")
        if self._camera.strokes and not pairs:
            report_line("no stroke was seen by both cameras")

    def first_save(self, save: Save) -> Save:
        """The first camera's way to the record, with what is known of the other half."""

        def keep(record: StrokeRecord, found: Sequence[Fault], cues: Sequence[Cue]) -> None:
            self._first_count += 1
            save(self._linked("first", self._first_count, record), found, cues)

        return keep

    def _second_save(self, record: StrokeRecord, found: Sequence[Fault], cues: Sequence[Cue]) -> None:
        self._second_count += 1
        self._recorder.save(self._linked("second", self._second_count, record), found, cues)

    def _linked(self, camera: str, number: int, record: StrokeRecord) -> StrokeRecord:
        match = self._together.add(camera, number, record)
        meta = {CAMERA: camera}
        if match is not None:
            other, pair = match
            session = self._recorder.session if camera == "first" else self._first_session()
            meta |= {"other_stroke": str(other), "offset_ms": f"{1000 * pair.offset_s:.1f}"}
            if session is not None:
                meta["other_session"] = str(session)
        return replace(record, meta={**record.meta, **meta})

    def _pipeline(self) -> Pipeline:
        return build.pipeline(self._settings, build.observer(self._settings), self._second_save)

    def _tell(self, finished: Finished) -> None:
        verdict = verdict_words(finished.verdict.faults, finished.verdict.indeterminate)
        report_line(f"second camera, stroke {finished.number} ({finished.record.kind}): {verdict}")


def _apart(first: Arriving, second: Arriving) -> float | None:
    """What is to be added to the second's times to be on the first's clock, by arrival."""
    return None if first.lag_s is None or second.lag_s is None else second.lag_s - first.lag_s


def _told(pair: Pair) -> str:
    by = ", ".join(name.removesuffix("_s") for name in pair.by)
    return f"{1000 * pair.offset_s:+.0f} ms apart after arrival, told by {by}, which agree within {1000 * pair.spread_s:.0f} ms"
