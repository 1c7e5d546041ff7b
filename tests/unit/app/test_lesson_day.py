"""A lesson's day is the coach's own, wherever midnight in UTC falls."""

from __future__ import annotations

import time
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Iterator

import numpy as np
import pytest

from tests.support.made_address import SIDE_ON, Stand, address, side_places
from trainer.app.context import load_context
from trainer.app.lesson import LessonDesk
from trainer.app.student_export import ExportRequest, export_student
from trainer.app.student_file import files_of
from trainer.coaching.lesson.lesson import Lesson
from trainer.commands.cli import run
from trainer.posture.snapshots import Snapshots

BEGUN = datetime(2026, 11, 27, 23, 50, tzinfo=timezone.utc)  # ten to four in the afternoon on the Pacific coast


@pytest.fixture
def eight_hours_west(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("TZ", "WEST8")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    assert run(["--data-folder", str(tmp_path), "students", "add", "--", "Robin"]) == 0
    return tmp_path


@pytest.mark.usefixtures("eight_hours_west")
@pytest.mark.parametrize(("later", "belongs"), [(-30, True), (20, True), (-16 * 60, False), (9 * 60, False)])
def test_the_posture_of_a_lessons_day_is_its_posture(folder: Path, later: int, belongs: bool) -> None:
    context = load_context(folder)
    with context.open_store() as store:
        desk = LessonDesk(context, store, "Robin")
        stand = Stand((-290.0, -20.0, 100.0), pitch_deg=4.0)
        seen = address("down-the-line", stand, side_places({**SIDE_ON, "hip": (-75.0, 70.0)}, along_cm=-3.0))
        picture = np.zeros((480, 640, 3), np.uint8)
        at = BEGUN + timedelta(minutes=later)
        Snapshots(files_of(context.base, desk.student.card.id)).save(seen, picture, at)
        assert (len(desk.view(Lesson("1" * 32, BEGUN, BEGUN)).proposal.later) > 0) == belongs


@pytest.mark.usefixtures("eight_hours_west")
def test_an_export_is_named_after_the_day_where_it_was_made(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("trainer.app.clock.now", lambda: BEGUN + timedelta(hours=1))
    monkeypatch.setattr("trainer.app.student_export.now", lambda: BEGUN + timedelta(hours=1))
    exported = export_student(load_context(folder), ExportRequest("Robin", folder=folder))
    assert "-20261127" in exported.path.name
