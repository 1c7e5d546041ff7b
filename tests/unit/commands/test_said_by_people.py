"""What people type and save is taken as they write it, and what is wrong with it is said in their language."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.made_strokes import record
from trainer.commands import cli
from trainer.commands.click_words import told
from trainer.commands.key_values import key_values
from trainer.commands.options import NUMBER, Within
from trainer.domain.verdict import fault_named
from trainer.languages import LANGUAGES
from trainer.settings.load import read_file
from trainer.store.students import Students
from trainer.texts import shown, speaking

GERMAN = LANGUAGES["de"]


def said(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str, code: int = 0) -> str:
    """All that a command printed."""
    capsys.readouterr()
    assert cli.run(["--data-folder", str(folder), *arguments]) == code
    out = capsys.readouterr()
    return out.out + out.err


@pytest.fixture
def german(tmp_path: Path) -> Path:
    """A data folder whose reader reads German, with a student."""
    (tmp_path / "settings.toml").write_text('[words]\nlanguage = "de"\n', encoding="utf-8")
    assert cli.run(["--data-folder", str(tmp_path), "students", "add", "Anna", "player.height_cm=168"]) == 0
    return tmp_path


def test_what_click_says_is_told_in_german() -> None:
    for message, english, german in (
        ("No such option: --nix", "No such option --nix", "keine Option --nix"),
        (
            "Invalid value for '--count': 'x' is not a valid integer.",
            "Invalid value for '--count': 'x' is not a whole number",
            "falscher Wert für '--count'",
        ),
        ("Missing option '--student'.", "Missing option '--student'", "es fehlt die Option '--student'"),
        ("Something of a later click", "Something of a later click", "Something of a later click"),
    ):
        assert told(message) == english
        with speaking(GERMAN):
            assert shown(told(message)).startswith(german)


@pytest.mark.parametrize(
    "arguments",
    [
        ("nix",),
        ("practice", "--nix"),
        ("report",),
        ("strokes", "--count", "x"),
        ("outcome", "x", "--student", "Anna"),
        ("lesson",),
    ],
)
def test_a_wrong_command_line_is_told_in_german(
    german: Path, arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    line = said(capsys, german, *arguments, code=2)
    assert "siehe putting-trainer" in line
    assert not any(word in line for word in ("No such", "Missing", "Invalid", "is not", "give one", "see "))


def test_what_limits_are_is_told_in_german(german: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, german, "students", "show", "Anna")
    assert "Kopfdrehung, die " in out
    assert "head turn that counts" not in out


def test_names_as_they_are_shown_are_taken(german: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with speaking(GERMAN):
        assert fault_named("Blick zu früh") == "early_look"
        assert fault_named("early look") == "early_look"
    assert "Blick" in said(capsys, german, "reasons", "Blick zu früh")
    assert "keine Karte" not in said(capsys, german, "reasons", "Halten, dann schauen")
    assert "Halten, dann schauen" in said(
        capsys, german, "homework", "set", "Halten, dann schauen", "--student", "Anna"
    )
    assert "Halten, dann schauen" in said(capsys, german, "drills", "show", "Hold, then look")


def test_one_word_for_one_thing() -> None:
    with speaking(GERMAN):
        from trainer.domain.measures import MEASURES
        from trainer.domain.verdict import fault_words

        assert shown(fault_words("recoil")) == "Rückprall"
        assert shown(MEASURES["recoil_cm"].label).startswith("Rückprall")


def test_a_decimal_comma_is_a_number() -> None:
    assert NUMBER.convert("9,5", None, None) == 9.5
    assert Within(0, 10).convert("4,2", None, None) == 4.2
    assert key_values(["limits.recoil.limit_cm=1,5", "player.height_cm=171,5"]) == {
        "limits.recoil.limit_cm": 1.5,
        "player.height_cm": 171.5,
    }
    assert key_values(["student.notes=1,5"]) == {"student.notes": "1,5"}  # words stay words


def test_a_comma_at_the_commands(german: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said(capsys, german, "students", "set", "Anna", "limits.recoil.limit_cm=1,5")
    assert Students(german).find("Anna").settings.limits.recoil.limit_cm == 1.5
    said(capsys, german, "distance", "unit", "m")
    assert "9,5" in said(capsys, german, "distance", "green", "9,5")


def test_files_saved_with_a_byte_order_mark(german: Path, capsys: pytest.CaptureFixture[str]) -> None:
    student = Students(german).find("Anna").path
    for path in (german / "settings.toml", student):
        path.write_text("\ufeff" + path.read_text(encoding="utf-8"), encoding="utf-8")
        assert read_file(path).values
    assert "links" not in said(capsys, german, "students", "show", "Anna")
    said(capsys, german, "students", "set", "Anna", "player.handedness=left")
    said(capsys, german, "limits", "--student", "Anna", "recoil.limit_cm=2", "--save", "--by", "Kim", "--no-window")
    said(capsys, german, "students", "export", "Anna", "--out", str(german / "anna.zip"))
    assert "links" in said(capsys, german, "students", "show", "Anna")


def test_a_key_without_its_table_is_told_with_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    line = said(capsys, tmp_path, "students", "add", "Kim", "handedness=left", code=2)
    assert "there is no setting handedness; did you mean player.handedness=left?" in line


def test_analyse_says_in_its_help_that_nothing_is_recorded(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert "Nothing is put on record" in " ".join(said(capsys, tmp_path, "analyse", "--help").split())
    assert "strokes are put on record" in " ".join(said(capsys, tmp_path, "practice", "--help").split())


def test_pages_go_where_others_go(german: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for where, why in (("x.txt", "HTML"), ("missing/x.html", "missing: ")):
        path = tmp_path / where
        for command in (("report", "--student", "Anna", "--out"), ("reasons", "recoil", "--page")):
            line = said(capsys, german, *command, str(path), code=2)
            assert why in line
        assert not path.exists()
        assert path.parent.name != "missing" or not path.parent.exists()


def test_counts_of_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from datetime import datetime, timezone

    from trainer.app.context import load_context

    said(capsys, tmp_path, "students", "add", "Kim", "player.height_cm=170")
    context = load_context(tmp_path, "Kim")
    with context.open_store() as store:
        at = datetime(2026, 3, 2, 9, tzinfo=timezone.utc)
        store.keep(store.begin_session("Kim", "t", at, context.student_id), record(1.2), (), (), context.settings, at)
    assert "Kim: 1 session, 1 ball stroke\n" in said(capsys, tmp_path, "progress", "--student", "Kim")
    assert "1 stroke in 1 session" in said(capsys, tmp_path, "students", "show", "Kim")


def test_lesson_words_are_shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said(capsys, tmp_path, "students", "add", "Kim")
    said(capsys, tmp_path, "lesson", "begin", "--student", "Kim")
    assert "kept for the page: let it lie" in said(
        capsys, tmp_path, "lesson", "words", "let it lie", "--student", "Kim"
    )


def test_what_the_silent_test_asks_is_explained(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, tmp_path, "drills", "show", "ladder")
    assert "so many good ones tell a player who makes 6 of 8 or more from one with luck" in out
