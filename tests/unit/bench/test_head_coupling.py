"""Heads against the putter, as experts', are none; those along with it are; the size alone took both for one."""

from __future__ import annotations

from tests.bench.head_coupling import called


def test_direction_decides_and_not_the_size() -> None:
    old, new, true = called(-4.0, 4)
    assert true < 0
    assert old >= 0.5
    assert new == 0.0
    old, new, true = called(3.0, 4)
    assert true > 4.0
    assert new == 1.0
