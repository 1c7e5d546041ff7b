"""The record: exact, durable, and never harmed by what is wrong with the disk or the file."""

from __future__ import annotations

import hashlib
import shutil
import signal
import sqlite3
import subprocess
import sys
import textwrap
from contextlib import closing
from dataclasses import replace
from datetime import datetime, timezone
from pathlib import Path

import numpy as np
import pytest

from tests.support.paths import ROOT
from tests.support.unwritable import nothing_may_be_written
from trainer.domain.record import SIGNAL_NAMES, Events, Measure, OtherStroke, Signals, StrokeContext, StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.errors import StoreError
from trainer.settings.load import from_options, load
from trainer.store.database import FILE_NAME
from trainer.store.folder import FOLDER_VARIABLE, base_folder
from trainer.store.signals import pack, unpack
from trainer.store.store import Store

WHEN = datetime(2026, 3, 1, 9, 30, tzinfo=timezone.utc)


def invented_record(seed: int = 1, samples: int = 90) -> StrokeRecord:
    """Numbers with every bit of a float64 in use, and gaps."""
    random = np.random.default_rng(seed)
    columns = {name: random.normal(0, 100, samples) for name in SIGNAL_NAMES}
    columns["ball_up_px"][5:9] = np.nan
    time_s = np.cumsum(random.uniform(0.02, 0.05, samples))
    return StrokeRecord(
        kind="ball",
        events=Events(takeaway_s=1 / 3, top_s=0.1 + 0.2, impact_s=None, look_s=2.0),
        measures={
            "hold_s": Measure(2 / 3, "s", 0.9),
            "head_turn_deg": Measure(None, "deg", 0.0, "head not seen"),
            "back_cm": Measure(17.0, "cm", 1.0),
        },
        signals=Signals(time_s, np.arange(7, 7 + samples, dtype=np.int64), columns),
        view="face-on",
        context=StrokeContext(True, "first", OtherStroke(2, -3.5, 7), "putter", 12.5, "late"),
    )


FAULTS = (Fault("early_look", 1.1 / 7, 0.3, "s", 0.0), Fault("recoil", 3.3, 4.4, "cm", 3.0))
CUES = (Cue("early_look", 1.2 / 7),)


def keep_one(store: Store, seed: int = 1) -> int:
    session = store.begin_session("Robin", "clip.mp4", WHEN)
    return store.keep(session, invented_record(seed), FAULTS, CUES, load(), WHEN)


def same_signals(a: Signals, b: Signals) -> bool:
    return (
        a.time_s.tobytes() == b.time_s.tobytes()
        and a.index.tobytes() == b.index.tobytes()
        and list(a.columns) == list(b.columns)
        and all(a[name].tobytes() == b[name].tobytes() for name in a.columns)
        and a.view == b.view
    )


def test_a_stroke_comes_back_bit_for_bit(tmp_path: Path) -> None:
    settings = load([from_options(limits__early_look__limit_deg=11.7, player__handedness="left")])
    record = invented_record()
    with Store(tmp_path, "9.9") as store:
        session = store.begin_session("Robin", "camera 0", WHEN)
        assert store.keep(session, record, FAULTS, CUES, settings, WHEN) == 1
        assert store.keep(session, record, (), (), settings, WHEN) == 2
    with Store(tmp_path, "10") as store:
        kept = store.stroke(store.recent(5)[1].stroke_id)
    assert same_signals(kept.record.signals, record.signals)
    assert kept.record.events == record.events
    assert dict(kept.record.measures) == dict(record.measures)
    assert kept.record.context == record.context
    assert (kept.record.kind, kept.record.view) == (record.kind, record.view)
    assert (kept.faults, kept.cues) == (FAULTS, CUES)
    assert kept.settings == settings
    assert (kept.software, kept.player, kept.source, kept.kept_at, kept.number) == ("9.9", "Robin", "camera 0", WHEN, 1)


def test_a_number_that_is_none_is_kept_as_not_seen(tmp_path: Path) -> None:
    record = invented_record()
    odd = StrokeRecord(record.kind, Events(top_s=float("nan")), {"x": Measure(float("nan"), "cm", 0.1)}, record.signals)
    with Store(tmp_path, "1") as store:
        store.keep(store.begin_session("R", "c", WHEN), odd, (), (), load(), WHEN)
        kept = store.stroke(1).record
    assert kept.events.top_s is None
    assert kept.measures["x"].value is None


def test_a_confidence_that_is_none_is_kept_as_no_confidence(tmp_path: Path) -> None:
    """A stroke is never lost for one number."""
    made = invented_record()
    odd = replace(made, measures={**made.measures, "hold_s": Measure(1.0, "s", float("nan"))})
    with Store(tmp_path, "t") as store:
        store.keep(store.begin_session("Robin", "c", WHEN), odd, FAULTS, CUES, load(), WHEN)
        assert store.recent(1)[0].measures["hold_s"] == Measure(1.0, "s", 0.0)


def test_recent_is_newest_first_and_of_one_player(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        for player in ("A", "B", "A"):
            store.keep(store.begin_session(player, "c", WHEN), invented_record(), FAULTS, (), load(), WHEN)
        assert [line.stroke_id for line in store.recent(2)] == [3, 2]
        lines = store.recent(9, player="A")
        assert [line.stroke_id for line in lines] == [3, 1]
        assert lines[0].measures["hold_s"].value == 2 / 3
        assert lines[0].faults == FAULTS
        with pytest.raises(StoreError, match="there is no stroke 77"):
            store.stroke(77)


def test_settings_are_kept_once_for_many_strokes(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        for _ in range(3):
            keep_one(store)
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        assert db.execute("SELECT count(*) FROM settings").fetchone() == (1,)
        assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    db.close()


def test_two_programs_at_once(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as one, Store(tmp_path, "1") as two:
        keep_one(one)
        keep_one(two)
        assert len(one.recent(9)) == len(two.recent(9)) == 2


def test_signals_of_no_samples() -> None:
    empty = Signals(np.empty(0), np.empty(0, np.int64), {"head_turn_deg": np.empty(0)})
    assert same_signals(unpack(pack(empty), "here"), empty)


def test_damaged_signals_leave_the_rest_readable(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        keep_one(store)
    db = sqlite3.connect(tmp_path / FILE_NAME)
    db.execute("UPDATE strokes SET signals = substr(signals, 1, 500)")
    db.commit()
    db.close()
    with Store(tmp_path, "1") as store:
        assert len(store.recent(1)) == 1
        with pytest.raises(StoreError, match="stroke 1: the stroke's raw signals are damaged"):
            store.stroke(1)


def one_line(error: pytest.ExceptionInfo[StoreError], *parts: str) -> None:
    line = str(error.value)
    assert "\n" not in line
    for part in parts:
        assert part in line


def fingerprint(folder: Path) -> dict[str, str]:
    """Every file that holds data: SQLite's shared-memory index and an empty log hold none."""
    files = [p for p in folder.iterdir() if not p.name.endswith("-shm") and p.stat().st_size]
    return {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in files}


def test_damaged_database_is_left_untouched(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        for seed in range(4):
            keep_one(store, seed)
    path = tmp_path / FILE_NAME
    whole = path.read_bytes()
    page = 4096
    hurt = {
        "cut short": whole[: len(whole) // 2],
        "overwritten middle": whole[:page] + b"\xa5" * (3 * page) + whole[4 * page :],
        "not a database": b"hello " * 2000,
    }
    for name, content in hurt.items():
        path.write_bytes(content)
        before = fingerprint(tmp_path)
        with pytest.raises(StoreError) as caught:
            Store(tmp_path, "1")
        one_line(caught, str(path), "damaged", "nothing in it was changed", "--data-folder")
        assert fingerprint(tmp_path) == before, name
    path.write_bytes(whole)
    with Store(tmp_path, "1") as store:
        assert len(store.recent(9)) == 4


def test_damage_beside_an_unfinished_log_is_left_untouched(tmp_path: Path) -> None:
    work, copy = tmp_path / "work", tmp_path / "copy"
    copy.mkdir()
    with Store(work, "1") as store:
        keep_one(store)
        for name in (FILE_NAME, FILE_NAME + "-wal"):  # as a kill leaves them
            (copy / name).write_bytes((work / name).read_bytes())
    assert (copy / (FILE_NAME + "-wal")).stat().st_size > 0
    (copy / FILE_NAME).write_bytes(b"\x00" * 5000)
    before = fingerprint(copy)
    with pytest.raises(StoreError, match="damaged"):
        Store(copy, "1")
    assert fingerprint(copy) == before


def half_written(path: Path, into: Path, change: str) -> None:
    """The file and its journal as a power cut leaves them in the middle of a change without a write-ahead log."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA journal_mode = DELETE")
        db.execute("PRAGMA cache_size = 1")  # pages go to the file before the end
        db.execute("BEGIN IMMEDIATE")
        db.execute(change)
        into.mkdir()
        for name in (FILE_NAME, FILE_NAME + "-journal"):
            shutil.copy(path.with_name(name), into / name)
        db.execute("ROLLBACK")
    assert (into / (FILE_NAME + "-journal")).stat().st_size > 0


def test_what_a_power_cut_left_half_erased_is_taken_back(tmp_path: Path) -> None:
    with Store(tmp_path / "here", "1") as store:
        for seed in range(4):
            keep_one(store, seed)
    there = tmp_path / "there"
    half_written(tmp_path / "here" / FILE_NAME, there, "DELETE FROM strokes")
    assert fingerprint(there)[FILE_NAME] != fingerprint(tmp_path / "here")[FILE_NAME]
    with Store(there, "1") as store:
        assert len(store.recent(9)) == 4


def test_what_a_power_cut_left_of_a_record_just_begun_is_begun_again(tmp_path: Path) -> None:
    """Not even its first sector has reached the disk."""
    (tmp_path / "here").mkdir()
    there = tmp_path / "there"
    half_written(tmp_path / "here" / FILE_NAME, there, "CREATE TABLE t AS SELECT zeroblob(100000) AS x")
    with (there / FILE_NAME).open("r+b") as file:
        file.write(bytes(512))
    with Store(there, "1") as store:
        keep_one(store)
        assert len(store.recent(9)) == 1


def test_newer_schema_is_refused_untouched(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        keep_one(store)
    db = sqlite3.connect(tmp_path / FILE_NAME)
    db.execute("PRAGMA user_version = 99")
    db.close()
    before = fingerprint(tmp_path)
    with pytest.raises(StoreError) as caught:
        Store(tmp_path, "1")
    one_line(caught, "newer version (schema 99", "update putting-trainer")
    assert fingerprint(tmp_path) == before


def test_database_of_another_program_is_refused(tmp_path: Path) -> None:
    db = sqlite3.connect(tmp_path / FILE_NAME)
    db.execute("CREATE TABLE theirs (x)")
    db.commit()
    db.close()
    before = fingerprint(tmp_path)
    with pytest.raises(StoreError, match="database of another program"):
        Store(tmp_path, "1")
    assert fingerprint(tmp_path) == before


@pytest.mark.skipif(sys.platform == "win32", reason="Windows takes no such path itself")
def test_a_path_longer_than_sqlite_takes_is_said(tmp_path: Path) -> None:
    folder = tmp_path.joinpath(*["so deep"] * 70)
    folder.mkdir(parents=True)
    with pytest.raises(StoreError) as caught:
        Store(folder, "1")
    one_line(caught, "the path is too long", "choose a shorter one")


def test_locked_record(tmp_path: Path) -> None:
    with Store(tmp_path, "1", busy_s=0.02) as store:
        other = sqlite3.connect(tmp_path / FILE_NAME, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError) as caught:
            keep_one(store)
        one_line(caught, "another program is using the record")
        other.execute("ROLLBACK")
        other.close()
        assert keep_one(store) == 1


def test_full_disk_keeps_what_was_kept(tmp_path: Path) -> None:
    with Store(tmp_path, "1") as store:
        session = store.begin_session("R", "c", WHEN)
        store.keep(session, invented_record(), FAULTS, CUES, load(), WHEN)
        pages = store._db.execute("PRAGMA page_count").fetchone()[0]
        store._db.execute(f"PRAGMA max_page_count = {pages + 1}")
        with pytest.raises(StoreError) as caught:
            store.keep(session, invented_record(samples=900), FAULTS, CUES, load(), WHEN)
        one_line(caught, "the disk is full", "make room")
        assert [line.number for line in store.recent(9)] == [1]
        store._db.execute(f"PRAGMA max_page_count = {pages + 1000}")
        assert store.keep(session, invented_record(samples=900), FAULTS, CUES, load(), WHEN) == 2


def test_file_in_place_of_the_folder(tmp_path: Path) -> None:
    place = tmp_path / "file"
    place.write_text("mine")
    for folder in (place, place / "below"):
        with pytest.raises(StoreError) as caught:
            Store(folder, "1")
        one_line(caught, str(folder), "--data-folder")
    assert place.read_text() == "mine"


def test_folder_in_place_of_the_file(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).mkdir()
    with pytest.raises(StoreError) as caught:
        Store(tmp_path, "1")
    one_line(caught, FILE_NAME)


def test_unwritable_folder(tmp_path: Path) -> None:
    with nothing_may_be_written(tmp_path), pytest.raises(StoreError) as caught:
        Store(tmp_path, "1")
    one_line(caught, "--data-folder")


def test_which_folder(tmp_path: Path) -> None:
    assert base_folder(tmp_path, {FOLDER_VARIABLE: "/elsewhere"}) == tmp_path
    assert base_folder(None, {FOLDER_VARIABLE: "/elsewhere"}) == Path("/elsewhere")
    assert base_folder(None, {}).name == "putting-trainer"


def test_announced_strokes_survive_a_kill(tmp_path: Path) -> None:
    """A process that keeps strokes and announces each is killed without warning in mid-work."""
    code = """
        import sys
        from pathlib import Path
        from tests.unit.store.test_store import WHEN, CUES, FAULTS, invented_record
        from trainer.settings.load import load
        from trainer.store.store import Store
        store = Store(Path(sys.argv[1]), "1")
        session = store.begin_session("R", "c", WHEN)
        while True:
            print(store.keep(session, invented_record(), FAULTS, CUES, load(), WHEN), flush=True)
    """
    root = ROOT
    child = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(code), str(tmp_path)], cwd=root, stdout=subprocess.PIPE, text=True
    )
    assert child.stdout is not None
    with child, child.stdout:
        announced = [int(child.stdout.readline()) for _ in range(5)]
        child.send_signal(signal.SIGKILL)
        announced += [int(line) for line in child.stdout.read().split()]
    assert child.returncode == -signal.SIGKILL
    with Store(tmp_path, "1") as store:
        numbers = sorted(line.number for line in store.recent(10_000))
        assert numbers[: len(announced)] == announced
        assert len(numbers) - len(announced) <= 1  # the one committed but not yet announced
        kept = store.stroke(store.recent(1)[0].stroke_id)
        assert same_signals(kept.record.signals, invented_record().signals)
