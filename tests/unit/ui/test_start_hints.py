"""In the start window no command is named: each stands there as the button that does it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import trainer.app
from trainer.ui.start import texts
from trainer.ui.start.hints import in_window
from trainer.ui.start.program import fault_page

APP = Path(str(trainer.app.__file__)).parent
TYPED_ONLY = {"sqlite3", "analyse", "review"}


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("no strokes of Kim yet; `practice --student NAME` makes some", "no strokes of Kim yet; “Free practice” makes some"),
        ("`lesson priority`, or `lesson priority WHAT`", "“Take what is proposed”, or “It is about this”"),
        ("`putting-trainer distance unit m` or `... ft`", "“Distances in metres” or “Distances in feet”"),
        ("nothing to change", "nothing to change"),
        ("`unheard-of thing` stays", "`unheard-of thing` stays"),
    ],
)  # fmt: skip
def test_commands_become_buttons(line: str, said: str) -> None:
    assert in_window(line) == said


def test_every_command_that_use_cases_name_has_a_button() -> None:
    found = []
    for path in APP.rglob("*.py"):
        for line in path.read_text(encoding="utf-8").splitlines():
            if '"""' in line or line.lstrip().startswith("#"):
                continue
            for command in re.findall("`((?:putting-trainer )?[a-z]+[ a-zA-Z0-9.-]*)(?:{whose})?`", line):
                if '"' in line and command.removeprefix("putting-trainer ").split()[0] not in TYPED_ONLY:
                    found.append(f"`{command}`")
    assert len(found) > 15
    assert [one for one in found if in_window(one) == one] == []


def test_what_keeps_it_from_starting_is_a_page() -> None:
    page = fault_page("settings.toml, line 3: no key windw")
    assert page.title == texts.CANNOT_START
    assert getattr(page.body[0], "text", "") == "settings.toml, line 3: no key windw"


def test_a_setting_is_called_by_its_field() -> None:
    assert in_window("player.height_cm: must be a number from 100 to 230 cm") == (
        "Height: must be a number from 100 to 230 cm"
    )
