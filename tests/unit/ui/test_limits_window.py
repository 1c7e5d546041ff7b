"""Limits tried on strokes of the record: as a pure what-if, as a table, and in the window."""

from __future__ import annotations

import re
import time
from dataclasses import replace
from pathlib import Path
from typing import Any, Callable, Iterator, Sequence

import numpy as np
import pygame
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.made_strokes import keep_sessions, record
from tests.support.start_stage import StartStage, ending, words_of
from trainer.app.context import load_context
from trainer.app.limits import LimitsDesk, LimitsRequest
from trainer.app.review_strokes import StrokeNumber, from_record
from trainer.app.start.memory import DONE, StartMemory, remember_start
from trainer.app.student_file import student_key
from trainer.coaching.faults import judge, verdict
from trainer.coaching.what_if import WhatIf, WhatIfRow, stepped, with_limit
from trainer.commands.cli import run
from trainer.domain.measures import LIMITED
from trainer.domain.player_frame import RIGHT_HANDED, PlayerFrame
from trainer.domain.record import ACROSS_NAMES, Measure, StrokeRecord
from trainer.domain.verdict import FAULT_NAMES
from trainer.settings.limits import Limits
from trainer.store.limit_changes import limit_changes
from trainer.store.students import Students
from trainer.store.what_if import strokes_for_what_if
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.limits.limits_drawing import Dot, LimitAxis, draw_axis
from trainer.ui.limits.limits_state import LimitsState, row_words
from trainer.ui.review.window import REPEAT_MS
from trainer.ui.start.page import Picture, Slides, Words
from trainer.ui.start.places import Item
from trainer.ui.start.start_window import StartWindow

LONGEST_S = 0.050  # for 200 strokes while a slider moves


def down_the_line(lean_deg: float) -> StrokeRecord:
    """A stroke seen along the line whose spine straightens by so much before the look."""
    made = record()
    t, columns = made.signals.time_s, {n: c.copy() for n, c in made.signals.columns.items()}
    columns |= {name: np.full_like(t, np.nan) for name in ACROSS_NAMES}
    lean = np.radians(30 - lean_deg * np.clip((t - 2.0) / 0.5, 0, 1))
    for side in ("lead", "trail"):
        columns[f"{side}_hip_up_px"], columns[f"{side}_hip_across_px"] = np.full_like(t, 210.0), np.full_like(t, 100.0)
        columns[f"{side}_shoulder_up_px"] = 210 + 130 * np.cos(lean)
        columns[f"{side}_shoulder_across_px"] = 100 + 130 * np.sin(lean)
        columns[f"{side}_ankle_across_px"] = np.full_like(t, 100.0)
    columns["hands_across_px"] = np.full_like(t, 150.0)
    signals = replace(made.signals, columns=columns, frame=PlayerFrame("down-the-line"))
    return replace(made, signals=signals, view="down-the-line")


def some_strokes(count: int, seed: int = 5) -> list[StrokeRecord]:
    rng = np.random.default_rng(seed)
    out = []
    for i in range(count):
        made = record(
            float(rng.normal(0.7, 0.8)),
            hinge_deg=float(rng.normal(10, 5)),
            sway_cm=float(rng.normal(0, 3)),
            lift_cm=float(rng.normal(1, 1.5)),
            recoil_cm=float(abs(rng.normal(1, 2))),
            rng=rng,
        )
        if i % 7 == 3:  # some things are not seen
            made = replace(made, measures={**made.measures, "head_turn_deg": Measure(None, "deg", 0.0, "hair")})
        out.append(made)
    return out


STROKES = [*some_strokes(25), down_the_line(9.0), down_the_line(1.0)]


@st.composite
def limits(draw: Any) -> Limits:
    out = Limits()
    for name in FAULT_NAMES:
        limit = getattr(out, name)
        out = with_limit(out, name, draw(st.floats(limit.low, limit.high)), draw(st.booleans()))
    return out


@settings(max_examples=60, deadline=None)
@given(first=limits(), then=st.lists(limits(), min_size=1, max_size=3))
def test_a_trial_gives_the_very_verdicts_of_judging(first: Limits, then: list[Limits]) -> None:
    trial = WhatIf(STROKES, first)
    for one in then:
        trial.judge(one)
    for i, stroke in enumerate(STROKES):
        assert trial.verdict(i) == verdict(stroke, then[-1])
    assert trial.called() == tuple(i for i, stroke in enumerate(STROKES) if judge(stroke, then[-1]))


def test_what_is_called_lies_past_the_limit_on_the_axis() -> None:
    trial = WhatIf(STROKES, Limits())
    for name in ("hand_stall", "recoil", "sway", "lift"):
        row = trial.row(name)
        assert 0 < len(row.called) < row.judged
        value = getattr(trial.limits, name).value
        for i in row.called:
            place = trial.axis(name)[i]
            assert place is not None
            assert place > (0.8 if name == "hand_stall" else 1.0) * value
    for i in trial.row("short_hold").called:
        assert (trial.axis("short_hold")[i] or 0.0) < 1.0
    assert {25} == set(trial.row("posture_change").called)
    assert trial.row("early_look").judged < len(STROKES)  # what was not seen is not counted


def test_a_down_the_line_stroke_keeps_what_its_verdict_needs(tmp_path: Path) -> None:
    run(["--data-folder", str(tmp_path), "students", "add", "Robin"])
    context = load_context(tmp_path, "Robin")
    stroke = down_the_line(9.0)
    with context.open_store() as store:
        session = store.begin_session("Robin", "t", pytest_now(), context.student_id)
        store.keep(session, stroke, judge(stroke, Limits()), (), context.settings, pytest_now())
        (kept,) = strokes_for_what_if(store, student_key(Students(tmp_path).find("Robin")))
    assert kept.then == ("posture_change",)
    # The few columns that are quick to read, not all.
    assert len(kept.record.signals.columns) < len(stroke.signals.columns) / 2
    assert judge(kept.record, Limits()) == judge(stroke, Limits())


def pytest_now() -> Any:
    from datetime import datetime, timezone

    return datetime(2026, 3, 2, 17, 0, tzinfo=timezone.utc)


def quickest(work: Callable[[], object], rounds: int = 3) -> float:
    """Seconds; the least of a few rounds, for other programs run too."""
    took = []
    for _ in range(rounds):
        begun = time.perf_counter()
        work()
        took.append(time.perf_counter() - begun)
    return min(took)


@pytest.mark.timed
@pytest.mark.parametrize("name", FAULT_NAMES)
def test_200_strokes_follow_a_slider(name: str) -> None:
    trial = WhatIf([*some_strokes(180), *[down_the_line(0.1 * i) for i in range(20)]], Limits())
    limit = getattr(Limits(), name)
    values = iter(np.linspace(limit.low, limit.high, 40))

    def move() -> None:
        trial.judge(with_limit(trial.limits, name, stepped(limit, float(next(values)))))
        for row in FAULT_NAMES:
            trial.row(row)

    assert max(quickest(move) for _ in range(5)) < LONGEST_S


# ---- commands


@pytest.fixture
def robin(tmp_path: Path) -> Path:
    run(["--data-folder", str(tmp_path), "students", "add", "Robin", "player.height_cm=172"])
    context = load_context(tmp_path, "Robin")
    with context.open_store() as store:
        keep_sessions(store, context.settings, context.student_id, sessions=3)
    return tmp_path


def test_a_limit_tried_as_a_table(robin: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    base = ["--data-folder", str(robin), "limits", "--student", "Robin", "--count", "all"]
    assert run([*base, "--no-window"]) == 0
    before = capsys.readouterr().out
    assert run([*base, "--no-window", "hand_stall.limit_deg=5"]) == 0
    after = capsys.readouterr().out
    with load_context(robin).open_store() as store:
        strokes = strokes_for_what_if(store, student_key(Students(robin).find("Robin")))
    stricter = with_limit(Limits(), "hand_stall", 5.0)
    for text, by in ((before, Limits()), (after, stricter)):
        called = sum(bool(judge(s.record, by)) for s in strokes)
        assert f"Robin: {called} of {len(strokes)} strokes would be called" in text
    assert load_context(robin, "Robin").settings.limits == Limits()  # a trial keeps nothing


def test_saving_needs_somebody_and_is_kept_with_who_when_and_why(
    robin: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    base = ["--data-folder", str(robin), "limits", "--student", "Robin"]
    with load_context(robin).open_store() as store:
        then = [s.then for s in strokes_for_what_if(store, student_key(Students(robin).find("Robin")))]
    assert run([*base, "hand_stall.limit_deg=5", "--save"]) == 2
    assert load_context(robin, "Robin").settings.limits == Limits()
    assert (
        run([*base, "hand_stall.limit_deg=5", "sway.on=false", "--save", "--by", "coach", "--why", "quiet hands"]) == 0
    )
    now = load_context(robin, "Robin").settings.limits
    assert (now.hand_stall.value, now.sway.on) == (5.0, False)
    with load_context(robin).open_store() as store:
        student = Students(robin).find("Robin")
        last = limit_changes(store, student.card.id)[-1]
        again = [s.then for s in strokes_for_what_if(store, student_key(student))]
    assert (last.who, last.why) == ("coach", "quiet hands")
    assert again == then  # old verdicts stay with the limits of then
    capsys.readouterr()
    assert run([*base, "--history"]) == 0
    said = capsys.readouterr().out
    assert "stopped hands 12 to 5 deg, head going along off" in said
    assert "quiet hands" in said


@pytest.mark.parametrize(
    ("value", "word"),
    [("hand_stall.limit_deg=80", "4 to 45"), ("hand_stal.limit_deg=8", "did you mean"), ("hand_stall", "KEY=VALUE")],
)
def test_nonsense_is_one_line(robin: Path, capsys: pytest.CaptureFixture[str], value: str, word: str) -> None:
    capsys.readouterr()
    assert run(["--data-folder", str(robin), "limits", "--student", "Robin", value, "--no-window"]) == 2
    said = capsys.readouterr().err.strip()
    assert word in said
    assert "\n" not in said


# ---- the window


def never(arguments: Sequence[str]) -> None:
    raise AssertionError(arguments)


@pytest.fixture
def stage(robin: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[StartStage]:
    """The start window, at the limits."""
    remember_start(robin, StartMemory("Robin", DONE))
    made = StartStage(robin, tmp_path_factory.mktemp("files"), (1280, 720))
    made.click("Limits")
    made.click("All")
    yield made
    made.close()


def saved(folder: Path) -> Limits:
    return load_context(folder, "Robin").settings.limits


def shown_words(stage: StartStage) -> str:
    return "\n".join(one.text for one in stage.window.page.body if isinstance(one, Words))


def called(stage: StartStage) -> int:
    return int(stage.title.removeprefix("Robin: ").partition(" ")[0])


@pytest.mark.timed
def test_a_slide_is_dragged_and_the_strokes_follow(stage: StartStage, robin: Path) -> None:
    counts, took = [], []
    for value in (12.0, 11.0, 9.0, 7.0, 5.0, 4.0):
        stage.slide("Stopped hands", value)
        begun = time.perf_counter()
        stage.slide("Stopped hands", value)
        stage.window.draw()
        took.append((time.perf_counter() - begun) / 3)  # a slide is three steps
        counts.append(called(stage))
    assert counts == sorted(counts)
    assert counts[-1] > counts[0]
    assert sorted(took)[len(took) // 2] < 2 * LONGEST_S  # a whole frame: the page, its picture and judging
    assert "not saved yet: stopped hands 12 to 4" in shown_words(stage)
    assert saved(robin) == Limits()


def test_a_limit_is_moved_by_keys_alone(stage: StartStage) -> None:
    stage.tab_to("slide Stopped hands: 12 deg")
    stage.key("left")
    stage.key("left")
    assert words_of(focused(stage)) == "slide Stopped hands: 11 deg"
    stage.press("switch Short hold: 1 s")
    assert "short hold off" in shown_words(stage)
    stage.press("Back to saved")
    assert "not saved" not in shown_words(stage)


def focused(stage: StartStage) -> Item:
    assert stage.focused is not None
    return stage.focused


def test_saved_from_the_window_with_who_and_why(stage: StartStage, robin: Path) -> None:
    stage.press("Save limits")
    assert stage.said == "nothing to change"
    stage.slide("Head going along", 2.0)
    now = next(item.of.value for item in stage.items() if item.kind == "slide" and "going along" in item.of.label)
    stage.press("Save limits")
    stage.press("Save")
    assert (stage.said, stage.window.shown.wrong) == ("say who decides it", True)
    stage.tab_to("Set by")
    stage.type("coach")
    stage.tab_to("Why")
    stage.type("steadier now")
    stage.press("Save")
    assert stage.said == f"saved for Robin by coach: head going along 3 to {now:g} cm"
    assert saved(robin).sway.value == now != 3.0
    with load_context(robin).open_store() as store:
        last = limit_changes(store, Students(robin).find("Robin").card.id)[-1]
    assert (last.who, last.why) == ("coach", "steadier now")


def test_ranges_switches_list_marks_and_play(stage: StartStage) -> None:
    assert " of 60 strokes" in stage.title
    stage.click("Last 20")
    assert " of 20 strokes" in stage.title
    rows = [words for words in stage.words if "stroke" in words and "(" in words]
    assert len(rows) == 20
    stage.click("Called only")
    assert len([words for words in stage.words if "stroke" in words and "(" in words]) == called(stage) < 20
    stage.click("Play this stroke")
    assert stage.window.shown.wrong  # none is chosen
    row = next(words for words in stage.words if "stroke" in words and "(" in words)
    stage.click(row)
    assert "By these limits: " in shown_words(stage)
    assert any(isinstance(one, Picture) for one in stage.window.page.body)
    with ending(REPEAT_MS):
        stage.click("Play this stroke")
    assert not stage.window.shown.wrong


def test_a_mark_on_an_axis_chooses_its_stroke(stage: StartStage) -> None:
    item = next(item for item in stage.items() if item.kind == "slide" and item.of.label.startswith("Stopped hands"))
    layout = stage.window.view.layout(stage.window.shown, (1280, 720))
    axis, (low, high) = layout.axis(item, 0), item.of.span
    strokes = LimitsState(LimitsDesk(stage.desk.own(), LimitsRequest("Robin", last=None), never))
    place = max(one for one in strokes.what_if.axis("hand_stall") if one is not None and one < 11.0)
    at = (round(axis.left + axis.width * (place - low) / (high - low)), axis.top + 6)
    for kind in (pygame.MOUSEBUTTONDOWN, pygame.MOUSEBUTTONUP):
        stage.window.handle(pygame.event.Event(kind, button=1, pos=at))
    chosen = next(
        words_of(one) for one in stage.items() if one.kind == "button" and one.of.chosen and "stroke" in one.of.words
    )
    number = [strokes.item(i) for i in range(len(strokes.strokes))].index(chosen)
    assert strokes.what_if.axis("hand_stall")[number] == pytest.approx(place, abs=1.0)
    assert "By these limits: " in shown_words(stage)
    assert "not saved" not in shown_words(stage)


def test_how_many_strokes_stand_in_one_place_is_seen() -> None:
    import pygame

    def drawn(count: int) -> bytes:
        surface = pygame.Surface((300, 40))
        box = pygame.Rect(20, 4, 260, 32)
        draw_axis(Canvas(), surface, box, LimitAxis([Dot(3.0, False)] * count, (0.0, 10.0), 5.0, 0.0), "dark")
        return pygame.image.tobytes(surface, "RGB")

    pictures = [drawn(count) for count in (1, 2, 3, 4, 5, 8, 12, 16, 17, 40)]
    assert len(set(pictures)) == len(pictures)


def test_a_look_too_close_to_call_is_drawn_as_neither_and_counted_beside() -> None:
    import pygame

    def middle(**dot: bool) -> tuple[int, ...]:
        surface = pygame.Surface((300, 40))
        draw_axis(
            Canvas(), surface, pygame.Rect(20, 4, 260, 32), LimitAxis([Dot(3.0, **dot)], (0.0, 10.0), 5.0, 0.0), "dark"
        )
        return tuple(surface.get_at((20 + 78, 36 - 4)))

    within, past, near = middle(called=False), middle(called=True), middle(called=False, open=True)
    assert len({within, past, near}) == 3
    assert near == (0, 0, 0, 255)  # the ring's hole
    assert row_words(WhatIfRow("early_look", (1, 4), 9, 2)) == "calls 2 of 9 seen, 2 too close"


def test_the_window_is_as_large_as_the_settings_say(robin: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (robin / "settings.toml").write_text("[window]\nwidth = 1000\nheight = 620\n", encoding="utf-8")
    sizes: list[tuple[int, int]] = []

    def once(window: StartWindow) -> None:
        sizes.append(pygame.display.get_surface().get_size())
        window.open = False

    monkeypatch.setattr(StartWindow, "run", once)
    assert run(["--data-folder", str(robin), "limits", "--student", "Robin"]) == 0
    assert sizes == [(1000, 620)]


def test_without_a_display_the_command_prints_the_table(
    robin: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    pygame.display.quit()
    monkeypatch.setenv("SDL_VIDEODRIVER", "none_such")
    assert run(["--data-folder", str(robin), "limits", "--student", "Robin"]) == 0
    said = capsys.readouterr().out
    assert "no display: the same as a table" in said
    assert "strokes would be called" in said


def test_playing_opens_the_very_stroke_in_review(robin: Path) -> None:
    context = load_context(robin)
    started: list[Sequence[str]] = []
    desk = LimitsDesk(context, LimitsRequest("Robin"), started.append)
    with context.open_store() as store:
        for stroke in desk.strokes(None)[::7]:
            assert desk.replay(stroke.stroke_id).startswith("review --stroke ")
            arguments = started[-1]
            assert list(arguments[:5]) == ["--data-folder", str(robin), "review", "--student", "Robin"]
            number = int(arguments[-1].partition("/")[2])
            assert store.stroke(stroke.stroke_id).number == number
        assert "not on record" in desk.replay(10**9)


def test_a_stroke_has_one_name_in_the_list_of_strokes_the_limits_and_the_review(
    robin: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    context = load_context(robin)
    key = student_key(Students(robin).find("Robin"))
    capsys.readouterr()
    assert run(["--data-folder", str(robin), "strokes", "--count", "100"]) == 0
    listed = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
    with context.open_store() as store:
        state = LimitsState(LimitsDesk(context, LimitsRequest("Robin", last=None), never))
        assert len({stroke.which for stroke in state.strokes}) == len(state.strokes)
        assert len({state.item(i) for i in range(len(state.strokes))}) == len(state.strokes)
        for i, stroke in enumerate(state.strokes):
            back, number = map(int, stroke.which.split("/"))
            assert from_record(context, store, key, StrokeNumber(back, number)).main.name == stroke.name
            assert re.fullmatch(r"\d+ \w+( 20\d\d)?, \d\d:\d\d, stroke \d+", stroke.name)
            assert sum(line.startswith(f"{stroke.name} {stroke.which} Robin") for line in listed) == 1
            assert state.item(i).startswith(f"{stroke.name}, ")


def test_every_limit_has_an_axis() -> None:
    assert set(LIMITED) == set(FAULT_NAMES)


def test_a_down_the_line_stroke_from_before_is_judged_from_all_its_signals(tmp_path: Path) -> None:
    """Its quick columns hold the head's turn only."""
    from trainer.store.signals import pack_turns

    run(["--data-folder", str(tmp_path), "students", "add", "Robin"])
    context = load_context(tmp_path, "Robin")
    stroke = down_the_line(9.0)
    with context.open_store() as store:
        session = store.begin_session("Robin", "t", pytest_now(), context.student_id)
        store.keep(session, stroke, (), (), context.settings, pytest_now())
        old = pack_turns(replace(stroke.signals, frame=RIGHT_HANDED))
        with store.writing() as db:
            db.execute("UPDATE strokes SET turns = ?", (old,))
        (kept,) = strokes_for_what_if(store, student_key(Students(tmp_path).find("Robin")))
    assert [f.name for f in judge(kept.record, Limits())] == ["posture_change"]


def test_the_command_opens_the_window_with_the_limits_tried(robin: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[StartWindow] = []

    def once(window: StartWindow) -> None:
        window.draw()
        opened.append(window)

    monkeypatch.setattr(StartWindow, "run", once)
    line = ["--data-folder", str(robin), "limits", "--student", "Robin", "sway.limit_cm=1.5", "--count", "100"]
    assert run(line) == 0
    body = opened[-1].page.body
    slides = next(one for one in body if isinstance(one, Slides)).slides
    assert 1.5 in [one.value for one in slides]
    assert "not saved yet: head going along 3 to 1.5 cm" in [one.text for one in body if isinstance(one, Words)]
    assert " of 60 strokes" in opened[-1].page.title
