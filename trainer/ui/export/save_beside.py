"""What the review's window saves, into a folder under names that are not taken."""

from __future__ import annotations

from pathlib import Path

from trainer.replay.playback import Playback
from trainer.ui.export.files import path_beside
from trainer.ui.export.review_clip import save_clip, save_picture
from trainer.ui.review.reviewer import Reviewer
from trainer.worker import Progress

STEMS = {"picture": "still", "clip": "clip", "sheet": "sheet"}


def save_beside(reviewer: Reviewer, what: str, progress: Progress, folder: Path) -> str:
    """what: one of ``reviewer.SAVES``. Returns the line that says where it is. Raises UsageError, Stopped."""
    playback = reviewer.session.playback
    stem = f"{STEMS[what]}-{_in_a_name(reviewer.session.main.name)}"
    if what == "picture":
        instant = _in_a_name(playback.where.partition(",")[0])
        return save_picture(reviewer, path_beside(folder, f"{stem}-{instant}", ".png"))
    if what == "clip":
        return save_clip(
            reviewer, path_beside(folder, stem, ".mp4"), _loop_s(playback), playback.speed, progress=progress
        )
    from trainer.ui.export.sheet import save_sheet

    return save_sheet(reviewer, path_beside(folder, stem, ".pdf"), progress)


def _in_a_name(words: str) -> str:
    """As part of a file's name on any system."""
    plain = words.replace("−", "-").replace(", ", "-")
    return "".join(c if c.isascii() and (c.isalnum() or c in ".-") else "-" for c in plain)


def _loop_s(playback: Playback) -> tuple[float, float] | None:
    if playback.loop is None:
        return None
    first, last = (playback.main.tracked.event_s(word) for word in playback.loop)
    return (first, last) if first is not None and last is not None else None
