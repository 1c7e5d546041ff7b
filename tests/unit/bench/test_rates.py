"""The study of error rates: what it takes for plain, by hand, and a small run of it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.bench.rates import GRIDS, PAGE, differs, error_of, plot, rate, sample, table
from tests.support.student import Truth, draw, truth_of
from trainer.domain.verdict import FAULT_NAMES
from trainer.settings.limits import Limits


def truth(settle_s: float = 3.0, onset_s: float = 4.0, hinge_deg: float = 2.0, stop: float = 0.6) -> Truth:
    """A head that turns 100 degrees a second from onset_s on."""
    turn_s = [onset_s + (1.0 + k / 10) / 100 for k in range(341)]
    return Truth((settle_s, settle_s), turn_s, hinge_deg, stop, (0.0, 0.0), 0.5, 0.2)


def test_look_before_and_after_rest() -> None:
    """The head passes 12 degrees 0.12 s after it sets off."""
    assert truth(onset_s=2.7).value("early_look") == pytest.approx(0.18)
    assert truth(onset_s=2.7).plainly("early_look", 12.0, 0.05) is True
    assert truth(onset_s=2.8).plainly("early_look", 12.0, 0.05) is None  # 0.08 s, of which 0.06 s are too close to call
    assert truth(onset_s=2.95).plainly("early_look", 12.0, 0.05) is None
    assert truth(onset_s=3.1).plainly("early_look", 12.0, 0.05) is False
    assert truth(onset_s=3.5).plainly("short_hold", 1.0, 0.05) is True
    assert truth(onset_s=4.2).plainly("short_hold", 1.0, 0.05) is False
    assert truth(onset_s=2.5).plainly("short_hold", 1.0, 0.05) is False  # told as an early look


def test_a_rest_that_hangs_on_a_hair_is_called_neither() -> None:
    hair = Truth((3.0, 3.4), truth(onset_s=3.2).turn_s, 2.0, 0.6, (0.0, 0.0), 0.5, 0.2)
    assert hair.plainly("early_look", 12.0, 0.05) is None
    assert hair.value("early_look") is None


def test_stall_by_angle_or_by_stopping_hands() -> None:
    assert truth(hinge_deg=16.0).plainly("hand_stall", 12.0, 3.0) is True
    assert truth(hinge_deg=14.0).plainly("hand_stall", 12.0, 3.0) is None
    assert truth(hinge_deg=14.0, stop=0.05).plainly("hand_stall", 12.0, 3.0) is True
    assert truth(hinge_deg=8.0).plainly("hand_stall", 12.0, 3.0) is False
    assert truth(hinge_deg=8.0, stop=0.05).plainly("hand_stall", 12.0, 3.0) is None
    assert truth(hinge_deg=4.0, stop=0.05).plainly("hand_stall", 12.0, 3.0) is False


def test_the_same_number_is_the_same_stroke_at_every_rate() -> None:
    one, other = draw(7, 30.0), draw(7, 60.0)
    assert one[0].strokes == other[0].strokes
    assert truth_of(one[0], one[2]).turn_s == truth_of(other[0], other[2]).turn_s


def test_every_default_is_on_its_grid() -> None:
    for name, grid in GRIDS.items():
        assert getattr(Limits(), name).value in grid
    assert set(GRIDS) == set(FAULT_NAMES) - {"posture_change"}


def test_a_small_run(tmp_path: Path) -> None:
    """Two dozen strokes: all found, none wrong where it is plain, and the page can be written."""
    samples = [sample(n, 30.0) for n in range(24)]
    assert [s["kind"] for s in samples] == ["ball"] * 24
    for name in ("early_look", "hand_stall"):
        error = error_of(samples, name)
        alarms, fine, misses, faulty, near = rate(
            samples, name, GRIDS[name].index(getattr(Limits(), name).value), error
        )
        assert (alarms, misses) == (0, 0), name
        assert fine + faulty + near == sum(name not in s["unsure"] for s in samples)
        assert faulty > 0
    assert np.mean([differs(s) for s in samples]) <= 0.1
    text = PAGE + table({30.0: samples})
    assert "| **12** |" in text
    plot({30.0: samples}, tmp_path / "error_rates.png")
    assert (tmp_path / "error_rates.png").stat().st_size > 5000
