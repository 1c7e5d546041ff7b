"""What has no norm: the latest session against those before, its spread, and early looks as two numbers."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import numpy as np

from trainer.coaching.progress.described import DESCRIBED, IN_ONE_SESSION, EarlyLooks, described, early_looks
from trainer.coaching.progress.facts import MEASURES_READ, Session, StrokeFacts, sessions_of
from trainer.domain.measures import MEASURES

BEGUN = datetime(2026, 3, 2, 17, 0, tzinfo=timezone.utc)


def sessions(seed: int, shift: float = 0.0, strokes: int = 15, days: int = 5) -> list[Session]:
    """Every measure about 40 with a spread of 4; the last session's shifted."""
    rng = np.random.default_rng(seed)
    out = []
    for day in range(days):
        for k in range(strokes):
            middle = 40.0 + (shift if day == days - 1 else 0.0)
            values = {name: float(middle + rng.normal(0, 4)) for name in DESCRIBED}
            at = BEGUN + timedelta(days=day, seconds=20 * k)
            out.append(StrokeFacts(k, f"{day}-{k}", f"s{day}", at, "ball", None, None, None, values, ()))
    return sessions_of(out)


def test_everything_described_is_read_from_the_record() -> None:
    assert set(DESCRIBED) <= set(MEASURES_READ)
    assert set(DESCRIBED) <= set(MEASURES)
    assert all(MEASURES[name].repeatability for name in DESCRIBED)


def test_a_change_is_called_and_none_is_not() -> None:
    quiet = [any(row.changed for row in described(sessions(seed))) for seed in range(60)]
    assert sum(quiet) <= 8  # 5 % of sessions: 8 or fewer of 60 in 99 %
    moved = [row.changed for seed in range(10) for row in described(sessions(seed, 8.0)) if row.comparison]
    assert np.mean(moved) > 0.95


def test_a_change_under_the_measures_own_error_is_none() -> None:
    steady = sessions(1)
    strokes = [s for session in steady for s in session.strokes]
    tiny = [
        StrokeFacts(
            s.stroke_id, s.uid, s.session, s.at, s.kind, None, None, None,
            {"address_stance_cm": 36.0 + 0.001 * s.stroke_id + (0.05 if s.session == "s4" else 0.0)}, (),
        )
        for s in strokes
    ]  # fmt: skip
    (row,) = described(sessions_of(tiny))
    assert row.comparison is not None
    assert row.comparison.changes  # by the strokes' own spread alone it would be one
    assert not row.changed
    assert row.cells[-1] == "as before"


def test_what_hangs_on_the_cameras_place_is_not_compared_between_sessions() -> None:
    rows = {row.measure: row for row in described(sessions(1, 8.0))}
    for name in IN_ONE_SESSION:
        assert rows[name].comparison is None
        assert "camera" in rows[name].cells[-1]
        assert rows[name].now.sd > 0


def test_few_strokes_are_told_by_nothing() -> None:
    assert described(sessions(1, strokes=5)) == ()
    alone = described(sessions(1, days=1))
    assert len(alone) == len(DESCRIBED)
    assert all(row.comparison is None and row.cells[-2] == "-" for row in alone)
    assert described([]) == ()


def test_early_looks_are_two_numbers() -> None:
    def look(at: float, faults: tuple[str, ...] = ("early_look",), kind: str = "ball") -> StrokeFacts:
        return StrokeFacts(1, "u", "s", BEGUN, kind, None, None, None, {"look_from_impact_s": at}, faults)

    found = early_looks([look(-0.2), look(0.1), look(0.3), look(1.9, ()), look(-0.1, kind="rehearsal")])
    assert found == EarlyLooks(1, 2)
    assert found.words == "Early looks: 1 before impact, 2 between impact and the putter's rest."
    assert early_looks([look(1.9, ())]) is None
