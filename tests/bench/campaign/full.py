"""A disk that fills, fails, goes away or may not be written, while practice goes on.

A small tmpfs where a mount is allowed (root), limits of a file's size everywhere, another user's rights (root can give
itself none, so the child becomes nobody), and single failing system calls by strace's fault injection where strace is there.
"""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import subprocess
import sys
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Callable, Iterator

from tests.bench.campaign.checks import record_faults, spoken, spoken_faults
from tests.bench.campaign.forked import COMMANDS, Child, practising, told, warm
from tests.support.paths import ROOT

STROKES = 6
NOBODY = 65534


def one_round(seed: int, folder: Path) -> list[str]:
    """One way of failing, drawn by the seed."""
    rng = random.Random(seed)
    way = rng.choice(WAYS)
    return [f"{way.__name__[1:]}: {fault}" for fault in way(rng, folder)]


def _ended(child: Child, folder: Path, told_too: bool = True) -> Iterator[str]:
    if not child.wait():
        child.kill()
        yield "did not end"
    yield from spoken_faults(child.code, child.err)
    if told_too:
        yield from record_faults(folder, told(child.out))
    child.close()


@contextmanager
def _mounted(folder: Path, size: int) -> Iterator[bool]:
    """A file system of that many bytes; False where that is not allowed."""
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "none", str(folder)], capture_output=True)
    try:
        yield done.returncode == 0
    finally:
        if done.returncode == 0:
            subprocess.run(["umount", "-l", str(folder)], check=False)


def _disk_fills(rng: random.Random, folder: Path) -> Iterator[str]:
    with _mounted(folder, rng.randrange(4096, 900_000)) as small:
        if small:
            yield from _ended(practising(folder / "data", rng.randrange(1 << 30), STROKES), folder / "data", False)
            copy = folder.with_name(folder.name + "-copy")  # room again: what was told must be there
            with suppress(FileNotFoundError):
                shutil.copytree(folder / "data", copy)
            child = practising(folder / "data", rng.randrange(1 << 30), STROKES)
            child.wait()
            numbers, said = told(child.out), list(spoken_faults(child.code, child.err))
            child.close()
            yield from said
            shutil.rmtree(copy, ignore_errors=True)
            shutil.copytree(folder / "data", copy) if (folder / "data").exists() else copy.mkdir()
            yield from record_faults(copy, numbers)
            shutil.rmtree(copy)


def _file_may_not_grow(rng: random.Random, folder: Path) -> Iterator[str]:
    most = rng.randrange(4096, 900_000)

    def limit() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    yield from _ended(practising(folder, rng.randrange(1 << 30), STROKES, limit), folder)


def _folder_goes_away(rng: random.Random, folder: Path) -> Iterator[str]:
    child = practising(folder / "data", rng.randrange(1 << 30), STROKES)
    wanted = rng.randint(0, STROKES)
    child.wait(60.0, until=lambda: len(told(child.out)) >= wanted)
    shutil.rmtree(folder / "data", ignore_errors=True)
    yield from _ended(child, folder / "data", told_too=False)


def _another_users(rng: random.Random, folder: Path) -> Iterator[str]:
    """Read-only, unsearchable or unreadable, as somebody who is no superuser."""
    if os.getuid() != 0:
        return
    warm()
    data = folder / "data"
    child = practising(data, 1, 1)
    child.wait()
    child.close()
    what = rng.choice([data, data / "strokes.sqlite", data / "students", data / "drills", data / "settings.toml"])
    if not what.exists():
        what.mkdir() if not what.suffix else what.write_text("")
    before = told(child.out) if what == data else []
    what.chmod(rng.choice([0o000, 0o444, 0o555, 0o111]))
    folder.chmod(0o755)
    for path in (folder, *folder.parents):
        with suppress(OSError):
            path.chmod(path.stat().st_mode | 0o011)
    become: Callable[[], None] = lambda: os.setuid(NOBODY)  # noqa: E731
    yield from _ended(practising(data, 2, 1, become), data, told_too=False)
    for command in COMMANDS:

        def work(command: list[str] = command) -> int:
            become()
            code, out, err = spoken("--data-folder", str(data), *command)
            print(out, err, sep="\n", file=sys.stderr)
            return code

        yield from _ended(Child(work), data, told_too=False)
    what.chmod(0o755)
    yield from record_faults(data, before)


def _a_call_fails(rng: random.Random, folder: Path) -> Iterator[str]:
    """One system call on the record's files fails, once or from then on."""
    if shutil.which("strace") is None:
        return
    call = rng.choice(["pwrite64", "pwrite64", "fdatasync", "fsync", "openat", "ftruncate", "pread64", "unlink"])
    error = rng.choice(["ENOSPC", "EIO", "EROFS" if call == "openat" else "EDQUOT"])
    when = f"{rng.randint(1, 60)}{rng.choice(['', '+'])}"
    files = [f"-P{folder / f'strokes.sqlite{end}'}" for end in ("", "-wal", "-journal")]
    inject = ["-e", f"inject={call}:error={error}:when={when}", "-e", f"trace={call}", "-o", os.devnull]
    arguments = [sys.executable, "-m", "tests.bench.campaign.practising", str(folder), str(rng.randrange(1 << 30)), "4"]
    done = subprocess.run(
        ["strace", "-f", "-qq", *files, *inject, *arguments], cwd=ROOT, capture_output=True, text=True, timeout=300
    )
    say = f"{call} {error} {when}"
    numbers = told(done.stdout)
    yield from (f"{say}: {fault}" for fault in spoken_faults(done.returncode, done.stderr))
    yield from (f"{say}: {fault}" for fault in record_faults(folder, numbers))


ODD_FOLDERS = (
    "Übung für Zoë  im Garten",
    "weit " * 30 + "/" + "ß" * 100,
    "/".join(["so tief"] * 45),
    "50%41 #1?mode=ro&x",
    "[/bold] 'a\" `b` $HOME ; c",
    "\u202egnal\u0301",
    "-rf",
)


def _odd_folder(rng: random.Random, folder: Path) -> Iterator[str]:
    """Names with spaces and signs, paths of over 200 characters: as any other."""
    data = folder / rng.choice(ODD_FOLDERS)
    data.mkdir(parents=True)
    yield from _ended(practising(data, rng.randrange(1 << 30), 2), data)
    export = ["students", "export", "Kim", "--out", str(data / "Kim's Übung.zip")]
    erase = ["students", "erase", "Kim", "--yes"]
    for command in (*COMMANDS, export, erase, ["students", "import", export[-1]], ["students", "list"]):
        code, _, err = spoken("--data-folder", str(data), *command)
        yield from (f"{' '.join(command[:2])}: {fault}" for fault in spoken_faults(code, err, (0,)))


WAYS = (_disk_fills, _file_may_not_grow, _folder_goes_away, _another_users, _a_call_fails, _a_call_fails, _odd_folder)
