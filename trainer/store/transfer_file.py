"""The export file: a student's profile, drills and strokes in one zip that is checked whole before anything is kept.

    manifest.json            {"format", "schema", "software", "made_at", "student", "name", "parts": {part: {sha256, bytes}}}
    student.toml             the student's file
    drills/ID.toml           the student's own drills
    limits.json              every change of the limits
    distances.json           unit, greens and putts of the distance scale
    teaching.json            homework and lessons
    postures/NAME.json, .jpg kept postures; postures/reference.json says which are references
    sessions.json            sessions with their strokes: events, measures, verdicts, settings
    signals/UID.npz          a stroke's raw signals, as kept

Every part's size and sum stand in the manifest, and nothing else may be in the file.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Mapping

from trainer.errors import TransferError
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
_HALF_LETTER = re.compile(r"\\u[dD][89a-fA-F]")  # JSON can write half of a letter, which no file or record holds
STAMP = (1980, 1, 1, 0, 0, 0)  # the same content always makes the same file

# Far above what a student makes in years, far below what hurts a machine.
MOST_PARTS = 200_000
MOST_BYTES = 4 << 30
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


@dataclass(frozen=True, slots=True)
class StudentArchive:
    """An export file whose sums and sizes are right. Its parts' contents are still to be checked by who reads them."""

    name: str
    manifest: Mapping[str, Any]
    parts: Mapping[str, bytes]

    def text(self, part: str) -> str | None:
        """A part as text; None when it is not there. Raises TransferError."""
        if part not in self.parts:
            return None
        try:
            return self.parts[part].decode("utf-8")
        except UnicodeDecodeError:
            raise TransferError(tr("{part} is not a UTF-8 text", part=part), self.name, TODO) from None

    def json(self, part: str) -> Any:
        """A part as JSON; None when it is not there. Raises TransferError."""
        text = self.text(part)
        return None if text is None else strict_json(text, part, self.name)


TODO = "nothing was changed; ask for the file again"


def strict_json(text: str, part: str, name: str) -> Any:
    """JSON without NaN, a key twice or half letters, not nested too deeply. Raises TransferError."""

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        if len(found) != len(pairs):
            raise ValueError(tr("a key stands twice"))
        return found

    def no_constant(word: str) -> Any:
        raise ValueError(tr("{word} is no number", word=word))

    try:
        values = json.loads(text, object_pairs_hook=once, parse_constant=no_constant)
        if _HALF_LETTER.search(text):
            json.dumps(values, ensure_ascii=False).encode()  # UnicodeEncodeError is a ValueError
        return values
    except (ValueError, RecursionError) as error:
        raise TransferError(
            tr("{part} is not sound JSON ({short})", part=part, short=_short(error)), name, TODO
        ) from None


def packed(parts: Mapping[str, bytes], software: str, made_at: str, student: str, name: str) -> bytes:
    """The zip's bytes. parts: path in the file -> content."""
    listed = {
        part: {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)} for part, data in sorted(parts.items())
    }
    manifest = {
        "format": FORMAT,
        "schema": SCHEMA,
        "software": software,
        "made_at": made_at,
        "student": student,
        "name": name,
        "parts": listed,
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        whole = {MANIFEST: json.dumps(manifest, indent=1, ensure_ascii=False).encode()}
        for part, data in [*whole.items(), *sorted(parts.items())]:
            info = zipfile.ZipInfo(part, STAMP)
            info.external_attr = 0o600 << 16
            packed_already = part.endswith((".npz", ".jpg"))
            info.compress_type = zipfile.ZIP_STORED if packed_already else zipfile.ZIP_DEFLATED
            file.writestr(info, data)
    return out.getvalue()


def read_archive(path: Path) -> StudentArchive:
    """Reads an export file into memory, every byte checked against the manifest. Raises TransferError; writes nothing."""
    name = path.name
    try:
        with zipfile.ZipFile(path) as file:
            return _checked(file, name)
    except TransferError:
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


def shortened(text: str) -> str:
    """Words from outside, fit for an error's line."""
    return "".join(c if c.isprintable() else "?" for c in " ".join(text.split()))[:100]


def _checked(file: zipfile.ZipFile, name: str) -> StudentArchive:
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
        raise TransferError(tr("unpacks to more than 4 GiB"), name, TODO)
    strokes = sum(part.startswith("signals/") for part in names)
    for part, listed, each in (
        (MANIFEST, len(names), EACH_LISTED_PART),
        ("sessions.json", strokes, EACH_LISTED_STROKE),
    ):
        if part in names and file.getinfo(part).file_size > BESIDE_THE_LIST + each * listed:
            raise TransferError(tr("{part} is far too long for what is in the file", part=part), name, TODO)
    manifest = strict_json(_read(file, MANIFEST, name).decode("utf-8", "replace"), MANIFEST, name)
    sums = _manifest(manifest, name)
    if set(sums) != set(names) - {MANIFEST}:
        raise TransferError(tr("its parts are not those of its manifest"), name, TODO)
    parts = {}
    for part, (digest, size) in sums.items():
        data = _read(file, part, name)
        if len(data) != size or hashlib.sha256(data).hexdigest() != digest:
            raise TransferError(tr("{part} is not what was handed over (its sum differs)", part=part), name, TODO)
        parts[part] = data
    return StudentArchive(name, manifest, parts)


def _read(file: zipfile.ZipFile, part: str, name: str) -> bytes:
    """One member, never more than its kind may be long, whatever its header says."""
    info = file.getinfo(part)
    kind = part.partition("/")[0].partition(".")[0]
    most = MOST_POSTURE_TEXT if kind == "postures" and part.endswith(".json") else MOST_PART_BYTES[kind]
    if info.file_size > most or info.file_size > MOST_RATIO * max(info.compress_size, 1) + 4096:
        raise TransferError(
            tr("{part} unpacks to {file_size} bytes, too many", part=part, file_size=info.file_size), name, TODO
        )
    with file.open(info) as member:
        data = member.read(most + 1)
    if len(data) > most:
        raise TransferError(tr("{part} unpacks to too many bytes", part=part), name, TODO)
    return data


def _manifest(manifest: Any, name: str) -> dict[str, tuple[str, int]]:
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
    texts = all(isinstance(manifest.get(key), str) for key in ("software", "made_at"))
    if not (texts and isinstance(student, str) and UID.fullmatch(student) and isinstance(called, str)):
        raise TransferError(tr("its manifest does not say whose it is"), name, TODO)
    if not isinstance(parts, dict) or "student.toml" not in parts:
        raise TransferError(tr("its manifest lists no student"), name, TODO)
    out = {}
    for part, facts in parts.items():
        digest, size = (facts.get("sha256"), facts.get("bytes")) if isinstance(facts, dict) else (None, None)
        if not isinstance(digest, str) or not isinstance(size, int) or isinstance(size, bool):
            raise TransferError(tr("its manifest lists a part without its sum or size"), name, TODO)
        out[part] = (digest, size)
    return out
