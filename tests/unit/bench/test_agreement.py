"""The bench's own statistics, by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench.agreement import Told, agreement, agreement_plot, agreement_table, confidence_table, told
from trainer.domain.record import Measure


def test_limits_of_agreement_by_hand() -> None:
    """Differences 1, 2, 3: mean 2, standard deviation 1."""
    a = agreement([(2.0, 1.0), (5.0, 3.0), (4.0, 1.0)])
    assert (a.n, a.bias, a.sd) == (3, 2.0, 1.0)
    assert (a.low, a.high) == pytest.approx((0.04, 3.96))


def test_a_published_example() -> None:
    """Mean -13.9, SD 15.1 degrees give limits of -43.5 and 15.7 (knee angle from video against a reference)."""
    a = agreement([(-13.9 - 15.1, 0.0), (-13.9, 0.0), (-13.9 + 15.1, 0.0)])
    assert (a.low, a.high) == pytest.approx((-43.5, 15.7), abs=0.05)


def test_table_and_plot(tmp_path: Path) -> None:
    pairs = {"settle: live, zero-lag": [(1.010, 1.0), (2.010, 2.0), (3.013, 3.0)], "alone": [(1.0, 1.0)]}
    table = agreement_table(pairs, dict.fromkeys(pairs, ("ms", 1000.0)))
    assert "| settle: live, zero-lag, ms | 11.0 |" in table
    assert "alone" not in table
    agreement_plot(pairs, tmp_path / "agreement.png")
    assert (tmp_path / "agreement.png").stat().st_size > 1000


def test_errors_in_tolerances() -> None:
    seen = told("hinge_change_deg", Measure(4.5, "deg", 0.9), 3.0)
    assert seen is not None
    assert (seen.error, seen.confidence) == (0.5, 0.9)
    large = told("hinge_change_deg", Measure(24.0, "deg", 0.9), 21.0)
    assert large is not None
    assert large.error == 0.5  # a quarter of 24 degrees is 6
    assert told("hinge_change_deg", Measure(None, "deg", 0.0), 3.0) is None
    assert told("hands_past_leg_cm", Measure(1.0, "cm", 0.9), 3.0) is None


def test_sure_and_rest_side_by_side() -> None:
    seen = [Told("a", 0.1, 0.9), Told("a", -0.1, 0.85), Told("a", 0.3, 0.7), Told("b", 2.0, 0.3)]
    table = confidence_table(seen)
    assert "| all | 100% (34% to 100%) | 0.10 | 2 | 1.43 | 2 |" in table
    assert "| a | 100% (34% to 100%) | 0.10 | 2 | 0.30 | 1 |" in table
    assert "| 0 to 0.35 | 2.00 | 0% | 1 |" in table
