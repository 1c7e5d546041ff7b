"""Ranges set around a kept posture are a change of the profile, and go along with it to another computer."""

from __future__ import annotations

from datetime import datetime, timezone
from pathlib import Path

import numpy as np

from tests.support.made_address import DOWN_THE_LINE, address, side_places
from trainer.app.context import load_context
from trainer.app.snapshots import set_reference
from trainer.app.student_file import files_of
from trainer.app.transfer_merge import time_of
from trainer.commands.cli import run
from trainer.posture.snapshots import Snapshots
from trainer.store.students import Students


def test_ranges_around_a_reference_are_newer_than_those_before(tmp_path: Path) -> None:
    assert run(["--data-folder", str(tmp_path), "students", "add", "--", "Robin"]) == 0
    before = Students(tmp_path).find("Robin")
    seen = address("down-the-line", DOWN_THE_LINE, side_places(along_cm=-3.0))
    at = datetime(2026, 11, 27, 12, tzinfo=timezone.utc)
    Snapshots(files_of(tmp_path, before.card.id)).save(seen, np.zeros((480, 640, 3), np.uint8), at)
    context = load_context(tmp_path, "Robin")
    set_reference(context, "Robin", "last", ranges=False)
    assert Students(tmp_path).find("Robin").card == before.card
    assert set_reference(context, "Robin", "last", ranges=True).ranges_set > 0
    after = Students(tmp_path).find("Robin")
    assert after.settings.posture != before.settings.posture
    assert time_of(after.card.changed_at) > time_of(before.card.changed_at)
