"""The export file: a student's profile, drills and strokes in one zip that is checked whole before anything is kept.

    manifest.json            {"format", "schema", "software", "made_at", "student", "name", "other_ids"?,
                              "parts": {part: {sha256, bytes}}}
    student.toml             the student's file
    drills/ID.toml           the student's own drills
    limits.json              every change of the limits
    distances.json           unit, greens and putts of the distance scale
    teaching.json            homework and lessons
    postures/NAME.json, .jpg kept postures; postures/reference.json says which are references
    sessions.json            sessions with their strokes: events, measures, verdicts, settings
    signals/UID.npz          a stroke's raw signals, as kept

Every part's size and sum stand in the manifest, and nothing else may be in the file. Parts are read when they are asked for,
and checked against their sums then: however many strokes there are, one at a time is in memory.
"""

from __future__ import annotations

import hashlib
import re
import zipfile
import zlib
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any, Collection, Iterator, Mapping

from trainer.errors import TrainerError, TransferError
from trainer.store.transfer_json import TODO, JsonStream, shortened, strict_json
from trainer.texts import tr

FORMAT = "putting-trainer hand-over"
# 2: how a stroke felt; 3: distances, kept postures, homework, lessons; 4: good in its drill, not judged; 5: guesses
SCHEMA = 5
SUFFIX = ".handover.zip"
MANIFEST = "manifest.json"
POSTURE_NAME = r"[0-9]{8}-[0-9]{6}-(?:face-on|down-the-line)(?:-[0-9]{1,4})?"
PART = re.compile(
    r"student\.toml|(?:limits|sessions|distances|teaching|postures/reference)\.json|drills/[a-z0-9][a-z0-9-]{0,59}\.toml"
    rf"|signals/[0-9a-f]{{32}}\.npz|postures/{POSTURE_NAME}\.(?:json|jpg)"
)
UID = re.compile(r"[0-9a-f]{32}")
_DIGEST = re.compile(r"[0-9a-f]{64}")

# Far above what a student makes in years, far below what hurts a machine.
MOST_PARTS = 200_000
MOST_IDS = 100  # of one student
MOST_BYTES = 16 << 30
MOST_PART_BYTES = {
    "manifest": 64 << 20,
    "student": 1 << 20,
    "drills": 1 << 20,
    "limits": 4 << 20,
    "sessions": 1 << 30,
    "signals": 8 << 20,
    "distances": 8 << 20,
    "teaching": 8 << 20,
    "postures": 32 << 20,
}
MOST_POSTURE_TEXT = 1 << 20  # the numbers of a kept posture
# JSON takes ten to thirty times its length once it is read: lists may only be as long as what they list (bytes).
EACH_LISTED_PART, EACH_LISTED_STROKE, BESIDE_THE_LIST = 400, 16 << 10, 1 << 20
MOST_RATIO = 200  # zip's own best is about 1000: only nonsense packs so well


class StudentArchive:
    """An open export file whose list of parts is right. Each part's size and sum are checked as it is read, its content is
    still to be checked by who reads it. All methods raise TransferError.
    """

    def __init__(self, file: zipfile.ZipFile, path: Path, manifest: Mapping[str, Any]) -> None:
        self._file, self._path = file, path
        self.manifest = {key: value for key, value in manifest.items() if key != "parts"}
        self._sums = _sums(manifest, path.name)

    @property
    def name(self) -> str:
        return self._path.name

    @property
    def parts(self) -> Collection[str]:
        """Their names, as the manifest lists them."""
        return self._sums.keys()

    def data(self, part: str) -> bytes | None:
        """A part's bytes; None when it is not there."""
        if part not in self._sums:
            return None
        with _told(self._path):
            found = read_member(self._file, part, self.name)
        self._agree(part, len(found), hashlib.sha256(found).digest())
        return found

    def _agree(self, part: str, size: int, digest: bytes) -> None:
        if (digest, size) != self._sums[part]:
            raise TransferError(tr("{part} is not what was handed over (its sum differs)", part=part), self.name, TODO)

    def text(self, part: str) -> str | None:
        """A part as text; None when it is not there."""
        found = self.data(part)
        try:
            return None if found is None else found.decode("utf-8")
        except UnicodeDecodeError:
            raise TransferError(tr("{part} is not a UTF-8 text", part=part), self.name, TODO) from None

    def json(self, part: str) -> Any:
        """A part as JSON; None when it is not there."""
        text = self.text(part)
        return None if text is None else strict_json(text, part, self.name)

    @contextmanager
    def stream(self, part: str) -> Iterator[JsonStream]:
        """A part of JSON, to be taken in value by value to its end: then only its sum is known to be right."""
        with _told(self._path):
            check_size(self._file.getinfo(part), self.name)
            with self._file.open(part) as member:
                summed = _Summed(member)
                stream = JsonStream(summed, part, self.name)
                yield stream
                stream.end()
        self._agree(part, summed.size, summed.sha256.digest())


class _Summed:
    """Bytes, and the sum of those that were read."""

    def __init__(self, file: IO[bytes]) -> None:
        self._file, self.size, self.sha256 = file, 0, hashlib.sha256()

    def read(self, size: int) -> bytes:
        found = self._file.read(size)
        self.size += len(found)
        self.sha256.update(found)
        return found


@contextmanager
def open_archive(path: Path) -> Iterator[StudentArchive]:
    """An export file, its list of parts checked. Raises TransferError; writes nothing."""
    with _told(path):
        file = zipfile.ZipFile(path)
    with file:
        with _told(path):
            archive = StudentArchive(file, path, _checked(file, path.name))
            if archive.parts != {name for name in file.namelist() if name != MANIFEST}:
                raise TransferError(tr("its parts are not those of its manifest"), path.name, TODO)
        yield archive


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Whatever zipfile raises as TransferError."""
    name = path.name
    try:
        yield
    except TrainerError:
        raise
    except FileNotFoundError:
        raise TransferError(tr("there is no such file"), str(path), tr("check the path")) from None
    except IsADirectoryError:
        raise TransferError(tr("is a folder"), str(path), tr("give the export file in it")) from None
    except (
        zipfile.BadZipFile,
        zipfile.LargeZipFile,
        zlib.error,
        EOFError,
        UnicodeDecodeError,
    ) as error:
        raise TransferError(
            tr("is no export file, or it is damaged ({short})", short=_short(error)), name, TODO
        ) from None
    except RuntimeError as error:  # an encrypted member, or a compression that zipfile does not know
        raise TransferError(tr("cannot be read ({short})", short=_short(error)), name, TODO) from None
    except OSError as error:
        raise TransferError(
            tr("cannot be read ({words})", words=error.strerror or _short(error)), name, tr("check the path")
        ) from None
    except (ValueError, OverflowError, MemoryError, IndexError, KeyError, zipfile.error) as error:
        raise TransferError(tr("is damaged ({short})", short=_short(error)), name, TODO) from None


def _short(error: BaseException) -> str:
    return shortened(str(error)) or type(error).__name__


def _checked(file: zipfile.ZipFile, name: str) -> dict[str, Any]:
    """The manifest, once the list of members is as it should be."""
    members = file.infolist()
    names = [member.filename for member in members]
    if len(members) > MOST_PARTS + 1:
        raise TransferError(
            tr("holds {number} parts, more than {most_parts}", number=len(members), most_parts=MOST_PARTS), name, TODO
        )
    if names.count(MANIFEST) != 1:
        raise TransferError(tr("has no manifest: it is no export file"), name, tr("check that it is the right file"))
    if len(set(names)) != len(names):
        raise TransferError(tr("holds a part twice"), name, TODO)
    for part in names:
        if part != MANIFEST and not PART.fullmatch(part):
            raise TransferError(
                tr("holds a part that does not belong there: {shortened}", shortened=shortened(part)), name, TODO
            )
    if sum(member.file_size for member in members) > MOST_BYTES:
        raise TransferError(tr("unpacks to more than {most} GiB", most=MOST_BYTES >> 30), name, TODO)
    strokes = sum(part.startswith("signals/") for part in names)
    for part, listed, each in (
        (MANIFEST, len(names), EACH_LISTED_PART),
        ("sessions.json", strokes, EACH_LISTED_STROKE),
    ):
        if part in names and file.getinfo(part).file_size > BESIDE_THE_LIST + each * listed:
            raise TransferError(tr("{part} is far too long for what is in the file", part=part), name, TODO)
    return _manifest(strict_json(read_member(file, MANIFEST, name).decode("utf-8", "replace"), MANIFEST, name), name)


def check_size(info: zipfile.ZipInfo, name: str) -> int:
    """How long a member of its kind may be, whatever its header says. Raises TransferError when that says more."""
    part = info.filename
    most = most_bytes(part)
    if info.file_size > most or info.file_size > MOST_RATIO * max(info.compress_size, 1) + 4096:
        raise TransferError(
            tr("{part} unpacks to {file_size} bytes, too many", part=part, file_size=info.file_size), name, TODO
        )
    return most


def most_bytes(part: str) -> int:
    """How long a part of its kind may be."""
    kind = part.partition("/")[0].partition(".")[0]
    return MOST_POSTURE_TEXT if kind == "postures" and part.endswith(".json") else MOST_PART_BYTES[kind]


def read_member(file: zipfile.ZipFile, part: str, name: str) -> bytes:
    """One member, whole."""
    info = file.getinfo(part)
    most = check_size(info, name)
    with file.open(info) as member:
        data = member.read(most + 1)
    if len(data) > most:
        raise TransferError(tr("{part} unpacks to too many bytes", part=part), name, TODO)
    return data


def _manifest(manifest: Any, name: str) -> dict[str, Any]:
    """As it was, checked; ``_sums`` checks what it says of each part."""
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise TransferError(tr("is no export file of this program"), name, tr("check that it is the right file"))
    schema = manifest.get("schema")
    if not isinstance(schema, int) or isinstance(schema, bool) or schema < 1:
        raise TransferError(tr("its manifest names no schema"), name, TODO)
    if schema > SCHEMA:
        raise TransferError(
            tr(
                "was made by a newer version (schema {schema}, this one knows {schema2})", schema=schema, schema2=SCHEMA
            ),
            name,
            tr("update putting-trainer"),
        )
    student, called, parts = manifest.get("student"), manifest.get("name"), manifest.get("parts")
    others = manifest.get("other_ids", [])
    listed = isinstance(others, list) and len(others) <= MOST_IDS
    ids = listed and all(isinstance(one, str) and UID.fullmatch(one) for one in others)
    texts = all(isinstance(manifest.get(key), str) for key in ("software", "made_at"))
    if not (texts and ids and isinstance(student, str) and UID.fullmatch(student) and isinstance(called, str)):
        raise TransferError(tr("its manifest does not say whose it is"), name, TODO)
    if not isinstance(parts, dict) or "student.toml" not in parts:
        raise TransferError(tr("its manifest lists no student"), name, TODO)
    return manifest


def _sums(manifest: Mapping[str, Any], name: str) -> dict[str, tuple[bytes, int]]:
    """Part -> (digest, size)."""
    out = {}
    for part, facts in manifest["parts"].items():
        digest, size = (facts.get("sha256"), facts.get("bytes")) if isinstance(facts, dict) else (None, None)
        if not isinstance(digest, str) or not _DIGEST.fullmatch(digest) or type(size) is not int:
            raise TransferError(tr("its manifest lists a part without its sum or size"), name, TODO)
        out[part] = (bytes.fromhex(digest), size)
    return out
