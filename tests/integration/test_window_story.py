"""The whole story through the window: lesson, baseline, limits, drill with fading feedback, silent test, home and back.

Camera, pose model, loudspeaker and screen are stand-ins; everything else is real. With PUTTING_SHOTS=FOLDER the pictures
of each chapter are left there for looking at.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.support.practice_stage import STROKE_S, Stage, StageDisplay, joined, positions, shots_folder, stroke
from trainer.app.context import load_context
from trainer.app.student_file import student_key
from trainer.commands.cli import run
from trainer.domain.phases import Phase
from trainer.live.display_types import GestureView
from trainer.live.practice_state import DisplayState
from trainer.store.history import practised
from trainer.store.limit_changes import limit_changes
from trainer.store.students import Students

DRILL = """\
[drill]
name = "First hold"
instruction = "Hold still, then look"
cue = "both"
next = "quiet-hands"

[block]
strokes = 8
silent_strokes = 3

[feedback]
schedule = "fading"

[pass]
good = 7
of = 50
faults = ["early_look", "short_hold"]
"""
END = (("down", 1.0), ("both hands up", 3.5))


def on(folder: Path, *arguments: str) -> None:
    assert run(["--data-folder", str(folder), *arguments]) == 0


def own_drill(folder: Path) -> None:
    (folder / "drills").mkdir(parents=True, exist_ok=True)
    (folder / "drills" / "first-hold.toml").write_text(DRILL, encoding="utf-8")


def facts(folder: Path) -> list[Any]:
    with load_context(folder).open_store() as store:
        return [f for f, _ in practised(store, student_key(Students(folder).find("Robin")), ("hold_s",))]


def sign_is(word: str) -> Any:
    return lambda view: view.sign is not None and view.sign.word == word and view.replay is None


def stroke_line(text: str) -> Any:
    return lambda view: view.drill is not None and view.drill.stroke == text


def holds_pause(gestures: GestureView) -> bool:
    return gestures.holding == ("Pause", pytest.approx(0.6, abs=0.2))


def test_from_the_lesson_home_and_back_through_the_window(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    coach, home, pictures_folder = tmp_path / "coach", tmp_path / "home", shots_folder()
    own_drill(coach)
    on(coach, "students", "add", "Robin", "player.height_cm=172", 'student.drills=["first-hold", "quiet-hands"]')

    # Eight strokes without a ball, ended by both hands up: limits that fit.
    display = StageDisplay(pictures_folder)
    seen = joined(*[stroke(1.2 + 0.05 * i, "rehearsal") for i in range(8)], positions(*END))
    Stage(seen, display).practise(coach, student="Robin", schedule="silent")
    on(coach, "baseline", "--student", "Robin", "--last", "--accept", "--by", "coach")
    assert len(facts(coach)) == 8
    assert {f.kind for f in facts(coach)} == {"rehearsal"}
    said = capsys.readouterr().out
    assert "from 8 rehearsal strokes" in said
    with load_context(coach).open_store() as store:
        student = Students(coach).find("Robin")
        assert limit_changes(store, student.card.id)[-1].who == "coach"

    # The coach moves a limit in its own window.
    saved_from_the_window(coach, pictures_folder)
    assert load_context(coach, "Robin").settings.limits.short_hold.value == 0.8

    # The drill, with how it felt, an order to pause, leaving and coming back, then the silent test and the next drill.
    on(coach, "students", "set", "Robin", "feedback.feel=true")
    display = StageDisplay(
        pictures_folder,
        wanted={
            "1-question": lambda view: view.gestures is not None and view.gestures.asks,
            "2-result-with-feel": lambda view: view.sign is not None and "it felt" in view.sign.detail,
            "3-pause-held": lambda view: view.gestures is not None and holds_pause(view.gestures),
            "4-paused": lambda view: view.paused and view.gestures is not None and "go on" in view.gestures.hint,
            "5-nobody": lambda view: view.paused and view.gestures is not None and "nobody" in view.gestures.hint,
            "6-tally": lambda view: view.drill is not None and view.drill.tally.endswith(" good"),
            "7-block-over": sign_is("Block: 6 of 8 good"),
            "8-silent": stroke_line("Silent test: stroke 2 of 6"),
            "9-passed": sign_is("Passed today in silence"),
            "10-next-drill": stroke_line("Stroke 1 of 20"),
        },
    )  # fmt: skip
    good, early = stroke(1.3), stroke(-0.35)
    felt_good = answered(good, "lead hand up")
    felt_bad = answered(early, "trail hand up")
    stage = Stage(
        joined(
            felt_good, felt_bad, positions(("down", 1.0), *[("lead hand up", 2.0), ("down", 1.0)] * 2),
            good, early, positions((None, 5.0), ("down", 1.5)), good, good, good, good,
            positions(("down", 9.0)), *[good] * 6, positions(("down", 9.0), ("trail hand up", 2.2), *END),
        ),
        display,
    )  # fmt: skip
    capsys.readouterr()
    stage.practise(coach, student="Robin", drill="first-hold")
    said = capsys.readouterr().out
    assert set(display.drawn) == set(display.wanted), set(display.wanted) - set(display.drawn)
    assert "now 6 strokes in silence" in said
    assert "passed today in silence; pass it again on another day" in said
    assert "Hands carry on: " in said  # the next drill began without a key
    assert not [
        name for _, name in stage.tones.played if name in ("early_look", "short_hold", "hold_done")
    ]  # asked, so no tone
    ball = [f for f in facts(coach) if f.kind == "ball"]
    assert [f.stage for f in ball] == ["block"] * 8 + ["silent"] * 6
    assert [f.good for f in ball] == [True, False, True, False] + [True] * 10
    assert [f.felt for f in ball[:2]] == [True, False]
    assert sum(bool(f.told) for f in ball[:8]) == 4  # fading: half of the block on the mean
    assert not any(f.told for f in ball[8:])
    result_waits_for_its_time(display)
    nothing_is_told_in_silence(display)

    # Report, taken home, practised there, brought back.
    on(coach, "report", "--student", "Robin", "--out", str(tmp_path / "before.html"))
    on(coach, "students", "export", "Robin", "--out", str(tmp_path / "to-home.zip"))
    on(home, "students", "import", str(tmp_path / "to-home.zip"))
    on(home, "students", "set", "Robin", "feedback.feel=false")
    display = StageDisplay(pictures_folder, wanted={"11-home": stroke_line("Stroke 3 of 8")}, theme="light")
    stage = Stage(joined(early, good, good, good, positions(*END)), display)
    stage.practise(home, student="Robin", drill="first-hold")
    assert "11-home" in display.drawn
    assert [name for _, name in stage.tones.played if name == "early_look"] == ["early_look"]
    on(home, "students", "export", "Robin", "--out", str(tmp_path / "back.zip"))
    on(coach, "students", "import", str(tmp_path / "back.zip"))
    on(coach, "students", "import", str(tmp_path / "back.zip"))
    assert len(facts(coach)) == 8 + 14 + 4
    on(coach, "report", "--student", "Robin", "--out", str(tmp_path / "after.html"))
    before, after = ((tmp_path / f"{name}.html").read_text() for name in ("before", "after"))
    assert before != after
    capsys.readouterr()
    on(coach, "progress", "--student", "Robin")
    said = " ".join(capsys.readouterr().out.split())
    assert "Robin: 3 sessions, 18 ball strokes" in said  # baseline, lesson, home
    assert "How it felt agreed with what was measured: 100 %" in said


def answered(made: list[Any], pose: str) -> list[Any]:
    """The stroke, and after its look the hand that says how it felt."""
    looked = int((2.0 + 1.4 + 1.3 + 0.9) * 30)
    return joined(made[:looked], positions((pose, 1.2), ("down", STROKE_S - looked / 30 + 3.5)))


def saved_from_the_window(folder: Path, pictures_folder: Path | None) -> None:
    """The coach's window: a limit moved, who and why written, saved."""
    import pygame

    from tests.support.start_stage import StartStage
    from trainer.app.start.memory import DONE, StartMemory, remember_start

    remember_start(folder, StartMemory("Robin", DONE))
    stage = StartStage(folder, folder, (1280, 720))
    stage.click("Limits")
    stage.slide("Short hold", 0.8)
    stage.type("1")
    if pictures_folder is not None:
        pygame.image.save(pygame.display.get_surface(), str(pictures_folder / "0-limits.png"))
    stage.click("Save limits")
    stage.tab_to("Set by")
    stage.type("coach")
    stage.tab_to("Why")
    stage.type("a first step")
    stage.press("Save")
    stage.close()
    pygame.display.quit()


def result_waits_for_its_time(display: StageDisplay) -> None:
    """No result earlier than two seconds after settling, and none while the answer is waited for."""
    settle_s: float | None = None
    for view in display.views:
        moment = view.moment
        if moment is None:
            continue
        if "takeaway_s" in moment.new_events:
            settle_s = None
        if moment.events.settle_s is not None and settle_s is None:
            settle_s = moment.events.settle_s
        told = view.sign is not None and view.sign.word in ("Well held", "Early look")
        if told and settle_s is not None and moment.phase in (Phase.HOLD, Phase.LOOKED):
            assert moment.time_s >= settle_s + 2.0 - 0.04
            assert view.gestures is None or not view.gestures.asks


def nothing_is_told_in_silence(display: StageDisplay) -> None:
    """In the silent test neither sign nor line nor bar says how a stroke was."""
    silent = [v for v in display.views if v.drill is not None and v.drill.silent and v.drill.news is not None]
    assert silent
    words = {v.sign.word for v in silent if v.sign is not None}
    assert words <= {"Stroke kept", "Block: 6 of 8 good", "Well held"}
    seen: list[DisplayState] = [v for v in silent if v.sign is not None and v.sign.word == "Well held"]
    assert all(
        v.drill is not None and v.drill.stroke == "Silent test: stroke 1 of 6" for v in seen
    )  # that of the block's last
    assert {v.drill.tally for v in silent if v.drill} == {"measured, no feedback"}
    assert all(not v.sign or v.sign.word != "Early look" for v in silent)
    assert all(v.held_s is None for v in silent if v.moment is not None and v.moment.phase == Phase.HOLD)


def test_pictures_of_the_story_hold_something(tmp_path: Path) -> None:
    """The stage draws: a picture that was asked for is no empty one."""
    import pygame

    display = StageDisplay(tmp_path, wanted={"some": lambda view: True})
    display.show(DisplayState(image=np.full((480, 640, 3), 90, np.uint8), observation=stroke()[0]))
    picture = pygame.image.load(str(tmp_path / "some.png"))
    assert len({tuple(picture.get_at((x, y))) for x in range(0, 1280, 40) for y in range(0, 720, 40)}) > 4
