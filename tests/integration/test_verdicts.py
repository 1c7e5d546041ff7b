"""What a stroke was judged by stays with it, whatever is practised after it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.practice_stage import Stage, StageDisplay, joined, stroke

DRILL = '[drill]\nname = "{name}"\ninstruction = "I"\nnext = "{next}"\n[feedback]\nschedule = "every"\n'
HEAD_OFF = "".join(f"[limits.{name}]\non = false\n" for name in ("early_look", "short_hold", "sway", "lift"))


def test_the_closing_table_tells_what_each_strokes_own_limits_left_open(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first drill asks for the head, which is not seen; the second, which ends the run, does not."""
    folder = tmp_path / "drills"
    folder.mkdir()
    (folder / "head.toml").write_text(DRILL.format(name="Head", next="no-head"))
    (folder / "no-head.toml").write_text(DRILL.format(name="No head", next="") + HEAD_OFF)
    unseen = [replace(seen, head=None) for seen in stroke()]
    display = StageDisplay(keys=[(len(unseen) / 30.0, "next")])
    Stage(joined(unseen, stroke(), stroke()), display).practise(tmp_path, drill="head")
    said = capsys.readouterr().out
    assert "No head: I" in said
    table = said[said.index("kind") :]
    assert "not sure: 1 stroke (early look, short hold" in table, said
