"""Distances on record: exact, of each player apart, brought to older records, gone with nothing else."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from tests.unit.store.test_store import WHEN, keep_one
from trainer.coaching.distance.green_speed import entered_green
from trainer.coaching.distance.putt import Putt
from trainer.coaching.distance.skid import run_m
from trainer.errors import StoreError
from trainer.store.database import FILE_NAME
from trainer.store.distance import DistancePlayer, Distances, that_count
from trainer.store.schema import APPLICATION_ID, CHANGES, SCHEMA_VERSION, TABLES
from trainer.store.store import Store

PUTT = Putt(24.1, 4.1, 10.0, 1 / 3, 4.0, 0.67, 0.1 + 0.2, 2.4, 0.25)


def test_what_is_kept_comes_back_exactly(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        kept = Distances(store)
        assert kept.player("Robin") is None
        assert kept.green("Robin") is None
        kept.set_player("Robin", DistancePlayer("m", 25.0))
        kept.set_player("Robin", DistancePlayer("ft", 27.5))
        kept.keep_green("Robin", entered_green(9.0), WHEN)
        kept.keep_green("Robin", entered_green(10.0), WHEN)
        kept.keep_putt("Robin", PUTT, WHEN)
        kept.keep_putt("Alex", Putt(20, 3, 9), WHEN)
    with Store(tmp_path, "1") as store:
        kept = Distances(store)
        assert kept.player("Robin") == DistancePlayer("ft", 27.5)
        green = kept.green("Robin")
        assert green is not None
        assert (green.green_speed_ft, green.low_ft, green.high_ft, green.source) == (10.0, 9.5, 10.5, "entered")
        (putt,) = kept.putts("Robin")
        assert (putt.putt, putt.kept_at, putt.stroke_id, putt.frames_per_s) == (PUTT, WHEN, None, None)
        assert kept.putts("Alex")[0].putt == Putt(20, 3, 9)
        assert kept.putts("Nobody") == []


def test_a_stroke_has_one_measured_roll_out_and_one_estimate(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        keep_one(store)
        kept = Distances(store)
        kept.keep_putt("Robin", PUTT, WHEN, 1, 30.0)
        kept.keep_putt("Robin", Putt(24, 5, 10), WHEN, 1, 30.0)
        (only,) = kept.putts("Robin")
        assert (only.putt.rolled_m, only.stroke_id, only.frames_per_s) == (5, 1, 30.0)
        with pytest.raises(StoreError):
            kept.keep_putt("Robin", PUTT, WHEN, 77)
        guessed = replace(PUTT, rolled_m=6.0, estimated=True)
        kept.keep_putt("Robin", guessed, WHEN, 1, 30.0)
        assert [one.putt for one in kept.putts("Robin")] == [Putt(24, 5, 10), guessed]
        assert that_count(kept.putts("Robin")) == [only]
        kept.drop_putt("Robin", only.putt_id)
        assert [one.putt for one in that_count(kept.putts("Robin"))] == [guessed]


def test_estimates_of_older_records_are_known_by_their_number(tmp_path: Path) -> None:
    db = version_1(tmp_path)
    for step in (2, 3, 4):
        for change in CHANGES[step]:
            db.execute(change)
    sql = (
        "INSERT INTO distance_putts (player, kept_at, back_cm, rolled_m, stimp_ft, slope_pct, ball_speed_m_s,"
        " rounded_to_m) VALUES ('Robin', ?, 24, ?, 10, 0, ?, 0.1)"
    )
    for rolled_m, speed in ((run_m(2.0, 10), 2.0), (round(run_m(2.0, 10), 2), 2.0), (4.0, None)):
        db.execute(sql, (WHEN.isoformat(), rolled_m, speed))
    db.execute("PRAGMA user_version = 4")
    db.commit()
    db.close()
    with Store(tmp_path, "1") as store:
        assert [one.putt.estimated for one in Distances(store).putts("Robin")] == [True, False, False]


def test_a_putt_can_be_forgotten_by_its_player_only(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        kept = Distances(store)
        number = kept.keep_putt("Robin", PUTT, WHEN)
        with pytest.raises(StoreError, match=f"Alex has no putt {number}"):
            kept.drop_putt("Alex", number)
        kept.drop_putt("Robin", number)
        assert kept.putts("Robin") == []


def version_1(folder: Path) -> sqlite3.Connection:
    """A record as the first version made it, with one session."""
    db = sqlite3.connect(folder / FILE_NAME)
    for table in TABLES:
        db.execute(table)
    db.execute("INSERT INTO sessions (started_at, player, source) VALUES (?, 'Robin', 'camera 0')", (WHEN.isoformat(),))
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    db.execute("PRAGMA user_version = 1")
    db.commit()
    return db


def test_an_older_record_gets_the_new_tables_and_keeps_its_sessions(tmp_path: Path) -> None:
    version_1(tmp_path).close()
    for _ in range(2):
        with Store(tmp_path, "1") as store:
            assert Distances(store).putts("Robin") == []
            Distances(store).set_player("Robin", DistancePlayer("m", 25.0))
    db = sqlite3.connect(tmp_path / FILE_NAME)
    assert db.execute("PRAGMA user_version").fetchone()[0] == SCHEMA_VERSION
    assert db.execute("SELECT player FROM sessions").fetchall() == [("Robin",)]
    db.close()


def test_a_failed_change_leaves_the_older_record_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    version_1(tmp_path).close()
    monkeypatch.setattr("trainer.store.database.SCHEMA_VERSION", 2)
    monkeypatch.setattr("trainer.store.database.CHANGES", {2: ("CREATE TABLE fine (x)", "CREATE TABLE strokes (x)")})
    with pytest.raises(StoreError):
        Store(tmp_path, "1")
    db = sqlite3.connect(tmp_path / FILE_NAME)
    assert db.execute("PRAGMA user_version").fetchone()[0] == 1
    assert db.execute("SELECT count(*) FROM sqlite_master WHERE name = 'fine'").fetchone()[0] == 0
    assert db.execute("SELECT count(*) FROM sessions").fetchone()[0] == 1
    db.close()
