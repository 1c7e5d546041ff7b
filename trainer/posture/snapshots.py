"""Kept postures: a picture and its numbers beside each other in the student's own folder, so that erasing takes both.

NAME.jpg is the picture as the camera gave it, NAME.json all that was seen in it; the lines are drawn anew from that when it is
looked at. ``reference.txt`` names the one that a coach chose as the student's reference.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import trainer.vision  # noqa: F401  (what OpenCV reads from the environment when it is first imported)
from trainer.coaching.posture.address import AddressSeen, BallMark, Mark
from trainer.coaching.posture.address_measures import measure
from trainer.coaching.posture.hint import Hint
from trainer.domain.perspective import CameraView
from trainer.domain.record import Measure
from trainer.errors import StoreError, UsageError
from trainer.store.folder import files_in, write_atomically
from trainer.texts import tr

SCHEMA = 1
FOLDER, REFERENCE = "posture", "reference.txt"
JPEG_QUALITY = 92
MOST = 1e6  # px, cm or degrees: no picture, player or angle has more
DAMAGED = tr("remove it, or take the posture again")


@dataclass(frozen=True)
class Snapshot:
    """One kept posture. name: its own, made of the time and the view; taken_at: ISO, UTC; label: the coach's word for it."""

    name: str
    taken_at: str
    label: str
    seen: AddressSeen
    image_path: Path

    @property
    def measures(self) -> dict[str, Measure]:
        """Measured anew from what was seen, so that two snapshots are always compared by the same method."""
        return measure(self.seen)

    def image(self) -> Any:
        """(h, w, 3) uint8 BGR. Raises StoreError."""
        return read_image(self.image_path)


class Snapshots:
    """The kept postures of one student. folder: the student's own folder for pictures."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / FOLDER

    def save(self, seen: AddressSeen, image_bgr: Any, now: datetime, label: str = "") -> Snapshot:
        """Keeps one; both files are on the disk when this returns, or neither counts. Raises StoreError."""
        import cv2

        stem = f"{now:%Y%m%d-%H%M%S}-{seen.view}"
        name, k = stem, 1
        while (self.folder / f"{name}.json").exists():
            k += 1
            name = f"{stem}-{k}"
        ok, data = cv2.imencode(".jpg", image_bgr, [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY])
        if not ok:
            raise StoreError(tr("the picture cannot be written as JPEG"), name, tr("try again"))
        write_atomically(self.folder / f"{name}.jpg", data.tobytes())
        values = {
            "schema": SCHEMA,
            "taken_at": now.isoformat(timespec="seconds"),
            "label": label,
            "seen": plain(seen),
            "measures": {
                n: {"value": m.value, "unit": m.unit, "confidence": float(m.confidence), "reason": m.reason}
                for n, m in measure(seen).items()
            },
        }
        write_atomically(self.folder / f"{name}.json", json.dumps(values, indent=1).encode())
        return self.read(self.folder / f"{name}.json")

    def all(self) -> list[Snapshot]:
        """All that can be read, the earliest first."""
        found = []
        for path in files_in(self.folder, ".json"):
            try:
                found.append(self.read(path))
            except StoreError:
                continue
        return sorted(found, key=lambda s: (s.taken_at, len(s.name), s.name))

    def find(self, which: str, view: str | None = None) -> Snapshot:
        """first, last, reference, a label, or (the beginning of) a name. Raises UsageError, StoreError."""
        known = [s for s in self.all() if view is None or s.seen.view == view]
        if which == "reference":
            return self._reference(known)
        if known and which in ("first", "last"):
            return known[0 if which == "first" else -1]
        hits = [s for s in known if which and (s.label == which or s.name == which)]
        hits = hits or [s for s in known if which and s.name.startswith(which)]
        if len(hits) == 1 or (hits and len({s.name for s in hits}) == 1):
            return hits[0]
        if hits:
            raise UsageError(
                tr("{number} kept postures are called {which!r}", number=len(hits), which=which),
                "",
                tr("give the whole name: --list shows them"),
            )
        todo = tr("--list shows the names") if known else tr("keep one first with --save")
        raise UsageError(tr("no kept posture {which!r}", which=which), str(self.folder), todo)

    def set_reference(self, snapshot: Snapshot) -> None:
        """Makes it the reference of its view."""
        kept = {view: name for view, name in self.references().items() if view != snapshot.seen.view}
        kept[snapshot.seen.view] = snapshot.name
        text = "".join(f"{view} {name}\n" for view, name in sorted(kept.items()))
        write_atomically(self.folder / REFERENCE, text.encode())

    def reference(self, view: str) -> Snapshot | None:
        """The reference of that view, None when there is none (any more)."""
        name = self.references().get(view)
        return next((s for s in self.all() if s.name == name), None)

    def read(self, path: Path) -> Snapshot:
        """Raises StoreError when it is damaged."""
        try:
            values = json.loads(path.read_text(encoding="utf-8"))
            if values["schema"] != SCHEMA:
                raise StoreError(
                    tr("is of schema {schema}, this program knows {known}", schema=values["schema"], known=SCHEMA),
                    str(path),
                    tr("update it"),
                )
            seen = address_of(values["seen"])
            return Snapshot(path.stem, str(values["taken_at"]), str(values["label"]), seen, path.with_suffix(".jpg"))
        except OSError as error:
            raise StoreError(
                tr("cannot be read ({strerror})", strerror=error.strerror), str(path), tr("check the path")
            ) from None
        except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
            raise StoreError(tr("is damaged"), str(path), DAMAGED) from None

    def references(self) -> dict[str, str]:
        """View -> name of its reference, which need not be there any more."""
        try:
            text = (self.folder / REFERENCE).read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError):
            return {}
        return dict(re.findall(r"^(\S+) (\S+)$", text, re.MULTILINE))

    def _reference(self, known: list[Snapshot]) -> Snapshot:
        names = set(self.references().values())
        hits = [s for s in known if s.name in names]
        if not hits:
            raise UsageError(tr("no reference posture yet"), str(self.folder), tr("choose one with --reference NAME"))
        return hits[-1]


def read_image(path: Path) -> Any:
    """(h, w, 3) uint8 BGR of a picture file. Raises StoreError."""
    import cv2
    import numpy as np

    try:
        data = np.frombuffer(path.read_bytes(), np.uint8)
    except OSError as error:
        raise StoreError(
            tr("cannot be read ({strerror})", strerror=error.strerror), str(path), tr("check the name")
        ) from None
    try:
        image = cv2.imdecode(data, cv2.IMREAD_COLOR) if len(data) else None
    except (cv2.error, MemoryError):
        raise StoreError(
            tr("is no picture that can be read, or too large a one"), str(path), tr("give a smaller one")
        ) from None
    if image is None:
        raise StoreError(tr("is no picture that can be read"), str(path), tr("give a JPEG or PNG file"))
    return image


def plain(seen: AddressSeen) -> dict[str, Any]:
    """An address as plain values."""
    camera = seen.camera
    return {
        "view": seen.view,
        "handedness": seen.handedness,
        "size": list(seen.size),
        "height_cm": seen.height_cm,
        "points": {name: [float(v) for v in mark] for name, mark in seen.points.items()},
        "ball": None if seen.ball is None else [float(v) for v in seen.ball],
        "camera": {
            "focal_px": float(camera.focal_px),
            "centre_px": [float(v) for v in camera.centre_px],
            "roll_deg": float(camera.roll_deg),
            "pitch_deg": float(camera.pitch_deg),
            "azimuth_deg": float(camera.azimuth_deg),
        },
        "tilt_confidence": float(seen.tilt_confidence),
        "azimuth_confidence": float(seen.azimuth_confidence),
        "notes": [str(note) for note in seen.notes],
    }


def _real(value: Any) -> float:
    """A number that a place in a picture, an angle or a length can be. Raises TypeError or ValueError."""
    number = float(value)
    if not abs(number) <= MOST:
        raise ValueError(value)
    return number


def address_of(values: Any) -> AddressSeen:
    """The address again. Raises KeyError, TypeError or ValueError for values that are none."""
    view = values["view"]
    if view not in ("face-on", "down-the-line") or values["handedness"] not in ("right", "left"):
        raise ValueError(view)
    camera = values["camera"]
    x, y = (_real(v) for v in camera["centre_px"])
    angles = (_real(camera[name]) for name in ("roll_deg", "pitch_deg", "azimuth_deg"))
    width, height = (int(v) for v in values["size"])
    return AddressSeen(
        view,
        (width, height),
        {str(name): Mark(*(_real(v) for v in mark)) for name, mark in values["points"].items()},
        CameraView(_real(camera["focal_px"]), (x, y), view, *angles),
        None if values["ball"] is None else BallMark(*(_real(v) for v in values["ball"])),
        None if values["height_cm"] is None else _real(values["height_cm"]),
        _real(values["tilt_confidence"]),
        _real(values["azimuth_confidence"]),
        tuple(Hint.read(str(note)) for note in values["notes"]),
        values["handedness"],
    )
