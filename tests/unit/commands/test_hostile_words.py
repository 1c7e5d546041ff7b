"""Words and files from outside that mean mischief: one line and exit code 2, and never a harm to what is sound beside them."""

from __future__ import annotations

import json
import os
import signal
from pathlib import Path

import pygame
import pytest

from tests.support.made_strokes import keep_sessions
from trainer.commands.cli import STOPPED, _ending_when_told, _guarded, run
from trainer.settings.load import from_options, load
from trainer.store.store import Store
from trainer.store.students import Students

DEEP = "[" * 3000 + "]" * 3000
DIGITS = "9" * 5000


def on(folder: Path, *arguments: str) -> int:
    return run(["--data-folder", str(folder), *arguments])


def refused(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> str:
    capsys.readouterr()
    assert on(folder, *arguments) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1, err
    assert err.startswith("putting-trainer: ")
    return err


@pytest.mark.parametrize("name", ["Rob [/]", "[bold]Kim[/bold]", "[/b] :smile:", "[link=x]y"])
def test_a_name_that_looks_like_markup_is_a_name(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    student_id = "a" * 32
    Students(tmp_path).add(name, student_id, {"student.drills": ["ladder"]})
    settings = load([from_options(player__name=name)])
    with Store(tmp_path, "t") as store:
        keep_sessions(store, settings, student_id, 1, 4)
        with store.writing() as db:
            db.execute("UPDATE main.sessions SET source = 'c [/l].mp4'")
    for command in (
        ("strokes",),
        ("students", "list"),
        ("students", "show", name),
        ("progress", "--student", name),
        ("limits", "--student", name, "--no-window"),
    ):
        capsys.readouterr()
        assert on(tmp_path, *command) == 0, (command, capsys.readouterr())
        assert name[:8] in capsys.readouterr().out
    on(tmp_path, "strokes")
    assert "c [/l].mp4" in capsys.readouterr().out


@pytest.mark.parametrize("text", [f"x = {DEEP}", f"x = {DIGITS}", "x = " + '"y' * 3000, "a=1\n" * 2_000_000])
@pytest.mark.parametrize("table", ["", "[player]\nname = 'Bad'\n"])
def test_one_bad_student_harms_no_other(
    text: str, table: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert on(tmp_path, "students", "add", "Robin") == 0
    (tmp_path / "students" / "bad.toml").write_text(table + text)
    assert on(tmp_path, "students", "show", "Robin") == 0
    assert "bad.toml" in refused(capsys, tmp_path, "students", "list")
    refused(capsys, tmp_path, "students", "set", "bad", "player.height_cm=170")
    refused(capsys, tmp_path, "students", "show", "bad")
    assert on(tmp_path, "students", "erase", "bad", "--yes") == 0
    assert [s.name for s in Students(tmp_path).all()[0]] == ["Robin"]


@pytest.mark.parametrize("line", ["strokes = 1e400", "strokes = nan", f"strokes = {DIGITS}", f"strokes = {DEEP}"])
@pytest.mark.parametrize("table", ["block", "feedback", "pass", "rhythm", "ladder", "goals.hold_s", "limits.sway"])
def test_one_bad_drill_leaves_the_others(
    line: str, table: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "drills").mkdir()
    for key in ("strokes", "good", "ratio", "within_cm", "distances_m", "at_least", "limit_cm", "summary_after"):
        text = f"[drill]\nname = 'x'\ninstruction = 'y'\n[{table}]\n{line.replace('strokes', key)}\n"
        (tmp_path / "drills" / "bad.toml").write_text(text)
        capsys.readouterr()
        assert on(tmp_path, "drills", "list") == 2
        got = capsys.readouterr()
        assert "ladder" in got.out
        assert got.err.count("\n") == 1


def test_a_camera_memory_too_deep_is_none(tmp_path: Path) -> None:
    from trainer.camera_setup.camera_memory import recall

    for text in ("[" * 100_000, '{"0": ' + "[" * 100_000, f'{{"0": {DIGITS}}}', '{"0": {"distance_cm": 1e999}}'):
        (tmp_path / "cameras.json").write_text(text)
        assert recall(tmp_path, "0") is None


def test_values_that_are_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    student = Students(tmp_path).add("Robin", "a" * 32, {})
    with Store(tmp_path, "t") as store:
        keep_sessions(store, student.settings, student.card.id, 1, 4)
    still = ("review", "--stroke", "1", "--still", "impact")
    long_out = str(tmp_path / ("x" * 300 + ".png"))
    assert "is not a number" in refused(capsys, tmp_path, "review", "--speed", "nan", "--numbers")
    assert "is no instant" in refused(capsys, tmp_path, "review", "--still", "nan")
    assert "is no instant" in refused(capsys, tmp_path, "review", "--still", "inf")
    assert "not a stroke" in refused(capsys, tmp_path, "review", "--stroke", "9" * 23, "--numbers")
    assert "not a stroke" in refused(capsys, tmp_path, "outcome", "holed", "--student", "Robin", "--stroke", "9" * 23)
    assert "too long" in refused(capsys, tmp_path, *still, "--out", long_out)
    assert "is not a number" in refused(capsys, tmp_path, "distance", "slope", "--level", "inf")
    capsys.readouterr()
    assert run(["--data-folder", "/tmp/" + "y" * 5000, "strokes"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_a_name_that_is_no_text_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    name = os.fsdecode(b"Rob\xff")
    refused(capsys, tmp_path, "students", "add", name)
    assert on(tmp_path, "students", "list") == 0
    assert "no students yet" in capsys.readouterr().out
    assert on(tmp_path, "students", "add", "Robin") == 0
    for command in (
        ("students", "rename", "Robin", name),
        ("students", "set", "Robin", f"student.notes={name}"),
        ("limits", "--student", "Robin", "--no-window", "--save", "--by", name, "sway.limit_cm=2"),
        ("strokes", "--student", name),
    ):
        refused(capsys, tmp_path, *command)
    assert [s.name for s in Students(tmp_path).all()[0]] == ["Robin"]


def test_a_folder_that_cannot_be_read_is_not_an_empty_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "students").symlink_to(tmp_path / "students")  # a circle, which not even the superuser can read
    assert "cannot be read" in refused(capsys, tmp_path, "students", "list")
    assert "cannot be read" in refused(capsys, tmp_path, "students", "show", "Robin")


@pytest.mark.parametrize(
    "values", [{"size": [1e400, 1]}, {"points": {"nose": [1e300, 0, 1]}}, {"tilt_confidence": "x"}]
)
def test_a_posture_of_nonsense_is_left_out(values: dict[str, object], tmp_path: Path) -> None:
    from tests.support.paths import ROOT
    from trainer.errors import StoreError
    from trainer.posture.snapshots import Snapshots

    path = next((ROOT / "tests/data/release_0_1/data/students/files").rglob("*.json"))
    kept = json.loads(path.read_text())
    kept["seen"] |= values
    bad = tmp_path / "posture" / path.name
    bad.parent.mkdir()
    bad.write_text(json.dumps(kept))
    with pytest.raises(StoreError, match="damaged"):
        Snapshots(tmp_path).read(bad)
    assert Snapshots(tmp_path).all() == []


def test_told_to_end_it_ends_as_by_ctrl_c() -> None:
    """SDL leaves alone what is handled already."""
    before = signal.getsignal(signal.SIGTERM)
    with _ending_when_told():
        pygame.display.init()
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGTERM)
    assert signal.getsignal(signal.SIGTERM) is before
    interrupts = signal.signal(
        signal.SIGINT, signal.default_int_handler
    )  # begun in the background, a process ignores it
    try:
        assert _guarded(lambda: signal.raise_signal(signal.SIGINT)) == STOPPED
    finally:
        signal.signal(signal.SIGINT, interrupts)
