"""An export holds all there is of a student but the videos, or says what it leaves out; it never overwrites a file."""

from __future__ import annotations

import json
import zipfile
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest

from tests.support.made_address import DOWN_THE_LINE, address, side_places
from tests.unit.store.test_transfer import coach, contents, listing, on, practise, rebuilt, refuses
from trainer.app.student_file import files_of
from trainer.coaching.distance.green_speed import entered_green
from trainer.coaching.distance.putt import Putt
from trainer.posture.snapshots import Snapshots
from trainer.store.distance import DistancePlayer, Distances
from trainer.store.store import Store
from trainer.store.students import Students
from trainer.store.video import ENDING, folder_of

WHEN = datetime(2026, 3, 1, 12, tzinfo=timezone.utc)
SEEN = address("down-the-line", DOWN_THE_LINE, side_places())
PUTT = Putt(24.0, 4.2, 10.0, target_m=4.0)


def whole(folder: Path) -> Path:
    """Robin with strokes, distances, two kept postures (one the reference) and a video."""
    coach(folder)
    student_id = Students(folder).find("Robin").card.id
    with Store(folder, "t") as store:
        kept = Distances(store)
        kept.set_player("Robin", DistancePlayer("ft", 28.0))
        kept.keep_green("Robin", entered_green(9.0), WHEN)
        kept.keep_green("Robin", entered_green(10.0), WHEN + timedelta(days=1))
        kept.keep_putt("Robin", PUTT, WHEN)
        newest = store.recent(1)[0].stroke_id
        kept.keep_putt("Robin", Putt(25.0, 4.4, 10.0), WHEN, newest, 30.0)
        kept.keep_putt("Robin", Putt(25.0, 5.0, 10.0, ball_speed_m_s=2.4, estimated=True), WHEN, newest, 30.0)
        with store.reading() as db:
            (uid,) = db.execute("SELECT uid FROM strokes WHERE id = ?", (newest,)).fetchone()
    snapshots = Snapshots(files_of(folder, student_id))
    picture = np.full((720, 1280, 3), 90, np.uint8)
    first = snapshots.save(SEEN, picture, WHEN, "before")
    snapshots.save(SEEN, picture, WHEN + timedelta(days=7), "after")
    snapshots.set_reference(first)
    folder_of(folder, student_id).mkdir(parents=True, exist_ok=True)
    (folder_of(folder, student_id) / f"{uid}{ENDING}").write_bytes(b"x" * 2_000_000)
    return folder


def snapshots_of(folder: Path) -> Snapshots:
    return Snapshots(files_of(folder, Students(folder).find("Robin").card.id))


def test_distances_and_postures_come_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    here, there, out = whole(tmp_path / "here"), tmp_path / "there", tmp_path / "robin.zip"
    capsys.readouterr()
    assert on(here, "students", "export", "Robin", "--out", str(out)) == 0
    said = capsys.readouterr().out
    assert "6 strokes, 5 distance entries, 2 kept postures" in said
    assert "not in it: 1 video of a stroke (2.0 MB)" in said
    assert on(there, "students", "import", str(out)) == 0
    assert "6 new distance entries, 2 new kept postures" in capsys.readouterr().out  # the unit is one
    with Store(here, "t") as ours, Store(there, "t") as theirs:
        mine, new = Distances(ours), Distances(theirs)
        assert new.player("Robin") == DistancePlayer("ft", 28.0)
        assert new.green("Robin") == mine.green("Robin")
        assert [one.putt for one in new.putts("Robin")] == [one.putt for one in mine.putts("Robin")]
        linked = [one.stroke_id for one in new.putts("Robin")]
        assert linked[0] is None
        assert linked[1] == linked[2] == theirs.recent(1)[0].stroke_id
    old, new_ones = snapshots_of(here), snapshots_of(there)
    assert [one.label for one in new_ones.all()] == ["before", "after"]
    assert [one.measures for one in new_ones.all()] == [one.measures for one in old.all()]
    assert (new_ones.all()[0].image() == old.all()[0].image()).all()
    reference = new_ones.reference("down-the-line")
    assert reference is not None
    assert reference.label == "before"
    # Once more: nothing is new, and no file changes.
    before = listing(there)
    assert on(there, "students", "import", str(out)) == 0
    assert listing(there) == before


def test_what_was_changed_here_stands_and_the_newer_roll_out_wins(tmp_path: Path) -> None:
    here, there = whole(tmp_path / "here"), tmp_path / "there"
    out, back = tmp_path / "robin.zip", tmp_path / "back.zip"
    assert on(here, "students", "export", "Robin", "--out", str(out)) == 0
    assert on(there, "students", "import", str(out)) == 0
    with Store(there, "t") as store:
        kept = Distances(store)
        kept.set_player("Robin", DistancePlayer("m", 20.0))
        kept.keep_putt("Robin", Putt(25.0, 4.6, 10.0), WHEN + timedelta(days=2), store.recent(1)[0].stroke_id, 30.0)
    chosen = next(one for one in snapshots_of(there).all() if one.label == "after")
    snapshots_of(there).set_reference(chosen)
    assert on(there, "students", "import", str(out)) == 0
    assert on(there, "students", "export", "Robin", "--out", str(back)) == 0
    assert on(here, "students", "import", str(back)) == 0
    for folder, unit, label in ((there, "m", "after"), (here, "ft", "before")):
        with Store(folder, "t") as store:
            kept = Distances(store)
            player = kept.player("Robin")
            assert player is not None
            assert player.unit == unit
            assert sorted(one.putt.rolled_m for one in kept.putts("Robin")) == [4.2, 4.6, 5.0]
        reference = snapshots_of(folder).reference("down-the-line")
        assert reference is not None
        assert reference.label == label


def test_another_posture_of_the_same_second_is_kept_beside(tmp_path: Path) -> None:
    here, there, out = whole(tmp_path / "here"), tmp_path / "there", tmp_path / "robin.zip"
    assert on(here, "students", "export", "Robin", "--out", str(out)) == 0
    assert on(there, "students", "import", str(out), "--as", "Robin") == 0
    first = snapshots_of(there).all()[0]
    path = snapshots_of(there).folder / f"{first.name}.json"
    path.write_text(path.read_text().replace('"before"', '"mine"'))
    for _ in range(2):
        assert on(there, "students", "import", str(out)) == 0
        assert sorted(one.label for one in snapshots_of(there).all()) == ["after", "before", "mine"]


def test_exports_never_overwrite(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = whole(tmp_path / "here")
    monkeypatch.chdir(tmp_path)
    assert on(folder, "students", "export", "Robin") == 0
    (first,) = tmp_path.glob("*.handover.zip")
    data = first.read_bytes()
    assert on(folder, "students", "export", "Robin", "--profile-only") == 0
    said = capsys.readouterr().out
    assert "not in it: 6 strokes, 5 distance entries, 2 kept postures, 1 video" in said
    assert len(list(tmp_path.glob("*.handover.zip"))) == 2
    assert first.read_bytes() == data
    assert on(folder, "students", "export", "Robin", "--out", str(first)) == 2
    assert "never overwrite" in capsys.readouterr().err
    assert first.read_bytes() == data
    for _ in range(2):
        assert on(folder, "report", "--student", "Robin") == 0
    assert len(list(tmp_path.glob("*.html"))) == 2


def test_erase_says_what_is_in_no_export(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder, out = whole(tmp_path / "here"), tmp_path / "robin.zip"
    assert on(folder, "students", "export", "Robin", "--out", str(out)) == 0
    practise(folder, 3, seed=8)
    capsys.readouterr()
    assert on(folder, "students", "erase", "Robin", "--yes") == 0
    said = capsys.readouterr().out
    assert f"the newest export file is {out}\n" in said
    assert "in no export file was: 3 strokes, 1 video of a stroke (2.0 MB)" in said
    # What came out of a file is in that file; where the file went, that is said.
    assert on(folder, "students", "import", str(out)) == 0
    out.rename(out.with_name("elsewhere.zip"))
    capsys.readouterr()
    assert on(folder, "students", "erase", "Robin", "--yes") == 0
    said = capsys.readouterr().out
    assert "robin.zip, which is not there any more" in said
    assert "in no export file" not in said
    assert on(folder, "students", "add", "Kim") == 0
    capsys.readouterr()
    assert on(folder, "students", "erase", "Kim", "--yes") == 0
    assert "no export file of this student" in capsys.readouterr().out


def test_an_export_without_the_record_does_not_count_as_holding_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = whole(tmp_path / "here")
    assert on(folder, "students", "export", "Robin", "--profile-only", "--out", str(tmp_path / "x.zip")) == 0
    capsys.readouterr()
    assert on(folder, "students", "erase", "Robin", "--yes") == 0
    said = capsys.readouterr().out
    assert "in no export file was: 6 strokes, 5 distance entries, 2 kept postures" in said


def test_a_drill_that_was_practised_goes_along_though_it_is_not_set(tmp_path: Path) -> None:
    folder, out = tmp_path / "here", tmp_path / "robin.zip"
    coach(folder)
    assert on(folder, "students", "set", "Robin", "student.drills=[]") == 0
    with Store(folder, "t") as store, store.writing() as db:
        db.execute("UPDATE strokes SET drill = 'mine'")
    assert on(folder, "students", "export", "Robin", "--out", str(out)) == 0
    with zipfile.ZipFile(out) as file:
        assert "drills/mine.toml" in file.namelist()


def test_wrong_distances_and_postures_change_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder, out = whole(tmp_path / "here"), tmp_path / "robin.zip"
    assert on(folder, "students", "export", "Robin", "--out", str(out)) == 0
    parts = contents(out)
    name = next(part for part in parts if part.startswith("postures/2026") and part.endswith(".json"))
    distances, posture = json.loads(parts["distances.json"]), json.loads(parts[name])

    def with_putt(**values: object) -> bytes:
        changed = {**distances, "putts": [{**distances["putts"][0], **values}]}
        return rebuilt({**parts, "distances.json": json.dumps(changed).encode()})

    twice = {**distances, "putts": distances["putts"][:1] * 2}
    wrong = [
        (with_putt(rolled_m=900.0), "what cannot be"),
        (with_putt(uid="x"), "not as it should be"),
        (with_putt(kept_at="soon"), "a time that is none"),
        (rebuilt({**parts, "distances.json": json.dumps(twice).encode()}), "twice"),
        (rebuilt({**parts, "distances.json": json.dumps({**distances, "unit": "ell"}).encode()}), "as it should be"),
        (rebuilt({**parts, name: json.dumps({**posture, "schema": 9}).encode()}), "newer version"),
        (rebuilt({**parts, name: b"[]"}), "damaged"),
        (rebuilt({**parts, name.replace(".json", ".jpg"): b"nonsense"}), "picture of posture"),
        (rebuilt({part: data for part, data in parts.items() if part != name}), "is not whole"),
        (rebuilt({**parts, "postures/reference.json": b'{"face-on": "20260101-000000-face-on"}'}), "not in it"),
        (rebuilt({**parts, "postures/reference.json": b'{"face-on": {}}'}), "not in it"),
    ]
    for data, wanted in wrong:
        assert wanted in refuses(folder, data, tmp_path, capsys), wanted
