"""An entry with our own icon in the desktop's menu: a freedesktop entry, a shortcut on Windows, an app on macOS.

Windows and macOS: from their makers' documentation, not tried on such a machine.
"""

from __future__ import annotations

import base64
import os
import plistlib
import shlex
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import Callable, Mapping, Sequence

from trainer.app.launcher_icon import icns, ico, png
from trainer.errors import UsageError
from trainer.store.folder import write_atomically
from trainer.texts import tr

NAME, TITLE = "putting-trainer", "Putting trainer"
COMMENT = "Watches your putting stroke: hold, then look"
CAMERA_WHY = "The trainer watches your putting stroke through the camera. Nothing leaves this machine."
EXECUTABLE = 0o755
Runs = Callable[[Sequence[str]], int]  # a command line -> its exit code


@dataclass(frozen=True)
class Machine:
    """system: as sys.platform; python: the interpreter that has the trainer."""

    system: str
    home: Path
    environment: Mapping[str, str]
    python: str


def this_machine() -> Machine:
    return Machine(sys.platform, Path.home(), os.environ, sys.executable)


def place_launcher(machine: Machine, arguments: Sequence[str], runs: Runs) -> list[Path]:
    """What was written. arguments: of the start, beside the program itself; runs: Windows makes its shortcuts by a program.

    Raises StoreError, UsageError.
    """
    command = ["-m", "trainer", *arguments]
    if machine.system == "win32":
        icon, shortcut = _windows(machine)
        write_atomically(icon, ico())
        shortcut.parent.mkdir(parents=True, exist_ok=True)
        if runs(shortcut_command(machine, command)) != 0:
            raise UsageError(
                tr("the shortcut could not be made"), str(shortcut), tr("is PowerShell there and allowed?")
            )
        return [icon, shortcut]
    if machine.system == "darwin":
        app = _app(machine)
        program = app / "Contents" / "MacOS" / NAME
        write_atomically(app / "Contents" / "Info.plist", plistlib.dumps(info()))
        write_atomically(app / "Contents" / "Resources" / "icon.icns", icns())
        write_atomically(program, program_text(machine, command).encode("utf-8"))
        program.chmod(EXECUTABLE)
        return [app]
    entry, icon = _freedesktop(machine)
    write_atomically(icon, png())
    write_atomically(entry, desktop_entry(machine, command).encode("utf-8"))
    return [entry, icon]


def remove_launcher(machine: Machine) -> list[Path]:
    """What is gone; nothing where there was none."""
    if machine.system == "darwin":
        found = [_app(machine)]
    else:
        found = list(_windows(machine) if machine.system == "win32" else _freedesktop(machine))
    gone = [path for path in found if path.exists()]
    for path in gone:
        if path.is_dir():
            shutil.rmtree(path)
        else:
            path.unlink()
    return gone


# ---- Linux and its like: the Desktop Entry Specification


def _freedesktop(machine: Machine) -> tuple[Path, Path]:
    """(entry, icon)."""
    given = machine.environment.get("XDG_DATA_HOME", "")
    data = Path(given) if given.startswith("/") else machine.home / ".local" / "share"
    icon = data / "icons" / "hicolor" / "256x256" / "apps" / f"{NAME}.png"
    return data / "applications" / f"{NAME}.desktop", icon


def desktop_entry(machine: Machine, command: Sequence[str]) -> str:
    words = " ".join(_exec_word(word) for word in (machine.python, *command))
    lines = (
        "[Desktop Entry]",
        "Type=Application",
        "Version=1.0",
        f"Name={TITLE}",
        f"Comment={COMMENT}",
        f"Exec={words}",
        f"Icon={NAME}",
        "Terminal=false",
        "Categories=Sports;Education;",
    )
    return "\n".join(lines) + "\n"


def _exec_word(word: str) -> str:
    """Quoted as the specification's Exec key wants it: first for the key, then for a string."""
    for mark in ("\\", '"', "`", "$"):
        word = word.replace(mark, f"\\{mark}")
    return f'"{word}"'.replace("\\", "\\\\").replace("%", "%%")


# ---- Windows


def _windows(machine: Machine) -> tuple[Path, Path]:
    """(icon, shortcut)."""
    roaming = Path(machine.environment.get("APPDATA") or machine.home / "AppData" / "Roaming")
    local = Path(machine.environment.get("LOCALAPPDATA") or machine.home / "AppData" / "Local")
    menu = roaming / "Microsoft" / "Windows" / "Start Menu" / "Programs"
    return local / NAME / f"{NAME}.ico", menu / f"{TITLE}.lnk"


def shortcut_command(machine: Machine, command: Sequence[str]) -> list[str]:
    """PowerShell making the shortcut; what it runs is encoded, so that no name can break out of it."""
    icon, shortcut = _windows(machine)
    python = PurePath(machine.python)
    windowed = python.with_name("pythonw.exe") if python.name.lower() == "python.exe" else python  # without a console
    script = "; ".join(
        (
            f"$s = (New-Object -ComObject WScript.Shell).CreateShortcut({_quoted(shortcut)})",
            f"$s.TargetPath = {_quoted(windowed)}",
            f"$s.Arguments = {_quoted(' '.join(_argument(word) for word in command))}",
            f"$s.WorkingDirectory = {_quoted(machine.home)}",
            f"$s.IconLocation = {_quoted(icon)}",
            f"$s.Description = {_quoted(COMMENT)}",
            "$s.Save()",
        )
    )
    encoded = base64.b64encode(script.encode("utf-16-le")).decode("ascii")
    return ["powershell", "-NoProfile", "-NonInteractive", "-EncodedCommand", encoded]


def _quoted(text: object) -> str:
    """A PowerShell string in which nothing is expanded."""
    return "'" + str(text).replace("'", "''") + "'"


def _argument(word: str) -> str:
    return f'"{word}"' if " " in word else word


# ---- macOS


def _app(machine: Machine) -> Path:
    return machine.home / "Applications" / f"{TITLE}.app"


def info() -> dict[str, str]:
    """Info.plist. Without its camera line the system would give the app no picture."""
    return {
        "CFBundleName": TITLE,
        "CFBundleDisplayName": TITLE,
        "CFBundleIdentifier": "local.putting-trainer",
        "CFBundleExecutable": NAME,
        "CFBundleIconFile": "icon",
        "CFBundlePackageType": "APPL",
        "NSCameraUsageDescription": CAMERA_WHY,
    }


def program_text(machine: Machine, command: Sequence[str]) -> str:
    words = " ".join(shlex.quote(word) for word in (machine.python, *command))
    return f'#!/bin/sh\ncd "$HOME"\nexec {words}\n'
