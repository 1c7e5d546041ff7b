"""The plain values of an export file's JSON parts, and what each of them may be."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

_STRICT = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)
Uid = Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]
Text = Annotated[str, Field(max_length=300)]
Time = Annotated[str, Field(max_length=40)]
Real = Annotated[float, Field(ge=-1e9, le=1e9)]


class MeasureValue(BaseModel):
    """One measure."""

    model_config = _STRICT
    value: Real | None
    unit: Annotated[str, Field(max_length=20)]
    confidence: Annotated[float, Field(ge=0, le=1)]
    reason: Text


class FaultValue(BaseModel):
    """One fault."""

    model_config = _STRICT
    name: Annotated[str, Field(max_length=40)]
    at_s: Real
    value: Real
    unit: Annotated[str, Field(max_length=20)]
    limit: Real


class CueValue(BaseModel):
    """One cue."""

    model_config = _STRICT
    name: Annotated[str, Field(max_length=40)]
    at_s: Real


class StrokeValue(BaseModel):
    """settings: index in the document's list of settings."""

    model_config = _STRICT
    uid: Uid
    number: Annotated[int, Field(ge=1, le=1_000_000)]
    kept_at: Time
    kind: Literal["ball", "rehearsal"]
    view: Literal["face-on", "down-the-line"]
    meta: dict[str, Text]
    software: Annotated[str, Field(max_length=60)]
    settings: Annotated[int, Field(ge=0)]
    told: bool | None
    felt: bool | None = None  # from schema 2 on
    drill: Annotated[str, Field(max_length=60)] | None
    stage: Literal["block", "silent"] | None
    events: dict[str, Real | None]
    measures: dict[str, MeasureValue]
    faults: Annotated[list[FaultValue], Field(max_length=50)]
    cues: Annotated[list[CueValue], Field(max_length=50)]


class SessionValue(BaseModel):
    """One session."""

    model_config = _STRICT
    uid: Uid
    started_at: Time
    source: Text
    strokes: list[StrokeValue]


class SessionsDocument(BaseModel):
    """sessions.json."""

    model_config = _STRICT
    settings: list[dict[str, Any]]
    sessions: list[SessionValue]


class ChangeValue(BaseModel):
    """One change of the limits."""

    model_config = _STRICT
    uid: Uid
    at: Time
    who: Annotated[str, Field(max_length=60)]
    why: Text
    limits: dict[str, Any]


class ChangesDocument(BaseModel):
    """limits.json."""

    model_config = _STRICT
    changes: list[ChangeValue]
