"""The entry in the desktop's menu, by its content, for three systems; what was placed is taken away again."""

from __future__ import annotations

import base64
import plistlib
import struct
from pathlib import Path
from typing import Mapping

import cv2
import numpy as np
import pytest

from trainer.app.launcher import Machine, desktop_entry, place_launcher, remove_launcher
from trainer.app.launcher_icon import icns, ico, png
from trainer.commands.cli import run
from trainer.errors import UsageError

NOTHING: Mapping[str, str] = {}


def test_linux(tmp_path: Path) -> None:
    machine = Machine("linux", tmp_path, NOTHING, "/opt/own place/bin/python")
    entry, icon = place_launcher(machine, ["--data-folder", "/d/50% $x"], lambda _: 1)
    assert entry == tmp_path / ".local/share/applications/putting-trainer.desktop"
    keys = dict(line.split("=", 1) for line in entry.read_text(encoding="utf-8").splitlines()[1:])
    assert keys["Exec"] == '"/opt/own place/bin/python" "-m" "trainer" "--data-folder" "/d/50%% \\\\$x"'
    assert (keys["Type"], keys["Icon"], keys["Terminal"]) == ("Application", "putting-trainer", "false")
    assert cv2.imdecode(np.frombuffer(icon.read_bytes(), np.uint8), cv2.IMREAD_UNCHANGED).shape == (256, 256, 4)
    assert place_launcher(machine, [], lambda _: 1) == [entry, icon]  # once more takes the place of the first
    assert remove_launcher(machine) == [entry, icon]
    assert not entry.exists()
    assert remove_launcher(machine) == []


def test_the_systems_own_data_folder_is_followed(tmp_path: Path) -> None:
    machine = Machine("linux", tmp_path, {"XDG_DATA_HOME": str(tmp_path / "own")}, "/bin/python")
    assert place_launcher(machine, [], lambda _: 1)[0].is_relative_to(tmp_path / "own")
    assert "Name=Putting trainer\n" in desktop_entry(machine, [])


def test_windows(tmp_path: Path) -> None:
    roaming, local = tmp_path / "O'Roaming", tmp_path / "Local"
    machine = Machine("win32", tmp_path, {"APPDATA": str(roaming), "LOCALAPPDATA": str(local)}, "/py/python.exe")
    asked: list[list[str]] = []

    def runs(command: object) -> int:
        asked.append(list(command))  # type: ignore[call-overload]
        return 0

    icon, shortcut = place_launcher(machine, ["--data-folder", "C:/my data"], runs)
    assert shortcut.name == "Putting trainer.lnk"
    assert asked[0][:4] == ["powershell", "-NoProfile", "-NonInteractive", "-EncodedCommand"]
    script = base64.b64decode(asked[0][4]).decode("utf-16-le")
    assert f"CreateShortcut('{str(shortcut).replace(chr(39), 2 * chr(39))}')" in script
    assert "$s.TargetPath = '/py/pythonw.exe'" in script
    assert "$s.Arguments = '-m trainer --data-folder \"C:/my data\"'" in script
    assert icon.read_bytes() == ico()
    with pytest.raises(UsageError, match="could not be made"):
        place_launcher(machine, [], lambda _: 1)


def test_macos(tmp_path: Path) -> None:
    machine = Machine("darwin", tmp_path, NOTHING, "/opt/it's/python")
    (app,) = place_launcher(machine, [], lambda _: 1)
    info = plistlib.loads((app / "Contents" / "Info.plist").read_bytes())
    program = app / "Contents" / "MacOS" / info["CFBundleExecutable"]
    assert program.read_text(encoding="utf-8").startswith("#!/bin/sh\n")
    assert "exec '/opt/it'\"'\"'s/python' -m trainer\n" in program.read_text(encoding="utf-8")
    assert program.stat().st_mode & 0o111
    assert "NSCameraUsageDescription" in info
    assert (app / "Contents" / "Resources" / f"{info['CFBundleIconFile']}.icns").read_bytes() == icns()
    assert remove_launcher(machine) == [app]
    assert not app.exists()


def test_the_icons_hold_the_picture() -> None:
    data = png()
    assert struct.unpack_from("<II", ico(), 14) == (len(data), 22)
    assert ico()[22:] == data
    assert struct.unpack_from(">4sI", icns()) == (b"icns", len(icns()))
    assert icns()[16:] == data


def test_the_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr("sys.platform", "linux")
    assert run(["launcher"]) == 0
    assert (tmp_path / "data" / "applications" / "putting-trainer.desktop").exists()
    assert run(["launcher", "--remove"]) == 0
    assert run(["launcher", "--remove"]) == 0
    out = capsys.readouterr().out
    assert out.count("wrote ") == 2
    assert out.count("removed ") == 2
    assert out.endswith("there was no entry\n")
