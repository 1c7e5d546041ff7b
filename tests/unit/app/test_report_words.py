"""What the report and the lesson page call their numbers and pictures."""

from __future__ import annotations

import html
import re
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from tests.support.made_strokes import record
from trainer.app.context import RunContext, load_context
from trainer.app.homework import HomeworkRequest
from trainer.app.lesson import LessonDesk, give_homework
from trainer.app.lesson_page import write_lesson_page
from trainer.app.report import ReportRequest, write_report
from trainer.app.students import add_student
from trainer.domain.measures import MEASURES
from trainer.report.stroke_picture import hold_is_shaded, traces

AT = datetime(2026, 3, 2, 9, tzinfo=timezone.utc)


def read(page: Path) -> str:
    return html.unescape(page.read_text(encoding="utf-8"))


def test_a_chart_is_named_for_what_it_counts_and_one_number_has_one_name(robin: RunContext, tmp_path: Path) -> None:
    text = read(write_report(robin, ReportRequest("Robin", tmp_path / "robin.html")))
    (work,) = re.findall(r"without ([^<>]+) \(95 % interval\)</th>", text)
    assert work != "fault"
    assert f"<h2>Without {work}, session by session</h2>" in text
    assert f"Share of ball strokes without {work}, 3 sessions" in text
    assert f"ball strokes without {work}, %" in text
    assert "strokes held" not in text
    assert "no fault at all, of all sessions together: " in text.split("</header>")[0]
    assert re.search(r">no fault at all</th>", text)
    assert "No fault at all, of those that are judged: " in text


def test_the_head_turn_says_until_when_it_is_looked_for(robin: RunContext, tmp_path: Path) -> None:
    label = MEASURES["head_turn_deg"].label
    assert label == "head turn up to rest"
    text = read(write_report(robin, ReportRequest("Robin", tmp_path / "robin.html")))
    assert "<h2>Head turn up to rest</h2>" in text
    assert f"{label}, deg" in text or f"{label}, °" in text


@pytest.mark.parametrize(("look_after_s", "order"), [(-0.05, ["look", "rest"]), (0.05, ["rest", "look"])])
def test_rest_and_look_close_together_are_both_read(look_after_s: float, order: list[str]) -> None:
    """The earlier one's word ends at its line, the later one's begins there."""
    made = record(look_after_s)
    picture = traces(made, "k", "words")
    assert picture is not None
    found = re.findall(r"<text([^>]*)>(look|rest)</text>", picture.svg)
    anchors = {word: re.search(r"text-anchor: (\w+)", style) for style, word in found}
    assert {word: anchor and anchor[1] for word, anchor in anchors.items()} == {order[0]: "end", order[1]: "start"}
    assert hold_is_shaded(made) is (look_after_s > 0)


def test_nothing_is_told_of_a_shade_that_is_not_there(tmp_path: Path) -> None:
    add_student(load_context(tmp_path), "Robin", {"player.height_cm": 172})
    robin = load_context(tmp_path, "Robin")
    with robin.open_store() as store:
        session = store.begin_session("Robin", "t", AT, robin.student_id)
        for number in range(3):
            store.keep(session, record(-0.2 - 0.01 * number), (), (), robin.settings, AT + timedelta(minutes=number))
    text = read(write_report(robin, ReportRequest("Robin", tmp_path / "robin.html")))
    assert "Typical" in text
    assert "The shaded time is the hold" not in text


def test_the_lesson_says_what_each_warning_is(robin: RunContext, tmp_path: Path) -> None:
    with robin.open_store() as store, store.reading() as db:
        sessions = [int(row[0]) for row in db.execute("SELECT id FROM sessions ORDER BY id")]
    with robin.open_store() as store:
        desk = LessonDesk(robin, store, "Robin")
        desk.begin("Kim")
        desk.strokes_made(sessions[0])
        desk.choose("short_hold", "")
        give_homework(robin, HomeworkRequest("Robin", "hold-then-look", None, 4))
        text = read(write_lesson_page(robin, "Robin", None, tmp_path / "lesson.html"))
    assert "<strong>Do not overdo:</strong>" in text
    assert re.search(r"<strong>When to stop:</strong> \w", text)
