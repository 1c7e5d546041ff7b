"""A record's signals as the rows that they were made from."""

from __future__ import annotations

from trainer.domain.record import Signals


def samples_of(signals: Signals) -> list[tuple[int, float, dict[str, float]]]:
    """The rows again, for ``Tracker.update_row``: replaying them is exact."""
    return [
        (int(signals.index[k]), float(signals.time_s[k]), {n: float(c[k]) for n, c in signals.columns.items()})
        for k in range(len(signals.time_s))
    ]
