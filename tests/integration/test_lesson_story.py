"""A lesson before and after, homework, three days of practice, a day missed, a lesson again: page, progress, report and export
tell the same. Strokes are made up; the days are given, so that weeks pass."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest

from tests.support.made_strokes import record
from trainer.app.context import load_context
from trainer.app.lesson import LessonDesk
from trainer.coaching.faults import judge
from trainer.commands.cli import run
from trainer.store.homework import homework_of, keep_homework
from trainer.store.lessons import lessons_of
from trainer.store.store import Store
from trainer.store.stroke_rows import Made
from trainer.store.students import Students

DRILL = "hold-then-look"


def on(folder: Path, *arguments: str) -> int:
    return run(["--data-folder", str(folder), *arguments])


def made(
    folder: Path,
    holds_s: list[float],
    days_ago: int = 0,
    drill: str | None = None,
    told: bool = False,
    sway_cm: float = 0.8,
) -> int:
    """A session of ball strokes, as practice keeps them. Returns its number in the record."""
    context = load_context(folder, "Robin")
    at = datetime.now(timezone.utc) - timedelta(days=days_ago)
    rng = np.random.default_rng([int(1000 * abs(sum(holds_s))), days_ago])
    with context.open_store() as store:
        session = store.begin_session("Robin", "made up", at, context.student_id)
        for i, hold_s in enumerate(holds_s):
            one = record(hold_s + float(rng.normal(0, 0.05)), told=told, sway_cm=sway_cm, rng=rng)
            found = judge(one, context.settings.limits)
            stage = None if drill is None else "block"
            store.keep(session, one, found, (), context.settings, at + timedelta(seconds=20 * i), Made(drill, stage))
    return session


def lesson_strokes(folder: Path, holds_s: list[float], sway_cm: float = 0.8) -> None:
    """What `lesson strokes` does with the session that practice made."""
    session = made(folder, holds_s, sway_cm=sway_cm)
    context = load_context(folder)
    with context.open_store() as store:
        LessonDesk(context, store, "Robin").strokes_made(session)


def back_in_time(folder: Path, days: int) -> None:
    """The lesson and the homework that were just made were made so many days ago."""
    student = Students(folder).find("Robin").card.id
    shift = timedelta(days=days)
    with Store(folder, "t") as store:
        for one in homework_of(store, student):
            moved = replace(one, set_at=one.set_at - shift, from_day=one.from_day - shift, until=one.until - shift)
            keep_homework(store, student, moved)
        with store.writing() as db:
            for table, column in (("sessions", "started_at"), ("strokes", "kept_at"), ("lessons", "begun_at")):
                for uid, at in db.execute(f"SELECT uid, {column} FROM {table}").fetchall():
                    earlier = (datetime.fromisoformat(at) - shift).isoformat()
                    db.execute(f"UPDATE {table} SET {column} = ? WHERE uid = ?", (earlier, uid))


def said(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> str:
    capsys.readouterr()
    assert on(folder, *arguments) == 0
    return capsys.readouterr().out


def page_words(path: Path) -> str:
    """A page's words, without tags and breaks."""
    text = re.sub(r"<svg.*?</svg>", " ", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


def test_lesson_homework_practice_and_a_lesson_again(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    coach, home = tmp_path / "coach", tmp_path / "home"
    who = ("--student", "Robin")
    assert on(coach, "students", "add", "Robin") == 0
    assert on(coach, "students", "set", "Robin", "limits.hand_stall.on=false") == 0

    # The lesson. The look comes early in most strokes, and the head moves in all of them.
    begun = said(capsys, coach, "lesson", "begin", *who, "--by", "coach")
    assert "next: it begins with `lesson strokes --student Robin`" in begun
    lesson_strokes(coach, [-0.4, -0.5, -0.3, -0.4, -0.6, -0.4, -0.5, -0.3], sway_cm=4.5)
    shown = said(capsys, coach, "lesson", "show", *who)
    assert "proposed: in 8 of 8 strokes the look came early" in shown
    assert "later: in 8 of 8 strokes the head went along with the putter; the look came early may cause it" in shown
    shown = said(capsys, coach, "lesson", "priority", *who)
    assert "about: the look came early (as proposed" in shown
    said(capsys, coach, "lesson", "try", "count two at the finish", *who)
    # Broken off here; taken up again by `begin`.
    assert "tried 1: count two at the finish" in said(capsys, coach, "lesson", "begin", *who)
    said(capsys, coach, "lesson", "try", "eyes on the spot", *who, "--stroke")
    lesson_strokes(coach, [1.4] * 8)
    shown = said(capsys, coach, "lesson", "words", "Let it rest, Robin.\nThen look.", *who)
    told = "the look came early: 8 of 8 strokes before, 0 of 8 after: less, and more than chance."
    assert told in shown
    assert "homework 1 for Robin" in said(
        capsys, coach, "lesson", "homework", DRILL, *who, "--strokes", "10", "--days", "4", "--distance", "2"
    )
    said(capsys, coach, "lesson", "end", *who)
    assert "no lesson is under way" in failed(capsys, coach, "lesson", "words", "more", *who)
    page = tmp_path / "lesson.html"
    said(capsys, coach, "lesson", "page", *who, "--out", str(page))
    words = page_words(page)
    assert told[1:] in words
    assert "8 of 8, 100 % (68 to 100 %)" in words
    assert "Let it rest, Robin." in words
    assert "Hold, then look from 2 m, 10 strokes on 4 days a week" in words
    assert "count two at the finish" in words
    assert "strokes without feedback: 8 before, 8 after" in words

    # Eight days go by: three of four days were done in the first week, one was missed.
    back_in_time(coach, 7)
    for days_ago in (7, 6, 4):
        made(coach, [1.3] * 10, days_ago, DRILL, told=True)
    first = said(capsys, coach, "homework", "show", *who)
    line = "overdue: this week 0 of 4 days, today 0 of 10 strokes; 1 day missed"
    assert line in " ".join(first.split())
    progress = said(capsys, coach, "progress", *who)
    assert f"Homework: Hold, then look from 2 m, 10 strokes on 4 days a week until {until(coach)}; {line}." in progress
    assert "Without fault without feedback" not in progress
    report = tmp_path / "report.html"
    said(capsys, coach, "report", *who, "--out", str(report))
    assert line in page_words(report)

    # Handed over it is the same, and what is done there is seen here.
    out, back = tmp_path / "robin.zip", tmp_path / "back.zip"
    said(capsys, coach, "students", "export", "Robin", "--out", str(out))
    said(capsys, home, "students", "import", str(out))
    assert line in " ".join(said(capsys, home, "homework", "show", *who).split())
    assert told in said(capsys, home, "lesson", "show", *who)
    made(home, [1.3] * 10, 0, DRILL, told=True)
    done = "done for today: this week 1 of 4 days, today 10 of 10 strokes; 1 day missed"
    assert done in " ".join(said(capsys, home, "homework", "show", *who).split())
    said(capsys, home, "students", "export", "Robin", "--out", str(back))
    said(capsys, coach, "students", "import", str(back))
    assert done in " ".join(said(capsys, coach, "homework", "show", *who).split())

    # A lesson again: another one is proposed, and the first is still there.
    said(capsys, coach, "lesson", "begin", *who)
    lesson_strokes(coach, [0.4] * 6)
    shown = said(capsys, coach, "lesson", "priority", "longer putts", *who, "--why", "the hold stands")
    assert "about: longer putts (chosen by the coach: the hold stands)" in shown
    assert "later: the hold was short" in shown
    listed = said(capsys, coach, "lesson", "list", *who)
    assert re.search(r"1  .*  the look came early  \(ended\)\n2  .*longer putts  \(under way\)", listed)
    student = Students(coach).find("Robin").card.id
    with Store(coach, "t") as here, Store(home, "t") as there:
        assert lessons_of(here, student)[:1] == lessons_of(there, student)


def until(folder: Path) -> str:
    with Store(folder, "t") as store:
        return homework_of(store, Students(folder).find("Robin").card.id)[0].until.isoformat()


def failed(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> str:
    capsys.readouterr()
    assert on(folder, *arguments) == 2
    return capsys.readouterr().err


def test_steps_out_of_order_are_refused_in_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    who = ("--student", "Robin")
    assert on(tmp_path, "students", "add", "Robin") == 0
    assert "no lesson is under way" in failed(capsys, tmp_path, "lesson", "try", "x", *who)
    assert "no lesson yet" in failed(capsys, tmp_path, "lesson", "show", *who)
    assert "no lesson is under way" in failed(capsys, tmp_path, "lesson", "strokes", *who, "--no-window")
    assert "no lesson is under way" in failed(capsys, tmp_path, "lesson", "homework", DRILL, *who)
    said(capsys, tmp_path, "lesson", "begin", *who)
    assert "no strokes of this lesson yet" in failed(capsys, tmp_path, "lesson", "priority", *who)
    assert "no stroke on record" in failed(capsys, tmp_path, "lesson", "try", "x", *who, "--stroke")
    lesson_strokes(tmp_path, [1.4] * 6)
    assert "nothing was sure enough" in failed(capsys, tmp_path, "lesson", "priority", *who)
    assert "no lesson 7" in failed(capsys, tmp_path, "lesson", "page", *who, "--number", "7")
