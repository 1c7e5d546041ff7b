"""The measures of an address in either view."""

from __future__ import annotations

from trainer.coaching.posture import down_the_line, face_on
from trainer.coaching.posture.address import AddressSeen
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.ranges import DEFAULTS, Check, Ranges, check
from trainer.coaching.posture.scale_reference import ScaleReference
from trainer.domain.record import Measure


def measure(seen: AddressSeen) -> dict[str, Measure]:
    """All measures that this view can give; None with a reason for those it could not."""
    return face_on.measures(seen) if seen.view == "face-on" else down_the_line.measures(seen)


def scale_reference(seen: AddressSeen) -> ScaleReference | None:
    """The scale reference that the lengths lean on, and how the other one compares; None when there is none."""
    if seen.view == "face-on":
        return face_on.scale_reference(seen)
    return down_the_line.side_on(seen).scale if down_the_line.near_side_seen(seen) else None


def scale_hints(seen: AddressSeen) -> tuple[Hint, ...]:
    """In words, when the two scale references disagree or one is missing; nothing when all is well."""
    found = scale_reference(seen)
    return (Hint(found.note),) if found is not None and found.note else ()


def setup(seen: AddressSeen, ranges: Ranges = DEFAULTS) -> list[Check]:
    """Every measure of this view against its range."""
    return check(measure(seen), seen.view, ranges)


def faults(checks: list[Check]) -> list[Check]:
    """Those outside their range by more than the measure may be off."""
    return [c for c in checks if c.fault]
