"""An export file while it is written: part after part, so that one at a time is in memory."""

from __future__ import annotations

import hashlib
import json
import zipfile
from types import TracebackType
from typing import IO, Any, Collection, Iterable, Sequence

from trainer.errors import TransferError
from trainer.store.transfer_file import FORMAT, MANIFEST, MOST_BYTES, MOST_PARTS, SCHEMA, most_bytes
from trainer.texts import tr

STAMP = (1980, 1, 1, 0, 0, 0)  # the same content always makes the same file
_BESIDE_BYTES = 64 << 10  # chunks to be packed are at least so long, unless they are the last


class ArchiveWriter:
    """Writes a zip into a file. Raises TransferError where it would be more than an import takes in, OSError."""

    def __init__(self, file: IO[bytes]) -> None:
        self._zip = zipfile.ZipFile(file, "w")
        self._listed: dict[str, dict[str, Any]] = {}
        self._size = 0

    def __enter__(self) -> ArchiveWriter:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._zip.close()

    @property
    def parts(self) -> Collection[str]:
        """Names of those that are in it."""
        return self._listed.keys()

    def add(self, part: str, data: bytes) -> None:
        """A whole part."""
        self.add_chunks(part, (data,))

    def add_chunks(self, part: str, chunks: Iterable[bytes]) -> None:
        """A part that is made bit by bit."""
        digest, size = hashlib.sha256(), 0
        with self._zip.open(_info(part), "w") as member:
            for chunk in chunks:
                size += len(chunk)
                self._size += len(chunk)
                if size > most_bytes(part) or self._size > MOST_BYTES or len(self._listed) >= MOST_PARTS:
                    raise TransferError(
                        tr("there is more than an export file can hold"), part, tr("nothing was written")
                    )
                digest.update(chunk)
                member.write(chunk)
        self._listed[part] = {"sha256": digest.hexdigest(), "bytes": size}

    def add_manifest(self, software: str, made_at: str, student: str, name: str, other_ids: Sequence[str] = ()) -> None:
        """The list of the parts, which ends the file. other_ids: that the student has on other computers."""
        manifest = {
            "format": FORMAT,
            "schema": SCHEMA,
            "software": software,
            "made_at": made_at,
            "student": student,
            "name": name,
            **({"other_ids": list(other_ids)} if other_ids else {}),
            "parts": dict(sorted(self._listed.items())),
        }
        with self._zip.open(_info(MANIFEST), "w") as member:
            for piece in gathered(json.JSONEncoder(indent=1, ensure_ascii=False).iterencode(manifest)):
                member.write(piece)


def gathered(texts: Iterable[str]) -> Iterable[bytes]:
    """Short texts as longer chunks of bytes."""
    held: list[str] = []
    letters = 0
    for text in texts:
        held.append(text)
        letters += len(text)
        if letters >= _BESIDE_BYTES:
            yield "".join(held).encode()
            held, letters = [], 0
    yield "".join(held).encode()


def _info(part: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(part, STAMP)
    info.external_attr = 0o600 << 16
    packed_already = part.endswith((".npz", ".jpg"))
    info.compress_type = zipfile.ZIP_STORED if packed_already else zipfile.ZIP_DEFLATED
    return info
