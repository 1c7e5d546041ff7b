"""What each measure of the address should lie between. Per student: a coach's reference posture is a set of these ranges.

The defaults are common practice in the trade without a source, wide where measuring is coarse.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal, Mapping

from pydantic import BaseModel, ConfigDict, Field, create_model

View = Literal["face-on", "down-the-line"]


@dataclass(frozen=True, slots=True)
class Range:
    """low..high as asked for; doubt: what the measure may be off by (one standard deviation on rendered truth), same unit.

    lowest, highest: what a settings file may say.
    """

    low: float
    high: float
    unit: str
    doubt: float
    lowest: float
    highest: float
    note: str


# Sources: "two widths" etc. are common practice, none has a published norm. Doubt is measured:
# tests/integration/test_posture_stills.py.
DEFAULTS: Mapping[View, Mapping[str, Range]] = {
    "down-the-line": {
        "eye_line_cm": Range(
            0.0, 8.5, "cm", 1.0, -40, 60, "eyes inside the ball line: over it to two ball widths inside"
        ),
        "hands_plumb_cm": Range(-5.0, 5.0, "cm", 1.2, -40, 60, "hands from the plumb line of the shoulders, + away"),
        "spine_tilt_deg": Range(30.0, 45.0, "deg", 2.0, 0, 90, "hip centre to neck, from upright"),
        "knee_flex_deg": Range(10.0, 25.0, "deg", 2.5, 0, 90, "bend of the trail knee; 0 is a straight leg"),
        "elbow_deg": Range(135.0, 180.0, "deg", 6.0, 30, 180, "trail elbow; 180 is a straight arm"),
        "elbow_plumb_cm": Range(
            -25.0, 4.0, "cm", 2.0, -60, 40, "trail elbow from the plumb line; + away: not inside it"
        ),
        "hips_back_cm": Range(2.0, 18.0, "cm", 2.0, -30, 40, "hip centre behind the ankles: where the weight is"),
    },
    "face-on": {
        "ball_position": Range(0.50, 0.75, "", 0.02, -0.5, 1.5, "ball between the feet: 0 trail ankle, 1 lead ankle"),
        "ball_widths": Range(
            0.0, 2.0, "ball widths", 0.2, -10, 10, "ball from the middle of the stance, + to the target"
        ),
        "stance_cm": Range(25.0, 45.0, "cm", 1.6, 5, 100, "between the ankles: about as wide as the hips"),
        "shoulder_level_deg": Range(-10.0, 6.0, "deg", 1.5, -45, 45, "shoulders; + lead side higher"),
        "eyes_level_deg": Range(-8.0, 8.0, "deg", 3.0, -45, 45, "head; + lead side higher"),
        "hands_ahead_cm": Range(-10.0, 5.0, "cm", 0.7, -40, 40, "hands past the ball along the line, + to the target"),
        "head_ahead_cm": Range(-12.0, 2.0, "cm", 1.0, -40, 40, "head past the ball along the line, + to the target"),
    },
}
Ranges = Mapping[View, Mapping[str, Range]]
ENDS = ("low", "high")
_STRICT = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


def table_name(view: View) -> str:
    """A view as a TOML table is called."""
    return view.replace("-", "_")


def _bounds(name: str, r: Range) -> type[BaseModel]:
    ends: dict[str, Any] = {
        end: (
            float,
            Field(
                getattr(r, end),
                ge=r.lowest,
                le=r.highest,
                description=r.note,
                json_schema_extra={"unit": r.unit, "kind": ""},
            ),
        )
        for end in ENDS
    }
    return create_model(f"{name}_range", __config__=_STRICT, **ends)


# Table (view.measure) -> the model of its two ends.
RANGE_MODELS: dict[str, type[BaseModel]] = {
    f"{table_name(view)}.{name}": _bounds(name, r) for view, table in DEFAULTS.items() for name, r in table.items()
}


def _model() -> type[BaseModel]:
    views: dict[str, Any] = {}
    for view, table in DEFAULTS.items():
        entries: dict[str, Any] = {}
        for name in table:
            bounds = RANGE_MODELS[f"{table_name(view)}.{name}"]
            entries[name] = (bounds, Field(default_factory=bounds))
        model: Any = create_model(f"{table_name(view)}_ranges", __config__=_STRICT, **entries)
        views[table_name(view)] = (model, Field(default_factory=model))
    return create_model("PostureRanges", __config__=_STRICT, **views)


MODEL = _model()


def ranges_of(checked: Any) -> Ranges:
    """From a checked ``MODEL``."""
    return {
        view: {
            name: replace(r, **{end: getattr(getattr(getattr(checked, table_name(view)), name), end) for end in ENDS})
            for name, r in table.items()
        }
        for view, table in DEFAULTS.items()
    }


def disorder(ranges: Ranges) -> list[str]:
    """Ranges whose lower end lies above the upper one, in words."""
    return [
        f"posture.{table_name(view)}.{name}: low ({r.low:g}) lies above high ({r.high:g})"
        for view, table in ranges.items()
        for name, r in table.items()
        if r.low > r.high
    ]


def plain_values(ranges: Ranges) -> dict[str, Any]:
    """Nested plain values as a file has them."""
    return {
        table_name(view): {name: {end: getattr(r, end) for end in ENDS} for name, r in table.items()}
        for view, table in ranges.items()
    }
