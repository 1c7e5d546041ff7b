"""What the benches count of a look that came about as the putter came to rest."""

from __future__ import annotations

import numpy as np
import pytest

from tests.bench.accuracy import judge_faults
from tests.bench.accuracy_table import Bench
from tests.support.truth import TrueStroke
from trainer.coaching.verdict import Verdict
from trainer.domain.record import Events, Signals, StrokeRecord
from trainer.domain.verdict import Fault
from trainer.live.pipeline import Finished

RECORD = StrokeRecord("ball", Events(), {}, Signals(np.zeros(0), np.zeros(0, np.int64), {}))
NEVER, TOO_CLOSE = Verdict(), Verdict(too_close=True)
LITTLE_EARLY = Verdict((Fault("early_look", 1.0, 0.08, "s", 12.0),))
LONG_EARLY = Verdict((Fault("early_look", 1.0, 0.3, "s", 12.0),))
LITTLE_HELD = Verdict((Fault("short_hold", 1.0, 0.08, "s", 1.0),))
LONG_HELD = Verdict((Fault("short_hold", 1.0, 0.9, "s", 1.0),))


def counted(after_s: float, verdict: Verdict) -> tuple[int, int, int]:
    """(found, missed, false) of a look so long after rest."""
    early = frozenset({"early_look"} if after_s < 0 else ())
    true = TrueStroke("ball", Events(settle_s=2.0, look_s=2.0 + after_s), {}, early, None)
    bench = Bench()
    judge_faults(bench, "clip", Finished(1, RECORD, verdict, ()), true)
    return sum(bench.hits.values()), len(bench.misses), len(bench.alarms)


@pytest.mark.parametrize("after_s", [-0.03, 0.03])
def test_what_is_about_right_near_rest_counts_neither_way_and_what_is_not_counts(after_s: float) -> None:
    for verdict in (TOO_CLOSE, LITTLE_EARLY, LITTLE_HELD):
        assert counted(after_s, verdict) == (0, 0, 0)
    for verdict in (NEVER, LONG_HELD):
        assert counted(after_s, verdict) == (0, 1, 0)


def test_a_look_long_before_rest_that_was_not_there_is_a_false_alarm() -> None:
    assert counted(0.03, LONG_EARLY) == (0, 0, 1)
    assert counted(0.3, LITTLE_EARLY) == (0, 0, 1)


def test_away_from_rest_all_is_counted() -> None:
    assert counted(-0.2, LONG_EARLY) == (1, 0, 0)
    assert counted(-0.2, LITTLE_HELD) == (0, 1, 0)
    assert counted(0.3, LITTLE_HELD) == (0, 0, 0)
