"""The quick part of the mess bench: a few harms on one clip. No crash, nothing called wrongly, and what harms is said."""

from __future__ import annotations

from functools import cache

import pytest

from tests.bench.mess import QUICK, Outcome, bench, quick_jobs, table
from trainer.vision.light import BRIGHT_LINE

WORDS = {
    "over-exposed": BRIGHT_LINE,
    "fades to black": "the picture is black",
    "cut on the right": "out of the picture on its right",
    "size changes": "changes its size",
}
HARMS = ("none", *(name for name, _ in QUICK))


@cache
def outcome(name: str) -> Outcome:
    return bench([job for job in quick_jobs() if job[1].name == name], None)[0]


@pytest.mark.slow
@pytest.mark.parametrize("name", HARMS)
def test_no_crash_and_no_wrong_verdict(name: str) -> None:
    found = outcome(name)
    assert found.crashed == ""
    assert (found.false_faults, found.missed, found.invented) == (0, 0, 0), found
    assert found.wrong == [], found
    assert not found.lost or found.said, "a lost stroke without a reason"


@pytest.mark.slow
@pytest.mark.parametrize("name", WORDS)
def test_what_harms_is_said(name: str) -> None:
    assert any(WORDS[name] in line for line in outcome(name).said), outcome(name).said


@pytest.mark.slow
def test_the_table_has_a_row_for_each() -> None:
    text = table([outcome(name) for name in HARMS])
    assert text.count("\n|") == len(HARMS) + 1
    assert outcome("none").lost == 0
