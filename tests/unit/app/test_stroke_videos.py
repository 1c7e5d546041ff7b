"""Videos of a run's strokes: what is told at its end, whatever has become of the files meanwhile."""

from __future__ import annotations

from datetime import datetime, timezone
from pathlib import Path

import cv2
import numpy as np
import pytest

from tests.support.made_strokes import record as made_stroke
from trainer.app.context import load_context
from trainer.app.practice.stroke_video import StrokeVideos
from trainer.replay.frames import MemoryFrames
from trainer.store import video
from trainer.testing.fakes import FakeReporter

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=timezone.utc)


def frames() -> MemoryFrames:
    jpeg = cv2.imencode(".jpg", np.zeros((48, 64, 3), np.uint8))[1].tobytes()
    return MemoryFrames([jpeg] * 3, [0.0, 0.1, 0.2])


@pytest.mark.parametrize("gone", [0, 1, 2])
def test_videos_that_are_elsewhere_by_the_end_of_the_run_are_not_told_of(tmp_path: Path, gone: int) -> None:
    """Another window gives a stroke to another student, and its video goes along, while practice goes on."""
    context, reporter = load_context(tmp_path), FakeReporter()
    with context.open_store() as store:
        videos = StrokeVideos(store, tmp_path, context.settings.replay, reporter)
        videos.start()
        session = store.begin_session("player", "made up", NOW)
        for number in (1, 2):
            store.keep(session, made_stroke(), (), (), context.settings, NOW)
            videos.add(session)
            assert videos.keep(number, frames())
        videos.close()
        for path in sorted(video.folder_of(tmp_path, "").iterdir())[:gone]:
            path.unlink()
        reporter.lines.clear()
        videos.close()
    told = [line for line in reporter.lines if line.startswith("video of")]
    assert [line.partition(" kept")[0] for line in told] == {
        0: ["video of 2 strokes"],
        1: ["video of 1 stroke"],
        2: [],
    }[gone]
