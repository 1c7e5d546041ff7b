"""Videos of the strokes of a run: which stroke of the record is which, and where they go. Only when asked for."""

from __future__ import annotations

from datetime import datetime, timezone
from pathlib import Path

from trainer.errors import StoreError
from trainer.live.auto_replay import LiveReplay, ReplayConfig
from trainer.live.ports import Reporter
from trainer.replay.frames import MemoryFrames
from trainer.replay.retention import VideoKeeper, tidy
from trainer.settings.model import Replay as ReplaySettings
from trainer.settings.model import Settings
from trainer.store.store import Store
from trainer.store.video import StrokeKey, facts_of, newest_of
from trainer.texts import tr_count
from trainer.vision.sources.base import MonotonicClock


class StrokeVideos:
    """``add`` with every stroke, so that its number in the run is known to be that of the record; ``keep`` its frames."""

    def __init__(self, store: Store, base: Path, retention: ReplaySettings, reporter: Reporter) -> None:
        self._store, self._base, self._retention, self._reporter = store, base, retention, reporter
        self._keys: list[StrokeKey | None] = []
        self._paths: list[Path] = []
        self._videos = VideoKeeper(base, reporter.warn, self._paths.append)

    def add(self, session: int | None) -> None:
        """The newest stroke of that session of the record is the run's next one; None: it is not on record."""
        self._keys.append(newest_of(self._store, session) if session is not None else None)

    def start(self) -> None:
        self._videos.start()

    def keep(self, number: int, frames: MemoryFrames) -> bool:
        key = self._keys[number - 1] if 0 < number <= len(self._keys) else None
        return key is not None and self._videos.put(key, frames)

    def close(self) -> None:
        """Returns once all is written; says what was kept, and what went because its time was over."""
        self._videos.close()
        sizes = [facts.st_size for path in self._paths if (facts := facts_of(path)) is not None]
        if sizes:
            self._reporter.report(
                tr_count(
                    "video of {count} stroke kept in {parent} ({size:.1f} MB)",
                    "video of {count} strokes kept in {parent} ({size:.1f} MB)",
                    len(sizes),
                    parent=self._paths[0].parent,
                    size=sum(sizes) / 1000000.0,
                )
            )
        try:
            gone = tidy(self._base, self._retention.keep_days, self._retention.keep_mb, datetime.now(timezone.utc))
        except StoreError as error:  # the strokes are safe; this can wait
            self._reporter.warn(error.line())
        else:
            if gone is not None:
                self._reporter.report(gone)


def live_replay(settings: Settings, shown: bool, videos: StrokeVideos, reporter: Reporter) -> LiveReplay | None:
    """None where frames would be kept for nothing: no window, and no video wanted."""
    replay = settings.replay
    if not shown and not replay.keep_video:
        return None
    auto = replay.auto if shown else "off"
    config = ReplayConfig(auto, replay.speed, replay.ring_mb, replay.keep_video)
    return LiveReplay(config, MonotonicClock(), videos, reporter.report)
