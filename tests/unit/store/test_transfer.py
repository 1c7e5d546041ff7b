"""Hand-over files: there and back, twice without harm, and nothing wrong gets in or changes a file."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from pathlib import Path
from typing import Any, Callable

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.support.made_strokes import keep_sessions
from tests.support.paths import ROOT
from trainer.commands.cli import run
from trainer.store.history import StudentKey, practised
from trainer.store.store import Store
from trainer.store.students import Students
from trainer.store.transfer_file import FORMAT
from trainer.store.transfer_writing import ArchiveWriter


def on(folder: Path, *arguments: str) -> int:
    return run(["--data-folder", str(folder), *arguments])


def listing(folder: Path) -> dict[str, str]:
    """Every file's sum; SQLite's own side files and the log do not count."""
    return {
        str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in folder.rglob("*")
        if p.is_file() and not p.name.endswith(("-wal", "-shm")) and p.parent.name != "log"
    }


def coach(folder: Path, strokes: int = 6) -> None:
    """A coach's folder with Robin, a drill of their own, and a session."""
    assert on(folder, "students", "add", "Robin", "player.height_cm=172") == 0
    (folder / "drills").mkdir()
    (folder / "drills" / "mine.toml").write_text("[drill]\nname = 'Mine'\ninstruction = 'Do it'\n")
    assert on(folder, "students", "set", "Robin", 'student.drills=["mine", "ladder"]', "limits.sway.limit_cm=2.5") == 0
    practise(folder, strokes)


def practise(folder: Path, strokes: int = 6, seed: int = 1) -> None:
    student = Students(folder).find("Robin")
    with Store(folder, "t") as store:
        keep_sessions(store, student.settings, student.card.id, 1, strokes, seed)


def uids(folder: Path) -> set[str]:
    student = Students(folder).find("Robin")
    with Store(folder, "t") as store:
        return {facts.uid for facts, _ in practised(store, StudentKey(student.card.id, student.name), ("hold_s",))}


@pytest.fixture
def handed(tmp_path: Path) -> tuple[Path, Path, Path]:
    """(coach's folder, player's folder, hand-over file with strokes)."""
    coach(tmp_path / "coach")
    out = tmp_path / "robin.zip"
    assert on(tmp_path / "coach", "students", "export", "Robin", "--out", str(out)) == 0
    return tmp_path / "coach", tmp_path / "player", out


def test_there_and_back_and_twice(handed: tuple[Path, Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    coachs, players, out = handed
    assert on(players, "students", "import", str(out)) == 0
    assert uids(players) == uids(coachs)
    assert (players / "drills" / "mine.toml").read_bytes() == (coachs / "drills" / "mine.toml").read_bytes()
    assert Students(players).find("Robin").settings.limits.sway.value == 2.5
    practise(players, 5, seed=9)
    back = out.with_name("back.zip")
    assert on(players, "students", "export", "Robin", "--out", str(back)) == 0
    for _ in range(2):
        capsys.readouterr()
        assert on(coachs, "students", "import", str(back)) == 0
    assert "0 new strokes in 0 new sessions, 11 known already" in capsys.readouterr().out
    assert uids(coachs) == uids(players)
    assert len(uids(coachs)) == 11
    with Store(coachs, "t") as here, Store(players, "t") as there:
        ours, theirs = here.stroke(here.recent(1)[0].stroke_id), there.stroke(there.recent(1)[0].stroke_id)
    assert ours.faults == theirs.faults
    assert ours.record.measures == theirs.record.measures
    assert ours.record.events == theirs.record.events
    assert (ours.record.signals["head_turn_deg"] == theirs.record.signals["head_turn_deg"]).all()


def test_the_same_content_makes_the_same_file() -> None:
    made = [io.BytesIO(), io.BytesIO()]
    for file in made:
        with ArchiveWriter(file) as out:
            out.add("student.toml", b"x")
            out.add_manifest("1", "now", "a" * 32, "N")
    assert made[0].getvalue() == made[1].getvalue() != b""


def test_newer_limits_are_never_overwritten_silently(
    handed: tuple[Path, Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    coachs, players, old = handed
    assert on(players, "students", "import", str(old)) == 0
    assert on(coachs, "students", "set", "Robin", "limits.sway.limit_cm=4") == 0
    capsys.readouterr()
    assert on(coachs, "students", "import", str(old)) == 0
    assert "limits kept as they are here (newer here)" in capsys.readouterr().out
    assert Students(coachs).find("Robin").settings.limits.sway.value == 4
    newer = old.with_name("newer.zip")
    assert on(coachs, "students", "export", "Robin", "--out", str(newer)) == 0
    assert on(players, "students", "import", str(newer)) == 0
    assert "limit taken over: head going along 2.5 to 4 cm" in capsys.readouterr().out
    assert Students(players).find("Robin").settings.limits.sway.value == 4
    # Changed by hand in the file: nobody noted when, so it is not overwritten either.
    path = Students(players).find_path("Robin")
    path.write_text(path.read_text().replace("limit_cm = 4.0", "limit_cm = 1.5"))
    assert "limit_cm = 1.5" in path.read_text()
    assert on(coachs, "students", "set", "Robin", "limits.sway.limit_cm=5") == 0
    newer = old.with_name("newest.zip")
    assert on(coachs, "students", "export", "Robin", "--out", str(newer)) == 0
    capsys.readouterr()
    assert on(players, "students", "import", str(newer)) == 0
    assert "changed here by hand" in capsys.readouterr().out
    assert Students(players).find("Robin").settings.limits.sway.value == 1.5
    assert on(players, "students", "import", "--limits", "theirs", str(newer)) == 0
    assert Students(players).find("Robin").settings.limits.sway.value == 5


def test_the_machines_own_settings_stay_on_the_machine(tmp_path: Path) -> None:
    coach(tmp_path / "a", 1)
    path = Students(tmp_path / "a").find_path("Robin")
    path.write_text(path.read_text() + '\n[camera]\nsource = "/dev/video7"\n[store]\nfolder = "/elsewhere"\n')
    out = tmp_path / "x.zip"
    assert on(tmp_path / "a", "students", "export", "Robin", "--out", str(out)) == 0
    with zipfile.ZipFile(out) as file:
        text = file.read("student.toml").decode()
    assert "video7" not in text
    assert "elsewhere" not in text


def test_another_student_of_that_name_is_not_mixed_up(
    handed: tuple[Path, Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    _, players, out = handed
    assert on(players, "students", "add", "robin") == 0
    before = listing(players)
    assert on(players, "students", "import", str(out)) == 2
    assert "--as" in capsys.readouterr().err
    assert listing(players) == before
    assert on(players, "students", "import", "--as", "Robin B", str(out)) == 0
    assert len(Students(players).all()[0]) == 2


# ---- what is wrong with a file


def contents(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as file:
        return {name: file.read(name) for name in file.namelist()}


def rebuilt(parts: dict[str, bytes], manifest: Callable[[dict[str, Any]], None] = lambda m: None) -> bytes:
    """A hand-over with right sums of wrong parts."""
    parts = dict(parts)
    listed = json.loads(parts.pop("manifest.json"))
    listed["parts"] = {n: {"sha256": hashlib.sha256(d).hexdigest(), "bytes": len(d)} for n, d in parts.items()}
    manifest(listed)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("manifest.json", json.dumps(listed))
        for name, data in parts.items():
            kind = zipfile.ZIP_STORED if name.startswith("signals/") else zipfile.ZIP_DEFLATED
            file.writestr(name, data, kind)
    return out.getvalue()


def refuses(folder: Path, data: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> str:
    bad = tmp_path / "bad.zip"
    bad.write_bytes(data)
    before = listing(folder)
    capsys.readouterr()
    code = on(folder, "students", "import", str(bad))
    got = capsys.readouterr()
    assert code == 2, got
    assert got.err.count("\n") == 1
    assert got.err.startswith("putting-trainer: ")
    assert listing(folder) == before
    return got.err


def edit_json(parts: dict[str, bytes], part: str, change: Callable[[Any], None]) -> dict[str, bytes]:
    values = json.loads(parts[part])
    change(values)
    return {**parts, part: json.dumps(values).encode()}


def edit_stroke(parts: dict[str, bytes], **changes: Any) -> dict[str, bytes]:
    return edit_json(parts, "sessions.json", lambda v: v["sessions"][0]["strokes"][0].update(changes))


def wrong_signals(block: bytes) -> list[bytes]:
    """Sound npz files of signals that no stroke has."""
    with np.load(io.BytesIO(block)) as kept:
        good = dict(kept)
    names, columns, n = good["names"], good["columns"], len(good["time_s"])
    renamed, twice, huge, endless = names.copy(), names.copy(), columns.copy(), columns.copy()
    renamed[list(names).index("head_turn_deg")], twice[1] = "head_turn", names[0]
    huge[0, 0], endless[0, 0] = 1e300, np.inf
    spoilt: list[dict[str, Any]] = [
        {"names": renamed},
        {"names": twice},
        {"names": names[1:], "columns": columns[1:]},
        {"columns": huge},
        {"columns": endless},
        {"columns": np.array(1.0)},
        {"names": np.array("x")},
        {"time_s": np.array(1.0)},
        {"time_s": np.arange(n) * 1e6},
        {"time_s": np.full(n, np.nan)},
        {"index": np.arange(n) * 1.0},
        {"view": np.array("above")},
        {"view": np.array([1, 2])},
        {"handedness": np.array("both")},
        {"width_px": np.array(np.nan)},
        {"width_px": np.array([1.0, 2.0])},
    ]
    out = []
    for changes in spoilt:
        file = io.BytesIO()
        np.savez_compressed(file, **{**good, **changes})
        out.append(file.getvalue())
    return out


def test_every_kind_of_wrong_file_is_one_line(
    handed: tuple[Path, Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    coachs, _, out = handed
    parts = contents(out)
    signals = next(p for p in parts if p.startswith("signals/"))
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("time_s.npy", b"\0" * 200_000_000)
    many_wrong = json.dumps({"changes": [{f"{k * k:x}": k} for k in range(100_000)]}).encode()
    wrong: list[tuple[bytes, str]] = [
        (b"", "is no export file"),
        (b"PK\x03\x04 nonsense", "is no export file"),
        (out.read_bytes()[:-300], "export file"),
        (rebuilt({"manifest.json": b"{}"}), "no export file of this program"),
        (rebuilt({**parts, "../../evil.toml": b"x"}), "does not belong there"),
        (rebuilt({**parts, "/etc/cron.d/x": b"x"}), "does not belong there"),
        (rebuilt({**parts, "drills/../x.toml": b"x"}), "does not belong there"),
        (rebuilt({**parts, "drills\\x.toml": b"x"}), "does not belong there"),
        (rebuilt(parts, lambda m: m.update(schema=99)), "newer version (schema 99"),
        (rebuilt(parts, lambda m: m.update(schema="1")), "names no schema"),
        (rebuilt(parts, lambda m: m.update(format="zip")), "no export file of this program"),
        (rebuilt(parts, lambda m: m.update(student="../x")), "does not say whose"),
        (rebuilt(parts, lambda m: m.update(student="f" * 32)), "another student's"),
        (rebuilt(parts, lambda m: m["parts"].pop("limits.json")), "not those of its manifest"),
        (rebuilt(parts, lambda m: m["parts"]["student.toml"].update(sha256="0" * 64)), "sum differs"),
        (rebuilt(parts, lambda m: m["parts"]["student.toml"].update(bytes=3)), "sum differs"),
        (rebuilt({**parts, "student.toml": b"\xff\xfe"}), "UTF-8"),
        (rebuilt({**parts, "student.toml": b"[player]\nheigth_cm = 3\n"}), "did you mean player.height_cm?"),
        (rebuilt({**parts, "student.toml": parts["student.toml"] + b"\n[store]\nfolder = '/x'\n"}), "not handed over"),
        (rebuilt({**parts, "drills/mine.toml": b"[drill]\n"}), "is missing"),
        (rebuilt({**parts, "limits.json": b"[" * 4000}), "sound JSON"),
        (rebuilt({**parts, "sessions.json": b'{"settings": [], "settings": []}'}), "sound JSON"),
        (rebuilt({**parts, "sessions.json": b'{"settings": [], "sessions": [NaN]}'}), "sound JSON"),
        (rebuilt(edit_json(parts, "sessions.json", lambda v: v.update(more=1))), "not as it should be"),
        (rebuilt(edit_json(parts, "sessions.json", lambda v: v["settings"].clear())), "is not whole"),
        (
            rebuilt(edit_json(parts, "sessions.json", lambda v: v["sessions"][0]["strokes"][0].update(kept_at="soon"))),
            "a time that is none",
        ),
        (
            rebuilt(edit_json(parts, "sessions.json", lambda v: v["sessions"][0]["strokes"].pop())),
            "signals of no stroke",
        ),
        (
            rebuilt(edit_json(parts, "limits.json", lambda v: v["changes"][0]["limits"]["sway"].update(limit_cm=900))),
            "out of range",
        ),
        (rebuilt({**parts, signals: b"nonsense"}), "signals of stroke"),
        (rebuilt({**parts, signals: bomb.getvalue()}), "signals of stroke"),
        (rebuilt({**parts, "limits.json": b" " * 30_000_000}), "too many"),
        (rebuilt({**parts, "sessions.json": b"[" + b"{}," * 500_000 + b"{}]"}), "far too long"),
        (rebuilt({**parts, "limits.json": many_wrong}), "not as it should be"),
        (rebuilt(edit_stroke(parts, events={"top_s": 5e8})), "signals of stroke"),
        (rebuilt(edit_stroke(parts, kept_at="9999-12-31T23:59:59+00:00")), "a time that is none"),
        (rebuilt(edit_stroke(parts, drill="\ud800")), "sound JSON"),
        *((rebuilt({**parts, signals: block}), "signals of stroke") for block in wrong_signals(parts[signals])),
    ]
    for data, wanted in wrong:
        assert wanted in refuses(coachs, data, tmp_path, capsys), wanted
    for missing in ("nowhere.zip", str(tmp_path)):
        assert on(coachs, "students", "import", missing) == 2
        assert capsys.readouterr().err.count("\n") == 1


def test_a_session_of_another_student_leaves_no_file(
    handed: tuple[Path, Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    coachs, _, out = handed
    parts = contents(out)
    other = "ab" * 16
    text = parts["student.toml"].decode().replace(Students(coachs).find("Robin").card.id, other)
    theirs = {**parts, "student.toml": text.replace("Robin", "Taken").encode()}
    said = refuses(coachs, rebuilt(theirs, lambda m: m.update(student=other)), tmp_path, capsys)
    assert "belongs to another student here" in said
    assert [s.name for s in Students(coachs).all()[0]] == ["Robin"]


def test_an_import_changes_no_other_student(handed: tuple[Path, Path, Path], tmp_path: Path) -> None:
    """Another's stroke, named in a file, keeps its distances and where its ball went."""
    coachs, _, out = handed
    parts = contents(out)
    stroke = json.loads(parts["sessions.json"])["sessions"][0]["strokes"][-1]["uid"]
    putt = {"uid": "1" * 32, "kept_at": "2026-03-02T00:00:00+00:00", "stroke": stroke, "back_cm": 30.0, "rolled_m": 3.0,
            "stimp_ft": 9.0, "slope_pct": 0.0, "target_m": None, "back_s": None, "to_impact_s": None,
            "ball_speed_m_s": None, "rounded_to_m": 0.1, "estimated": False, "frames_per_s": None}  # fmt: skip
    said = {"stroke": stroke, "went": "left", "putt_m": 2.0, "at": "2026-03-02T00:00:00+00:00"}
    other = {"manifest.json": parts["manifest.json"], "student.toml": b'[player]\nname = "Kim"\n[student]\nid = "%s"\n'}
    other["student.toml"] %= b"cd" * 16
    other["distances.json"] = json.dumps({"putts": [putt]}).encode()
    other["teaching.json"] = json.dumps({"outcomes": [said]}).encode()
    bad = tmp_path / "kim.zip"
    bad.write_bytes(rebuilt(other, lambda m: m.update(student="cd" * 16, name="Kim")))
    assert on(coachs, "students", "import", str(bad)) == 0
    with Store(coachs, "t") as store, store.reading() as db:
        assert db.execute("SELECT count(*) FROM outcomes").fetchone() == (0,)
        assert db.execute("SELECT player, stroke_id FROM distance_putts").fetchall() == [("Kim", None)]


def test_a_part_twice_and_a_link_are_refused(
    handed: tuple[Path, Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    coachs, _, out = handed
    data = io.BytesIO(out.read_bytes())
    with pytest.warns(UserWarning, match="Duplicate name"), zipfile.ZipFile(data, "a") as file:
        file.writestr("student.toml", b"x")
    assert "a part twice" in refuses(coachs, data.getvalue(), tmp_path, capsys)


def test_format_is_documented() -> None:
    text = (ROOT / "trainer" / "store" / "FORMATS.md").read_text(encoding="utf-8")
    assert FORMAT in text


_JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=12), inner, max_size=4),
    max_leaves=12,
)


@st.composite
def broken(draw: st.DrawFn, good: bytes) -> bytes:
    """A sound hand-over spoilt somewhere."""
    way = draw(st.sampled_from(["bytes", "cut", "part", "manifest", "json", "name"]))
    if way == "bytes":
        data = bytearray(good)
        for _ in range(draw(st.integers(1, 8))):
            data[draw(st.integers(0, len(data) - 1))] ^= draw(st.integers(1, 255))
        return bytes(data)
    if way == "cut":
        return good[: draw(st.integers(0, len(good) - 1))]
    with zipfile.ZipFile(io.BytesIO(good)) as file:
        parts = {name: file.read(name) for name in file.namelist()}
    names = sorted(n for n in parts if n != "manifest.json")
    if way == "part":
        name = draw(st.sampled_from(names))
        return rebuilt({**parts, name: draw(st.binary(max_size=200))})
    if way == "json":
        name = draw(st.sampled_from(["limits.json", "sessions.json", "distances.json"]))
        return rebuilt({**parts, name: json.dumps(draw(_JUNK)).encode()})
    if way == "name":
        # A zip entry's name ends at a NUL, so zipfile itself cannot write a name that starts with one.
        letters = st.characters(exclude_categories=["Cs"], exclude_characters="\0")
        return rebuilt({**parts, draw(st.text(letters, min_size=1, max_size=30)): b"x"})
    key = draw(st.sampled_from(["format", "schema", "student", "name", "parts", "software", "made_at"]))
    return rebuilt(parts, lambda m: m.update({key: draw(_JUNK)}))


@pytest.mark.slow
def test_no_broken_hand_over_changes_a_file_or_shows_a_traceback(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, out = tmp_path / "coach", tmp_path / "good.zip"
    coach(folder, 2)
    assert on(folder, "students", "export", "Robin", "--out", str(out)) == 0
    good = out.read_bytes()
    before = listing(folder)
    bad = tmp_path / "bad.zip"

    @settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck), database=None)
    @given(broken(good))
    def check(data: bytes) -> None:
        bad.write_bytes(data)
        capsys.readouterr()
        code = on(folder, "students", "import", str(bad))
        got = capsys.readouterr()
        if code == 0:  # a change that changes nothing of the content
            assert "0 new strokes" in got.out or "no strokes" in got.out
        else:
            assert code == 2, got
            assert got.err.count("\n") == 1, got.err
            assert "Traceback" not in got.err
        assert listing(folder) == before

    check()


_KEYS = [
    "player",
    "limits",
    "student",
    "camera",
    "sway",
    "limit_cm",
    "name",
    "id",
    "height_cm",
    "drills",
    "notes",
    "on",
]
_TOML_JUNK = st.lists(
    st.one_of(
        st.text(max_size=40),
        st.builds("[{}]".format, st.sampled_from([*_KEYS, "limits.sway", "a.b"])),
        st.builds("{} = {}".format, st.sampled_from(_KEYS), st.one_of(st.text(max_size=10), st.integers().map(str))),
        st.builds("{} = {!r}".format, st.sampled_from(_KEYS), st.text(alphabet="abc ", max_size=10)),
        st.builds(
            "{} = {}".format, st.sampled_from(_KEYS), st.sampled_from(["[", '"""', "{a=1}", "nan", "inf", "1e999"])
        ),
    ),
    max_size=8,
).map("\n".join)


@pytest.mark.slow
@pytest.mark.parametrize("where", ["students/x.toml", "drills/x.toml", "settings.toml"])
def test_no_broken_settings_file_shows_a_traceback_or_is_changed(
    where: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / where
    path.parent.mkdir(exist_ok=True)
    command = {
        "students/x.toml": ("students", "set", "x", "limits.sway.limit_cm=2"),
        "drills/x.toml": ("drills", "show", "x"),
        "settings.toml": ("students", "list"),
    }[where]

    @settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck), database=None)
    @given(_TOML_JUNK)
    def check(text: str) -> None:
        data = text.encode("utf-8", "surrogatepass")
        path.write_bytes(data)
        capsys.readouterr()
        code = on(tmp_path, *command)
        err = capsys.readouterr().err
        if code == 0:
            return  # it was a sound one after all
        assert code == 2, err
        assert err.count("\n") == 1, err
        assert path.read_bytes() == data

    check()
