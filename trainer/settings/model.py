"""Every setting: its type, unit, allowed range, default and what it is for. The one list that all else is made from.

A settings file is TOML, one table a section. `Key` describes one entry; `KEYS` is all of them, in the order in which
the documented file (config/defaults.toml) shows them. Lengths cm, angles deg, times s.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, create_model

from trainer.errors import SettingsError
from trainer.settings.limits import Limit, Limits
from trainer.settings.posture import DEFAULTS, MODEL, RANGE_MODELS, Ranges, disorder, plain_values, ranges_of

Handedness = Literal["right", "left"]
View = Literal["face-on", "down-the-line"]

_STRICT = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


STRICT = _STRICT


def _key(
    default: Any,
    note: str,
    unit: str = "",
    low: float | None = None,
    high: float | None = None,
    kind: str = "",
    **more: Any,
) -> Any:
    extra: dict[str, Any] = {"unit": unit, "kind": kind}
    return Field(default, description=note, ge=low, le=high, json_schema_extra=extra, **more)


key_field = _key
# A name is one line of text; what it holds is never a path. Line and paragraph separators break lines too.
_LETTER = r"[^\x00-\x1f\x7f-\x9f\u2028\u2029]"
NAME_PATTERN = rf"^{_LETTER}*[^\s\x00-\x1f\x7f-\x9f\u2028\u2029]{_LETTER}*$"  # not blanks alone


class Player(BaseModel):
    """Who is putting."""

    model_config = _STRICT
    name: str = _key(
        "player",
        "name on the record",
        kind="a text of 1 to 60 letters",
        min_length=1,
        max_length=60,
        pattern=NAME_PATTERN,
    )
    handedness: Handedness = _key("right", "a right-hander's lead side is the left one")
    height_cm: float | None = _key(
        None, "standing height, the ruler in the body's plane; left out: not known", "cm", 90, 230
    )


class Camera(BaseModel):
    """Where the pictures come from and in which mode; the mode is asked for, and what the camera gives is read back."""

    model_config = _STRICT
    source: int | str = _key(0, "camera number, device path or stream address")
    view: View = _key("face-on", "from where the camera looks at the player")
    width: int = _key(640, "picture width asked for", "px", 320, 3840)
    height: int = _key(480, "picture height asked for", "px", 240, 2160)
    fps: float = _key(30.0, "frame rate asked for", "frames/s", 10, 240)


class Vision(BaseModel):
    """How the putter is found."""

    model_config = _STRICT
    putter: Literal["auto", "shaft"] = _key("auto", "auto: by the tape too where there is one; or by the shaft alone")
    tape_colour: str = _key(
        "auto", "auto: learned at address; or the colour of the tape", pattern=r"^(auto|#[0-9a-fA-F]{6})$"
    )


class Sound(BaseModel):
    """Tones."""

    model_config = _STRICT
    backend: Literal["auto", "mixer", "simpleaudio", "silent"] = _key(
        "auto", "what plays the tones; auto: the first that works"
    )
    volume: float = _key(0.8, "loudness of the tones, 0 is mute", "", 0, 1)
    buffer_samples: int = _key(
        256, "sound buffer asked for: small is quick, large is safe from crackle", "samples", 64, 8192
    )


class Feedback(BaseModel):
    """When cues are given."""

    model_config = _STRICT
    schedule: Literal["every", "outside", "alternate", "fading", "summary", "silent"] = _key(
        "every",
        "which strokes are told: every one; only faults; every other one; fewer and fewer; none, but now and then all "
        "together; none at all",
    )
    strokes: int = _key(20, "strokes over which fading falls from all to a quarter", "strokes", 5, 200)
    summary_after: int = _key(5, "strokes between two summaries", "strokes", 2, 50)
    feel: bool = _key(
        False, "ask how a stroke felt before its result is shown; no tone sounds then, for it would answer"
    )
    feel_wait_s: float = _key(6.0, "how long the result waits for that answer, from settle", "s", 2, 20)
    result_delay_s: float = _key(
        2.0, "least time from settle to the result's sign (a fault's sign comes with its tone)", "s", 0, 5
    )


class Window(BaseModel):
    """The window a player reads from 4 m away."""

    model_config = _STRICT
    theme: Literal["dark", "light"] = _key("dark", "light signs on dark, or the reverse")
    width: int = _key(1280, "window width", "px", 640, 7680)
    height: int = _key(720, "window height", "px", 480, 4320)
    fullscreen: bool = _key(False, "fill the whole screen")


class Replay(BaseModel):
    """Seeing a stroke again. Frames are kept in memory only, unless video is asked for."""

    model_config = _STRICT
    auto: Literal["off", "once", "loop"] = _key(
        "once", "slow motion after a stroke's result: none, once, or until the player is at address again"
    )
    speed: float = _key(0.25, "of the slow motion, 1 is as it was", "", 0.05, 1)
    ring_mb: float = _key(64.0, "memory for the frames of the last strokes", "MB", 8, 4096)
    keep_video: bool = _key(False, "put every stroke's video beside the record")
    keep_days: int = _key(90, "kept videos older than this are deleted; 0: never", "days", 0, 36500)
    keep_mb: float = _key(4000.0, "the oldest kept videos are deleted when all together take more", "MB", 10, 100_000)


class Storing(BaseModel):
    """Where the record is kept."""

    model_config = _STRICT
    folder: str = _key("", "folder of the record; empty: the user's data folder")


class Card(BaseModel):
    """What is known of a student beside the settings. Stands in a student's file only."""

    model_config = _STRICT
    id: str = _key(
        "",
        "the student's own number, made once and never changed",
        kind="32 digits 0-9 a-f",
        pattern=r"^(|[0-9a-f]{32})$",
    )
    drills: list[str] = _key([], "drills to practise, in order", kind="a list of drills' names", max_length=50)
    notes: str = _key("", "the coach's notes", kind="a text of up to 4000 letters", max_length=4000)
    changed_at: str = _key("", "when the profile was last changed (UTC)", max_length=40)
    limits_at: str = _key("", "when the limits were last set (UTC)", max_length=40)
    limits_by: str = _key("", "who set them", max_length=60)
    limits_why: str = _key("", "why", max_length=200)


SECTIONS: dict[str, type[BaseModel]] = {
    "player": Player,
    "camera": Camera,
    "vision": Vision,
    "sound": Sound,
    "feedback": Feedback,
    "window": Window,
    "replay": Replay,
    "store": Storing,
}


def limit_key(limit: Limit) -> str:
    """Name of a limit's value in a file, with its unit: limit_deg, limit_s, limit_cm."""
    return f"limit_{limit.unit}"


def _told(limit: Limit) -> str:
    """What the limit is; on a second line what its default gave in the study of error rates."""
    return f"{limit.note}\nper 1,000 strokes at 30 frames/s: {limit.study}" if limit.study else limit.note


def _limit_model(name: str, limit: Limit) -> type[BaseModel]:
    entries: dict[str, Any] = {
        "on": (bool, _key(limit.on, "judge this fault")),
        limit_key(limit): (float, _key(limit.value, _told(limit), limit.unit, limit.low, limit.high)),
    }
    return create_model(f"{name}_limit", __config__=_STRICT, **entries)


LIMIT_MODELS: dict[str, type[BaseModel]] = {
    f.name: _limit_model(f.name, getattr(Limits(), f.name)) for f in fields(Limits)
}


def _file_model() -> type[BaseModel]:
    limits: dict[str, Any] = {name: (model, Field(default_factory=model)) for name, model in LIMIT_MODELS.items()}
    limits_model = create_model("LimitsTable", __config__=_STRICT, **limits)
    tables: dict[str, Any] = {name: (model, Field(default_factory=model)) for name, model in SECTIONS.items()}
    tables["limits"] = (limits_model, Field(default_factory=limits_model))
    tables["posture"] = (MODEL, Field(default_factory=MODEL))
    tables["student"] = (Card, Field(default_factory=Card))
    return create_model("SettingsFile", __config__=_STRICT, **tables)


FileModel = _file_model()


@dataclass(frozen=True, slots=True)
class Settings:
    """All settings of one run, checked."""

    player: Player
    camera: Camera
    vision: Vision
    sound: Sound
    feedback: Feedback
    window: Window
    replay: Replay
    store: Storing
    limits: Limits
    posture: Ranges = field(default_factory=lambda: DEFAULTS)

    @classmethod
    def checked(cls, values: dict[str, Any]) -> Settings:
        """From nested plain values; pydantic.ValidationError lists every fault (load.py words them for people).

        Raises SettingsError for a range whose ends are the wrong way round.
        """
        file: Any = FileModel.model_validate(values)
        limits = Limits()
        for name in LIMIT_MODELS:
            given, default = getattr(file.limits, name), getattr(limits, name)
            new = replace(default, on=given.on, value=getattr(given, limit_key(default)))
            limits = replace(limits, **{name: new})
        ranges = ranges_of(file.posture)
        if wrong := disorder(ranges):
            raise SettingsError("; ".join(wrong), "", "swap them")
        return cls(**{name: getattr(file, name) for name in SECTIONS}, limits=limits, posture=ranges)

    def values(self) -> dict[str, Any]:
        """Nested plain values, as `checked` takes them (for storing beside what was judged)."""
        out: dict[str, Any] = {name: getattr(self, name).model_dump(exclude_none=True) for name in SECTIONS}
        table = {name: getattr(self.limits, name) for name in LIMIT_MODELS}
        out["limits"] = {name: {"on": lim.on, limit_key(lim): lim.value} for name, lim in table.items()}
        out["posture"] = plain_values(self.posture)
        return out


@dataclass(frozen=True, slots=True)
class Key:
    """One documented entry. path: dotted; kind: what a value may be, in words, with range and unit."""

    path: str
    kind: str
    default: Any
    note: str
    required: bool = False

    @property
    def name(self) -> str:
        return self.path.rpartition(".")[2]

    @property
    def table(self) -> str:
        return self.path.rpartition(".")[0]


def _kind(annotation: Any, info: Any) -> str:
    told = (info.json_schema_extra or {}).get("kind")
    if told:
        return str(told)
    if get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    parts = [a for a in (get_args(annotation) or (annotation,)) if a is not type(None)]
    if get_origin(annotation) is Literal:
        return "one of " + ", ".join(f'"{p}"' for p in parts)
    bounds = {
        k: getattr(m, k)
        for m in info.metadata
        for k in ("ge", "le", "max_length", "pattern")
        if getattr(m, k, None) is not None
    }
    if "ge" in bounds:
        unit = (info.json_schema_extra or {}).get("unit", "")
        word = "a whole number" if parts == [int] else "a number"
        return f"{word} from {bounds['ge']:g} to {bounds['le']:g} {unit}".rstrip()
    if "pattern" in bounds:
        return '"auto" or a colour as "#rrggbb"'
    if parts == [bool]:
        return "true or false"
    if "max_length" in bounds:
        return f"a text of up to {bounds['max_length']} letters"
    return "a whole number or a text" if int in parts else "a text"


def keys_of(table: str, model: type[BaseModel]) -> list[Key]:
    return [
        Key(f"{table}.{name}", _kind(info.annotation, info), info.default, info.description or "", info.is_required())
        for name, info in model.model_fields.items()
    ]


_TABLES: dict[str, type[BaseModel]] = {
    **SECTIONS,
    **{f"limits.{name}": model for name, model in LIMIT_MODELS.items()},
    **{f"posture.{name}": model for name, model in RANGE_MODELS.items()},
    "student": Card,
}
KEYS: tuple[Key, ...] = tuple(key for table, model in _TABLES.items() for key in keys_of(table, model))
