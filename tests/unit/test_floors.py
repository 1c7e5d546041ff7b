"""The architecture's rules, read from the source: imports go down the floors, the core is pure, clocks stay above."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path
from typing import Iterator

import pytest

from tests.support.floors import FLOORS, GROUND, PURE
from tests.support.paths import ROOT

PACKAGE = ROOT / "trainer"
HEAVY = {"cv2", "ai_edge_litert", "pygame", "sqlite3", "simpleaudio"}
LATE = {"scipy"}  # imported within functions alone: it takes longer than all else that practice begins with
NETWORK = {
    "socket", "ssl", "urllib", "http", "requests", "httpx", "aiohttp", "ftplib", "smtplib", "asyncio", "websockets",
    "cryptography", "segno",
}  # fmt: skip
CLOCK_CALLS = {
    "time",
    "monotonic",
    "perf_counter",
    "sleep",
    "monotonic_ns",
    "perf_counter_ns",
    "time_ns",
    "now",
    "utcnow",
}
# Adapters at the edge: they stamp a frame as it is read, or pace a clip like a camera.
CLOCK_ADAPTERS = {"vision/sources/base.py"}
PHONE = PACKAGE / "vision" / "sources" / "phone"
MAX_MODULE_LINES = 300

MODULES = sorted(PACKAGE.rglob("*.py"))


def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def imported(path: Path) -> Iterator[tuple[str, int]]:
    """Every module named by an import anywhere in the file, also inside functions, with its line."""
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            for name in node.names:
                yield name.name, node.lineno
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: relative import"
            yield str(node.module), node.lineno
            if node.module == "trainer":
                for name in node.names:
                    yield f"trainer.{name.name}", node.lineno


def floor_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def is_pure(path: Path) -> bool:
    return floor_of(path) in (*PURE, "errors", "resources")


def test_every_part_has_a_floor() -> None:
    assert {floor_of(path) for path in MODULES} <= {*(f.folder for f in FLOORS), *GROUND, "__main__"}


def test_imports_go_down_the_floors_only() -> None:
    wrong = []
    allowed = {f.folder: {f.folder, *f.may_import, *GROUND, "__version__"} for f in FLOORS}
    allowed |= {name: {*GROUND, "__version__"} for name in GROUND} | {"__main__": {"commands", "ui", *GROUND}}
    for path in MODULES:
        here = floor_of(path)
        for module, line in imported(path):
            parts = module.split(".")
            if parts[0] == "trainer" and len(parts) > 1 and parts[1] not in allowed[here]:
                wrong.append(f"{path.relative_to(ROOT)}:{line} imports {module}")
    assert not wrong, "\n".join(wrong)


def test_the_core_names_no_heavy_package() -> None:
    wrong = [
        f"{path.relative_to(ROOT)}:{line} imports {module}"
        for path in MODULES
        if is_pure(path)
        for module, line in imported(path)
        if module.split(".")[0] in HEAVY
    ]
    assert not wrong, "\n".join(wrong)


def test_the_core_is_loaded_without_the_heavy_packages() -> None:
    names = [
        ".".join(p.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__") for p in MODULES if is_pure(p)
    ]
    code = f"""
import importlib, sys
for name in {sorted(HEAVY | LATE)!r}:
    sys.modules[name] = None  # importing it now raises ImportError
for name in {names!r}:
    importlib.import_module(name)
"""
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr


def test_no_clock_is_read_below_live() -> None:
    wrong = []
    for path in MODULES:
        relative = path.relative_to(PACKAGE).as_posix()
        if floor_of(path) in ("live", "app", "ui", "commands", "testing", "__main__") or relative in CLOCK_ADAPTERS:
            continue
        for node in ast.walk(tree_of(path)):
            if isinstance(node, ast.ImportFrom) and node.module == "time":
                wrong.append(f"{relative}:{node.lineno} imports from time")
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Attribute)
                and node.func.attr in CLOCK_CALLS
                and isinstance(node.func.value, ast.Name)
                and node.func.value.id in ("time", "datetime", "date")
            ):
                wrong.append(f"{relative}:{node.lineno} calls {node.func.value.id}.{node.func.attr}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_modules_stay_small_and_say_what_they_are(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= MAX_MODULE_LINES
    assert ast.get_docstring(tree_of(path)), "no module docstring"


def test_no_network_module_is_used() -> None:
    """Nothing leaves the machine, but to a phone that was asked for."""
    wrong = [
        f"{p}:{line} imports {m}"
        for p in MODULES
        if PHONE not in p.parents
        for m, line in imported(p)
        if m.split(".")[0] in NETWORK
    ]
    assert not wrong, "\n".join(wrong)


def test_the_phones_link_is_loaded_only_when_it_is_opened() -> None:
    """Its server is imported within a function alone, and no other module of it imports a network module on loading."""
    wrong = []
    for path in MODULES:
        server = path == PHONE / "server.py"
        for node in tree_of(path).body:
            names = [node.module] if isinstance(node, ast.ImportFrom) else []
            names += [name.name for name in node.names] if isinstance(node, ast.Import) else []
            for name in names:
                if name == "trainer.vision.sources.phone.server" or (
                    not server and PHONE in path.parents and str(name).split(".")[0] in NETWORK
                ):
                    wrong.append(f"{path}:{node.lineno} imports {name}")
    assert not wrong, "\n".join(wrong)


def test_a_floors_number_stands_in_the_table_alone() -> None:
    """Copies of it went untrue when a floor was put in between."""
    assert [str(path) for path in PACKAGE.rglob("__init__.py") if "Floor " in path.read_text(encoding="utf-8")] == []
