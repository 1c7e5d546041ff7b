"""A student's limits: when a measure becomes a fault. Pure values; ranges and reasons are documented per field."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from pydantic import BaseModel

from trainer.settings.keys import STRICT, Within, key_field, range_of
from trainer.texts import tr


class Limit(BaseModel):
    """One fault's switch and limit; each fault adds the limit itself, named with its unit: limit_deg, limit_s, limit_cm.

    How often a verdict is wrong over the whole range of each limit: tests/bench/error_rates.md (``tests.bench.rates``).
    """

    model_config = STRICT
    on: bool = key_field(True, "judge this fault")

    key: ClassVar[str]  # the limit's own key in a file
    note: ClassVar[str]  # what the limit is, in one line
    unit: ClassVar[str]
    low: ClassVar[float]  # least and largest allowed value
    high: ClassVar[float]

    @classmethod
    def __pydantic_init_subclass__(cls, **options: Any) -> None:
        super().__pydantic_init_subclass__(**options)
        cls.key = next(name for name in cls.model_fields if name != "on")
        info = cls.model_fields[cls.key]
        within = range_of(info)
        cls.note = (info.description or "").partition("\n")[0]
        cls.low, cls.high, cls.unit = within.low, within.high, within.unit

    @property
    def value(self) -> float:
        found: float = getattr(self, self.key)
        return found


class EarlyLook(Limit):
    """Turn that counts as the look; the fault is that the look comes before settle."""

    # 10 to 25 deg give the same: lower takes in the wobble of a head at rest, higher tells a look later.
    limit_deg: Annotated[float, Within(5, 40, "deg")] = key_field(12.0, tr("head turn that counts as the look"))


class ShortHold(Limit):
    """The look comes too soon after settle."""

    # Flat over the whole range: common practice asks for 1 s.
    limit_s: Annotated[float, Within(0.2, 5, "s")] = key_field(1.0, tr("least time from settle to look"))


class HandStall(Limit):
    """The hands stop and the putter goes on."""

    # Flat from 6 deg on; but good strokes show up to 6 deg by perspective, and long ones 9: 12 leaves the error between.
    limit_deg: Annotated[float, Within(4, 45, "deg")] = key_field(
        12.0,
        tr("change of the lead forearm-shaft angle, impact to settle"),
    )


class Recoil(Limit):
    """The putter head comes back after the finish, whether it then rests there or swings on."""

    # From 2 cm on without false alarms.
    limit_cm: Annotated[float, Within(0.5, 20, "cm")] = key_field(3.0, tr("putter head coming back after the finish"))


class Sway(Limit):
    """The head goes along with the putter; against it, as experts' does, is none."""

    # Heads of strokes without the fault go up to 2.2 cm along.
    limit_cm: Annotated[float, Within(0.5, 20, "cm")] = key_field(3.0, tr("head's travel along with the putter"))


class Lift(Limit):
    """The head comes up."""

    limit_cm: Annotated[float, Within(0.5, 20, "cm")] = key_field(2.5, tr("head up, takeaway to settle"))


class PostureChange(Limit):
    """The spine's tilt changes."""

    # No study: invented strokes are seen face-on only.
    limit_deg: Annotated[float, Within(1, 30, "deg")] = key_field(
        4.0, tr("tilt of the spine, takeaway to look; seen down-the-line")
    )


class Limits(BaseModel):
    """Of every fault; each is a setting per student."""

    model_config = STRICT
    early_look: EarlyLook = EarlyLook()
    short_hold: ShortHold = ShortHold()
    hand_stall: HandStall = HandStall()
    recoil: Recoil = Recoil()
    sway: Sway = Sway()
    lift: Lift = Lift()
    posture_change: PostureChange = PostureChange()

    def limit(self, fault: str) -> Limit:
        """That of one fault."""
        found: Limit = getattr(self, fault)
        return found

    def changed(self, fault: str, value: float | None = None, on: bool | None = None) -> Limits:
        """The limits with one moved or switched. Raises pydantic.ValidationError for a value out of range."""
        limit = self.limit(fault)
        new = {"on": limit.on if on is None else on, limit.key: limit.value if value is None else value}
        return self.model_copy(update={fault: type(limit).model_validate(new)})

    def overlaid(self, changes: dict[str, dict[str, Any]]) -> Limits:
        """The limits with others' keys in place of their own. changes: fault -> key -> value, as in a file."""
        return Limits.model_validate(
            {name: {**own, **changes.get(name, {})} for name, own in self.model_dump().items()}
        )
