"""The command line: options, layers of settings, one line and exit code 2 for what the user can mend."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import click
import jsonschema
import numpy as np
import pytest

from tests.support.paths import ROOT
from tests.unit.store.test_store import CUES, FAULTS, WHEN, invented_record
from trainer import __version__
from trainer.app.analysis_json import SCHEMA, ClipReport, Judged, as_json
from trainer.app.clock import today
from trainer.app.context import load_context
from trainer.coaching.posture.ranges import Check
from trainer.coaching.verdict import Verdict
from trainer.commands import cli
from trainer.commands.distance import distance
from trainer.commands.old_names import OLD_NAMES, OLD_OPTIONS, by_present_options
from trainer.domain.naming import moment_words
from trainer.domain.record import Events, Measure
from trainer.errors import SettingsError, UsageError
from trainer.resources import data_path
from trainer.settings.load import load
from trainer.store.store import Store
from trainer.store.students import Students


def run_alone(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own, as a user starts it."""
    return subprocess.run(
        [sys.executable, "-m", "trainer", *arguments],
        cwd=ROOT,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        timeout=120,
    )


def fails(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Runs in this process; returns the one line on stderr."""
    code = cli.run(arguments)
    err = capsys.readouterr().err
    assert code == cli.USER_ERROR, err
    assert err.count("\n") == 1, err
    assert err.endswith("\n")
    assert err.startswith("putting-trainer: ")
    assert "Traceback" not in err
    return err


@pytest.mark.timed
def test_version_and_help() -> None:
    done = run_alone("--version")
    assert (done.returncode, done.stdout.strip().split()[-1], done.stderr) == (0, __version__, "")
    took = []
    for _ in range(3):
        begun = time.perf_counter()
        done = run_alone("--help")
        took.append(time.perf_counter() - begun)
    assert done.returncode == 0
    for command in ("demo", "practice", "analyse", "check", "strokes", "bench"):
        assert f"\n  {command} " in done.stdout
    assert min(took) < 0.3


def test_a_window_needs_none_of_the_heavy_code() -> None:
    """So that it is there within a second and a half, and the rest is loaded beside it."""
    code = (
        "import sys, trainer.commands.cli, trainer.app.context, trainer.commands.devices\n"
        "import trainer.ui.practice.practice_view, trainer.ui.camera_setup.setup_view, trainer.ui.posture.posture_view\n"
        "import trainer.ui.review.window, trainer.ui.start.program, trainer.app.start.home\n"
        "print(sorted({'scipy', 'mediapipe', 'matplotlib'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert done.stdout.splitlines()[-1] == "[]", done.stdout + done.stderr


def test_the_command_line_loads_nothing_heavy() -> None:
    code = (
        "import sys, trainer.commands.cli; "
        "print([m for m in ('cv2','ai_edge_litert','pygame','scipy','numpy','pydantic','rich.table') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("arguments", "wanted"),
    [
        (["analise"], "No such command 'analise'"),
        (["practice", "--handednes", "left"], "No such option '--handednes'"),
        (["practice", "--handedness", "both"], "'both' is not one of 'right', 'left'"),
        (["analyse"], "Missing argument 'CLIP...'"),
        (["strokes", "--count", "0"], "0 is not in the range"),
        (["strokes", "--count", "many"], "'many' is not a whole number"),
        (["bench", "--rounds"], "requires an argument"),
        (["students"], "students: give one of: add, "),
        (["students", "add", "   "], "player.name: must be a text of 1 to 60 letters"),
        (["students", "nope"], "see putting-trainer students --help"),
        (["analyse", "any.mp4", "--json", "."], ".: is a folder; give the name of a file"),
    ],
)
def test_wrong_options_are_one_line(capsys: pytest.CaptureFixture[str], arguments: list[str], wanted: str) -> None:
    assert wanted in fails(capsys, *arguments)


def test_every_command_has_help(capsys: pytest.CaptureFixture[str]) -> None:
    for command in cli.cli.commands:
        assert cli.run([command, "--help"]) == 0
        assert "Usage: putting-trainer" in capsys.readouterr().out


def test_an_old_name_goes_on_working_and_says_the_new_one(capsys: pytest.CaptureFixture[str]) -> None:
    for old, new in OLD_NAMES.items():
        assert cli.run([old, "--help"]) == 0
        said = capsys.readouterr()
        assert f"Usage: putting-trainer {new} " in said.out
        assert said.err.splitlines() == [
            f"putting-trainer: `{old}` is called `{new}` now; the old name goes with the next release"
        ]
        assert old not in cli.cli.commands


@pytest.mark.parametrize(("command", "old"), OLD_OPTIONS)
def test_an_old_option_goes_on_working_and_says_the_new_one(
    capsys: pytest.CaptureFixture[str], command: str, old: str
) -> None:
    new = OLD_OPTIONS[command, old]
    words = command.split()
    assert cli.run([*words, "--help"]) == 0
    shown = capsys.readouterr().out
    assert not re.search(rf"{old}\b", shown)
    assert new is None or re.search(rf"{new}\b", shown)
    group, *rest = words
    given = [*rest, "a", f"{old}=b", old, "c", "--", old]
    present = ["b"] if new is None else [f"{new}=b", new]
    assert by_present_options(group, given) == [*rest, "a", *([] if new is None else present), "c", "--", old]
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 2
    assert all(line.startswith(f"putting-trainer: {old} is ") for line in said)
    assert by_present_options("drills", given) == given


def test_an_old_option_reaches_its_command(own_data_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["strokes", "--player", "Nobody"]) == 0
    said = capsys.readouterr()
    assert "no strokes of Nobody" in said.out
    assert said.err == "putting-trainer: --player is called --student now; the old name goes with the next release\n"


def test_limits_are_named_with_or_without_their_table_everywhere(
    own_data_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.run(["students", "add", "Robin", "sway.limit_cm=2.5"]) == 0
    assert cli.run(["students", "set", "robin", "hand_stall.limit_deg=10", "limits.lift.limit_cm=2"]) == 0
    limits = Students(own_data_folder).find("Robin").settings.limits
    assert (limits.sway.value, limits.hand_stall.value, limits.lift.value) == (2.5, 10, 2)
    capsys.readouterr()
    tables = []
    for key in ("recoil.limit_cm=4", "limits.recoil.limit_cm=4"):
        assert cli.run(["limits", "--student", "Robin", key, "--no-window"]) == 0
        tables.append(capsys.readouterr().out)
    assert tables[0] == tables[1]
    assert re.search(r"recoil .* 4 ", tables[0])
    for wrong, said in (("swey.limit_cm=2", "did you mean sway.limit_cm?"), ("student.notes=x", "`students set`")):
        assert said in fails(capsys, "limits", "--student", "Robin", wrong, "--no-window")


def test_options_of_one_name_are_the_same_everywhere() -> None:
    """What --student, --camera and so on take does not depend on the command."""
    found: dict[str, set[tuple[str | None, bool, bool]]] = {}
    for command in (*cli.cli.commands.values(), *distance.commands.values()):
        for option in command.params:
            if isinstance(option, click.Option):
                for name in option.opts:
                    found.setdefault(name, set()).add((option.metavar, option.is_flag, option.multiple))
    for name in ("--student", "--camera", "--clip", "--no-window", "--by", "--why", "--drill"):
        assert len(found[name]) == 1, (name, found[name])
    assert "--player" not in found


def test_strokes_table(
    capsys: pytest.CaptureFixture[str], own_data_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    assert cli.run(["strokes"]) == 0
    assert "no strokes on record yet" in capsys.readouterr().out
    with Store(own_data_folder, "1") as store:
        session = store.begin_session("Robin", "clip.mp4", WHEN)
        store.keep(session, invented_record(), FAULTS, CUES, load(), WHEN)
        store.keep(session, invented_record(), (), (), load(), WHEN)
    assert cli.run(["strokes"]) == 0
    out = capsys.readouterr().out
    assert re.search(r"stroke 1 .*1/1.*Robin.*clip\.mp4.*ball.*0\.67.*-.*17\.0.*early look, recoil", out)
    assert re.search(r"stroke 2 .*1/2.*ball.*no fault", out)
    assert "See one again: review --stroke 1/2" in out
    assert cli.run(["strokes", "--student", "Robin"]) == 0
    assert "early look, recoil" in capsys.readouterr().out
    when = moment_words(WHEN, today())
    for columns in ("100", "80"):
        monkeypatch.setenv("COLUMNS", columns)
        assert cli.run(["strokes"]) == 0
        narrow = capsys.readouterr().out
        assert "…" not in narrow
        assert all(word in narrow for word in (when, "--stroke", "0.67", "17.0", "early", "recoil", "no fault"))
        assert "Robin" not in narrow  # the only player
    with Store(own_data_folder, "1") as store:
        session = store.begin_session("Kim", "another.mp4", WHEN)
        store.keep(session, invented_record(), FAULTS, CUES, load(), WHEN)
    assert cli.run(["strokes"]) == 0
    narrow = capsys.readouterr().out
    assert "…" not in narrow
    assert all(word in narrow for word in (*when.split(), "1/1", "2/1", "Robin", "Kim", "0.67", "early look"))
    assert max(map(len, narrow.splitlines())) <= 80
    monkeypatch.setenv("COLUMNS", "200")
    assert cli.run(["strokes", "--student", "Nobody"]) == 0
    assert "no strokes of Nobody" in capsys.readouterr().out


def test_folder_that_is_a_file(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    place = tmp_path / "file"
    place.write_text("mine")
    assert "is a file, not a folder" in fails(capsys, "--data-folder", str(place), "strokes")
    assert place.read_text() == "mine"


def test_whose_help_tells_more(capsys: pytest.CaptureFixture[str]) -> None:
    assert fails(capsys, "analyse", "a.mp4", "--json").endswith("see putting-trainer analyse --help\n")
    assert fails(capsys, "--never-heard-of").endswith("see putting-trainer --help\n")


def test_damaged_record(capsys: pytest.CaptureFixture[str], own_data_folder: Path) -> None:
    path = own_data_folder / "strokes.sqlite"
    path.write_bytes(b"not a database at all" * 100)
    line = fails(capsys, "strokes")
    assert str(path) in line
    assert "nothing in it was changed" in line
    assert path.read_bytes() == b"not a database at all" * 100


def test_damaged_settings(capsys: pytest.CaptureFixture[str], own_data_folder: Path) -> None:
    (own_data_folder / "settings.toml").write_text("[sound]\nvolum = 3\n")
    assert "settings.toml: line 2: sound.volum: unknown key, did you mean sound.volume?" in fails(capsys, "strokes")


def test_layers_of_settings(own_data_folder: Path) -> None:
    (own_data_folder / "settings.toml").write_text("[sound]\nvolume = 0.5\n[player]\nheight_cm = 170\n")
    students = own_data_folder / "students"
    students.mkdir()
    (students / "robin.toml").write_text('[player]\nheight_cm = 160\nhandedness = "left"\n')
    context = load_context(None, "robin", camera__view="down-the-line", player__handedness=None).settings
    assert (context.sound.volume, context.player.height_cm, context.player.name) == (0.5, 160.0, "robin")
    assert (context.player.handedness, context.camera.view) == ("left", "down-the-line")
    assert load_context(None, "robin", player__handedness="right").settings.player.handedness == "right"
    by_path = load_context(None, str(data_path("config", "student-example.toml"))).settings
    assert by_path.player.name == "Robin Example"
    with pytest.raises(UsageError, match="did you mean robin"):
        load_context(None, "robyn")
    with pytest.raises(UsageError, match="known: robin"):
        load_context(None, "xxxx")
    with pytest.raises(SettingsError, match="handedness"):
        load_context(None, None, player__handedness="both")


def test_folder_of_the_record(own_data_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    elsewhere = tmp_path / "elsewhere"
    base = tmp_path / "base"
    base.mkdir()
    (base / "settings.toml").write_text(f"[store]\nfolder = '{elsewhere}'\n")
    assert load_context(base).folder == base, "the command line goes before the file"
    monkeypatch.delenv("PUTTING_TRAINER_DATA")
    monkeypatch.setattr("platformdirs.user_data_dir", lambda *_, **__: str(base))
    assert load_context(None).folder == elsewhere


def test_own_fault_is_one_line_too(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> int:
        raise ZeroDivisionError("by\nnothing")

    monkeypatch.setattr("trainer.app.strokes.recent_strokes", broken)
    assert cli.run(["strokes"]) == cli.OWN_FAULT
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    kept = Path(re.search(r"details are in (\S+)", err)[1])  # type: ignore[index]
    assert "ZeroDivisionError" in kept.read_text()
    kept.unlink()


def a_report(**changes: object) -> ClipReport:
    address = (Check("eye_line_cm", Measure(6.5, "cm", 0.8), 0.0, 8.5, True, False),)
    stroke = Judged(invented_record(), Verdict(FAULTS), CUES, setup=address)
    return replace(ClipReport("a.mp4", 30.0, 90, 640, 480, "face-on", "right", (stroke,), ("dark",)), **changes)


def test_json_follows_the_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    out = as_json(a_report())
    jsonschema.validate(out, SCHEMA)
    assert list(out) == ["schema", "clip", "strokes", "warnings"]
    assert list(out["clip"]) == ["name", "fps", "frames", "width", "height", "view", "handedness"]
    (stroke,) = out["strokes"]
    assert list(stroke) == ["index", "kind", "events", "measures", "faults", "too_close_to_call", "cues", "setup"]
    assert stroke["events"] == {
        "takeaway_s": 1 / 3,
        "top_s": 0.1 + 0.2,
        "impact_s": None,
        "finish_s": None,
        "settle_s": None,
        "look_s": 2.0,
    }
    assert stroke["measures"]["hold_s"] == {"value": 2 / 3, "unit": "s", "confidence": 0.9}
    assert stroke["measures"]["head_turn_deg"]["value"] is None
    assert out["warnings"] == ["dark", "stroke 1: head_turn_deg not seen: head not seen"]
    eye_line = {"value": 6.5, "unit": "cm", "confidence": 0.8, "low": 0.0, "high": 8.5, "inside": True}
    assert stroke["setup"] == {"eye_line_cm": eye_line}
    assert stroke["faults"][1] == {"name": "recoil", "at_s": 3.3, "value": 4.4, "unit": "cm", "limit": 3.0}


def test_schema_refuses_what_is_wrong() -> None:
    out = as_json(a_report())
    for wrong in (
        {**out, "schema": 2},
        {**out, "more": 1},
        {**out, "clip": {**out["clip"], "view": "above"}},
        {**out, "strokes": [{**out["strokes"][0], "kind": "chip"}]},
    ):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(wrong, SCHEMA)


def test_numbers_that_json_lacks_become_null() -> None:
    record = invented_record()
    odd = replace(record, events=Events(top_s=float("nan"), look_s=np.float64(2.5)))
    events = as_json(a_report(strokes=(Judged(odd, Verdict(), ()),)))["strokes"][0]["events"]
    assert (events["top_s"], events["look_s"]) == (None, 2.5)


@pytest.mark.parametrize(
    ("arguments", "option"),
    [
        (("analyse", "a.mp4", "b.mp4", "--json", "b.mp4"), "--json"),
        (("analyse", "a.mp4", "--annotated", "./a.mp4"), "--annotated"),
        (("analyse", "a.mp4", "--json", "new.mp4", "--annotated", "new.mp4"), "--annotated"),
        (("posture", "--image", "still.png", "--out", "still.png"), "--out"),
        (("posture", "--clip", "a.mp4", "--json", "a.mp4"), "--json"),
        (("review", "a.mp4", "b.mp4", "--clip-out", "link.mp4"), "--clip-out"),
    ],
)
def test_what_is_read_is_never_written_over(
    arguments: tuple[str, ...],
    option: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    films = [tmp_path / name for name in ("a.mp4", "b.mp4", "still.png")]
    for film in films:
        film.write_bytes(b"a film of a student")
    (tmp_path / "link.mp4").symlink_to("b.mp4")
    assert f"{option} would be written over it" in fails(capsys, *arguments)
    assert {film.read_bytes() for film in films} == {b"a film of a student"}
    assert not (tmp_path / "new.mp4").exists()


OWN = ("strokes.sqlite", "settings.toml", "students/robin.toml")


@pytest.mark.parametrize("name", [*OWN, "page.mp4"])
@pytest.mark.parametrize(
    "arguments",
    [
        ("report", "--student", "Robin", "--out"),
        ("reasons", "--page"),
        ("distance", "chart", "--out"),
        ("lesson", "page", "--student", "Robin", "--out"),
        ("students", "export", "Robin", "--out"),
        ("analyse", "ok.mp4", "--json"),
        ("analyse", "ok.mp4", "--annotated"),
        ("posture", "--image", "ok.png", "--json"),
        ("posture", "--image", "ok.png", "--out"),
        ("review", "ok.mp4", "--still", "impact", "--out"),
        ("review", "ok.mp4", "--sheet"),
        ("review", "ok.mp4", "--clip-out"),
    ],
)
def test_no_output_takes_the_place_of_anything_else(
    arguments: tuple[str, ...], name: str, own_data_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for command in ("students add Robin", "distance unit m", "distance green 10", "lesson begin --student Robin"):
        assert cli.run(command.split()) == 0
    with Store(own_data_folder, "1") as store:
        for who in ("Robin", "player"):
            session = store.begin_session(who, "camera 0", WHEN)
            store.keep(session, invented_record(), FAULTS, CUES, load(), WHEN)
    target = own_data_folder / name
    if not target.exists():
        target.write_bytes(b"# a student's film")
    before = target.read_bytes()
    capsys.readouterr()
    assert str(target) in fails(capsys, *arguments, str(target))
    assert target.read_bytes() == before
