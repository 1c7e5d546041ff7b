"""The columns of a list of strokes are the measures that have a heading."""

from __future__ import annotations

from trainer.app.strokes import COLUMNS
from trainer.domain.measures import MEASURES


def test_a_measure_with_a_heading_has_its_column() -> None:
    assert set(COLUMNS) == {spec.name for spec in MEASURES.values() if spec.heading}
