"""The documents say what is so: commands, options, dependencies, files, and the line that CI runs."""

from __future__ import annotations

import os
import re
import shlex
import sys
from pathlib import Path
from typing import Any

import click
import pytest
from platformdirs.unix import Unix

from tests.support.floors import table
from tests.support.paths import ROOT
from trainer.app.analysis_json import SCHEMA
from trainer.commands.cli import cli
from trainer.domain.verdict import FAULT_NAMES
from trainer.live.keys import END_KEY, KEYS
from trainer.settings.limits import Limits

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

README = (ROOT / "README.md").read_text(encoding="utf-8")
FORMATS = (ROOT / "trainer" / "store" / "FORMATS.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def project() -> dict[str, Any]:
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]  # type: ignore[no-any-return]


def section(text: str, heading: str) -> str:
    """What stands below a heading, up to the next one."""
    found = re.search(rf"^#+ {re.escape(heading)}$\n(.*?)(?=^#+ |\Z)", text, re.S | re.M)
    assert found, f"no heading {heading}"
    return found[1]


def test_the_readme_names_every_command() -> None:
    rows = re.findall(r"^\| (`[^|]+) \|", section(README, "What you can do"), re.M)
    assert sorted(name for row in rows for name in re.findall(r"`([a-z-]+)`", row)) == sorted(cli.commands)


def shown_lines() -> list[str]:
    """Every command line that README shows, without its comment."""
    lines = re.findall(r"^    putting-trainer (.*)$", README, re.M)
    return [re.split(r"\s+#", line)[0] for line in lines]


@pytest.mark.parametrize("line", shown_lines())
def test_command_lines_of_the_readme_can_be_typed(line: str) -> None:
    words = shlex.split(line)
    command: click.Command = cli
    while isinstance(command, click.Group):
        command = command.commands[words.pop(0)]
    left = command.make_parser(click.Context(command)).parse_args(words)[1]
    assert not left, f"{command.name} takes no {left}"


def test_the_readme_names_every_key_of_the_practice_window() -> None:
    table = section(README, "No keyboard between strokes").partition("| key | what it does |\n|---|---|\n")[2]
    told = dict(re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", table, re.M))
    assert list(told) == [key.label for key in KEYS]
    assert [words.startswith(key.does) for key, words in zip(KEYS, told.values(), strict=True)] == [True] * len(KEYS)
    assert "Escape" in told[END_KEY.label]


def test_the_readmes_limits_are_the_defaults() -> None:
    rows = re.findall(r"^\| [^|]+ \| [^|]+ \| ([^|]+) \| `limits\.(\w+)\.(\w+)` \|$", section(README, "Words"), re.M)
    limits = Limits()
    assert [fault for _, fault, _ in rows] == list(FAULT_NAMES)
    for told, fault, key in rows:
        limit = getattr(limits, fault)
        number = re.search(r"[\d.]+", told)
        assert number
        assert (key, float(number[0])) == (limit.key, limit.value)


def test_the_readme_names_the_data_folder_of_each_system() -> None:
    own = Unix("putting-trainer", appauthor=False).user_data_path
    assert f"~/{own.relative_to(Path.home())}" in README or "XDG_DATA_HOME" in os.environ
    assert "~/Library/Application Support/putting-trainer" in README
    assert "%LOCALAPPDATA%\\putting-trainer" in README


def test_every_dependency_has_its_reason_beside_it() -> None:
    lines = (ROOT / "pyproject.toml").read_text(encoding="utf-8").splitlines()
    names = [re.match(r"[A-Za-z0-9-]+", line)[0] for line in project()["dependencies"]]  # type: ignore[index]
    for name in names:
        at = next(i for i, line in enumerate(lines) if re.match(rf'\s+"{re.escape(name)}[=<>;]', line))
        before = lines[at - 1].strip()
        assert "#" in lines[at] or before.startswith("#"), (
            f"{name}: say in pyproject.toml what it is for, and why its bounds"
        )


def test_the_guide_prints_the_floors_and_stays_one_page() -> None:
    assert f"<!-- floors: begin -->\n{table()}\n<!-- floors: end -->" in DEVELOPERS
    assert len(DEVELOPERS.splitlines()) <= 170


def test_the_page_of_formats_names_every_key() -> None:
    text = section(FORMATS, "`analyse --json`")

    def keys(schema: dict[str, Any]) -> set[str]:
        found = set(schema.get("properties", {}))
        for inner in schema.get("properties", {}).values():
            found |= keys(inner)
            found |= keys(inner.get("items", {})) | keys(inner.get("additionalProperties") or {})
        return found

    for key in keys(SCHEMA):
        assert f'"{key}"' in text, key
    for name in FAULT_NAMES:
        assert f"`{name}`" in text


@pytest.mark.parametrize(("name", "text"), [("README.md", README), ("DEVELOPERS.md", DEVELOPERS)])
def test_files_that_are_named_exist(name: str, text: str) -> None:
    for target in re.findall(r"\]\((?!http)([^)#]+)", text):
        assert (ROOT / target).exists(), f"{name} links to {target}"
    for target in re.findall(r"`((?:trainer|tests|config|sounds)/[\w./-]+)`", text):
        if not target.startswith("trainer/_data"):  # only in a wheel
            assert (ROOT / target).exists(), f"{name} names {target}"


PAGES = sorted((ROOT / "trainer").rglob("*.md"))


@pytest.mark.parametrize("path", PAGES, ids=lambda p: p.parent.name)
def test_files_that_a_page_beside_the_code_names_exist(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    for target in re.findall(r"\]\((?!http)([^)#]+)", text):
        assert (path.parent / target).exists(), f"links to {target}"
    for target in re.findall(r"`([a-z]\w*(?:/\w+)+(?:\.py)?)`", text):
        named = (target, f"{target.removesuffix('.py')}.py")
        bases = (ROOT, ROOT / "trainer", path.parent)
        assert any((base / name).exists() for base in bases for name in named), f"names {target}"


def test_ci_runs_the_readmes_own_lines() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    asked = re.search(r'readme_line "### ([^"]+)"', script)
    assert asked
    code = re.search(r"```sh\n(.*?)\n```", section(README, asked[1]), re.S)
    assert code
    assert "\n" not in code[1], "one line does it all"
    assert "pytest" in code[1]
    demo = re.search(r"```sh\n(.*?)\n```", section(README, "See the demo"), re.S)
    assert demo
    assert "\n" not in demo[1]
    assert demo[1].endswith("putting-trainer demo")


def test_supported_pythons_agree() -> None:
    assert project()["requires-python"] == ">=3.10"
    assert "Python 3.10 to 3.14" in README
