"""Tables on narrow terminals: the bar goes first, headings wrap, no number or name is cut."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console

from tests.support.made_strokes import record
from trainer.app.context import load_context
from trainer.commands.cli import run
from trainer.commands.tables import console, print_fitting, table

AT = datetime(2026, 3, 2, 9, tzinfo=timezone.utc)


@pytest.fixture
def base(tmp_path: Path) -> list[str]:
    """How a command begins that works with a student of two strokes."""
    arguments = ["--data-folder", str(tmp_path)]
    assert run([*arguments, "students", "add", "Robin", "player.height_cm=172"]) == 0
    context = load_context(tmp_path, "Robin")
    with context.open_store() as store:
        session = store.begin_session("Robin", "t", AT, context.student_id)
        for number in range(2):
            store.keep(session, record(1.2), (), (), context.settings, AT + timedelta(minutes=number))
    return arguments


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    capsys.readouterr()
    assert run(list(arguments)) == 0
    return capsys.readouterr().out


def test_progress_without_its_bar(
    base: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    wide = said(capsys, *base, "progress", "--student", "Robin")
    assert "█" in wide
    monkeypatch.setenv("COLUMNS", "80")
    narrow = said(capsys, *base, "progress", "--student", "Robin")
    assert "█" not in narrow
    assert "…" not in narrow
    assert all(word in narrow for word in ("strokes", "interval", "34-100 %", "judged"))


def test_strokes_say_where_the_ball_went_once_it_is_known(
    base: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert "went" not in said(capsys, *base, "strokes")
    said(capsys, *base, "outcome", "holed", "--student", "Robin", "--stroke", "2", "--distance", "2.5")
    rows = said(capsys, *base, "strokes").splitlines()
    assert max(map(len, rows)) <= 80
    heading = next(row for row in rows if "--stroke" in row)
    at = heading.index("went")
    assert [row[at:].split()[0] for row in rows if " ball " in row] == ["holed", "-"]
    said(capsys, *base, "outcome", "left", "--student", "Robin", "--stroke", "1")
    rows = said(capsys, *base, "strokes", "--student", "Robin").splitlines()
    assert [row[at:].split()[0] for row in rows if " ball " in row] == ["holed", "left"]


def test_limits_are_named_in_full(
    base: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    narrow = said(capsys, *base, "limits", "--student", "Robin", "--no-window")
    assert all(name in narrow for name in ("early_look", "posture_change", "short_hold", "0.5 to 20"))
    assert "…" not in narrow
    monkeypatch.setenv("COLUMNS", "60")
    narrower = said(capsys, *base, "limits", "--student", "Robin", "--no-window")
    assert "posture_change" in narrower
    assert "0.5 to 20" not in narrower  # the range goes, no name does


@pytest.mark.parametrize("narrow", [True, False])
def test_a_table_is_printed_where_it_just_fits_and_not_where_a_character_is_lacking(narrow: bool) -> None:
    """What a table takes beside its cells is reckoned as it is drawn."""

    def printed(width: int) -> list[str]:
        one, other = table("name", "faults", "cm", narrow=narrow), table("other")
        one.add_row("choose-and", "21-100", "4.5")
        out = StringIO()
        print_fitting(Console(file=out, width=width), (one, other))
        return [line for line in out.getvalue().splitlines() if line.strip()]

    wide = max(map(len, printed(100)))
    assert printed(wide) == [line[:wide] for line in printed(100)]
    assert "choose-and" in printed(wide)[-1]
    assert "other" in printed(wide - 1)[0]


def test_words_stay_whole_as_long_as_there_is_room(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "44")
    one = table("name", "a heading of words", "what")
    one.add_row("choose-and-guess", "21-100 %", "many words that go over several lines of it")
    print_fitting(console(), (one,))
    out = capsys.readouterr().out
    assert "choose-and-guess" in out
    assert "21-100 %" in out
    assert "…" not in out
