"""What is known of a measure stands in one place, and every measure of a stroke is in it."""

from __future__ import annotations

import ast
from typing import Iterator

import numpy as np
import pytest

from tests.support.paths import ROOT
from trainer.coaching.posture.posture_change import kept
from trainer.domain.measures import LIMITED, MEASURES, MIN_CONFIDENCE, confident_value, turn_text
from trainer.domain.record import Measure, StrokeRecord
from trainer.domain.verdict import FAULT_NAMES
from trainer.settings.limits import Limits
from trainer.stroke.tracker import Tracker
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_observations import EXACT, observations

REGISTRY = ROOT / "trainer" / "domain" / "measures.py"


@pytest.fixture(scope="module")
def record() -> StrokeRecord:
    tracker = Tracker()
    for seen in observations(Scene((SimStroke(2.0),), 9.0), 30.0, EXACT, np.random.default_rng(1)):
        closed = tracker.update(seen).closed
        if closed is not None:
            return closed
    last = tracker.finish()
    assert last is not None
    return last


def test_every_measure_of_a_record_has_its_entry_with_the_same_unit(record: StrokeRecord) -> None:
    assert {name: MEASURES[name].unit for name in record.measures} == {n: m.unit for n, m in record.measures.items()}
    assert len(record.measures) > 20


def test_the_spines_change_has_the_unit_it_is_measured_in(record: StrokeRecord) -> None:
    take = record.events.takeaway_s
    assert take is not None
    assert kept(record.signals, take, take + 1.0)["spine_change_deg"].unit == MEASURES["spine_change_deg"].unit


def test_every_fault_has_a_limit_on_a_measure_and_the_settings_have_the_same_faults() -> None:
    assert set(LIMITED) == set(FAULT_NAMES)
    assert tuple(Limits.model_fields) == FAULT_NAMES
    assert all(spec.unit == Limits().limit(fault).unit for fault, spec in LIMITED.items())


@pytest.mark.parametrize(
    ("measure", "value"),
    [
        (None, None),
        (Measure(None, "cm", 0.0, "not seen"), None),
        (Measure(2.0, "cm", MIN_CONFIDENCE - 0.001), None),
        (Measure(2.0, "cm", MIN_CONFIDENCE), 2.0),
    ],
)
def test_a_value_counts_from_the_least_confidence_on(measure: Measure | None, value: float | None) -> None:
    assert confident_value(measure) == value


def tables_by_measure(source: str) -> Iterator[int]:
    """Lines of dict displays that say something fixed (a word, a number) of two measures or more."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Dict):
            said = 0
            for key, value in zip(node.keys, node.values, strict=True):
                parts = value.elts if isinstance(value, ast.Tuple) else [value]
                fixed = any(isinstance(part, ast.Constant) for part in parts)
                said += fixed and isinstance(key, ast.Constant) and key.value in MEASURES
            if said >= 2:
                yield node.lineno


def test_no_other_module_holds_a_table_of_measures() -> None:
    assert list(tables_by_measure('X = {"hold_s": ("hold", 2), "recoil_cm": ("recoil", 1)}')) == [1]
    assert list(tables_by_measure('X = {"hold_s": measured(1), "recoil_cm": measured(2)}')) == []
    modules = [path for path in (ROOT / "trainer").rglob("*.py") if path != REGISTRY]
    found = [f"{p.relative_to(ROOT)}:{line}" for p in modules for line in tables_by_measure(p.read_text("utf-8"))]
    assert found == []


@pytest.mark.parametrize(
    ("turn_deg", "said"),
    [
        (0.4, "0°"),
        (-0.4, "0°"),
        (-7.6, "-8°"),
        (40.0, "+40°"),
        (41.0, "over 40°"),
        (-40.0, "-40°"),
        (-41.0, "over 40° away"),
    ],
)
def test_a_turn_is_told_no_farther_than_it_is_known(turn_deg: float, said: str) -> None:
    assert turn_text(turn_deg) == said
