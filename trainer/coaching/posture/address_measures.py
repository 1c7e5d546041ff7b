"""The measures of an address in either view."""

from __future__ import annotations

from trainer.coaching.posture import down_the_line, face_on
from trainer.coaching.posture.address import AddressSeen
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.ranges import DEFAULTS, Check, Ranges, check
from trainer.coaching.posture.scale_reference import ScaleReference
from trainer.domain.record import Measure
from trainer.texts import tr

# That a camera may stand off the line. By perspective (1 - cos + 25 / 290 sin, of 25 cm at 2.9 m) the half of the stroke that is
# farther from it is 1.4 % short then, 4 % at 12 degrees.
SQUARE_DEG = 6.0
SQUARE = {
    "face-on": tr("stand it square to the line"),
    "down-the-line": tr("stand it on the line, looking along it"),
}
MIN_STAND_CONFIDENCE = 0.3  # of how the camera stands: below it the user is warned that it is not known


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


def stand_hints(seen: AddressSeen) -> tuple[Hint, ...]:
    """In words, when the camera is seen to stand so far off the line that the lengths of a stroke suffer."""
    off_deg = abs(float(seen.camera.azimuth_deg))
    if seen.view != "face-on" or seen.azimuth_confidence < MIN_STAND_CONFIDENCE or off_deg <= SQUARE_DEG:
        return ()
    what = tr("the camera stands {azimuth_deg:.0f}° off the line, so that lengths are read short", azimuth_deg=off_deg)
    return (Hint(what, SQUARE[seen.view]),)


def setup(seen: AddressSeen, ranges: Ranges = DEFAULTS) -> list[Check]:
    """Every measure of this view against its range."""
    return check(measure(seen), seen.view, ranges)


def faults(checks: list[Check]) -> list[Check]:
    """Those outside their range by more than the measure may be off."""
    return [c for c in checks if c.fault]
