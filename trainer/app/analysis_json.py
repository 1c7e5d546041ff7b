"""What `analyse --json` writes: one JSON object a clip. Its schema is here, in code, and tested against the output."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Sequence

from trainer.coaching.posture.ranges import Check
from trainer.coaching.verdict import BY_TIMING, Verdict
from trainer.domain.measures import confident_value
from trainer.domain.record import EVENT_NAMES, Measure, StrokeRecord
from trainer.domain.verdict import FAULT_NAMES, Cue

SCHEMA_NUMBER = 1


@dataclass(frozen=True)
class Judged:
    """One stroke of a clip with its verdict; setup: its address."""

    record: StrokeRecord
    verdict: Verdict
    cues: Sequence[Cue]
    setup: Sequence[Check] = ()


@dataclass(frozen=True)
class ClipReport:
    """A clip's facts and its strokes in order. fps: frames/s of the file; frames: how many were read."""

    name: str
    fps: float
    frames: int
    width: int
    height: int
    view: str
    handedness: str
    strokes: Sequence[Judged] = ()
    warnings: Sequence[str] = field(default_factory=tuple)


def as_json(report: ClipReport) -> dict[str, Any]:
    """The object of SCHEMA. A thing not seen, or not surely, is null, and a warning says why."""
    unseen = [
        f"stroke {number}: {name} {why}"
        for number, stroke in enumerate(report.strokes, 1)
        for name, measure in stroke.record.measures.items()
        if (why := _why_null(measure))
    ]
    return {
        "schema": SCHEMA_NUMBER,
        "clip": {
            "name": report.name,
            "fps": report.fps,
            "frames": report.frames,
            "width": report.width,
            "height": report.height,
            "view": report.view,
            "handedness": report.handedness,
        },
        "strokes": [_stroke(number, stroke) for number, stroke in enumerate(report.strokes, 1)],
        "warnings": [*report.warnings, *unseen],
    }


def _stroke(number: int, stroke: Judged) -> dict[str, Any]:
    record = stroke.record
    return {
        "index": number,
        "kind": record.kind,
        "events": {name: _number(record.events.named(name)) for name in EVENT_NAMES},
        "measures": {
            name: {"value": _number(confident_value(m)), "unit": m.unit, "confidence": float(m.confidence)}
            for name, m in record.measures.items()
        },
        "faults": [
            {"name": f.name, "at_s": float(f.at_s), "value": float(f.value), "unit": f.unit, "limit": float(f.limit)}
            for f in stroke.verdict.faults
        ],
        "too_close_to_call": list(BY_TIMING) if stroke.verdict.too_close else [],
        "cues": [{"name": cue.name, "at_s": float(cue.at_s)} for cue in stroke.cues],
        "setup": {check.name: check.as_json() for check in stroke.setup},
    }


def _why_null(measure: Measure) -> str:
    """Why there is no number; empty where there is one, or nothing to say."""
    because = f": {measure.reason}" if measure.reason else ""
    if _number(measure.value) is None:
        return f"not seen{because}" if because else ""
    return "" if confident_value(measure) is not None else f"not sure{because}"


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)


def _object(**properties: Any) -> dict[str, Any]:
    return {"type": "object", "properties": properties, "required": list(properties), "additionalProperties": False}


_NUMBER_OR_NULL = {"type": ["number", "null"]}
_COUNT = {"type": "integer", "minimum": 0}

SCHEMA: dict[str, Any] = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "One analysed clip",
    **_object(
        schema={"const": SCHEMA_NUMBER},
        clip=_object(
            name={"type": "string"},
            fps={"type": "number", "exclusiveMinimum": 0},
            frames=_COUNT,
            width=_COUNT,
            height=_COUNT,
            view={"enum": ["face-on", "down-the-line"]},
            handedness={"enum": ["right", "left"]},
        ),
        strokes={
            "type": "array",
            "items": _object(
                index={"type": "integer", "minimum": 1},
                kind={"enum": ["ball", "rehearsal"]},
                events=_object(**dict.fromkeys(EVENT_NAMES, _NUMBER_OR_NULL)),
                measures={
                    "type": "object",
                    "additionalProperties": _object(
                        value=_NUMBER_OR_NULL,
                        unit={"type": "string"},
                        confidence={"type": "number", "minimum": 0, "maximum": 1},
                    ),
                },
                faults={
                    "type": "array",
                    "items": _object(
                        name={"enum": list(FAULT_NAMES)},
                        at_s={"type": "number"},
                        value={"type": "number"},
                        unit={"type": "string"},
                        limit={"type": "number"},
                    ),
                },
                too_close_to_call={"type": "array", "items": {"enum": list(BY_TIMING)}},
                cues={
                    "type": "array",
                    "items": _object(name={"enum": [*FAULT_NAMES, "hold_done"]}, at_s={"type": "number"}),
                },
                setup={
                    "type": "object",
                    "additionalProperties": _object(
                        value=_NUMBER_OR_NULL,
                        unit={"type": "string"},
                        confidence={"type": "number", "minimum": 0, "maximum": 1},
                        low={"type": "number"},
                        high={"type": "number"},
                        inside={"type": ["boolean", "null"]},
                    ),
                },
            ),
        },
        warnings={"type": "array", "items": {"type": "string"}},
    ),
}
