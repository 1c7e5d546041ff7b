"""Whatever tells something of a fault knows every fault: what DEVELOPERS.md lists under "A fault"."""

from __future__ import annotations

from typing import Collection

import pytest

from tests.support.paths import ROOT
from trainer.coaching.faults import RULES
from trainer.coaching.lesson.priority import CAUSES
from trainer.coaching.progress.advice import FAULT_PHRASES, JOBS
from trainer.coaching.reasons.fault_cards import FAULT_CARDS
from trainer.domain.measures import LIMITED
from trainer.domain.verdict import FAULT_NAMES, SEEN_FROM, Fault, fault_words
from trainer.feedback.make_sounds import FIGURES
from trainer.feedback.signs import FAULT_WORDS, fault_detail
from trainer.settings.drill_file import known_drills
from trainer.settings.limits import Limits
from trainer.store.history import asked_from
from trainer.texts import Text

DRILLS = known_drills([ROOT / "config" / "drills"])


@pytest.mark.parametrize(
    "known",
    [RULES, JOBS, FAULT_PHRASES, FAULT_CARDS, LIMITED, FAULT_WORDS, Limits.model_fields],
    ids=["rules", "jobs", "phrases", "cards", "measures", "signs", "limits"],
)
def test_each_list_has_every_fault_and_no_other(known: Collection[str]) -> None:
    assert set(known) == set(FAULT_NAMES)


@pytest.mark.parametrize("name", FAULT_NAMES)
def test_a_fault_is_seen_from_somewhere_sounds_and_has_words_and_a_drill(name: str) -> None:
    assert any(name in faults for faults in SEEN_FROM.values())
    assert FIGURES[name]
    assert isinstance(fault_words(name), Text)  # words of its own, and in every language
    assert JOBS[name][1] in DRILLS
    limit = getattr(Limits(), name)
    assert f"{limit.value:g}" in fault_detail(Fault(name, 1.0, limit.value, limit.unit, limit.value))


def test_causes_are_faults() -> None:
    assert set(CAUSES) <= set(FAULT_NAMES)


def test_a_fault_that_limits_of_before_do_not_name_was_not_asked_for() -> None:
    """Strokes of a release that did not know it would count as strokes without it."""
    then = {name: {"on": True} for name in FAULT_NAMES if name not in ("lift", "sway")}
    assert asked_from("face-on", {**then, "sway": {"on": False}}) == (
        "early_look",
        "short_hold",
        "hand_stall",
        "recoil",
    )
    assert asked_from("face-on", {}) == SEEN_FROM["face-on"]  # nothing is known of them
