"""Which measure of the address is out because another one is: one cause is told first, then what is left.

Anatomy, not opinion: eyes and hands hang on the trunk, so bending it from the hips takes both toward the ball. Turned about
the hips to the middle of the range, the rendered player who stands too upright (26 deg) has her eyes 10 cm nearer to the ball
line and half as far short of it; told to come nearer first she would stand over the ball, as upright as before.
"""

from __future__ import annotations

from typing import Literal, Mapping, Sequence

from trainer.coaching.posture.ranges import Check

Side = Literal["below", "above"]
# What is out, and to which side of its range -> what goes out with it.
FOLLOWS: Mapping[tuple[str, Side], tuple[tuple[str, Side], ...]] = {
    ("spine_tilt_deg", "below"): (
        ("eye_line_cm", "above"),
        ("hands_plumb_cm", "above"),
        ("elbow_plumb_cm", "above"),
        ("hips_back_cm", "below"),
    ),
    ("spine_tilt_deg", "above"): (("eye_line_cm", "below"), ("hands_plumb_cm", "below")),
    ("elbow_deg", "below"): (("elbow_plumb_cm", "below"),),
    ("ball_position", "below"): (("ball_widths", "below"), ("hands_ahead_cm", "above"), ("head_ahead_cm", "above")),
    ("ball_position", "above"): (("ball_widths", "above"), ("hands_ahead_cm", "below"), ("head_ahead_cm", "below")),
}


def side_of(check: Check) -> Side | None:
    """To which side of its range it is out; None: it is not, or it was not seen."""
    if check.measure.value is None or check.inside is not False:
        return None
    return "below" if check.measure.value < check.low else "above"


def cause_of(check: Check, checks: Sequence[Check]) -> Check | None:
    """The one to mend first because this one follows from it: only one that is surely out. None: it stands for itself."""
    mine = (check.name, side_of(check))
    for other in checks:
        side = side_of(other) if other.fault else None
        if side is not None and mine in FOLLOWS.get((other.name, side), ()):
            return other
    return None


def causes_first(outside: Sequence[Check], checks: Sequence[Check]) -> list[Check]:
    """Those that are out, what follows from others last; else in their own order."""
    return sorted(outside, key=lambda check: cause_of(check, checks) is not None)
