"""The measures of an address in words: what each is called, how its number reads, and what to do when it is outside."""

from __future__ import annotations

from typing import Mapping, Sequence

from trainer.coaching.posture.causes import cause_of, side_of
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.ranges import Check
from trainer.domain.measures import confident_value
from trainer.domain.record import Measure

# name: what it is called; what to do when below its range; when above it.
WORDS: Mapping[str, tuple[str, Hint, Hint]] = {
    "eye_line_cm": (
        "Eyes and ball",
        Hint("Eyes beyond the ball", "stand farther back"),
        Hint("Eyes short of the ball", "come nearer"),
    ),
    "hands_plumb_cm": (
        "Hands and shoulders",
        Hint("Hands too close", "let them hang"),
        Hint("Hands too far out", "let them hang"),
    ),
    "spine_tilt_deg": (
        "Spine",
        Hint("Too upright", "bend from the hips, only as far as is easy"),
        Hint("Bent too far", "stand taller"),
    ),
    "knee_flex_deg": (
        "Knees",
        Hint("Knees too straight", "flex a little, only as far as is easy"),
        Hint("Knees too bent", "stand taller"),
    ),
    "elbow_deg": ("Trail elbow", Hint("Trail arm too bent", "let it hang"), Hint("Trail arm too straight")),
    "elbow_plumb_cm": (
        "Elbow and shoulders",
        Hint("Trail elbow far back", "let it hang"),
        Hint("Trail elbow out", "tuck it in"),
    ),
    "hips_back_cm": (
        "Hips and feet",
        Hint("Hips far forward", "move them back"),
        Hint("Hips far back", "move them forward"),
    ),
    "ball_position": (
        "Ball in the stance",
        Hint("Ball too far back", "play it forward"),
        Hint("Ball too far forward", "play it back"),
    ),
    "ball_widths": (
        "Ball from the middle",
        Hint("Ball too far back", "play it forward"),
        Hint("Ball too far forward", "play it back"),
    ),
    "stance_cm": ("Stance", Hint("Stance too narrow"), Hint("Stance too wide")),
    "shoulder_level_deg": ("Shoulders", Hint("Lead shoulder too low"), Hint("Lead shoulder too high")),
    "eyes_level_deg": (
        "Head",
        Hint("Head leans to the lead side", "level it"),
        Hint("Head leans to the trail side", "level it"),
    ),
    "hands_ahead_cm": (
        "Hands and ball",
        Hint("Hands behind the ball", "move them forward"),
        Hint("Hands too far ahead", "move them back"),
    ),
    "head_ahead_cm": (
        "Head and ball",
        Hint("Head too far behind the ball"),
        Hint("Head past the ball", "move it back"),
    ),
}
# What a signed number of a distance means: when it is 0 or more, and when it is less.
SIDES: Mapping[str, tuple[str, str]] = {
    "eye_line_cm": ("short of it", "beyond it"),
    "hands_plumb_cm": ("out", "in"),
    "elbow_plumb_cm": ("out", "in"),
    "hips_back_cm": ("back", "forward"),
    "ball_widths": ("forward", "back"),
    "shoulder_level_deg": ("lead high", "lead low"),
    "eyes_level_deg": ("lead high", "lead low"),
    "hands_ahead_cm": ("ahead", "behind"),
    "head_ahead_cm": ("ahead", "behind"),
}
THERE_WORD = "There"


def title(name: str) -> str:
    """What the measure is called."""
    return WORDS[name][0]


def number(name: str, value: float, unit: str) -> str:
    """A number with its unit and, where it has two sides, which side: "4.2 cm inside", "31°"."""
    side = SIDES.get(name)
    shown = abs(value) if side is not None else value
    if unit == "deg":
        text = f"{shown:.0f}°"
    elif unit == "cm":
        text = f"{shown:.1f} cm"
    elif unit == "ball widths":
        text = f"{shown:.1f} balls"
    else:
        text = f"{shown:.2f}"
    if side is None or not any(digit in text for digit in "123456789"):
        return text
    return f"{text} {side[0] if value >= 0 else side[1]}"


def reading(name: str, measure: Measure) -> str:
    """The measure's number, or why there is none."""
    value = confident_value(measure)
    if value is None:
        return measure.reason or ("not seen" if measure.value is None else "not sure")
    return number(name, value, measure.unit)


def span(check: Check) -> str:
    """The range in numbers."""
    unit = {"deg": "°", "cm": " cm", "ball widths": " balls"}.get(check.measure.unit, "")
    return f"{check.low:g} to {check.high:g}{unit}"


def advice(check: Check) -> Hint | None:
    """What is wrong and what to do; None when the measure lies inside its range or was not seen."""
    side = side_of(check)
    if side is None:
        return None
    _, below, above = WORDS[check.name]
    return below if side == "below" else above


def advice_among(check: Check, checks: Sequence[Check]) -> str:
    """The same in a line, where the others stand beside it: what follows from another waits for that."""
    first = cause_of(check, checks)
    if first is not None:
        return f"{title(first.name).lower()} first, then see"
    return str(advice(check) or "")
