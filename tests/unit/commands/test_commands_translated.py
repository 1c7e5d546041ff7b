"""What commands print is in the reader's language: no word of the English answer is left in the German one."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.support.made_strokes import keep_sessions
from trainer.app.context import load_context
from trainer.commands.cli import run

OF = ("--student", "Robin")
LINES = (
    ("progress", *OF), ("strokes", *OF), ("students", "list"), ("students", "show", "Robin"),
    ("limits", *OF, "--no-window"), ("limits", *OF, "--history"), ("baseline", *OF, "--last"), ("drills", "list"),
    ("homework", "show", *OF), ("lesson", "list", *OF), ("reasons",), ("lesson", "list", "--student", "Kim"),
    ("homework", "show", "--student", "Kim"), ("strokes", "--student", "Kim"),
)  # fmt: skip
# Ids, files and what is called the same in both.
SAME = {
    "Robin", "Test", "Putter", "NAME", "DRILL", "CARD", "FILE", "list", "begin", "student", "students", "strokes", "review",
    "practice", "homework", "lesson", "reasons", "page", "html", "stroke", "drill", "stat", "minus", "test", "recoil", "sway",
    "lift", "alternate", "every", "fading", "ladder", "outside", "silent", "still", "summary",
}  # fmt: skip
IDS = re.compile(r"`[^`]*`|--\w+|\S*[-_/]\S*[\w]|\b[A-Z]\w*\b(?= [-+\d])")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two students, one with strokes, a changed limit, homework and a lesson."""
    for line in (
        ("students", "add", "Robin", "player.height_cm=172"),
        ("students", "add", "Kim"),
        ("students", "set", "Robin", "sway.limit_cm=2", "--by", "Kim"),
        ("homework", "set", "hold-then-look", *OF, "--days", "4"),
        ("lesson", "begin", *OF, "--by", "Kim"),
    ):
        assert run(["--data-folder", str(tmp_path), *line]) == 0
    context = load_context(tmp_path, "Robin")
    with context.open_store() as store:
        keep_sessions(store, context.settings, context.student_id, sessions=2, strokes=14)
    return tmp_path


def words_in(text: str, folder: Path) -> set[str]:
    return set(re.findall(r"[^\W\d_]{4,}", IDS.sub(" ", text.replace(str(folder), "")))) - SAME


def test_commands_answer_in_german(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    left = {}
    for line in LINES:
        told = []
        for language in ("en", "de"):
            (folder / "settings.toml").write_text(f'[words]\nlanguage = "{language}"\n', encoding="utf-8")
            capsys.readouterr()
            assert run(["--data-folder", str(folder), *line]) == 0, line
            told.append(words_in(capsys.readouterr().out, folder))
        assert told[1] or line[0] in ("lesson", "homework", "strokes"), line
        if same := told[0] & told[1]:
            left[line] = same
    assert not left, "; ".join(f"{line}: {sorted(words)}" for line, words in left.items())
