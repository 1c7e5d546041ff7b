"""Limits tried on strokes of the record: as a pure what-if, as a table, and in the window."""

from __future__ import annotations

import re
import time
from dataclasses import replace
from pathlib import Path
from typing import Any, Callable, Iterator, Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.made_strokes import keep_sessions, record
from trainer.app.context import load_context
from trainer.app.limits import LimitsDesk, LimitsRequest
from trainer.app.review_strokes import StrokeNumber, from_record
from trainer.app.student_file import student_key
from trainer.coaching.faults import judge, verdict
from trainer.coaching.what_if import WhatIf, WhatIfRow, stepped, with_limit
from trainer.commands.cli import run
from trainer.domain.measures import LIMITED
from trainer.domain.player_frame import RIGHT_HANDED, PlayerFrame
from trainer.domain.record import ACROSS_NAMES, Measure, StrokeRecord
from trainer.domain.verdict import FAULT_NAMES
from trainer.settings.limits import Limits
from trainer.store.history import limit_changes
from trainer.store.students import Students
from trainer.store.what_if import strokes_for_what_if
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.limits.limits_drawing import DOT, Dot, LimitAxis, draw_axis
from trainer.ui.limits.limits_state import LimitsState, row_words

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
    assert "stopped hands 12 to 5 deg, sway off" in said
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


class Hand:
    """A mouse on the window: the events that SDL would send, and where SDL would say that the mouse is."""

    def __init__(self, win: Any, monkeypatch: pytest.MonkeyPatch, started: list[Sequence[str]]) -> None:
        import pygame

        self.pg, self.win, self.started, self.at = pygame, win, started, (0, 0)
        monkeypatch.setattr(pygame.mouse, "get_pos", lambda: self.at)

    def pump(self) -> None:
        self.win.draw()
        for event in self.pg.event.get():
            self.win.handle(event)

    def to(self, at: tuple[int, int]) -> None:
        self.at = at
        self.win.handle(self.pg.event.Event(self.pg.MOUSEMOTION, pos=at, rel=(0, 0), buttons=(0, 0, 0)))
        self.pump()

    def press(self, at: tuple[int, int]) -> None:
        self.to(at)
        self.win.handle(self.pg.event.Event(self.pg.MOUSEBUTTONDOWN, pos=at, button=1))
        self.pump()

    def release(self) -> None:
        self.win.handle(self.pg.event.Event(self.pg.MOUSEBUTTONUP, pos=self.at, button=1))
        self.pump()
        self.pump()

    def click(self, at: tuple[int, int]) -> None:
        self.press(at)
        self.release()

    def write(self, field: Any, text: str) -> None:
        self.click(field.get_abs_rect().center)
        for letter in text:
            self.win.handle(self.pg.event.Event(self.pg.TEXTINPUT, text=letter))
        self.pump()


@pytest.fixture
def window(robin: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Any, Hand]]:
    import pygame

    from trainer.ui.drawing.window import open_surface
    from trainer.ui.limits.limits_window import LimitsWindow

    open_surface((1280, 720), "limits", 0)
    pygame.event.clear()
    context = load_context(robin)
    with context.open_store() as store:
        started: list[Sequence[str]] = []
        win = LimitsWindow(LimitsState(LimitsDesk(context, store, LimitsRequest("Robin", last=None), started.append)))
        yield win, Hand(win, monkeypatch, started)
    pygame.display.quit()


@pytest.mark.timed
def test_a_slider_is_dragged_and_the_strokes_follow(window: tuple[Any, Hand], robin: Path) -> None:
    win, hand = window
    state = win.state
    before = len(state.what_if.row("hand_stall").called)
    slider = win.sliders["hand_stall"]
    start = slider.sliding_button.get_abs_rect().center
    hand.press(start)
    counts, took = [], []
    for way in range(0, -110, -10):
        begun = time.perf_counter()
        hand.to((start[0] + way, start[1]))
        took.append(time.perf_counter() - begun)
        counts.append(len(state.what_if.row("hand_stall").called))
        assert state.limits.hand_stall.value == stepped(Limits().hand_stall, slider.get_current_value())
    hand.release()
    assert counts == sorted(counts)
    assert counts[-1] > before
    assert sorted(took)[len(took) // 2] < 2 * LONGEST_S  # a whole frame: widgets, list, marks and judging
    assert load_context(robin, "Robin").settings.limits == Limits()
    assert state.status_line().startswith("not saved yet: hands stopped 12 to")


def test_saved_from_the_window_with_who_and_why(window: tuple[Any, Hand], robin: Path) -> None:
    win, hand = window
    win.set(with_limit(win.state.limits, "sway", 2.0))
    hand.pump()
    hand.click(win.buttons["save limits"].get_abs_rect().center)
    assert "say who" in win.state.message
    hand.write(win.who, "coach")
    hand.write(win.why, "steadier now")
    hand.click(win.buttons["save limits"].get_abs_rect().center)
    assert win.state.message == "saved for Robin by coach: sway 3 to 2 cm"
    assert load_context(robin, "Robin").settings.limits.sway.value == 2.0
    with load_context(robin).open_store() as store:
        last = limit_changes(store, Students(robin).find("Robin").card.id)[-1]
    assert (last.who, last.why) == ("coach", "steadier now")
    win.set(with_limit(win.state.limits, "lift", 1.0))
    hand.click(win.buttons["back to saved"].get_abs_rect().center)
    assert win.state.limits == load_context(robin, "Robin").settings.limits


def test_ranges_switches_list_marks_and_play(window: tuple[Any, Hand]) -> None:
    win, hand = window
    state = win.state
    assert len(state.strokes) == 60
    hand.pump()
    hand.click(win.buttons["last 20"].get_abs_rect().center)
    assert len(state.strokes) == 20
    hand.click(win.buttons["all"].get_abs_rect().center)
    assert len(state.strokes) == 60
    hand.click(win.switches["short_hold"].get_abs_rect().center)
    assert not state.limits.short_hold.on
    assert state.what_if.row("short_hold").called == ()
    hand.click(win.switches["short_hold"].get_abs_rect().center)
    assert state.limits.short_hold.on
    hand.click(win.buttons["called only"].get_abs_rect().center)
    assert state.listed() == list(state.what_if.called())[::-1]
    assert not win.buttons["play this stroke"].is_enabled
    some = state.what_if.called()[0]
    place = state.what_if.axis("hand_stall")[some]
    box, limit = win.axis_box("hand_stall"), state.limits.hand_stall
    x = box.left + (place - limit.low) / (limit.high - limit.low) * box.width
    hand.click((round(x), box.centery))
    assert state.chosen is not None
    assert state.what_if.axis("hand_stall")[state.chosen] == pytest.approx(place, abs=1.0)
    assert state.now_words().startswith("By these limits: ")
    hand.click(win.buttons["play this stroke"].get_abs_rect().center)
    assert state.message.startswith("review --stroke ")
    assert [arguments[-1] for arguments in hand.started] == [state.message.split()[2]]


def never(arguments: Sequence[str]) -> None:
    raise AssertionError(arguments)


def test_the_window_closes_and_has_both_themes_and_small_sizes(robin: Path) -> None:
    import pygame

    from trainer.ui.drawing.window import open_surface
    from trainer.ui.limits.limits_window import LimitsWindow

    context = load_context(robin)
    with context.open_store() as store:
        desk = LimitsDesk(context, store, LimitsRequest("Robin"), never)
        for theme, size in (("dark", (1024, 600)), ("dark", (1366, 768)), ("light", (1600, 1000))):
            surface = open_surface(size, "limits", 0)
            win = LimitsWindow(LimitsState(desk), theme)
            win.draw()
            everything_has_its_own_place(win, size)
            assert len({tuple(surface.get_at((x, 400))) for x in range(0, size[0], 3)}) > 3
            assert win.open
            win.handle(pygame.event.Event(pygame.QUIT))
            assert not win.open
    pygame.display.quit()


def everything_has_its_own_place(win: Any, size: tuple[int, int]) -> None:
    """Every widget and every row of strokes is inside the window, and none covers another."""
    import pygame

    widgets = [*win.sliders.values(), *win.switches.values(), *win.buttons.values(), win.who, win.why, win.list]
    boxes = [w.get_abs_rect() for w in widgets] + [win.axis_box(name) for name in FAULT_NAMES]
    assert all(pygame.Rect((0, 0), size).contains(box) for box in boxes)
    assert all(a.inflate(-2, -2).collidelist(boxes[:k]) < 0 for k, a in enumerate(boxes))
    assert min(win.axis_box(name).height for name in FAULT_NAMES) >= 4 * DOT


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
    import pygame

    from trainer.ui.limits.limits_window import LimitsWindow

    (robin / "settings.toml").write_text("[window]\nwidth = 1000\nheight = 620\n", encoding="utf-8")
    sizes: list[tuple[int, int]] = []

    def once(win: Any, *_: float) -> None:
        sizes.append(pygame.display.get_surface().get_size())
        win.open = False

    monkeypatch.setattr(LimitsWindow, "draw", once)
    assert run(["--data-folder", str(robin), "limits", "--student", "Robin"]) == 0
    assert sizes == [(1000, 620)]


def test_without_a_display_the_command_prints_the_table(
    robin: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    import pygame

    import trainer.ui.drawing.window

    def none(*_: object) -> None:
        raise pygame.error("no screen")

    monkeypatch.setattr(trainer.ui.drawing.window, "open_surface", none)
    assert run(["--data-folder", str(robin), "limits", "--student", "Robin"]) == 0
    said = capsys.readouterr().out
    assert "no display: the same as a table" in said
    assert "strokes would be called" in said


def test_playing_opens_the_very_stroke_in_review(robin: Path) -> None:
    context = load_context(robin)
    started: list[Sequence[str]] = []
    with context.open_store() as store:
        desk = LimitsDesk(context, store, LimitsRequest("Robin"), started.append)
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
        state = LimitsState(LimitsDesk(context, store, LimitsRequest("Robin", last=None), never))
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
    from trainer.ui.limits.limits_window import LimitsWindow

    opened: list[Any] = []
    draw = LimitsWindow.draw

    def once(win: Any, *more: float) -> None:
        draw(win, *more)
        opened.append(win)
        win.open = len(opened) < 2

    monkeypatch.setattr(LimitsWindow, "draw", once)
    assert (
        run(["--data-folder", str(robin), "limits", "--student", "Robin", "sway.limit_cm=1.5", "--count", "100"]) == 0
    )
    win = opened[-1]
    assert win.state.limits.sway.value == 1.5
    assert win.sliders["sway"].get_current_value() == pytest.approx(1.5)
    assert win.state.status_line() == "not saved yet: head went along 3 to 1.5 cm"
    assert len(win.state.strokes) == 60
