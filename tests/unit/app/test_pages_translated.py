"""Pages to read and print are told in the reader's language: in one of other letters nothing Latin is left of them."""

from __future__ import annotations

import html
import re
from pathlib import Path

from tests.support.marker import MARKER, latin_in
from trainer.app.context import RunContext
from trainer.app.distance.desk import choose_unit
from trainer.app.distance.green import GreenRequest, set_green
from trainer.app.distance.putts import PuttRequest, enter_putt
from trainer.app.distance.scale import ChartRequest, chart_view
from trainer.app.homework import HomeworkRequest
from trainer.app.lesson import LessonDesk, give_homework
from trainer.app.lesson_page import write_lesson_page
from trainer.app.outcome import OutcomeRequest, enter_outcome
from trainer.app.reasons import write_page
from trainer.app.report import ReportRequest, write_report
from trainer.domain.outcome import PuttOutcome
from trainer.languages import LANGUAGES
from trainer.texts import speaking


def words_of(page: Path) -> list[str]:
    """All that is read on a page, and what is read aloud of its pictures."""
    text = re.sub(r"<style.*?</style>", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    found = re.findall(r'>([^<]+)<|(?:aria-label|alt)="([^"]*)"', text)
    return [html.unescape(words).strip() for pair in found for words in pair if words.strip()]


def test_the_report_is_translated(robin: RunContext, tmp_path: Path) -> None:
    enter_outcome(robin, OutcomeRequest("Robin", PuttOutcome("short", 3.0)))
    with speaking(MARKER):
        page = write_report(robin, ReportRequest("Robin", tmp_path / "robin.html"))
    words = words_of(page)
    assert len(words) > 100
    assert not [one for one in words if latin_in(one.replace("Robin", ""))]


def test_the_cards_are_translated_and_their_sources_named_as_they_are(robin: RunContext, tmp_path: Path) -> None:
    with speaking(MARKER):
        write_page(robin, None, tmp_path / "why.html")
    text = re.sub(r'<span class="from">.*?</span>', "", (tmp_path / "why.html").read_text(encoding="utf-8"))
    (tmp_path / "why.html").write_text(text, encoding="utf-8")
    words = words_of(tmp_path / "why.html")
    assert len(words) > 300
    assert not [one for one in words if latin_in(one)]


def test_the_lesson_is_translated(robin: RunContext, tmp_path: Path) -> None:
    with robin.open_store() as store, store.reading() as db:
        sessions = [int(row[0]) for row in db.execute("SELECT id FROM sessions ORDER BY id")]
    with robin.open_store() as store, speaking(MARKER):
        desk = LessonDesk(robin, store, "Robin")
        desk.begin("Kim")
        desk.strokes_made(sessions[0])
        desk.choose("short_hold", "")
        desk.note_try("1, 2, 3", True, None)
        desk.strokes_made(sessions[2])
        give_homework(robin, HomeworkRequest("Robin", "hold-then-look", None, 4))
        page = write_lesson_page(robin, "Robin", None, tmp_path / "lesson.html")
    words = words_of(page)
    assert len(words) > 60
    assert not [one for one in words if latin_in(one.replace("Robin", "").replace("Kim", ""))]


def test_the_distance_chart_is_translated(robin: RunContext, tmp_path: Path) -> None:
    """With and without putts of one's own, in every slope that is answered or refused."""
    choose_unit(robin, "m", None)
    set_green(robin, GreenRequest(9.5))
    slopes = (-6.0, -2.0, 0.0, 1.0)
    page = tmp_path / "chart.html"
    for rolled_m in (None, 4.2):
        if rolled_m is not None:
            enter_putt(robin, PuttRequest(rolled=rolled_m, back_cm=25.0))
        with speaking(MARKER):
            chart_view(robin, ChartRequest(slopes_pct=slopes, html=page))
        words = words_of(page)
        assert len(words) > 100
        assert not [one for one in words if latin_in(one.replace("Robin", ""))]


def test_numbers_and_days_are_written_as_the_language_does(robin: RunContext, tmp_path: Path) -> None:
    with speaking(LANGUAGES["de"]):
        page = write_report(robin, ReportRequest("Robin", tmp_path / "robin.html"))
    text = page.read_text(encoding="utf-8")
    assert '<html lang="de">' in text
    assert not [one for one in words_of(page) if re.search(r"\d\.\d", one)]  # numbers beside axes too
    assert "März" in text
