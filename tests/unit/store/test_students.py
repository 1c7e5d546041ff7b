"""Students: names are data, edits keep comments, erasing leaves nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.made_strokes import keep_sessions, record
from trainer.coaching.faults import verdict
from trainer.commands.cli import run
from trainer.errors import SettingsError, UsageError
from trainer.settings.limits import Limits
from trainer.store.history import StudentKey, judgeable, judged_anew, practised
from trainer.store.limit_changes import limit_changes
from trainer.store.store import Store
from trainer.store.students import Students, edited, file_name

ODD_NAMES = [
    "../x",
    "..",
    "/etc/passwd",
    "CON",
    "nul.txt",
    "a/b\\c",
    "🏌️",
    "-",
    "[red]x[/red]",
    "O'Neil; DROP",
    "x" * 60,
    "%s{0}",
]


def ok(*arguments: str) -> None:
    assert run(arguments) == 0


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    capsys.readouterr()
    assert run(arguments) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "Traceback" not in err
    return err


@pytest.mark.parametrize("name", ODD_NAMES)
def test_any_name_is_only_a_name(name: str, own_data_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = {p for p in own_data_folder.parent.rglob("*") if own_data_folder not in p.parents}
    ok("students", "add", "--", name)
    paths = list((own_data_folder / "students").iterdir())
    assert len(paths) == 1
    assert set(paths[0].stem) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    ok("students", "set", "--", name, "player.height_cm=170")
    student = Students(own_data_folder).find(name)
    assert (student.name, student.settings.player.height_cm) == (name, 170)
    capsys.readouterr()
    ok("students", "list")
    ok("students", "show", "--", name)
    out = capsys.readouterr().out
    if len(name) < 13:
        assert name in out
    ok("students", "erase", "--yes", "--", name)
    assert not list((own_data_folder / "students").iterdir())
    assert {p for p in own_data_folder.parent.rglob("*") if own_data_folder not in p.parents} == before


@pytest.mark.parametrize("name", ["x" * 300, "", "two\nlines", "tab\there", "\x1b[31mred", "\x00"])
def test_names_that_are_none(name: str, own_data_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    line = refused(capsys, "students", "add", name)
    assert line.startswith("putting-trainer: player.name: ")  # no file: there never was one
    assert "\x1b" not in line
    assert not (own_data_folder / "students").exists()


@pytest.mark.parametrize("value", ["player.height_cm=3", "player.heigth_cm=170", "limits.sway.limit_cm=200", "a=b=c"])
def test_a_wrong_value_of_a_new_student_cites_no_file(
    value: str, own_data_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    line = refused(capsys, "students", "add", "Robin", value)
    assert value.partition("=")[0] in line
    assert ".toml" not in line
    assert "line " not in line
    assert not (own_data_folder / "students").exists()


def test_two_students_may_not_look_the_same(own_data_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ok("students", "add", "Robin")
    ok("students", "add", "Kim")
    assert "already a student" in refused(capsys, "students", "add", "rOBIN ")
    assert "already a student" in refused(capsys, "students", "rename", "Kim", "robin")
    assert "did you mean Robin?" in refused(capsys, "students", "show", "Robim")
    ok("students", "rename", "Robin", "ROBIN")


def test_an_edit_keeps_comments_and_order(own_data_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = own_data_folder / "students"
    folder.mkdir()
    path = folder / "byhand.toml"
    text = (
        "# written by the coach\n\n[limits.lift] # not yet\non = false\n\n[player]\n# tall\nheight_cm = 190 # in shoes\n"
        'name = "By Hand"\n'
    )
    path.write_text(text, encoding="utf-8")
    ok(
        "students",
        "set",
        "by hand",
        "player.height_cm=191.5",
        "limits.sway.limit_cm=2",
        "--by",
        "me",
        "--why",
        "closer",
    )
    new = path.read_text(encoding="utf-8")
    kept = [line for line in text.splitlines() if line and "height" not in line]
    assert [line for line in new.splitlines() if line in kept] == kept
    assert "height_cm = 191.5 # in shoes" in new
    student = Students(own_data_folder).find("By Hand")
    assert student.settings.limits.sway.value == 2
    assert student.card.limits_by == "me"
    with Store(own_data_folder, "t") as store:
        changes = limit_changes(store, student.card.id)
    assert [(c.who, c.why, c.limits["sway"]["limit_cm"]) for c in changes] == [
        ("", "before", 3.0),
        ("me", "closer", 2.0),
    ]
    ok("students", "set", "By Hand", "player.height_cm=")
    assert Students(own_data_folder).find("By Hand").settings.player.height_cm is None


@pytest.mark.parametrize(
    ("value", "wanted"),
    [
        ("limits.sway.limit_cn=2", "did you mean limits.sway.limit_cm?"),
        ("limits.sway.limit_cm=200", "must be a number from 0.5 to 20 cm"),
        ("player.handedness=both", 'must be one of "right", "left"'),
        ("nonsense", "is no KEY=VALUE"),
        ("a.b;c=1", "is no KEY=VALUE"),
        ("player.name=X", "use `students rename`"),
        ("student.id=1", "never changed"),
        ('student.drills=["laddr"]', "did you mean ladder?"),
        ("limits=3", "is no KEY=VALUE"),
        ("player.height_cm={a=1}", "one value a key"),
    ],
)
def test_a_wrong_value_changes_nothing(
    value: str, wanted: str, own_data_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ok("students", "add", "Robin")
    path = Students(own_data_folder).find_path("Robin")
    before = path.read_bytes()
    assert wanted in refused(capsys, "students", "set", "Robin", value)
    assert path.read_bytes() == before


def test_a_student_with_faults_is_told_and_the_others_listed(
    own_data_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ok("students", "add", "Robin")
    (own_data_folder / "students" / "bad.toml").write_text("[player]\nheigth_cm = 3\n")
    capsys.readouterr()
    assert run(["students", "list"]) == 2
    got = capsys.readouterr()
    assert "Robin" in got.out
    assert "did you mean player.height_cm?" in got.err
    ok("students", "erase", "bad", "--yes")
    assert run(["students", "list"]) == 0


def test_erasing_takes_every_byte(own_data_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ok("students", "add", "Erasmus Quibble", "player.height_cm=171.25")
    ok("students", "add", "Kim")
    students = Students(own_data_folder)
    gone, stays = students.find("Erasmus Quibble"), students.find("Kim")
    with Store(own_data_folder, "t") as store:
        keep_sessions(store, gone.settings, gone.card.id, 2, 8)
        keep_sessions(store, gone.settings, None, 1, 8, seed=2)  # from before there was an id
        keep_sessions(store, stays.settings, stays.card.id, 1, 8, seed=3)
    video = own_data_folder / "students" / "files" / gone.card.id / "video"
    video.mkdir(parents=True)
    (video / "1.mp4").write_bytes(b"x" * 1000)
    ok("students", "set", "Erasmus Quibble", "limits.sway.limit_cm=2", "student.notes=shy")
    capsys.readouterr()
    ok("students", "show", "Erasmus Quibble")
    assert "1 file," in capsys.readouterr().out
    assert "add --yes" in refused(capsys, "students", "erase", "Erasmus Quibble")
    ok("students", "erase", "Erasmus Quibble", "--yes")
    said = capsys.readouterr().out
    assert "24 strokes in 3 sessions" in said
    assert "1 pictures and videos" in said
    for path in own_data_folder.rglob("*"):
        if path.is_file():
            assert b"Erasmus" not in path.read_bytes(), path
            assert gone.card.id.encode() not in path.read_bytes(), path
    with Store(own_data_folder, "t") as store:
        assert len(practised(store, StudentKey(stays.card.id, "Kim"), ("hold_s",))) == 8


def test_renaming_keeps_the_record(own_data_folder: Path) -> None:
    ok("students", "add", "Robin")
    student = Students(own_data_folder).find("Robin")
    with Store(own_data_folder, "t") as store:
        keep_sessions(store, student.settings, student.card.id, 1, 6)
    ok("students", "rename", "Robin", "Robin Neu")
    renamed = Students(own_data_folder).find("Robin Neu")
    assert renamed.card.id == student.card.id
    assert renamed.path.name == file_name("Robin Neu", student.card.id)
    with Store(own_data_folder, "t") as store:
        assert len(practised(store, StudentKey(student.card.id, "Robin Neu"), ("hold_s",))) == 6
        assert store.recent(1)[0].player == "Robin Neu"


def test_judging_anew_is_judging(own_data_folder: Path) -> None:
    """In bulk from the few columns kept for it, or from the whole record: the same verdicts, by any limits."""
    ok("students", "add", "Robin")
    student = Students(own_data_folder).find("Robin")
    limits = Limits()
    strict = limits.changed("early_look", 8.0).changed("short_hold", 1.8).changed("hand_stall", 6.0)
    with Store(own_data_folder, "t") as store:
        keep_sessions(store, student.settings, student.card.id, 4, 10)
        for chosen in (limits, strict):
            for stroke_id, found in judged_anew(store, chosen).items():
                assert found == verdict(store.stroke(stroke_id).record, chosen)
        before = [store.stroke(i).faults for i, _ in judgeable(store)]
        judged_anew(store, strict)
        assert [store.stroke(i).faults for i, _ in judgeable(store)] == before
        assert len(list(judgeable(store, last=7))) == 7
        with store.writing() as db:
            db.execute("UPDATE strokes SET turns = NULL")
        assert len(judged_anew(store, strict)) == 40


def test_an_older_record_is_brought_up(own_data_folder: Path) -> None:
    """A record of schema 1 with strokes opens; they get stable ids."""
    import json
    import sqlite3

    from trainer.settings.load import load
    from trainer.store.schema import APPLICATION_ID, TABLES
    from trainer.store.signals import pack

    db = sqlite3.connect(own_data_folder / "strokes.sqlite")
    for table in TABLES:
        db.execute(table)
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    db.execute("PRAGMA user_version = 1")
    made = record(1.2)
    db.execute("INSERT INTO settings (body) VALUES (?)", (json.dumps(load().values()),))
    db.execute("INSERT INTO sessions (started_at, player, source) VALUES ('2026-01-01T00:00:00+00:00', 'Robin', 'x')")
    db.execute(
        "INSERT INTO strokes (session_id, number, kept_at, kind, view, meta, software, settings_id, signals) VALUES"
        " (1, 1, '2026-01-01T00:00:00+00:00', 'ball', 'face-on', '{}', '0', 1, ?)",
        (pack(made.signals),),
    )
    db.commit()
    db.close()
    ok("students", "add", "Robin")
    with Store(own_data_folder, "t") as store:
        who = StudentKey(Students(own_data_folder).find("Robin").card.id, "Robin")
        found = practised(store, who, ("hold_s",))
        assert len(found) == 1
        assert len(found[0][0].uid) == 32
        assert found[0][0].told is None


def test_texts_that_cannot_be_edited_are_refused() -> None:
    with pytest.raises(SettingsError, match="is no table"):
        edited("player = 3\n", {"player.name": "x"})
    with pytest.raises(SettingsError, match="cannot be edited"):
        edited("player = \n", {"player.name": "x"})
    assert edited("", {"a.b.c": 1, "a.b.d": None}).strip() == "[a.b]\nc = 1"


def test_find_says_who_is_known(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="none yet"):
        Students(tmp_path).find("x")


@pytest.mark.parametrize(
    "arguments",
    [
        ("students", "add", "Kim", "player.height_cm=20"),
        ("students", "set", "Robin", "player.height_cm=20"),
        ("limits", "--student", "Robin", "sway.limit_cm=900", "--no-window"),
    ],
)
def test_a_wrong_value_cites_no_line_of_a_text_never_written(
    arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    ok("students", "add", "Robin", "player.height_cm=172", "limits.sway.limit_cm=2")
    said = refused(capsys, *arguments)
    assert ": must be a number from " in said
    assert "line 2" not in said
    assert "line 3" not in said
