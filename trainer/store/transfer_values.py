"""The plain values of an export file's JSON parts, and what each of them may be."""

from __future__ import annotations

from datetime import datetime, timezone
from typing import Annotated, Any, Literal

from pydantic import BaseModel, FailFast, Field, ValidationError

from trainer.errors import TransferError
from trainer.settings.keys import STRICT
from trainer.store.transfer_json import TODO, shortened
from trainer.texts import tr

Uid = Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]
Text = Annotated[str, Field(max_length=300)]
Time = Annotated[str, Field(max_length=40)]
FIRST = FailFast()  # of a long list one wrong entry is told
Real = Annotated[float, Field(ge=-1e9, le=1e9)]


class MeasureValue(BaseModel):
    """One measure."""

    model_config = STRICT
    value: Real | None
    unit: Annotated[str, Field(max_length=20)]
    confidence: Annotated[float, Field(ge=0, le=1)]
    reason: Text


class FaultValue(BaseModel):
    """One fault."""

    model_config = STRICT
    name: Annotated[str, Field(max_length=40)]
    at_s: Real
    value: Real
    unit: Annotated[str, Field(max_length=20)]
    limit: Real


class CueValue(BaseModel):
    """One cue."""

    model_config = STRICT
    name: Annotated[str, Field(max_length=40)]
    at_s: Real


class StrokeValue(BaseModel):
    """settings: index in the document's list of settings."""

    model_config = STRICT
    uid: Uid
    number: Annotated[int, Field(ge=1, le=1_000_000)]
    kept_at: Time
    kind: Literal["ball", "rehearsal"]
    view: Literal["face-on", "down-the-line"]
    meta: Annotated[dict[str, Text], Field(max_length=50)]
    software: Annotated[str, Field(max_length=60)]
    settings: Annotated[int, Field(ge=0)]
    told: bool | None
    felt: bool | None = None  # from schema 2 on
    drill: Annotated[str, Field(max_length=60)] | None
    stage: Literal["block", "silent"] | None
    good: bool | None = None  # from schema 4 on
    unsure: Annotated[list[Annotated[str, Field(max_length=40)]], Field(max_length=20)] | None = None  # likewise
    events: Annotated[dict[str, Real | None], Field(max_length=100)]
    measures: Annotated[dict[str, MeasureValue], Field(max_length=200)]
    faults: Annotated[list[FaultValue], Field(max_length=50)]
    cues: Annotated[list[CueValue], Field(max_length=50)]


class SessionValue(BaseModel):
    """One session, its strokes apart."""

    model_config = STRICT
    uid: Uid
    started_at: Time
    source: Text


class ChangeValue(BaseModel):
    """One change of the limits."""

    model_config = STRICT
    uid: Uid
    at: Time
    who: Annotated[str, Field(max_length=60)]
    why: Text
    limits: dict[str, Any]


class ChangesDocument(BaseModel):
    """limits.json."""

    model_config = STRICT
    changes: Annotated[list[ChangeValue], FIRST]


class DistanceEntry(BaseModel):
    """What all entries of the distance scale have."""

    model_config = STRICT
    uid: Uid
    kept_at: Time


class GreenValue(DistanceEntry):
    """One green."""

    stimp_ft: Real
    low_ft: Real
    high_ft: Real
    source: Text


class PuttValue(DistanceEntry):
    """One putt of the distance scale. stroke: uid of the stroke it belongs to."""

    stroke: Uid | None
    back_cm: Real
    rolled_m: Real
    stimp_ft: Real
    slope_pct: Real
    target_m: Real | None
    back_s: Real | None
    to_impact_s: Real | None
    ball_speed_m_s: Real | None
    rounded_to_m: Real
    estimated: bool
    frames_per_s: Real | None
    guess: Literal["short", "right", "long"] | None = None  # from schema 5 on


class DistancesDocument(BaseModel):
    """distances.json. unit: None where the player has chosen none."""

    model_config = STRICT
    unit: Literal["m", "ft"] | None = None
    trail_foot_cm: Real | None = None
    greens: Annotated[list[GreenValue], FIRST] = []
    putts: Annotated[list[PuttValue], FIRST] = []


def checked_document(model: Any, values: Any, part: str, name: str) -> Any:
    """A part's values by its model. Raises TransferError."""
    try:
        return model.model_validate(values)
    except (ValidationError, RecursionError) as error:
        first = error.errors(include_url=False)[0] if isinstance(error, ValidationError) else None
        where = shortened(".".join(str(p) for p in first["loc"])) if first else ""
        why = f"{where}: {first['msg']}" if first else "nested too deeply"
        raise TransferError(tr("{part} is not as it should be ({why})", part=part, why=why), name, TODO) from None


def checked_time(text: str, part: str, name: str) -> datetime:
    """A moment in UTC. Raises TransferError. Windows knows no local time before 1970 or after 3000."""
    try:
        moment = datetime.fromisoformat(text)
        if moment.tzinfo is None or not 1970 <= moment.year < 3000:
            raise ValueError
        return moment.astimezone(timezone.utc)
    except (ValueError, OverflowError):
        raise TransferError(tr("{part} holds a time that is none", part=part), name, TODO) from None
