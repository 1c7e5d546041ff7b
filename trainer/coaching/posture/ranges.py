"""What each measure of the address should lie between: defaults, a coach's own from a TOML file, and the verdict.

The defaults are common practice in the trade without a source, wide where measuring is coarse; a coach replaces them with the
ranges of a reference posture. `python -m trainer.coaching.posture.ranges` writes the documented file (config/posture.toml).
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Mapping

from pydantic import BaseModel, ConfigDict, Field, create_model

from trainer.errors import SettingsError
from trainer.settings.load import Source, faults_of, read_file, refuse
from trainer.settings.model import Key
from trainer.stroke.record import Measure
from trainer.vision.sighting import View

MIN_CONFIDENCE = 0.35  # a measure less sure than this is shown but not judged


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


# Sources: "two widths" etc. are common practice, none has a published norm. Doubt is measured, see the tests.
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
_STRICT = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


@dataclass(frozen=True, slots=True)
class Check:
    """One measure against its range. inside: by the number alone, None when there is no number.

    fault: outside by more than the measure may be off, and sure enough to say so.
    """

    name: str
    measure: Measure
    low: float
    high: float
    inside: bool | None
    fault: bool

    def as_json(self) -> dict[str, Any]:
        """value, unit, confidence, low, high, inside."""
        return {
            "value": self.measure.value,
            "unit": self.measure.unit,
            "confidence": float(self.measure.confidence),
            "low": self.low,
            "high": self.high,
            "inside": self.inside,
        }


def check(measures: Mapping[str, Measure], view: View, ranges: Ranges = DEFAULTS) -> list[Check]:
    """Every measure that has a range in this view, in the order of the ranges."""
    out = []
    for name, bounds in ranges[view].items():
        measure = measures.get(name)
        if measure is None:
            continue
        value = measure.value
        inside = None if value is None else bounds.low <= value <= bounds.high
        far = value is not None and not bounds.low - bounds.doubt <= value <= bounds.high + bounds.doubt
        out.append(Check(name, measure, bounds.low, bounds.high, inside, far and measure.confidence >= MIN_CONFIDENCE))
    return out


def _model() -> type[BaseModel]:
    views: dict[str, Any] = {}
    for view, table in DEFAULTS.items():
        entries: dict[str, Any] = {}
        for name, r in table.items():
            bounds: Any = create_model(
                f"{name}_bounds",
                __config__=_STRICT,
                low=(float, Field(r.low, ge=r.lowest, le=r.highest)),
                high=(float, Field(r.high, ge=r.lowest, le=r.highest)),
            )
            entries[name] = (bounds, Field(default_factory=bounds))
        table_model: Any = create_model(f"{view}_ranges", __config__=_STRICT, **entries)
        views[view.replace("-", "_")] = (table_model, Field(default_factory=table_model))
    return create_model("PostureRanges", __config__=_STRICT, **views)


MODEL = _model()


def _kind(r: Range) -> str:
    return f"a number from {r.lowest:g} to {r.highest:g} {r.unit}".rstrip()


KEYS = tuple(
    Key(f"{view.replace('-', '_')}.{name}.{end}", _kind(r), getattr(r, end), r.note)
    for view, table in DEFAULTS.items()
    for name, r in table.items()
    for end in ("low", "high")
)


def read_ranges(path: Path) -> Ranges:
    """A reference posture's ranges; keys left out keep their defaults. Raises SettingsError that names every fault."""
    return ranges_of(read_file(path))


def ranges_of(source: Source) -> Ranges:
    """The ranges of one source, checked."""
    disorder = [
        f"{source.name}: {view}.{name}: low lies above high"
        for view, table in source.values.items()
        if isinstance(table, dict)
        for name, bounds in table.items()
        if isinstance(bounds, dict) and _disordered(view, name, bounds)
    ]
    if disorder:
        raise SettingsError("; ".join(disorder))
    refuse(faults_of(source, MODEL, KEYS))
    found: Any = MODEL.model_validate(source.values)
    out: dict[View, dict[str, Range]] = {}
    for view, table in DEFAULTS.items():
        given = getattr(found, view.replace("-", "_"))
        out[view] = {
            name: Range(
                getattr(given, name).low, getattr(given, name).high, r.unit, r.doubt, r.lowest, r.highest, r.note
            )
            for name, r in table.items()
        }
    return out


def _disordered(view: str, name: str, bounds: Mapping[str, Any]) -> bool:
    known = {v.replace("-", "_"): t for v, t in DEFAULTS.items()}.get(view, {}).get(name)
    if known is None:
        return False
    low, high = bounds.get("low", known.low), bounds.get("high", known.high)
    return isinstance(low, (int, float)) and isinstance(high, (int, float)) and low > high


def documented() -> str:
    """The whole file with every range, unit and note."""
    lines = [
        "# What the address should look like: ranges of a reference posture. A file needs only the keys that differ.",
        "# Common practice in the trade, no source; change them to your own. Written by",
        "# `python -m trainer.coaching.posture.ranges`; edit trainer/coaching/posture/ranges.py, not this file.",
    ]
    for view, table in DEFAULTS.items():
        for name, r in table.items():
            lines += ["", f"[{view.replace('-', '_')}.{name}]", f"# {r.note}; each {_kind(r)}"]
            lines += [f"low = {r.low!r}", f"high = {r.high!r}"]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    print(documented(), end="")
