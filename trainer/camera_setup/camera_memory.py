"""What is kept of each camera: how it stood when all was set, its best mode, its delay. One small file in the data folder."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from trainer.camera_setup.mode_cost import Cost
from trainer.camera_setup.setup_findings import SetupFacts
from trainer.domain.naming import view_words
from trainer.domain.observation import View
from trainer.domain.perspective import CameraView
from trainer.store.folder import json_object, write_atomically
from trainer.stroke.click_delay import SESSIONS, Delay
from trainer.texts import tr
from trainer.vision.camera_geometry.tilt import TiltSeen
from trainer.vision.sources.camera_device import Mode

FILE = "cameras.json"
MOVED_CM, TURNED_DEG = 30.0, 4.0  # more than the estimates differ by from one time to the next


class Remembered(BaseModel):
    """One camera as it stood. size: width, height px; confidences as in ``TiltSeen``."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)
    at: str
    view: View
    distance_cm: float
    height_cm: float
    size: Annotated[tuple[int, int], Field(strict=False)]  # a list in the file
    focal_px: float
    roll_deg: float
    pitch_deg: float
    azimuth_deg: float
    confidence: float
    azimuth_confidence: float

    @property
    def stand(self) -> TiltSeen:
        """For pictures of that camera that have nothing straight in them."""
        middle = (self.size[0] / 2, self.size[1] / 2)
        view = CameraView(self.focal_px, middle, self.view, self.roll_deg, self.pitch_deg, self.azimuth_deg)
        return TiltSeen(view, self.confidence, self.azimuth_confidence, 0.0)


def remember(base: Path, camera: str, facts: SetupFacts, stand: TiltSeen, now: datetime) -> Remembered | None:
    """Keeps how this camera stands; None when too little is known. Raises StoreError when it cannot be written."""
    if facts.distance_cm is None or facts.height_cm is None:
        return None
    view = stand.camera
    size = (round(2 * view.centre_px[0]), round(2 * view.centre_px[1]))
    new = Remembered(
        at=now.isoformat(timespec="seconds"),
        view=facts.view,
        distance_cm=float(facts.distance_cm),
        height_cm=float(facts.height_cm),
        size=size,
        focal_px=float(view.focal_px),
        roll_deg=float(view.roll_deg),
        pitch_deg=float(view.pitch_deg),
        azimuth_deg=float(view.azimuth_deg),
        confidence=float(stand.confidence),
        azimuth_confidence=float(stand.azimuth_confidence),
    )
    _keep(base, camera, new)
    return new


def _keep(base: Path, name: str, entry: BaseModel) -> None:
    known = {other: value for other, value in json_object(base / FILE).items() if isinstance(value, dict)}
    known[name] = entry.model_dump()
    write_atomically(base / FILE, (json.dumps(known, indent=1) + "\n").encode())


def recall(base: Path, camera: str) -> Remembered | None:
    """What is remembered of this camera; None when nothing is, or nothing that can be read."""
    try:
        return Remembered.model_validate(json_object(base / FILE).get(camera))
    except ValidationError:
        return None


def differs(before: Remembered, now: Remembered) -> str:
    """How a camera stands otherwise than last time, in words; empty when it does not."""
    if before.view != now.view:
        return tr("last time it was {view}", view=view_words(before.view))
    if abs(before.distance_cm - now.distance_cm) > MOVED_CM:
        return tr("last time it was {distance_cm:.1f} m away", distance_cm=before.distance_cm / 100)
    if abs(before.height_cm - now.height_cm) > MOVED_CM:
        return tr("last time it was {height_cm:.0f} cm high", height_cm=before.height_cm)
    if abs(before.roll_deg - now.roll_deg) > TURNED_DEG:
        return tr("it is tilted otherwise than last time")
    return ""


class RememberedMode(BaseModel):
    """The best mode that camera and computer managed. width, height: px; fps: frames/s.

    The rest: as in ``Cost``; None: not measured.
    """

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)
    at: str
    width: Annotated[int, Field(gt=0)]
    height: Annotated[int, Field(gt=0)]
    fps: Annotated[float, Field(gt=0)]
    model_s: float | None = None
    carry_s: float | None = None
    rest_s: float | None = None


def remember_mode(base: Path, camera: str, mode: Mode, now: datetime, cost: Cost | None = None) -> None:
    """Keeps it beside how this camera stands. cost: of its pictures. Raises StoreError when it cannot be written."""
    at, parts = now.isoformat(timespec="seconds"), asdict(cost) if cost is not None else {}
    _keep(base, _of_mode(camera), RememberedMode(at=at, width=mode.width, height=mode.height, fps=mode.fps, **parts))


def recall_mode(base: Path, camera: str) -> Mode | None:
    """This camera's best mode; None when it was never measured, or nothing is there that can be read."""
    found = _recall(base, camera)
    return None if found is None else Mode(found.width, found.height, found.fps)


def recall_cost(base: Path, camera: str) -> Cost | None:
    """What a picture of that mode costs; None when it is not known."""
    found = _recall(base, camera)
    if found is None or found.model_s is None or found.carry_s is None or found.rest_s is None:
        return None
    return Cost(found.model_s, found.carry_s, found.rest_s)


def _recall(base: Path, camera: str) -> RememberedMode | None:
    try:
        return RememberedMode.model_validate(json_object(base / FILE).get(_of_mode(camera)))
    except ValidationError:
        return None


def _of_mode(camera: str) -> str:
    return f"mode of {camera}"


Part = Annotated[float, Field(ge=-1.0, le=1.0)]


class RememberedSound(BaseModel):
    """Sessions with a microphone, the last one last. delays: value_s, sd_s, spread_s, strokes of ``Delay``."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)
    at: str
    delays: Annotated[
        tuple[Annotated[tuple[Part, Part, Part, Annotated[int, Field(gt=0)]], Field(strict=False)], ...],
        Field(strict=False, max_length=SESSIONS),
    ]


def remember_sound(base: Path, camera: str, microphone: str, delay: Delay, now: datetime) -> None:
    """A session's delay of this camera against this microphone. Raises StoreError when it cannot be written."""
    sessions = (*recall_sound(base, camera, microphone), delay)[-SESSIONS:]
    rows = tuple((round(d.value_s, 5), round(d.sd_s, 5), round(d.spread_s, 5), d.strokes) for d in sessions)
    _keep(base, _of_sound(camera, microphone), RememberedSound(at=now.isoformat(timespec="seconds"), delays=rows))


def recall_sound(base: Path, camera: str, microphone: str) -> tuple[Delay, ...]:
    """Sessions before; none where none are kept, or nothing that can be read."""
    try:
        found = RememberedSound.model_validate(json_object(base / FILE).get(_of_sound(camera, microphone)))
    except ValidationError:
        return ()
    return tuple(Delay(*row) for row in found.delays if row[1] > 0 and row[2] > 0)


def _of_sound(camera: str, microphone: str) -> str:
    return f"sound of {camera} by {microphone}"
