"""A fault is found by its key and by the words that screens show."""

from __future__ import annotations

import pytest

from trainer.domain.verdict import FAULT_NAMES, fault_named, fault_words


@pytest.mark.parametrize("name", FAULT_NAMES)
def test_by_key_and_by_shown_words(name: str) -> None:
    for told in (name, fault_words(name)):
        for written in (
            told,
            told.upper(),
            told.replace(" ", "-").replace("_", "-"),
            told.replace(" ", "_"),
            f" {told} ",
        ):
            assert fault_named(written) == name


def test_no_other_word_is_a_fault() -> None:
    assert fault_named("hands") is None
    assert fault_named("") is None
