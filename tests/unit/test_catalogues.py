"""The catalogues fit the source, and what the program reads is what the .po files say."""

from __future__ import annotations

import ast
import string

import pytest
from babel.messages.catalog import Catalog, Message

from tests.support.catalogues import (
    KEYWORDS,
    OTHERS,
    compiled,
    po_path,
    renewed,
    source_catalogue,
    strings,
    translated,
)
from tests.support.paths import ROOT
from trainer.languages import has_words

RENEW = "run python -m tests.support.catalogues, then fill in what is empty"


@pytest.fixture(scope="module")
def source() -> Catalog:
    return source_catalogue()


def ids(catalogue: Catalog) -> set[tuple[str | None, object]]:
    return {(message.context, message.id) for message in catalogue if message.id}


def fields(pattern: str) -> set[tuple[str, str | None, str | None]]:
    """(name, format, conversion) of each value in braces."""
    return {(name, spec, how) for _, name, spec, how in string.Formatter().parse(pattern) if name is not None}


@pytest.mark.parametrize("code", OTHERS)
def test_a_catalogue_has_the_texts_of_the_source_and_no_others(code: str, source: Catalog) -> None:
    assert ids(translated(code)) == ids(source), RENEW


def test_no_text_is_missed_for_standing_within_another(source: Catalog) -> None:
    """Babel does not look into the arguments of a text's own mark."""
    place = {"tr": 0, "tr_of": 1, "tr_count": 0}
    assert place.keys() == KEYWORDS.keys()
    texts = [
        call.args[place[call.func.id]]
        for path in (ROOT / "trainer").rglob("*.py")
        for call in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in place
    ]
    written = {text.value for text in texts if isinstance(text, ast.Constant) and has_words(text.value)}
    assert len(written) > 1000
    assert not written - {strings(message.id)[0] for message in source}


@pytest.mark.parametrize("code", OTHERS)
def test_nothing_is_left_in_english(code: str) -> None:
    assert not [message.id for message in translated(code) if message.id and not all(strings(message.string))], RENEW


@pytest.mark.parametrize("code", OTHERS)
def test_a_translation_has_the_values_of_its_text(code: str) -> None:
    wrong = []
    for message in translated(code):
        allowed = set().union(*(fields(one) for one in strings(message.id)))
        wrong += [one for one in strings(message.string) if one and message.id and not fits(one, message, allowed)]
    assert not wrong


def fits(told: str, message: Message, allowed: set[tuple[str, str | None, str | None]]) -> bool:
    """All of them, but for the count itself where the singular says it in words."""
    missing = {name for name, *_ in allowed - fields(told)}
    return fields(told) <= allowed and missing <= ({"count"} if isinstance(message.id, tuple) else set())


@pytest.mark.parametrize("code", OTHERS)
def test_a_translation_keeps_the_colon_at_which_its_text_is_parted(code: str) -> None:
    """What is wrong stands before it, what to do after it (``Text.partition``)."""
    with_colon = [m for m in translated(code) if m.id and all(": " in one for one in strings(m.id))]
    assert len(with_colon) > 100
    assert not [m.id for m in with_colon if not all(": " in one for one in strings(m.string))]


@pytest.mark.parametrize("code", OTHERS)
def test_what_is_compiled_is_what_the_po_file_says(code: str) -> None:
    assert not [message.id for message in translated(code) if message.fuzzy and message.id]
    assert po_path(code).with_suffix(".mo").read_bytes() == compiled(translated(code)), RENEW


def test_a_text_that_is_new_comes_in_empty_and_one_that_is_gone_goes(source: Catalog) -> None:
    small = Catalog()
    small.add("no such text in the source")
    assert [(m.id, m.string or "") for m in renewed("de", small) if m.id] == [("no such text in the source", "")]
