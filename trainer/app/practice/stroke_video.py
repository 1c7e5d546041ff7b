"""Videos of the strokes of a run: which stroke of the record is which, and where they go. Only when asked for."""

from __future__ import annotations

from datetime import datetime, timezone
from pathlib import Path
from typing import Callable, Protocol, Sequence

from trainer.app.context import report_line, warn
from trainer.domain.record import StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.errors import StoreError
from trainer.live.auto_replay import LiveReplay, ReplayConfig
from trainer.live.practice_state import Targets
from trainer.replay.frames import MemoryFrames
from trainer.replay.retention import VideoKeeper, tidy
from trainer.settings.model import Settings
from trainer.store.store import Store
from trainer.store.video import StrokeKey, newest_of
from trainer.vision.sources.base import MonotonicClock


class KeepsStrokes(Protocol):
    """commands.keeping.Keeper or one made from it. session: of the record, None before the first stroke."""

    @property
    def session(self) -> int | None: ...
    def save(self, record: StrokeRecord, found: Sequence[Fault], cues: Sequence[Cue]) -> None: ...


class StrokeVideos:
    """``save`` in place of the keeper's own, so that each stroke's number in the run is known to be that of the record."""

    def __init__(self, store: Store, base: Path, recorder: KeepsStrokes, settings: Settings) -> None:
        self._store, self._base, self._recorder, self._wish = store, base, recorder, settings.replay
        self._keys: list[StrokeKey | None] = []
        self._paths: list[Path] = []
        self._videos = VideoKeeper(base, warn, self._paths.append)

    def save(self, record: StrokeRecord, found: Sequence[Fault], cues: Sequence[Cue]) -> None:
        """The stroke is on the disk when this returns; its video comes later."""
        self._recorder.save(record, found, cues)
        session = self._recorder.session
        self._keys.append(newest_of(self._store, session) if session is not None else None)

    def start(self) -> None:
        self._videos.start()

    def keep(self, number: int, frames: MemoryFrames) -> bool:
        key = self._keys[number - 1] if 0 < number <= len(self._keys) else None
        return key is not None and self._videos.put(key, frames)

    def close(self) -> None:
        """Returns once all is written; says what was kept, and what went because its time was over."""
        self._videos.close()
        if self._paths:
            size = sum(path.stat().st_size for path in self._paths)
            noun = "stroke" if len(self._paths) == 1 else "strokes"
            report_line(f"video of {len(self._paths)} {noun} kept in {self._paths[0].parent} ({size / 1e6:.1f} MB)")
        try:
            gone = tidy(self._base, self._wish.keep_days, self._wish.keep_mb, datetime.now(timezone.utc))
        except StoreError as error:  # the strokes are safe; this can wait
            warn(error.line())
        else:
            if gone is not None:
                report_line(gone)


def live_replay(
    settings: Settings, targets: Targets, shown: bool, videos: StrokeVideos, tell: Callable[[str], None] = report_line
) -> LiveReplay | None:
    """None where frames would be kept for nothing: no window, and no video wanted."""
    wish = settings.replay
    if not shown and not wish.keep_video:
        return None
    auto = wish.auto if shown else "off"
    return LiveReplay(
        ReplayConfig(auto, wish.speed, wish.ring_mb, wish.keep_video),
        MonotonicClock(),
        targets,
        settings.limits,
        videos,
        tell,
    )
