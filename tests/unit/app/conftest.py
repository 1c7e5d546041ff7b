"""What several tests of what the program does begin with."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.made_strokes import keep_sessions
from trainer.app.context import RunContext, load_context
from trainer.app.students import add_student


@pytest.fixture
def robin(tmp_path: Path) -> RunContext:
    """A student with strokes of three days."""
    add_student(load_context(tmp_path), "Robin", {"player.height_cm": 172})
    context = load_context(tmp_path, "Robin")
    with context.open_store() as store:
        keep_sessions(store, context.settings, context.student_id, sessions=3, strokes=8)
    return context
