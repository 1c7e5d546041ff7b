"""Settings: strict, all faults at once, each with file, line, key and what is allowed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from trainer.domain.verdict import FAULT_NAMES
from trainer.errors import SettingsError
from trainer.languages import LANGUAGES
from trainer.resources import data_path
from trainer.settings.document import documented
from trainer.settings.keys import key_field, keys_of
from trainer.settings.limits import Limits
from trainer.settings.lines import key_lines
from trainer.settings.load import Source, faults_of, from_options, load, read_file
from trainer.settings.model import KEYS, Settings, SettingsFile
from trainer.texts import in_language


def written(folder: Path, text: str) -> Path:
    path = folder / "student.toml"
    path.write_text(text, encoding="utf-8")
    return path


def fault_of(folder: Path, text: str) -> str:
    with pytest.raises(SettingsError) as caught:
        load([read_file(written(folder, text))])
    line = str(caught.value)
    assert "\n" not in line
    return line


def test_defaults_are_the_designs() -> None:
    settings = load()
    assert settings.limits == Limits()
    assert settings.player.height_cm is None
    assert {key.path.split(".")[1] for key in KEYS if key.path.startswith("limits.")} == set(FAULT_NAMES)


def test_documented_file_has_every_key_and_no_other() -> None:
    text = data_path("config", "defaults.toml").read_text(encoding="utf-8")
    table, found = "", []
    for line in text.splitlines():
        if line.startswith("["):
            table = line.strip("[]")
        match = re.match(r"(?:# )?(\w+) =", line)
        if match:
            found.append(f"{table}.{match[1]}")
    assert found == [key.path for key in KEYS]
    assert text == documented(), "run: python -m trainer.settings.document > config/defaults.toml"


def test_documented_file_gives_the_defaults() -> None:
    assert load([read_file(data_path("config", "defaults.toml"))]) == load()


def test_example_student_loads() -> None:
    settings = load([read_file(data_path("config", "student-example.toml"))])
    assert settings.player.handedness == "left"
    assert settings.limits.short_hold.value == 1.5
    assert not settings.limits.lift.on
    assert settings.limits.lift.value == Limits().lift.value


def test_later_source_wins_key_by_key(tmp_path: Path) -> None:
    first = read_file(written(tmp_path, '[player]\nname = "A"\nheight_cm = 170\n'))
    settings = load([first, from_options(player__handedness="left", camera__view=None)])
    assert (settings.player.name, settings.player.height_cm, settings.player.handedness) == ("A", 170.0, "left")


def test_misspelt_key_names_line_and_nearest(tmp_path: Path) -> None:
    line = fault_of(tmp_path, '[player]\nname = "A"\nheigth_cm = 170\n')
    assert f"{tmp_path / 'student.toml'}: line 3: player.heigth_cm" in line
    assert "did you mean player.height_cm?" in line


def test_key_of_another_table_is_named(tmp_path: Path) -> None:
    assert "did you mean player.handedness?" in fault_of(tmp_path, '[camera]\nhandedness = "left"\n')


def test_misspelt_table_names_nearest(tmp_path: Path) -> None:
    assert "line 1: limits.early_lok: unknown key, did you mean limits.early_look?" in fault_of(
        tmp_path, "[limits.early_lok]\nlimit_deg = 12.0\n"
    )


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("[limits.early_look]\nlimit_deg = 400", "must be a number from 5 to 40 deg, not 400"),
        ("[limits.early_look]\nlimit_deg = nan", "must be a number from 5 to 40 deg, not nan"),
        ('[limits.early_look]\nlimit_deg = "12"', 'must be a number from 5 to 40 deg, not "12"'),
        ("[limits.early_look]\nlimit_deg = true", "must be a number from 5 to 40 deg, not True"),
        ("[limits.early_look]\non = 1", "must be true or false, not 1"),
        ("[camera]\nwidth = 640.5", "must be a whole number from 320 to 3840 px, not 640.5"),
        ("[camera]\nsource = 1.5", "must be a whole number or a text, not 1.5"),
        ('[player]\nhandedness = "both"', 'must be one of "right", "left", not "both"'),
        ('[player]\nname = ""', 'must be a text of 1 to 60 letters, not ""'),
        ('[vision]\ntape_colour = "pink"', 'must be "auto" or a colour as "#rrggbb", not "pink"'),
    ],
)
def test_wrong_value_names_what_is_allowed(tmp_path: Path, text: str, wanted: str) -> None:
    line = fault_of(tmp_path, text)
    assert wanted in line
    assert ": line 2: " in line


def test_value_in_place_of_table(tmp_path: Path) -> None:
    assert "player: must be a table of keys, not 3" in fault_of(tmp_path, "player = 3")


def test_all_faults_at_once(tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text("[sound]\nvolume = 2\n", encoding="utf-8")
    mine = written(tmp_path, "[player]\nheigth_cm = 170\n\n[camera]\nfps = 1\n[window]\ntheme = 3\n")
    with pytest.raises(SettingsError) as caught:
        load([read_file(other), read_file(mine)])
    line = str(caught.value)
    assert line.startswith("4 faults: ")
    for part in (
        "other.toml: line 2: sound.volume",
        "line 2: player.heigth_cm",
        "line 5: camera.fps",
        "line 7: window.theme",
    ):
        assert part in line


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="cannot be read"):
        read_file(tmp_path / "none.toml")
    with pytest.raises(SettingsError, match="cannot be read"):
        read_file(tmp_path)
    bad = tmp_path / "bad.toml"
    bad.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(SettingsError, match="UTF-8"):
        read_file(bad)
    with pytest.raises(SettingsError, match=r"student\.toml: is not valid TOML: .*line 2"):
        read_file(written(tmp_path, "[player]\nname = \n"))


def test_lines_of_keys_in_every_form() -> None:
    text = (
        '# top\na.b = 1\n[t]\nx = """\n[no]\ny = 2\n"""\nlist = [\n 1,\n]\ninline = { p = 1, q = 2 }\n[t.deep]\nz = 1\n'
    )
    found = key_lines(text)
    assert found["a", "b"] == 2
    assert found["t", "x"] == 4
    assert found["t", "list"] == 8
    assert found["t", "inline", "q"] == 11
    assert found["t", "deep"] == 12
    assert found["t", "deep", "z"] == 13
    assert ("no",) not in found


@given(st.floats(5, 40), st.booleans(), st.sampled_from(["right", "left"]))
def test_values_round_trip_exactly(limit: float, on: bool, hand: str) -> None:
    settings = Settings.checked(
        {"player": {"handedness": hand, "height_cm": 181.3}, "limits": {"early_look": {"on": on, "limit_deg": limit}}}
    )
    assert settings.limits.early_look == Limits().changed("early_look", limit, on).early_look
    assert Settings.checked(settings.values()) == settings


@given(st.one_of(st.floats(max_value=5, exclude_max=True), st.floats(min_value=40, exclude_min=True)))
def test_no_value_outside_the_range_gets_in(limit: float) -> None:
    with pytest.raises(SettingsError, match="from 5 to 40 deg"):
        load([from_options(limits__early_look__limit_deg=limit)])


def test_the_ends_of_a_range_may_come_from_two_files_but_must_go_together(tmp_path: Path) -> None:
    table = "[posture.down_the_line.spine_tilt_deg]\n"
    coach = read_file(written(tmp_path, table + "high = 60.0\n"))
    own = tmp_path / "own.toml"
    own.write_text(table + "low = 50.0\n", encoding="utf-8")
    tilt = load([coach, read_file(own)]).posture["down-the-line"]["spine_tilt_deg"]
    assert (tilt.low, tilt.high) == (50.0, 60.0)
    with pytest.raises(SettingsError, match=r"spine_tilt_deg: low \(50\) lies above high \(45\)"):
        load([read_file(own)])
    both = written(tmp_path, "\n" + table + "low = 50.0\nhigh = 40.0\n")
    with pytest.raises(SettingsError, match=r"student\.toml: line 2: posture.*low \(50\) lies above high \(40\); swap"):
        load([read_file(both)])


class WithPattern(BaseModel):
    """A table with a key that has a pattern; code: what is allowed is said or not."""

    code: str = key_field("", "a code", kind="4 digits", pattern=r"^(|\d{4})$")


class WithPatternUnsaid(BaseModel):
    code: str = key_field("", "a code", pattern=r"^(|\d{4})$")


def test_what_a_pattern_allows_is_said_never_guessed() -> None:
    (key,) = keys_of(WithPattern)
    source = Source("a.toml", {"code": "12"}, {})
    assert faults_of(source, WithPattern, [key]) == ['a.toml: code: must be 4 digits, not "12"']
    with pytest.raises(TypeError, match="code: say in words what is allowed"):
        list(keys_of(WithPatternUnsaid))


def test_a_students_card_is_no_setting_of_a_run(tmp_path: Path) -> None:
    card = SettingsFile.model_validate({"student": {"notes": "n"}}).student
    assert card.notes == "n"
    assert load([read_file(written(tmp_path, "[student]\nnotes = 'n'\n"))]) == load()
    assert "student.notse: unknown key, did you mean student.notes?" in fault_of(tmp_path, "[student]\nnotse = 'n'\n")


def test_a_fault_called_as_on_the_screen_is_told_its_key(tmp_path: Path) -> None:
    assert "did you mean limits.hand_stall?" in fault_of(tmp_path, "[limits.stopped_hands]\nlimit_deg = 10\n")
    assert "did you mean limits.hand_stall?" in fault_of(tmp_path, "[stopped_hands]\nlimit_deg = 10\n")


def test_faults_are_told_in_the_readers_language() -> None:
    values = {"limits": {"sway": {"limit_cm": 99.0}}, "camera": {"vieuw": 1}}
    told = [in_language(line, LANGUAGES["de"]) for line in faults_of(Source("a.toml", values, {}), SettingsFile, KEYS)]
    assert any("eine Zahl von 0,5 bis 20 cm, nicht 99.0" in line for line in told)
    assert "a.toml: camera.vieuw: unbekannter Schlüssel, meintest du camera.view?" in told
