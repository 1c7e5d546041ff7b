"""The catalogues fit the source, and what the program reads is what the .po files say."""

from __future__ import annotations

import string

import pytest
from babel.messages.catalog import Catalog, Message

from tests.support.catalogues import OTHERS, compiled, po_path, renewed, source_catalogue, strings, translated

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
