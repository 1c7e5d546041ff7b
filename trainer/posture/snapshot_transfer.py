"""Kept postures in an export file: out of the student's folder, and checked and put into one."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Iterable, Iterator, Mapping, Sequence

from trainer.errors import StoreError, TransferError
from trainer.posture.snapshots import SCHEMA, Snapshots, address_of
from trainer.store.folder import write_atomically
from trainer.store.transfer_file import POSTURE_NAME, StudentArchive
from trainer.store.transfer_json import TODO
from trainer.texts import tr

PREFIX = "postures/"
REFERENCES = f"{PREFIX}reference.json"
_NAME = re.compile(POSTURE_NAME)


def snapshots_out(snapshots: Snapshots) -> Iterator[tuple[str, bytes]]:
    """(part, content) of all postures that can be read. Raises StoreError."""
    names = {one.name for one in snapshots.all() if _NAME.fullmatch(one.name)}
    for name in sorted(names):
        for path in (snapshots.folder / f"{name}.json", snapshots.folder / f"{name}.jpg"):
            try:
                yield PREFIX + path.name, path.read_bytes()
            except OSError as error:
                raise StoreError(
                    tr("cannot be read ({strerror})", strerror=error.strerror), str(path), tr("check the file")
                ) from None
    named = {view: name for view, name in snapshots.references().items() if name in names}
    if named:
        yield REFERENCES, json.dumps(named).encode()


def names_in(parts: Iterable[str]) -> list[str]:
    """The names of the postures among the parts of an export file."""
    return [Path(part).stem for part in parts if part.startswith(PREFIX) and part.endswith(".jpg")]


@dataclass(frozen=True, slots=True)
class ReadySnapshots:
    """Postures of an export file, checked, which are read again when they are kept. references: view -> name."""

    names: Sequence[str]
    references: Mapping[str, str]


def ready_snapshots(archive: StudentArchive) -> ReadySnapshots:
    """Raises TransferError; nothing is written."""
    names = dict.fromkeys(Path(part).stem for part in archive.parts if part.startswith(PREFIX) and part != REFERENCES)
    for name in names:
        values, picture = (f"{PREFIX}{name}{ending}" for ending in (".json", ".jpg"))
        if not {values, picture} <= set(archive.parts):
            raise TransferError(tr("posture {name} is not whole", name=name), archive.name, TODO)
        _check_values(archive.json(values), name, archive.name)
        _check_picture(archive.data(picture) or b"", name, archive.name)
    references = archive.json(REFERENCES) if REFERENCES in archive.parts else {}
    if not isinstance(references, dict) or not all(
        view in ("face-on", "down-the-line") and isinstance(name, str) and name in names
        for view, name in references.items()
    ):
        what = tr("{part} names a posture that is not in it", part=REFERENCES)
        raise TransferError(what, archive.name, TODO)
    return ReadySnapshots(tuple(names), references)


def _check_values(values: Any, name: str, where: str) -> None:
    try:
        sound = values["schema"] == SCHEMA and isinstance(values["label"], str) and len(values["label"]) <= 300
        sound = sound and isinstance(values["taken_at"], str) and len(values["taken_at"]) <= 40
        seen = address_of(values["seen"])
        sound = sound and name[16:].startswith(seen.view)
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError):
        sound = False
    if not sound:
        raise TransferError(tr("posture {name} is damaged or of a newer version", name=name), where, TODO)


def _check_picture(data: bytes, name: str, where: str) -> None:
    import cv2
    import numpy as np

    try:
        image = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_REDUCED_GRAYSCALE_8) if data else None
    except cv2.error:
        image = None
    if image is None or not data.startswith(b"\xff\xd8"):
        raise TransferError(tr("the picture of posture {name} is damaged", name=name), where, TODO)


def add_snapshots(snapshots: Snapshots, what: ReadySnapshots, archive: StudentArchive) -> int:
    """Puts in those that are not there yet; a reference chosen here stays. How many are new. Raises StoreError."""
    new, here = 0, {}
    for name in what.names:
        values = archive.data(f"{PREFIX}{name}.json") or b""
        here[name], known = _place(snapshots.folder, name, values)
        if not known:
            write_atomically(snapshots.folder / f"{here[name]}.jpg", archive.data(f"{PREFIX}{name}.jpg") or b"")
            write_atomically(snapshots.folder / f"{here[name]}.json", values)
            new += 1
    for view, name in what.references.items():
        if snapshots.reference(view) is None:
            snapshots.set_reference(snapshots.read(snapshots.folder / f"{here[name]}.json"))
    return new


def move_snapshots(snapshots: Snapshots, to: Snapshots) -> None:
    """All postures of one student become another's, whose own references stay. Raises StoreError, OSError."""
    here = {}
    for one in snapshots.all():
        path = snapshots.folder / f"{one.name}.json"
        here[one.name], known = _place(to.folder, one.name, path.read_bytes())
        if not known:
            write_atomically(to.folder / f"{here[one.name]}.jpg", one.image_path.read_bytes())
            write_atomically(to.folder / f"{here[one.name]}.json", path.read_bytes())
    for view, name in snapshots.references().items():
        if to.reference(view) is None and name in here:
            to.set_reference(to.read(to.folder / f"{here[name]}.json"))


def _place(folder: Path, name: str, values: bytes) -> tuple[str, bool]:
    """(name here, whether it is there already): another posture of the same second gets the next free name."""
    stem = name if name.endswith(("on", "line")) else name.rpartition("-")[0]
    tried, k = name, 1
    while (path := folder / f"{tried}.json").exists():
        if path.read_bytes() == values:
            return tried, True
        k += 1
        tried = f"{stem}-{k}"
    return tried, False
