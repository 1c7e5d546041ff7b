"""Power cuts: what was not yet synced is lost, in part or whole, at any instant of practice, erasing and import.

Which way: practice runs once under strace, which records every write, sync, truncation, rename and removal in the data folder
with its bytes, and every line told on standard output, in order. A cut is then replayed at any point of that list, as often as
wanted, with another part of the unsynced writes lost each time. So it is the very program that is tried, with Python's own
SQLite and the trainer's other files; a VFS (through apsw) would bring another SQLite and see the record only. What is assumed of
the disk: a sync returns when that file's bytes are there, sectors of 512 bytes are whole, the order of names (create, rename,
remove) is kept and all of it up to a sync in the same folder is there, as with journalling file systems.
"""

from __future__ import annotations

import random
import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Iterator

from tests.bench.campaign.checks import record_faults
from tests.bench.campaign.practising import ERASE, IMPORT, TELLS
from tests.support.paths import ROOT
from trainer.store.database import FILE_NAME

CUTS, STROKES, SECTOR = 250, 6, 512
STUDENT = "Robin"
EACH = f"{CUTS} cuts"
CALLS = "openat,write,pwrite64,fsync,fdatasync,ftruncate,rename,unlink,unlinkat"
_BYTES = r'"((?:\\x[0-9a-f]{2})*)"'
_CALL = re.compile(r"^(?:\d+ +)?(\w+)\((.*)\) += (-?\d+)")
_UNFINISHED = re.compile(r"^(\d+) +(.*) <unfinished \.\.\.>$")
_RESUMED = re.compile(r"^(\d+) +<\.\.\. \w+ resumed>(.*)$")


@dataclass
class Call:
    """what: write, sync, cut, make, rename, remove or tell. path: of the file; data: written, or where it goes."""

    what: str
    path: str
    data: bytes = b""
    at: int = 0


def _text(hexed: str) -> bytes:
    return bytes.fromhex(hexed.replace("\\x", ""))


def recorded(folder: Path, seed: int) -> list[Call]:
    """One run of practice as its calls."""
    out = folder / "trace"
    what = [str(folder / "data"), str(seed), str(STROKES), STUDENT]
    inner = [sys.executable, "-m", "tests.bench.campaign.practising", *what]
    tracing = ["strace", "-f", "-qq", "-y", "-xx", "-s", "10000000", "-e", f"trace={CALLS}", "-o", str(out)]
    subprocess.run([*tracing, *inner], cwd=ROOT, capture_output=True, check=True, timeout=600)
    data = str(folder / "data")
    return [call for line in _whole(out) if (call := _call(line, data)) is not None]


def _whole(path: Path) -> Iterator[str]:
    """Lines of the trace, calls that another thread interrupted put together at their end."""
    begun: dict[str, str] = {}
    with path.open(encoding="latin-1") as file:
        for line in file:
            if match := _UNFINISHED.match(line):
                begun[match[1]] = match[2]
            elif match := _RESUMED.match(line):
                yield f"{begun.pop(match[1], '')}{match[2]}"
            else:
                yield line


def _path(hexed_or_plain: str) -> str:
    return _text(hexed_or_plain).decode() if "\\x" in hexed_or_plain else hexed_or_plain


def _call(line: str, data: str) -> Call | None:
    match = _CALL.match(line)
    if match is None or int(match[3]) < 0:
        return None
    name, arguments, result = match[1], match[2], int(match[3])
    strings = re.findall(_BYTES, arguments)
    if name == "write" and arguments.startswith("1<"):
        return Call("tell", "", _text(strings[-1])[:result])
    if name in ("openat", "rename", "unlink", "unlinkat"):
        path = _text(strings[0]).decode()
        if not path.startswith(data):
            return None
        if name == "openat":
            return Call("make", path) if "O_CREAT" in arguments else None
        return Call("rename", path, _text(strings[1])) if name == "rename" else Call("remove", path)
    where = re.match(r"\d+<([^>]*)>", arguments)
    path = _path(where[1]) if where else ""
    if not path.startswith(data) or path.endswith("-shm"):
        return None
    last = arguments.rpartition(", ")[2]
    if name == "pwrite64":
        return Call("write", path, _text(strings[-1])[:result], int(last, 0))
    if name == "write":
        return Call("write", path, _text(strings[-1])[:result], -1)
    return Call("cut", path, at=int(last, 0)) if name == "ftruncate" else Call("sync", path)


@dataclass
class _File:
    """durable: on the disk for certain; pending: since the last sync, in order; end: where a plain write goes on."""

    durable: bytearray = field(default_factory=bytearray)
    pending: list[Call] = field(default_factory=list)
    end: int = 0

    def applied(self, calls: list[Call]) -> bytearray:
        out = bytearray(self.durable)
        for call in calls:
            if call.what == "cut":
                out[call.at :] = bytes(max(0, call.at - len(out)))
            else:
                out.extend(bytes(max(0, call.at - len(out))))
                out[call.at : call.at + len(call.data)] = call.data
        return out


def _survives(call: Call, rng: random.Random, share: float) -> list[Call]:
    """What of a write has reached the disk, sector by sector."""
    if call.what == "cut":
        return [call] if rng.random() < share else []
    parts = [Call("write", call.path, call.data[k : k + SECTOR], call.at + k) for k in range(0, len(call.data), SECTOR)]
    return parts if rng.random() < share else [part for part in parts if rng.random() < 0.3 * share]


def after_cut(calls: list[Call], at: int, rng: random.Random, root: Path, folder: Path) -> str:
    """Leaves in the folder what a cut before the at-th call leaves of root. What had been told by then, in whole lines."""
    files: dict[str, _File] = {}
    names: list[Call] = []  # of files, not surely there yet
    there: dict[str, _File] = {}
    told = b""
    for call in calls[:at]:
        if call.what == "tell":
            told += call.data
        elif call.what in ("make", "rename", "remove"):
            if call.what == "make" and call.path in files:
                continue
            names.append(call)
            _named(files, call)
        else:
            if call.what == "sync":
                for name in names:
                    _named(there, name, files)
                names.clear()
            if call.path not in files:  # a folder
                continue
            file = files[call.path]
            if call.what == "sync":
                file.durable, file.pending = file.applied(file.pending), []
            else:
                if call.at < 0:
                    call = Call(call.what, call.path, call.data, file.end)
                file.end = call.at + len(call.data)
                file.pending.append(call)
    for name in names[: rng.randint(0, len(names))]:
        _named(there, name, files)
    share = rng.choice([0.0, 0.3, 0.7, 1.0])
    for path, file in there.items():
        kept = [part for call in file.pending for part in _survives(call, rng, share)]
        target = folder / Path(path).relative_to(root)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(file.applied(kept))
    return told[: told.rfind(b"\n") + 1].decode(errors="replace")


def faults_after(told: str, folder: Path) -> Iterator[str]:
    """What is wrong with what a cut left. told: before it."""
    strokes = [int(number) for number in TELLS.findall(told)]
    if f"begins: {ERASE}" not in told:
        yield from record_faults(folder, strokes)
        return
    yield from record_faults(folder, ())
    with closing(sqlite3.connect(folder / FILE_NAME)) as db:
        kept = [n for (n,) in db.execute("SELECT number FROM strokes ORDER BY number")]
    last = told[told.rfind("\n", 0, max(told.rfind("begins: "), told.rfind("is done: "))) + 1 :].splitlines()[0]
    allowed = {f"is done: {ERASE}": ([],), f"is done: {IMPORT}": (strokes,)}.get(last, ([], strokes))
    if kept not in allowed:
        yield f"after {last!r} of strokes {strokes} {kept} are on record"
    there = list((folder / "students").glob("*.toml"))
    if last == f"is done: {IMPORT}" and not there:
        yield "the student who was told to be imported is not there"
    if kept and not there and last == f"begins: {IMPORT}":
        yield "strokes of a student who is not there"


def _named(names: dict[str, _File], call: Call, contents: dict[str, _File] | None = None) -> None:
    """One change of names; contents: where files of a new name are found."""
    if call.what == "make":
        names.setdefault(call.path, (contents or {}).get(call.path) or _File())
    elif call.what == "remove":
        names.pop(call.path, None)
    else:
        moved = names.pop(call.path, None) or (contents or {}).get(call.data.decode()) or _File()
        names[call.data.decode()] = moved


def one_round(seed: int, folder: Path) -> list[str]:
    """One run recorded, cut often."""
    if shutil.which("strace") is None:
        return ["strace is not here"]
    rng, found = random.Random(seed), []
    calls = recorded(folder, seed)
    tells = [
        k + 1
        for k, call in enumerate(calls)
        if call.what == "tell" and TELLS.search(call.data.decode(errors="replace"))
    ]
    if len(tells) < STROKES or not any(call.what == "sync" for call in calls):
        return [f"only {len(tells)} strokes were told in {len(calls)} calls"]
    for k in range(CUTS):
        at = rng.choice(tells) if rng.random() < 0.5 else rng.randint(1, len(calls))
        target = folder / f"cut{k}"
        target.mkdir()
        told = after_cut(calls, at, rng, folder / "data", target)
        found += [f"cut {k} before call {at}: {fault}" for fault in faults_after(told, target)]
        shutil.rmtree(target)
    return found
