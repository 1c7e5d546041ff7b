"""Exact versions of every dependency for each Python, and the wheels there are of them for each system.

    python -m tests.bench.pythons lock PYTHON3.10 PYTHON3.11 PYTHON3.12 PYTHON3.13    # writes config/constraints.txt
    python -m tests.bench.pythons table                                               # writes config/PYTHONS.md

``lock`` asks pip of each of these interpreters what it would install, and the last one's what it would install for the next
Python (wheels only; conditions on the Python are then those of the one that asks). ``table`` reads one page of the package
index for every package that is not plain Python, through pip.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from typing import Any, Iterable

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name, parse_wheel_filename

from tests.support.paths import ROOT

CONSTRAINTS, TABLE = ROOT / "config" / "constraints.txt", ROOT / "config" / "PYTHONS.md"
FIRST, LAST = 10, 14  # minors of Python 3; the last is asked for by its predecessor
SYSTEMS = {
    "Windows": re.compile(r"win_amd64"),
    "macOS, ARM": re.compile(r"macosx_\d+_\d+_(arm64|universal2)"),
    "macOS, Intel": re.compile(r"macosx_\d+_\d+_(x86_64|universal2|intel)"),
    "Linux, x86": re.compile(r"(manylinux|linux).*_x86_64"),
    "Linux, ARM": re.compile(r"(manylinux|linux).*_aarch64"),
}
HEAD = """# Exact versions that were tried together, for each Python: README's lines and .ci/run install these.
# Made by `python -m tests.bench.pythons lock ...`. Packages that only other systems than Linux ask for are not in it.
"""


def needed(extras: Iterable[str]) -> list[str]:
    if sys.version_info >= (3, 11):
        import tomllib
    else:
        import tomli as tomllib
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return [*project["dependencies"], *(line for name in extras for line in project["optional-dependencies"][name])]


def resolved(python: str, *options: str) -> dict[str, str]:
    """Package -> version, as that Python's pip would install them."""
    command = [python, "-m", "pip", "--disable-pip-version-check", "install", "-q", "--dry-run", "--ignore-installed"]
    command += ["--report", "-", *options, *needed(("test", "simpleaudio", "phone"))]
    report = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    return {canonicalize_name(each["metadata"]["name"]): each["metadata"]["version"] for each in report["install"]}


def lock(pythons: list[str]) -> str:
    found: dict[int, dict[str, str]] = {}
    for python in pythons:
        minor = int(
            subprocess.run(
                [python, "-c", "import sys; print(sys.version_info[1])"], check=True, capture_output=True
            ).stdout
        )
        found[minor] = resolved(python)
    next_one = ("--python-version", f"3.{LAST}", "--only-binary", ":all:", "--target", "unused")
    found[LAST] = resolved(pythons[-1], *next_one)
    names = sorted({name for versions in found.values() for name in versions})
    return HEAD + "".join(line + "\n" for name in names for line in lines_of(name, found))


def lines_of(name: str, found: dict[int, dict[str, str]]) -> list[str]:
    """One line where all that ask for the package take the same version, else one for each run of Pythons."""
    versions = {minor: found[minor][name] for minor in sorted(found) if name in found[minor]}
    if len(set(versions.values())) == 1:
        return [f"{name}=={next(iter(versions.values()))}"]
    lines = []
    for version in dict.fromkeys(versions.values()):
        same = [minor for minor, other in versions.items() if other == version]
        conditions = [f"python_version >= '3.{same[0]}'"] if same[0] > FIRST else []
        conditions += [f"python_version < '3.{same[-1] + 1}'"] if same[-1] < LAST else []
        lines.append(f"{name}=={version}; {' and '.join(conditions)}")
    return lines


def locked(minor: int) -> dict[str, str]:
    """Package -> version of the constraints for that Python."""
    lines = [line for line in CONSTRAINTS.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")]
    wanted = [Requirement(line) for line in lines]
    here = {"python_version": f"3.{minor}"}
    return {r.name: str(r.specifier).removeprefix("==") for r in wanted if r.marker is None or r.marker.evaluate(here)}


def wheels_of(name: str, collector: Any) -> list[str]:
    """File names of all wheels that the index has of a package."""
    from pip._internal.index.collector import parse_links
    from pip._internal.models.link import Link

    for place in collector.search_scope.get_index_urls_locations(name):
        if place.startswith("http"):
            page = collector.fetch_response(Link(place))
            if page is not None:
                return [link.filename for link in parse_links(page) if link.filename.endswith(".whl")]
    return []


def open_collector() -> Any:
    """pip's own reader of index pages, with the index that pip is set to."""
    from pip._internal.commands.install import InstallCommand
    from pip._internal.index.collector import LinkCollector

    command: Any = InstallCommand("install", "")
    options, _ = command.parse_args([])
    return LinkCollector.create(command._build_session(options), options=options)


def fits(file: str, version: str, minor: int, system: re.Pattern[str]) -> bool:
    try:
        _, found, _, tags = parse_wheel_filename(file)
    except ValueError:
        return False
    return str(found) == version and any(
        (tag.platform == "any" or system.match(tag.platform)) and python_fits(tag.interpreter, tag.abi, minor)
        for tag in tags
    )


def python_fits(interpreter: str, abi: str, minor: int) -> bool:
    if interpreter in ("py3", "py2.py3", f"cp3{minor}"):
        return abi in ("none", "abi3", f"cp3{minor}")
    stable = re.fullmatch(r"cp3(\d+)", interpreter)
    return abi == "abi3" and stable is not None and int(stable[1]) <= minor


def table() -> str:
    """A row for each package of the installed program that is not plain Python for all, and what is missing in words."""
    collector = open_collector()
    minors = range(FIRST, LAST + 1)
    versions = {minor: locked(minor) for minor in minors}
    rows, missing = [], []
    for name in sorted({n for each in versions.values() for n in each}):
        wheels = wheels_of(name, collector)
        cells = []
        for label, system in SYSTEMS.items():
            wanted = [minor for minor in minors if name in versions[minor]]
            without = [m for m in wanted if not any(fits(w, versions[m][name], m, system) for w in wheels)]
            which = "any" if without == wanted else ", ".join(f"3.{minor}" for minor in without)
            cells.append("all" if not without else "none" if without == wanted else f"not {which}")
            if without:
                missing.append(f"{name}, {label}: no wheel for {which}")
        if any(not w.endswith("-none-any.whl") for w in wheels) or set(cells) != {"all"}:
            rows.append(f"| {name} | " + " | ".join(cells) + " |")
    head = f"| package | {' | '.join(SYSTEMS)} |\n|{'---|' * (len(SYSTEMS) + 1)}\n"
    said = "".join(f"- {line}\n" for line in missing) or "Nothing.\n"
    return head + "\n".join(rows) + "\n\nMissing:\n\n" + said


def main(task: str, pythons: list[str]) -> None:
    if task == "lock":
        CONSTRAINTS.write_text(lock(pythons), encoding="utf-8")
    else:
        before, mark, _ = TABLE.read_text(encoding="utf-8").partition("<!-- table -->\n")
        TABLE.write_text(before + mark + table(), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2:])
