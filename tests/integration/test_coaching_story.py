"""The whole of it through the commands: coach, baseline, limits, drill, report, taken home, practised, brought back."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.support.made_strokes import record
from trainer.app.context import load_context
from trainer.app.drills import drill_folders
from trainer.app.practice.drill_session import DrillSession, block_plan, with_drill
from trainer.app.practice.stroke_recorder import StrokeRecorder
from trainer.coaching.faults import verdict
from trainer.commands.cli import run
from trainer.domain.record import Kind
from trainer.resources import data_path
from trainer.settings.drill_file import load_drill
from trainer.store.history import StudentKey, practised
from trainer.store.store import Store
from trainer.store.students import Students

DRILL = "hold-then-look"


def on(folder: Path, *arguments: str) -> None:
    assert run(["--data-folder", str(folder), *arguments]) == 0


def strokes_through_the_session(
    folder: Path, count: int, look_s: float, kind: Kind = "ball", drill: str = DRILL
) -> DrillSession:
    """What a drill's practice does with each finished stroke, without camera and model."""
    context = load_context(folder, "Robin")
    chosen = load_drill(drill, drill_folders(folder))
    context = with_drill(context, chosen)
    rng = np.random.default_rng(count)
    with context.open_store() as store:
        recorder = StrokeRecorder(store, "made up", context.student_id)
        session = DrillSession(recorder, store, context.settings, chosen)
        for _ in range(count):
            feedback_level = session.chooser.feedback_level
            made = record(look_s + float(rng.normal(0, 0.1)), kind, told=not feedback_level.silent, rng=rng)
            session.chooser.end_stroke()
            print(*session.save(made, verdict(made, context.settings.limits), ()), sep="\n")
        print(*session.result(), sep="\n")
    return session


def facts(folder: Path) -> list:
    student = Students(folder).find("Robin")
    with Store(folder, "t") as store:
        return [f for f, _ in practised(store, StudentKey(student.card.id, student.name), ("hold_s",))]


def test_from_the_lesson_home_and_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    coach, home = tmp_path / "coach", tmp_path / "home"
    on(coach, "students", "add", "Robin", "player.height_cm=172", 'student.drills=["hold-then-look"]')
    strokes_through_the_session(coach, 8, 1.0, "rehearsal")
    on(coach, "baseline", "--student", "Robin", "--last", "--accept", "--by", "coach")
    on(coach, "students", "set", "Robin", "limits.short_hold.limit_s=0.8", "--by", "coach", "--why", "a first step")
    capsys.readouterr()
    session = strokes_through_the_session(coach, 34, 1.2)
    said = capsys.readouterr().out
    assert session.run.passed_today
    assert not session.run.passed  # for that it takes another day
    assert "now 14 strokes in silence" in said
    assert "good strokes (no early look, no short hold), block 100 %" in said
    assert "in silence 100 %" in said
    assert "next: hands-carry-on" in said
    ball = [f for f in facts(coach) if f.kind == "ball"]
    assert [f.stage for f in ball] == ["block"] * 20 + ["silent"] * 14
    assert sum(bool(f.told) for f in ball[:20]) / 20 == pytest.approx(0.5, abs=0.05)
    assert not any(f.told for f in ball[20:])
    assert {f.drill for f in ball} == {DRILL}
    out = tmp_path / "robin.zip"
    on(coach, "report", "--student", "Robin", "--out", str(tmp_path / "before.html"))
    on(coach, "students", "export", "Robin", "--out", str(out))

    on(home, "students", "import", str(out))
    assert load_context(home, "Robin").settings.limits == load_context(coach, "Robin").settings.limits
    strokes_through_the_session(home, 25, 0.5)
    back = tmp_path / "back.zip"
    on(home, "students", "export", "Robin", "--out", str(back))

    on(coach, "students", "import", str(back))
    assert len(facts(coach)) == 8 + 34 + 25
    page = tmp_path / "after.html"
    on(coach, "report", "--student", "Robin", "--out", str(page))
    text = page.read_text(encoding="utf-8")
    assert "3 sessions" in text
    assert "Hold a little longer before you look." in text
    capsys.readouterr()
    on(coach, "progress", "--student", "Robin")
    shown = capsys.readouterr().out
    assert "100%" in shown
    assert "0%" in shown


def test_a_rehearsal_does_not_use_up_a_told_stroke(tmp_path: Path) -> None:
    on(tmp_path, "students", "add", "Robin")
    session = strokes_through_the_session(tmp_path, 6, 1.5, "rehearsal")
    assert session.run.marks == ()
    assert session.chooser.feedback_level == block_plan(session.run.drill).feedback_level(1)


@pytest.mark.parametrize(
    ("cue", "tone", "praise"), [("faults", True, False), ("chime", False, True), ("none", False, False)]
)
def test_a_drills_cue_decides_what_sounds(cue: str, tone: bool, praise: bool, tmp_path: Path) -> None:
    (tmp_path / "drills").mkdir()
    text = f"[drill]\nname = 'N'\ninstruction = 'I'\ncue = '{cue}'\n[feedback]\nschedule = 'every'\n"
    (tmp_path / "drills" / "x.toml").write_text(text)
    feedback_level = block_plan(load_drill("x", drill_folders(tmp_path))).feedback_level(1)
    assert (feedback_level.tone, feedback_level.praise) == (tone, praise)
    fading = block_plan(load_drill(DRILL, drill_folders(tmp_path)))
    assert sum(not fading.feedback_level(i).silent for i in range(1, 21)) / 20 == pytest.approx(0.5, abs=0.05)


@pytest.mark.slow
def test_a_drill_on_the_demo_clip(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The real thing: model, tracker, cues, record."""
    on(tmp_path, "students", "add", "Robin", "player.height_cm=175")
    clip = str(data_path("demo", "demo.mp4"))
    on(tmp_path, "practice", "--student", "Robin", "--clip", clip, "--drill", DRILL, "--no-window")
    said = capsys.readouterr().out
    assert "Wait until the putter lies still, and a breath more; then look" in said
    assert "12 good of 14 in silence pass it, on two days running" in said
    found = facts(tmp_path)
    assert len(found) == 3
    assert {(f.drill, f.stage) for f in found} == {(DRILL, "block")}


def test_a_baseline_keeps_only_the_strokes_it_is_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Three strokes with a ball are no baseline, and no progress either."""
    on(tmp_path, "students", "add", "Robin", "player.height_cm=175")
    capsys.readouterr()
    clip = str(data_path("demo", "demo.mp4"))
    assert run(["--data-folder", str(tmp_path), "baseline", "--student", "Robin", "--clip", clip, "--no-window"]) == 2
    assert "no rehearsal strokes of Robin" in capsys.readouterr().err
    assert facts(tmp_path) == []
