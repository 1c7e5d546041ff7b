"""KEY=VALUE: what was meant is told, also by the words that screens show."""

from __future__ import annotations

import pytest

from trainer.commands.key_values import key_values, limit_hint, limit_key
from trainer.errors import UsageError
from trainer.settings.limits import Limits


def test_a_limit_without_its_key_is_told_with_it() -> None:
    for text in ("hand_stall=10", "stopped hands=10"):
        with pytest.raises(UsageError, match=r"did you mean hand_stall\.limit_deg=10\?"):
            key_values([text])
    with pytest.raises(UsageError, match=r"for example limits\.sway\.limit_cm=2\.5"):
        key_values(["nonsense=10"])


def test_a_limit_by_its_shown_name_is_suggested() -> None:
    assert limit_hint("stopped_hands.limit_deg") == "did you mean hand_stall.limit_deg?"
    assert limit_hint("head-going-along.limit_cm") == "did you mean sway.limit_cm?"
    assert limit_hint("sway.limit_in") == "did you mean sway.limit_cm?"


def test_what_is_suggested_can_be_set() -> None:
    for fault, limit in Limits():
        assert key_values([f"{limit_key(fault)}={limit.value}"]) == {f"limits.{limit_key(fault)}": limit.value}


def test_what_is_the_same_for_everybody_is_no_student_s() -> None:
    with pytest.raises(UsageError, match=r"words\.language is the same for everybody; set it in settings\.toml"):
        key_values(["words.language=de"])
