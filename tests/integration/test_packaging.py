"""The wheel: built, installed without the source tree in an environment of its own, and complete."""

from __future__ import annotations

import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

from tests.support.paths import ROOT
from trainer import __version__
from trainer.resources import data_path

CARRIED = ("config", "sounds", "demo", "pose")


def files_of(kind: str) -> list[Path]:
    return [path for path in data_path(kind).rglob("*") if path.is_file()]


def test_source_tree_has_the_files() -> None:
    assert data_path("config", "defaults.toml").is_file()
    with pytest.raises(FileNotFoundError, match="config/none"):
        data_path("config", "none")


@pytest.mark.slow
def test_an_installed_wheel_finds_its_files(tmp_path: Path) -> None:
    def run(*command: str | Path) -> str:
        environment = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "VIRTUAL_ENV")}
        done = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=150)
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    pip = (sys.executable, "-m", "pip", "--disable-pip-version-check")
    run(*pip, "wheel", "-q", "--no-deps", "--no-build-isolation", "-w", tmp_path, ROOT)
    (wheel,) = tmp_path.glob("putting_trainer-*.whl")
    with zipfile.ZipFile(wheel) as file:
        names = set(file.namelist())
    for kind in CARRIED:
        for path in files_of(kind):
            assert f"trainer/_data/{kind}/{path.relative_to(data_path(kind)).as_posix()}" in names
    for kind in ("html", "css", "js"):
        assert f"trainer/vision/sources/phone/page.{kind}" in names
    assert not [name for name in names if name.startswith(("tests/", "config/", "sounds/"))]

    # An environment of its own. Only the dependencies are lent from this one, by a path file, which lends no editable
    # install.
    other = tmp_path / "other"
    venv.EnvBuilder(with_pip=False).create(other)
    python = next(p for p in (other / "bin" / "python", other / "Scripts" / "python.exe") if p.exists())
    site = Path(run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))").strip())
    import click

    (site / "lent.pth").write_text(str(Path(click.__file__).parent.parent))
    run(*pip, "--python", python, "install", "-q", "--no-deps", "--no-index", wheel)
    script = next(
        p for p in (other / "bin" / "putting-trainer", other / "Scripts" / "putting-trainer.exe") if p.exists()
    )
    assert run(script, "--version").strip().endswith(__version__)
    code = f"""
import trainer.resources as r
assert r.__file__.startswith({str(site)!r}), r.__file__
for kind in {CARRIED!r}:
    folder = r.data_path(kind)
    print(kind, len([p for p in folder.rglob("*") if p.is_file()]), str(folder).startswith({str(site)!r}))
"""
    found = dict(line.split(" ", 1) for line in run(python, "-c", code).splitlines())
    for kind in CARRIED:
        assert found[kind] == f"{len(files_of(kind))} True"
    run(python, "-m", "trainer", "--data-folder", tmp_path / "data", "strokes")
