"""Who must know what became of each stroke on the record: its video, and the other camera's strokes."""

from __future__ import annotations

from trainer.app.practice.stroke_video import StrokeVideos
from trainer.app.practice.two_cameras import CameraLink
from trainer.domain.record import StrokeRecord


class RecordedStrokes:
    """``linked`` before a stroke is put on record, ``kept_in`` after; ``left_out`` of one that is not. None: there is no such."""

    def __init__(self, videos: StrokeVideos | None, link: CameraLink | None) -> None:
        self._videos, self._link = videos, link

    def linked(self, number: int, record: StrokeRecord) -> StrokeRecord:
        """As it is to be put on record. number: of the stroke in this run, from 1."""
        return self._link.linked(number, record) if self._link is not None else record

    def kept_in(self, session: int | None) -> None:
        """The newest stroke is in that session of the record."""
        if self._link is not None:
            self._link.recorded_in(session)
        if self._videos is not None and session is not None:
            self._videos.add(session)

    def left_out(self) -> None:
        """The newest stroke is not on record."""
        if self._videos is not None:
            self._videos.add(None)
