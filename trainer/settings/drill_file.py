"""A drill as data: one TOML file each. Every key with type, range and what it is for; read as strictly as settings."""

from __future__ import annotations

import difflib
import math
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Generic, Iterable, Iterator, Literal, Mapping, TypeVar

from pydantic import AfterValidator, BaseModel, Field, create_model, model_validator

from trainer.domain.measures import MEASURES
from trainer.domain.verdict import FaultName, names_of, plain_name
from trainer.errors import SettingsError
from trainer.settings.drill_names import OLD_IDS, present_id
from trainer.settings.keys import STRICT, Key, Within, key_field, keys_of, rule_fault
from trainer.settings.limits import Limits
from trainer.settings.load import Source, faults_of, read_file, refuse
from trainer.texts import tr

StrokeKind = Literal["ball", "rehearsal", "rehearsal then ball"]
Value = TypeVar("Value")


class Goal(BaseModel, Generic[Value]):
    """A measure's range in a good stroke; None: no bound on that side."""

    model_config = STRICT
    at_least: Value | None = key_field(None, "a good stroke has at least this")
    at_most: Value | None = key_field(None, "a good stroke has at most this")

    @model_validator(mode="after")
    def _in_order(self) -> Goal[Value]:
        low, high = self.at_least, self.at_most
        if isinstance(low, float) and isinstance(high, float) and low > high:
            raise rule_fault(("at_least", tr("{low:g} is above at_most {high:g}", low=low, high=high)))
        return self


class _Goals(BaseModel):
    """Measures that a drill may set a goal for, with the widest sensible range; fields are those of ``MEASURES``."""

    model_config = STRICT

    def given(self) -> Iterator[tuple[str, Goal[float]]]:
        """(measure, goal) of those that are set."""
        for measure in GOALS:
            goal: Goal[float] | None = getattr(self, measure)
            if goal is not None:
                yield measure, goal


def _goal_type(name: str) -> Any:
    spec = MEASURES[name]
    low, high = spec.goal or (-math.inf, math.inf)
    within = Within(low, high) if spec.unit == "1" else Within(low, high, spec.unit)
    return Goal[Annotated[float, within]] | None


GOALS = tuple(spec.name for spec in MEASURES.values() if spec.goal is not None)
_FIELDS: dict[str, Any] = {name: (_goal_type(name), None) for name in GOALS}
if TYPE_CHECKING:
    Goals = _Goals
else:
    Goals = create_model("Goals", __base__=_Goals, **_FIELDS)


def _known_measure(name: str) -> str:
    if name not in GOALS:
        raise rule_fault(("", tr("no measure {name!r}; known: {listed}", name=name[:40], listed=", ".join(GOALS))))
    return name


class DrillTable(BaseModel):
    """What it is."""

    model_config = STRICT
    name: Annotated[str, AfterValidator(tr)] = key_field(
        ..., "what it is called", kind=tr("a text of 1 to 60 letters"), min_length=1, max_length=60
    )
    instruction: Annotated[str, AfterValidator(tr)] = key_field(
        ...,
        "what to do, in one line",
        kind=tr("a text of 1 to 120 letters"),
        min_length=1,
        max_length=120,
        pattern=r"^[^\n\r]+$",
    )
    measures: list[Annotated[str, AfterValidator(_known_measure)]] = key_field(
        ["hold_s"], "measures shown, the first one largest", kind=tr("a list of measures"), min_length=1, max_length=6
    )
    cue: Literal["faults", "chime", "both", "rhythm", "none"] = key_field(
        "both", "tones for faults, a chime after a look that waited long enough, both, the rhythm tone, or none"
    )
    next: Annotated[str, AfterValidator(present_id)] = key_field(
        "",
        "id of the drill that follows once this one is passed; empty: none",
        kind=tr("a text of up to 60 letters"),
        max_length=60,
    )


class BlockTable(BaseModel):
    """How long it is."""

    model_config = STRICT
    kind: StrokeKind = key_field("ball", "strokes that count")
    strokes: Annotated[int, Within(1, 200, "strokes")] = key_field(20, "strokes that count in a block, before the test")
    silent_strokes: Annotated[int, Within(0, 50, "strokes")] = key_field(
        5, "least strokes of the silent test after it; as many more as its goal takes to be told; 0: no test"
    )


class DrillFeedback(BaseModel):
    """Which strokes are told."""

    model_config = STRICT
    schedule: Literal["every", "outside", "alternate", "fading", "summary", "silent"] = key_field(
        "fading", "which strokes of the block get feedback"
    )
    summary_after: Annotated[int, Within(2, 50, "strokes")] = key_field(5, "strokes between two summaries")


class PassTable(BaseModel):
    """The goal. The silent test tells those who are at it from those who are below; it is passed on two days running."""

    model_config = STRICT
    good: Annotated[int, Within(1, 50, "strokes")] = key_field(8, "the goal: so many good strokes")
    of: Annotated[int, Within(1, 50, "strokes")] = key_field(10, "of so many")
    faults: list[FaultName] = key_field(
        ["early_look", "short_hold"], "faults that a good stroke has none of", kind=tr("a list of faults")
    )

    @model_validator(mode="after")
    def _can_be(self) -> PassTable:
        if self.good > self.of:
            what = tr("{good} of {of} cannot be; must be at most pass.of", good=self.good, of=self.of)
            raise rule_fault(("good", what))
        return self


class RhythmTable(BaseModel):
    """The rhythm tone: it rises through the backstroke, turns at the top and falls to the ball."""

    model_config = STRICT
    ratio: Annotated[float, Within(1, 4)] = key_field(2.0, "backstroke time to forward time")
    backstroke_s: Annotated[float, Within(0.3, 2, "s")] = key_field(0.67, "backstroke time")
    own: bool = key_field(False, "the player's own times in place of these and of the goals, once 12 strokes are known")
    until: Literal["ball", "top"] = key_field(
        "ball", "where the tone ends; own sets it to top for those with a steady rhythm"
    )


class LadderTable(BaseModel):
    """Backstroke lengths, one a stroke, over and over; or distances to putt to, each with how far back (`distance`)."""

    model_config = STRICT
    back_cm: list[Annotated[float, Within(3, 120, "cm")]] = key_field(
        [],
        "lengths in order; empty: no ladder",
        kind=tr("a list of up to 12 lengths from 3 to 120 cm"),
        item=tr("length"),
        max_length=12,
    )
    within_cm: Annotated[float, Within(0.5, 20, "cm")] = key_field(3.0, "how near a length counts")
    distances_m: list[Annotated[float, Within(0.5, 25, "m")]] = key_field(
        [],
        "distances to putt to; empty: none",
        kind=tr("a list of up to 12 distances from 0.5 to 25 m"),
        item=tr("distance"),
        max_length=12,
    )
    order: Literal["random", "blocked"] = key_field(
        "random", "of the distances: none twice running, or all putts to one, then to the next"
    )
    slope_pct: Annotated[float, Within(-6, 6, "%")] = key_field(0.0, "slope of the line, + uphill")
    slopes_pct: list[Annotated[float, Within(-6, 6, "%")]] = key_field(
        [],
        "slopes at random, one a putt, in place of slope_pct; + uphill",
        kind=tr("a list of up to 6 slopes from -6 to 6 %"),
        item=tr("slope"),
        max_length=6,
    )
    guess: bool = key_field(
        False, "the player chooses the length himself, and says short, right or long before he is told how far it ran"
    )

    @model_validator(mode="after")
    def _make_sense(self) -> LadderTable:
        far, wrong = self.distances_m, []
        if len(set(far)) != len(far):
            wrong.append(("distances_m", tr("each distance once")))
        if len(far) == 1 and self.order == "random":
            wrong.append(("order", tr("one distance cannot be at random; give two or more, or blocked")))
        if (self.guess or self.slopes_pct) and not far:
            wrong.append(("guess" if self.guess else "slopes_pct", tr("needs distances_m")))
        if far and self.back_cm:
            wrong.append(("distances_m", tr("lengths and distances at once; give one of them")))
        if wrong:
            raise rule_fault(*wrong)
        return self


class TransferTable(BaseModel):
    """Whether the stroke stands away from practice: other targets, a second task, a consequence."""

    model_config = STRICT
    targets_m: list[Annotated[float, Within(0.5, 25, "m")]] = key_field(
        [],
        "another target each time, at random; where the ball stops is not judged; empty: none",
        kind=tr("a list of 2 to 12 distances from 0.5 to 25 m"),
        item=tr("distance"),
        max_length=12,
    )
    count_back: bool = key_field(False, "a number is shown with each stroke, to count back from aloud")
    streak: Annotated[int, Within(0, 50, "strokes")] = key_field(
        0, "so many good ones running end the block, and a miss starts again; 0: no such thing"
    )

    @property
    def asked(self) -> bool:
        """Something is to disturb the stroke."""
        return bool(self.targets_m or self.count_back or self.streak)

    @model_validator(mode="after")
    def _make_sense(self) -> TransferTable:
        if len(set(self.targets_m)) != len(self.targets_m) or len(self.targets_m) == 1:
            raise rule_fault(("targets_m", tr("two distances or more, each once")))
        return self


class DrillFile(BaseModel):
    """What a drill's file may hold."""

    model_config = STRICT
    head: DrillTable = Field(alias="drill")
    block: BlockTable = BlockTable()
    feedback: DrillFeedback = DrillFeedback()
    rule: PassTable = Field(PassTable(), alias="pass")
    rhythm: RhythmTable = RhythmTable()
    ladder: LadderTable = LadderTable()
    transfer: TransferTable = TransferTable()
    goals: Goals = Goals()
    own_limits: Limits = Field(Limits(), alias="limits")

    def limits(self, student: Limits) -> Limits:
        """The student's limits with what this drill sets otherwise."""
        return student.overlaid(self.own_limits.model_dump(exclude_unset=True))


class Drill(DrillFile):
    """One drill, checked. drill_id: its file's name without .toml."""

    drill_id: str


DRILL_KEYS: tuple[Key, ...] = tuple(keys_of(DrillFile))


def drill_of(source: Source, drill_id: str) -> Drill:
    """From a drill file's values. Raises one SettingsError that names every fault."""
    refuse(faults_of(source, DrillFile, DRILL_KEYS))
    return Drill.model_validate({**source.values, "drill_id": drill_id})


def known_drills(folders: Iterable[Path]) -> dict[str, Path]:
    """Drill's id -> file, of all folders; a later folder's drill takes the place of an earlier one's of that id.

    A file under an old id is the drill of the present one, unless there is a file of that too in its folder.
    """
    found: dict[str, Path] = {}
    for folder in folders:
        files = sorted(folder.glob("*.toml"), key=lambda path: (path.stem not in OLD_IDS, path.stem))
        found.update((present_id(path.stem), path) for path in files)
    return dict(sorted(found.items()))


def _id_by_name(name: str, known: Mapping[str, Path]) -> str:
    """The id of the drill that is shown by this name; empty: none is."""
    plain = plain_name(name)
    for drill_id, path in known.items():
        with suppress(SettingsError):
            if plain in names_of(drill_id, drill_of(read_file(path), drill_id).head.name):
                return drill_id
    return ""


def load_drill(drill_id: str, folders: Iterable[Path]) -> Drill:
    """The drill of this id. The id is looked up among the files that are there; it is never made into a path."""
    known, drill_id = known_drills(folders), present_id(drill_id)
    if drill_id not in known:
        drill_id = _id_by_name(drill_id, known) or drill_id
    if drill_id not in known:
        near = difflib.get_close_matches(drill_id, known, n=1)
        listed = tr("known: {listed}", listed=", ".join(known)) if known else tr("there are none")
        todo = tr("did you mean {near}?", near=near[0]) if near else listed
        raise SettingsError(tr("no drill {drill_id!r}", drill_id=drill_id[:60]), "", todo)
    return drill_of(read_file(known[drill_id]), drill_id)
