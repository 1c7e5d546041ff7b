"""Marked texts: finished English everywhere, another language where they are drawn or printed."""

from __future__ import annotations

import copy
import pickle
from dataclasses import dataclass
from datetime import date

import pytest

from trainer.errors import UsageError
from trainer.languages import ENGLISH, LANGUAGES, Language, language_of
from trainer.settings.model import Words
from trainer.texts import Text, capital, in_language, join, printed, shown, speaking, tr, tr_count, tr_of

PATTERNS = {
    "Looked early": "Zu früh geschaut",
    "held {held:.2f} s": "{held:.2f} s gehalten",
    "no stroke": "kein Schlag",
    "turn/Back": "Zurück",
    "{count} putt": "{count} Putt",
    "{count} putts": "{count} Putts",
    "most often: {fault}": "meist: {fault}",
}


@dataclass(frozen=True)
class Small(Language):
    """A language with a catalogue of a few lines."""

    def pattern(self, one: str, many: str | None = None, count: int | None = None, context: str | None = None) -> str:
        used = many if many is not None and count != 1 else one
        return PATTERNS.get(f"{context}/{used}" if context else used, used)


SMALL = Small("xx", "Small", nouns_large=True)


def test_a_marked_text_is_its_finished_english() -> None:
    text = tr("held {held:.2f} s", held=1.239)
    assert text == "held 1.24 s"
    assert isinstance(text, str)
    assert (
        tr("{name}: {strokes}").format(name="Ann", strokes=tr_count("{count} putt", "{count} putts", 1))
        == "Ann: 1 putt"
    )


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (tr("held {held:.2f} s", held=1.239), "1,24 s gehalten"),
        (tr_count("{count} putt", "{count} putts", 1), "1 Putt"),
        (tr_count("{count} putt", "{count} putts", 0), "0 Putts"),
        (tr_of("turn", "Back"), "Zurück"),
        (tr("Back"), "Back"),
        (tr("{far:.1f} m", far=2.5), "2,5 m"),
        (tr("{share:.0%}", share=0.8), "80\N{NO-BREAK SPACE}%"),
        (tr("{day}", day=date(2026, 3, 9)), "09.03.2026"),
        (tr("most often: {fault}", fault=tr("Looked early").lower()), "meist: Zu früh geschaut"),
        (join("; ", [tr("Looked early"), "x", tr("no stroke")]), "Zu früh geschaut; x; kein Schlag"),
        ("a: " + tr("no stroke") + "!", "a: kein Schlag!"),
        (capital(tr("no stroke")), "Kein Schlag"),
        ((tr("no stroke") + " ").strip(), "kein Schlag"),
        (tr("held {held:.2f} s", held=-1.5).replace("-", "−"), "−1,50 s gehalten"),
        (tr("most often: {fault}", fault=tr("no stroke")).partition(": ")[0], "meist"),
        (tr("most often: {fault}", fault=tr("no stroke")).partition(": ")[2], "kein Schlag"),
        ("no stroke", "no stroke"),
    ],
)
def test_a_text_is_told_in_another_language(text: str, told: str) -> None:
    assert in_language(text, SMALL) == told


def test_an_error_keeps_the_marks_of_its_parts() -> None:
    error = UsageError(tr("no stroke"), "a.mp4", tr("Looked early"))
    assert str(error) == "a.mp4: no stroke; Looked early"
    assert in_language(str(error), SMALL) == "a.mp4: kein Schlag; Zu früh geschaut"


def test_marks_go_through_copies_and_to_another_process() -> None:
    text = join(", ", [tr("held {held:.2f} s", held=0.5).lower(), capital(tr("no stroke"))])
    for same in (copy.deepcopy(text), pickle.loads(pickle.dumps(text))):
        assert same == text
        assert in_language(same, SMALL) == "0,50 s gehalten, Kein Schlag"


def test_what_is_drawn_and_printed_is_in_the_language_that_is_spoken() -> None:
    day = tr("{day}", day=date(2026, 3, 9))
    assert (shown(day), printed(day)) == ("9 Mar 2026", "2026-03-09")
    with speaking(SMALL):
        assert (shown(day), printed(day)) == ("09.03.2026", "09.03.2026")
        assert printed(tr("no stroke")) == "kein Schlag"
    assert printed(tr("no stroke")) == "no stroke"


def test_a_text_filled_twice_keeps_what_it_had() -> None:
    assert isinstance(tr("{a} of {b}"), Text)
    assert tr("{a} of {b}").format(a=1, b=2) == "1 of 2"


@pytest.mark.parametrize(
    ("variables", "code"),
    [
        ({"LANG": "de_AT.UTF-8"}, "de"),
        ({"LANG": "de_DE.UTF-8", "LC_ALL": "es_ES.UTF-8"}, "es"),
        ({"LANG": "de_DE.UTF-8", "LANGUAGE": "es:de"}, "es"),
        ({"LANG": "C", "LANGUAGE": "de"}, "en"),
        ({"LANG": "fi_FI.UTF-8"}, "en"),
        ({}, "en"),
    ],
)
def test_the_systems_language_is_taken_where_there_is_a_catalogue(
    monkeypatch: pytest.MonkeyPatch, variables: dict[str, str], code: str
) -> None:
    for name in ("LC_ALL", "LC_MESSAGES", "LANG", "LANGUAGE"):
        monkeypatch.delenv(name, raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    assert language_of("auto").code == code
    assert language_of("de").code == "de"


def test_the_setting_allows_the_languages_that_there_are() -> None:
    for code in LANGUAGES:
        assert Words(language=code).language == code  # type: ignore[arg-type]
    assert language_of("en") is ENGLISH
