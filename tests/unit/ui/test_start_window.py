"""The start window: keys, focus, sizes, sentences, and that it draws only when something has changed."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pygame
import pytest

from tests.support.approved_pictures import assert_approved
from tests.support.practice_stage import joined, stroke
from tests.support.start_stage import StartStage, words_of
from trainer.app.context import load_context
from trainer.app.start.memory import DONE, StartMemory, remember_start
from trainer.app.students import add_student
from trainer.commands.cli import run
from trainer.ui.start.page import Button, Buttons, Goes, Opens, Page, Words
from trainer.ui.start.page_layout import TARGET

SIZES = [((1024, 600), 1.0), ((1366, 768), 1.0), ((1920, 1080), 1.0), ((1024, 600), 2.0)]
PAGES = (
    (), ("Change player",), ("Change player", "Add somebody"), ("Drills",), ("Homework",), ("Homework", "Set homework"),
    ("Change player", "Robin is here twice"), ("Change player", "Robin is here twice", "Kim"),
    ("Lesson",), ("Before play",), ("Replay strokes",), ("How you stand",), ("Why: cards",), ("Distance",),
    ("Coach's round",), ("Limits from a baseline",), ("Export, import",), ("Erase",), ("Settings",), ("Open a clip",),
)  # fmt: skip

DRILL = """\
[drill]
name = "First hold"
instruction = "Hold still, then look"

[block]
strokes = 8
silent_strokes = 14

[feedback]
schedule = "fading"

[pass]
good = 4
of = 5
faults = ["early_look", "short_hold"]
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two students; the first time is over, and the first of them practises."""
    base = tmp_path / "data"
    (base / "drills").mkdir(parents=True)
    (base / "drills" / "first-hold.toml").write_text(DRILL, encoding="utf-8")
    for name in ("Kim", "Robin"):
        add_student(load_context(base), name, {"student.drills": ["first-hold"]})
    remember_start(base, StartMemory("Robin", DONE))
    (tmp_path / "files").mkdir()
    return base


def stage_of(folder: Path, size: tuple[int, int] = (1024, 600), scale: float = 1.0, theme: str = "dark") -> StartStage:
    return StartStage(folder, folder.parent / "files", size, scale, theme)


# ---- sizes


@pytest.mark.parametrize(("size", "scale"), SIZES)
def test_on_every_page_nothing_is_cut_too_small_or_out_of_reach(
    folder: Path, size: tuple[int, int], scale: float
) -> None:
    stage = stage_of(folder, size, scale)
    for way in PAGES:
        for words in way:
            stage.click(words)
        layout = stage.window.view.layout(stage.window.shown, size)
        for item in layout.items:
            box, where = item.box, (way, words_of(item) if item.pressable else item.lines)
            assert box.left >= 0, where
            assert box.right <= size[0], where
            assert item.letters >= 14 * scale, where
            if item.pressable:
                assert min(box.width, box.height) >= 44 * scale, where
            if item.kind in ("words", "option", "button"):  # a title is made smaller
                wide = max(stage.view.canvas.width(line, round(item.letters)) for line in item.lines or ("",))
                assert wide <= box.width + 1, where
        for one, other in itertools.combinations([i for i in layout.items if i.pressable], 2):
            assert one.fixed != other.fixed or not one.box.colliderect(other.box), (way, words_of(one), words_of(other))
        while stage.window.page.title != "Robin":
            stage.key("escape")
    assert TARGET >= 44


@pytest.mark.parametrize(
    ("size", "scale", "theme", "name"),
    [
        ((1024, 600), 1.0, "dark", "start-1024"),
        ((1366, 768), 1.0, "light", "start-1366"),
        ((1920, 1080), 1.0, "dark", "start-1920"),
        ((1024, 600), 2.0, "light", "start-200"),
    ],
)
def test_the_start_page_looks_as_approved(
    folder: Path, size: tuple[int, int], scale: float, theme: str, name: str
) -> None:
    assert_approved(stage_of(folder, size, scale, theme).picture(), name)


def test_the_first_page_looks_as_approved(tmp_path: Path) -> None:
    assert_approved(StartStage(tmp_path, tmp_path).picture(), "start-first")


# ---- keys


def test_tab_reaches_everything_and_comes_round(folder: Path) -> None:
    stage = stage_of(folder)
    seen = []
    for _ in stage.items():
        assert stage.focused is not None
        seen.append(words_of(stage.focused))
        stage.key("tab")
    assert sorted(seen) == sorted(stage.words)
    assert stage.focused is not None
    assert words_of(stage.focused) == seen[0]
    stage.key("tab", shift=True)
    assert words_of(stage.focused) == seen[-1]


def test_a_choice_is_one_stop_and_its_arrows_choose(tmp_path: Path) -> None:
    stage = StartStage(tmp_path, tmp_path)
    stops = []
    for _ in stage.items():
        assert stage.focused is not None
        stops.append(words_of(stage.focused))
        stage.key("tab")
    assert stops[:5] == ["Name", "right-handed", "Height", "metres", "Next"]
    stage.tab_to("right-handed")
    for key, hand in (("right", "left"), ("right", "left"), ("left", "right"), ("right", "left")):
        stage.key(key)
        assert stage.window.shown.values["hand"] == hand
    stage.key("down")  # a field
    stage.key("down")
    assert stage.focused is not None
    assert (words_of(stage.focused), stage.window.shown.values["unit"]) == ("metres", "m")  # it is come to, not chosen
    stage.key("tab", shift=True)
    stage.key("tab", shift=True)
    assert words_of(stage.focused) == "left-handed"


def test_the_way_to_save_stays_in_view(folder: Path) -> None:
    stage = stage_of(folder)
    stage.click("Settings")
    layout = stage.window.view.layout(stage.window.shown, (1024, 600))
    save = stage.item("Save")
    assert layout.most_scroll > 0  # there is more than fits
    assert save.fixed
    assert layout.bottom <= save.box.top < save.box.bottom < 600
    stage.window.handle(pygame.event.Event(pygame.MOUSEWHEEL, y=-20))
    for kind in (pygame.MOUSEBUTTONDOWN, pygame.MOUSEBUTTONUP):
        stage.window.handle(pygame.event.Event(kind, button=1, pos=save.box.center))
    assert stage.said == "saved"


def test_a_foot_too_high_for_the_window_scrolls_with_the_rest(tmp_path: Path) -> None:
    stage = StartStage(tmp_path, tmp_path, scale=2.0)
    many = tuple(Button(f"Way {n}", lambda _: Goes("stay")) for n in range(6))
    stage.window.follow(lambda: Opens(lambda: Page("Many", (Words("text"),), foot=many)))
    assert not any(item.fixed for item in stage.items() if words_of(item).startswith("Way"))


def test_arrows_go_where_they_point(folder: Path) -> None:
    stage = stage_of(folder)
    stage.tab_to("Free practice")
    for key, words in (
        ("right", "Progress"), ("right", "Limits"), ("down", "Limits from a baseline"), ("left", "How you stand"),
        ("up", "Progress"),
        ("left", "Free practice"), ("left", "Free practice"), ("up", "Drills"), ("up", "First hold, 22 strokes"),
    ):  # fmt: skip
        stage.key(key)
        assert stage.focused is not None
        assert words_of(stage.focused) == words, key


def test_what_has_the_focus_is_seen(folder: Path) -> None:
    stage = stage_of(folder)
    stage.tab_to("Drills")
    before = stage.picture()
    stage.tab_to("Homework")
    changed = (stage.picture() != before).any(axis=2)
    for words in ("Drills", "Homework"):
        box = stage.window.view.layout(stage.window.shown, (1024, 600)).place(stage.item(words), 0)
        assert changed[box.top : box.bottom, box.left : box.right].sum() > 2 * box.width, words


def test_the_focus_is_scrolled_to(folder: Path) -> None:
    stage = stage_of(folder, scale=2.0)
    for _ in stage.items():
        stage.key("tab")
        layout = stage.window.view.layout(stage.window.shown, (1024, 600))
        assert stage.focused is not None
        box = layout.place(stage.focused, stage.window.shown.scroll)
        assert stage.focused.fixed or (layout.top <= box.top and box.bottom <= layout.bottom)


def test_escape_at_the_start_page_asks(folder: Path) -> None:
    stage = stage_of(folder)
    stage.key("escape")
    stage.press("Stay")
    assert (stage.title, stage.window.open) == ("Robin", True)
    stage.key("escape")
    stage.press("Close")
    assert not stage.window.open


def test_a_figure_presses_a_row(folder: Path) -> None:
    """In the coach's round that is one key a student, and the list counts."""
    stage = stage_of(folder)
    stage.putt(joined(stroke(1.3)))
    stage.press("Coach's round")
    assert "1  Kim" in stage.words
    stage.type("1")
    assert stage.desk.student == "Kim"
    kim = stage.item("1  Kim").of
    assert kim.note.startswith("1 stroke today")
    assert stage.item("2  Robin").of.note.startswith("0 strokes today")


def test_the_round_by_arms_is_everybodys_once(folder: Path) -> None:
    """Whoever is chosen begins, the last in the list too."""
    from trainer.testing.fakes import FakeClock

    stage = stage_of(folder)
    stage.desk.choose("Robin")
    stage.desk.clock = FakeClock()
    stage.putt(joined(stroke(1.3)))
    stage.press("Coach's round")
    stage.press("Round by arms")
    assert stage.desk.student == "Kim"  # whose turn came after Robin's was over
    assert stage.item("2  Robin").of.note.startswith("1 stroke today")


# ---- what is said


def test_errors_are_the_commands_sentences(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stage = stage_of(folder)
    for press, line in (
        ("Progress", ["progress", "--student", "Robin"]),
        ("Limits from a baseline", ["baseline", "--student", "Robin", "--last"]),
    ):
        stage.press(press)
        if press == "Limits from a baseline":
            stage.press("From strokes on record")
        capsys.readouterr()
        assert run(["--data-folder", str(folder), *line]) == 2
        assert capsys.readouterr().err.strip() == f"putting-trainer: {stage.said}"
        assert stage.window.shown.wrong


def test_what_is_typed_wrongly_stays_to_be_corrected(folder: Path) -> None:
    stage = stage_of(folder)
    stage.click("Change player")
    stage.click("Add somebody")
    stage.type("Alex")
    stage.tab_to("Height")
    stage.type("tall")
    stage.press("Save")
    assert stage.said == "tall is no height; write 172 for cm, or 5 ft 8 in"
    assert (stage.title, stage.window.shown.values["name"]) == ("Add somebody", "Alex")
    stage.tab_to("Height")
    for _ in "tall":
        stage.key("backspace")
    stage.type("1.81 m")
    stage.press("Save")
    assert stage.title == "Alex"
    assert load_context(folder, "Alex").settings.player.height_cm == 181.0


def test_a_students_file_with_a_fault_is_told_and_others_go_on(folder: Path) -> None:
    path = next((folder / "students").glob("robin*"))
    path.write_text(path.read_text(encoding="utf-8") + "\n[limits]\nsway = 3\n", encoding="utf-8")
    stage = stage_of(folder)
    assert stage.title == "Nobody chosen"
    assert any(isinstance(one, Words) and str(path) in one.text for one in stage.window.page.body)


def test_a_task_without_a_student_says_what_to_do(tmp_path: Path) -> None:
    remember_start(tmp_path, StartMemory(None, DONE))
    stage = StartStage(tmp_path, tmp_path)
    stage.press("Progress")
    assert stage.said == "nobody is chosen yet; choose who is practising, or add somebody"


# ---- settings, files


def test_settings_change_only_what_was_chosen(folder: Path) -> None:
    (folder / "settings.toml").write_text("# mine\n[sound]\nvolume = 0.75  # just right\n", encoding="utf-8")
    stage = stage_of(folder)
    stage.press("Settings")
    stage.click("dark on light")
    stage.click("largest")
    stage.click("Save")
    assert (stage.view.theme, stage.view.scale) == ("light", 2.0)
    text = (folder / "settings.toml").read_text(encoding="utf-8")
    assert "# mine" in text
    assert "volume = 0.75  # just right" in text
    window = load_context(folder).settings.window
    assert (window.theme, window.letters) == ("light", 2.0)


def test_a_file_dropped_that_is_no_clip_is_told(folder: Path) -> None:
    stage = stage_of(folder)
    path = folder.parent / "notes.txt"
    path.write_text("no clip", encoding="utf-8")
    stage.window.handle(pygame.event.Event(pygame.DROPFILE, file=str(path)))
    assert str(path) in stage.said
    assert stage.window.shown.wrong
    assert stage.title == "Robin"


def test_long_work_that_is_stopped_leaves_nothing(folder: Path) -> None:
    """The cross while an export would be written: nothing is there, and the page stays."""
    stage = stage_of(folder)
    stage.press("Export, import")

    def stopped(told: Any) -> None:
        corner = (pygame.display.get_surface().get_width() - 5, 5)
        pygame.event.post(pygame.event.Event(pygame.MOUSEBUTTONUP, button=1, pos=corner))
        while True:
            told.tell(0.5)

    stage.window.follow(lambda: Goes("stay", str(stage.desk.run("Working", stopped))))
    assert stage.said == "stopped; nothing was changed"
    assert stage.title == "Robin: export, import"


# ---- drawing


def test_it_draws_only_when_something_has_changed(folder: Path) -> None:
    stage = stage_of(folder)
    stage.window.draw()
    for kind, more in (
        (pygame.MOUSEMOTION, {"pos": (5, 5), "rel": (1, 1), "buttons": (0, 0, 0)}),
        (pygame.KEYUP, {"key": 1}),
    ):
        stage.window.handle(pygame.event.Event(kind, more))
        stage.window.tick()
    assert stage.window.fresh
    stage.key("tab")
    assert not stage.window.fresh


def test_the_loop_ends_with_the_window(folder: Path) -> None:
    stage = stage_of(folder)
    pygame.event.post(pygame.event.Event(pygame.QUIT))
    stage.window.run()
    assert not stage.window.open


def test_a_page_that_lives_is_made_anew(folder: Path) -> None:
    stage = stage_of(folder)
    count = itertools.count()

    def living() -> Page:
        return Page(str(next(count)), (Buttons((Button("go on", lambda _: Goes("stay")),)),), live_s=0.0)

    from trainer.ui.start.page import Opens

    stage.window.follow(lambda: Opens(living))
    for _ in range(3):
        stage.window.tick()
    assert int(stage.title) >= 3


# ---- the command without a command


def test_without_a_command_the_window_opens(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pygame.display.init()
    pygame.display.set_mode((64, 64))
    pygame.event.post(pygame.event.Event(pygame.QUIT))
    assert run(["--data-folder", str(tmp_path)]) == 0
    assert capsys.readouterr().out == ""
    assert not pygame.display.get_init()


def test_settings_that_are_wrong_are_told_in_a_window_where_there_is_no_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "settings.toml").write_text("[windw]\nwidth = 1024\n", encoding="utf-8")
    pygame.display.init()
    pygame.display.set_mode((64, 64))
    pygame.event.post(pygame.event.Event(pygame.QUIT))
    assert run(["--data-folder", str(tmp_path)]) == 2
    assert "windw" in capsys.readouterr().err
    assert not pygame.display.get_init()  # a window was opened, and closed


def test_without_a_display_the_help_and_a_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    pygame.display.quit()
    monkeypatch.setenv("SDL_VIDEODRIVER", "x11")
    monkeypatch.setenv("DISPLAY", ":none")
    assert run(["--data-folder", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    assert "Usage: putting-trainer" in out
    assert out.endswith("\nno display for the start window: give a command\n")
