"""When a stroke's events happened."""

from __future__ import annotations

import pytest

from trainer.domain.record import EVENT_NAMES, Events


def test_those_that_happened_come_in_their_order() -> None:
    """A look may come before the settle: the order is that of the names, not of the times."""
    events = Events(look_s=2.0, takeaway_s=0.5, settle_s=2.5, impact_s=0.0)
    assert list(events) == [("takeaway_s", 0.5), ("impact_s", 0.0), ("settle_s", 2.5), ("look_s", 2.0)]
    assert list(Events()) == []


def test_each_is_found_by_its_name() -> None:
    events = Events(*range(len(EVENT_NAMES)))
    assert [events.named(name) for name in EVENT_NAMES] == list(range(len(EVENT_NAMES)))
    assert Events().named("top_s") is None


def test_what_has_not_happened_has_no_time() -> None:
    assert Events(impact_s=0.0).at("impact_s") == 0.0
    with pytest.raises(LookupError, match="settle_s"):
        Events(impact_s=0.0).at("settle_s")


def test_what_a_file_names_otherwise_is_left_out() -> None:
    assert Events.of({"top_s": 1.0, "look_s": None, "yawn_s": 3.0}) == Events(top_s=1.0)
