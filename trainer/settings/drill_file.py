"""A drill as data: one TOML file each. Every key with type, range and what it is for; read as strictly as settings."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any, Iterable, Literal

from pydantic import BaseModel, Field, create_model

from trainer.errors import SettingsError
from trainer.settings.limits import Limits
from trainer.settings.load import Source, faults_of, read_file, refuse
from trainer.settings.model import LIMIT_MODELS, STRICT, Key, key_field, keys_of, limit_key

FaultName = Literal["early_look", "short_hold", "hand_stall", "recoil", "sway", "lift", "posture_change"]
StrokeKind = Literal["ball", "rehearsal", "rehearsal then ball"]
# Measures that a drill may set a goal for, with their units and the widest sensible range.
GOALS: dict[str, tuple[str, float, float]] = {
    "hold_s": ("s", 0.0, 10.0),
    "hands_past_leg_cm": ("cm", -60.0, 60.0),
    "hinge_change_deg": ("deg", -90.0, 90.0),
    "tempo_ratio": ("", 0.5, 6.0),
    "back_cm": ("cm", 1.0, 150.0),
    "through_cm": ("cm", 1.0, 200.0),
    "back_peak_cm_s": ("cm/s", 1.0, 500.0),
    "recoil_cm": ("cm", 0.0, 50.0),
    "sway_cm": ("cm", -30.0, 30.0),
    "lift_cm": ("cm", -30.0, 30.0),
    "head_turn_deg": ("deg", -90.0, 90.0),
}
ID_LETTERS = "abcdefghijklmnopqrstuvwxyz0123456789-"


class DrillTable(BaseModel):
    """What it is."""

    model_config = STRICT
    name: str = key_field(..., "what it is called", kind="a text of 1 to 60 letters", min_length=1, max_length=60)
    instruction: str = key_field(
        ...,
        "what to do, in one line",
        kind="a text of 1 to 120 letters",
        min_length=1,
        max_length=120,
        pattern=r"^[^\n\r]+$",
    )
    measures: list[str] = key_field(
        ["hold_s"], "measures shown, the first one largest", kind="a list of measures", min_length=1, max_length=6
    )
    cue: Literal["faults", "chime", "both", "rhythm", "none"] = key_field(
        "both", "tones for faults, the chime of a hold that was long enough, both, the rhythm tone, or none"
    )
    next: str = key_field("", "id of the drill that follows once this one is passed; empty: none", max_length=60)


class BlockTable(BaseModel):
    """How long it is."""

    model_config = STRICT
    kind: StrokeKind = key_field("ball", "strokes that count")
    strokes: int = key_field(20, "strokes that count in a block", "strokes", 1, 200)
    silent_strokes: int = key_field(5, "strokes of the silent test that ends the block", "strokes", 0, 50)


class DrillFeedback(BaseModel):
    """Which strokes are told."""

    model_config = STRICT
    schedule: Literal["every", "outside", "alternate", "fading", "summary", "silent"] = key_field(
        "fading", "which strokes of the block are told"
    )
    summary_after: int = key_field(5, "strokes between two summaries", "strokes", 2, 50)


class PassTable(BaseModel):
    """When it is passed: so many good ones of the last so many."""

    model_config = STRICT
    good: int = key_field(8, "strokes that must be good", "strokes", 1, 50)
    of: int = key_field(10, "of the last so many", "strokes", 1, 50)
    faults: list[FaultName] = key_field(
        ["early_look", "short_hold"], "faults that a good stroke has none of", kind="a list of faults", max_length=6
    )


class RhythmTable(BaseModel):
    """The rhythm tone: three clicks, at the start, the top and the ball."""

    model_config = STRICT
    ratio: float = key_field(2.0, "backstroke time to forward time", "", 1, 4)
    backstroke_s: float = key_field(0.67, "backstroke time", "s", 0.3, 2)


class LadderTable(BaseModel):
    """Backstroke lengths, one a stroke, over and over; or distances to putt to, each with how far back (`distance`)."""

    model_config = STRICT
    back_cm: list[float] = key_field(
        [], "lengths in order; empty: no ladder", kind="a list of up to 12 lengths from 3 to 120 cm", max_length=12
    )
    within_cm: float = key_field(3.0, "how near a length counts", "cm", 0.5, 20)
    distances_m: list[float] = key_field(
        [], "distances to putt to; empty: none", kind="a list of up to 12 distances from 0.5 to 25 m", max_length=12
    )
    order: Literal["random", "blocked"] = key_field(
        "random", "of the distances: none twice running, or all putts to one, then to the next"
    )
    slope_pct: float = key_field(0.0, "slope of the line, + uphill", "%", -6, 6)


def _goal_model(name: str, unit: str, low: float, high: float) -> type[BaseModel]:
    entries: dict[str, Any] = {
        "at_least": (float | None, key_field(None, "a good stroke has at least this", unit, low, high)),
        "at_most": (float | None, key_field(None, "a good stroke has at most this", unit, low, high)),
    }
    return create_model(f"{name}_goal", __config__=STRICT, **entries)


GOAL_MODELS = {name: _goal_model(name, *bounds) for name, bounds in GOALS.items()}
_TABLES: dict[str, type[BaseModel]] = {
    "drill": DrillTable,
    "block": BlockTable,
    "feedback": DrillFeedback,
    "pass": PassTable,
    "rhythm": RhythmTable,
    "ladder": LadderTable,
}


def _file_model() -> type[BaseModel]:
    tables: dict[str, Any] = {name: (model, Field(default_factory=model)) for name, model in _TABLES.items()}
    tables["drill"] = (DrillTable, ...)
    for group, models in (("goals", GOAL_MODELS), ("limits", LIMIT_MODELS)):
        inner: dict[str, Any] = {name: (model | None, None) for name, model in models.items()}
        model = create_model(f"Drill{group}", __config__=STRICT, **inner)
        tables[group] = (model, Field(default_factory=model))
    return create_model("DrillFile", __config__=STRICT, **tables)


DrillModel = _file_model()
DRILL_KEYS: tuple[Key, ...] = tuple(
    key
    for table, model in {
        **_TABLES,
        **{f"goals.{name}": model for name, model in GOAL_MODELS.items()},
        **{f"limits.{name}": model for name, model in LIMIT_MODELS.items()},
    }.items()
    for key in keys_of(table, model)
)


@dataclass(frozen=True, slots=True)
class Goal:
    """A measure's range in a good stroke; None: no bound on that side."""

    measure: str
    at_least: float | None
    at_most: float | None


@dataclass(frozen=True, slots=True)
class Drill:
    """One drill, checked. drill_id: its file's name without .toml; limit_changes: fault -> the keys that it sets."""

    drill_id: str
    head: DrillTable
    block: BlockTable
    feedback: DrillFeedback
    rule: PassTable
    rhythm: RhythmTable
    ladder: LadderTable
    goals: tuple[Goal, ...]
    limit_changes: dict[str, dict[str, Any]]

    def limits(self, own: Limits) -> Limits:
        """The student's own limits with what this drill sets otherwise."""
        for name, change in self.limit_changes.items():
            limit = getattr(own, name)
            new = replace(limit, on=change.get("on", limit.on), value=change.get(limit_key(limit), limit.value))
            own = replace(own, **{name: new})
        return own


def drill_of(source: Source, drill_id: str) -> Drill:
    """From a drill file's values. Raises one SettingsError that names every fault."""
    refuse([*faults_of(source, DrillModel, DRILL_KEYS), *_senseless(source)])
    file: Any = DrillModel.model_validate(source.values)
    goals = tuple(
        Goal(name, goal.at_least, goal.at_most) for name in GOALS if (goal := getattr(file.goals, name)) is not None
    )
    changes = {
        f.name: given.model_dump(exclude_unset=True)
        for f in fields(Limits)
        if (given := getattr(file.limits, f.name)) is not None
    }
    rule = getattr(file, "pass")
    return Drill(drill_id, file.drill, file.block, file.feedback, rule, file.rhythm, file.ladder, goals, changes)


def _senseless(source: Source) -> list[str]:
    """What no single key's range can tell. Values of a wrong type are left to the model."""
    out = []

    def table(name: str) -> dict[str, Any]:
        found = source.values.get(name)
        return found if isinstance(found, dict) else {}

    def whole(value: Any) -> bool:
        return isinstance(value, int | float) and not isinstance(value, bool)

    def at(*path: str) -> str:
        line = source.lines.get(path)
        dotted = ".".join(path)
        return f"{source.name}: line {line}: {dotted}" if line else f"{source.name}: {dotted}"

    good, of = table("pass").get("good", 8), table("pass").get("of", 10)
    if whole(good) and whole(of) and good > of:
        out.append(f"{at('pass', 'good')}: {good} of the last {of} cannot be; must be at most pass.of")
    for name, goal in table("goals").items():
        if not isinstance(goal, dict):
            continue
        low, high = goal.get("at_least"), goal.get("at_most")
        if whole(low) and whole(high) and float(low or 0) > float(high or 0):
            out.append(f"{at('goals', name, 'at_least')}: {low} is above at_most {high}")
    steps = table("ladder").get("back_cm", [])
    if isinstance(steps, list) and any(whole(step) and not 3 <= step <= 120 for step in steps):
        out.append(f"{at('ladder', 'back_cm')}: every length must be from 3 to 120 cm")
    far = table("ladder").get("distances_m", [])
    if isinstance(far, list):
        if any(whole(one) and not 0.5 <= one <= 25 for one in far):
            out.append(f"{at('ladder', 'distances_m')}: every distance must be from 0.5 to 25 m")
        if len(set(map(str, far))) != len(far):
            out.append(f"{at('ladder', 'distances_m')}: each distance once")
        if len(far) == 1 and table("ladder").get("order", "random") == "random":
            out.append(f"{at('ladder', 'order')}: one distance cannot be at random; give two or more, or blocked")
        if far and steps:
            out.append(f"{at('ladder', 'distances_m')}: lengths and distances at once; give one of them")
    shown = table("drill").get("measures", [])
    for measure in shown if isinstance(shown, list) else []:
        if isinstance(measure, str) and measure not in GOALS:
            out.append(f"{at('drill', 'measures')}: no measure {measure[:40]!r}; known: {', '.join(GOALS)}")
    return out


def known_drills(folders: Iterable[Path]) -> dict[str, Path]:
    """Drill's id -> file, of all folders; a later folder's drill takes the place of an earlier one's of that id."""
    found: dict[str, Path] = {}
    for folder in folders:
        for path in sorted(folder.glob("*.toml")) if folder.is_dir() else ():
            found[path.stem] = path
    return found


def load_drill(drill_id: str, folders: Iterable[Path]) -> Drill:
    """The drill of this id. The id is looked up among the files that are there; it is never made into a path."""
    import difflib

    known = known_drills(folders)
    if drill_id not in known:
        near = difflib.get_close_matches(drill_id, known, n=1)
        todo = f"did you mean {near[0]}?" if near else f"known: {', '.join(known)}" if known else "there are none"
        raise SettingsError(f"no drill {drill_id[:60]!r}", "", todo)
    return drill_of(read_file(known[drill_id]), drill_id)
