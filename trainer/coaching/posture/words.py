"""The measures of an address in words: what each is called, how its number reads, and what to do when it is outside."""

from __future__ import annotations

from typing import Mapping, Sequence

from trainer.coaching.posture.causes import cause_of, side_of
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.ranges import Check
from trainer.domain.measures import confident_value
from trainer.domain.record import Measure
from trainer.texts import tr, tr_of

# name: what it is called; what to do when below its range; when above it.
WORDS: Mapping[str, tuple[str, Hint, Hint]] = {
    "eye_line_cm": (
        tr("Eyes and ball"),
        Hint(tr("Eyes beyond the ball"), tr("stand farther back")),
        Hint(tr("Eyes short of the ball"), tr("come nearer")),
    ),
    "hands_plumb_cm": (
        tr("Hands and shoulders"),
        Hint(tr("Hands too close"), tr("let them hang")),
        Hint(tr("Hands too far out"), tr("let them hang")),
    ),
    "spine_tilt_deg": (
        tr("Spine"),
        Hint(tr("Too upright"), tr("bend from the hips, only as far as is easy")),
        Hint(tr("Bent too far"), tr("stand taller")),
    ),
    "knee_flex_deg": (
        tr("Knees"),
        Hint(tr("Knees too straight"), tr("flex a little, only as far as is easy")),
        Hint(tr("Knees too bent"), tr("stand taller")),
    ),
    "elbow_deg": (
        tr("Trail elbow"),
        Hint(tr("Trail arm too bent"), tr("let it hang")),
        Hint(tr("Trail arm too straight")),
    ),
    "elbow_plumb_cm": (
        tr("Elbow and shoulders"),
        Hint(tr("Trail elbow far back"), tr("let it hang")),
        Hint(tr("Trail elbow out"), tr("tuck it in")),
    ),
    "hips_back_cm": (
        tr("Hips and feet"),
        Hint(tr("Hips far forward"), tr("move them back")),
        Hint(tr("Hips far back"), tr("move them forward")),
    ),
    "ball_position": (
        tr("Ball in the stance"),
        Hint(tr("Ball too far back"), tr("play it forward")),
        Hint(tr("Ball too far forward"), tr("play it back")),
    ),
    "ball_widths": (
        tr("Ball from the middle"),
        Hint(tr("Ball too far back"), tr("play it forward")),
        Hint(tr("Ball too far forward"), tr("play it back")),
    ),
    "stance_cm": (tr("Stance"), Hint(tr("Stance too narrow")), Hint(tr("Stance too wide"))),
    "shoulder_level_deg": (tr("Shoulders"), Hint(tr("Lead shoulder too low")), Hint(tr("Lead shoulder too high"))),
    "eyes_level_deg": (
        tr("Head"),
        Hint(tr("Head leans to the lead side"), tr("level it")),
        Hint(tr("Head leans to the trail side"), tr("level it")),
    ),
    "hands_ahead_cm": (
        tr("Hands and ball"),
        Hint(tr("Hands behind the ball"), tr("move them forward")),
        Hint(tr("Hands too far ahead"), tr("move them back")),
    ),
    "head_ahead_cm": (
        tr("Head and ball"),
        Hint(tr("Head too far behind the ball")),
        Hint(tr("Head past the ball"), tr("move it back")),
    ),
}
_OUT = tr_of("where", "out"), tr_of("where", "in")
_BACK = tr_of("where", "back"), tr_of("where", "forward")
_AHEAD = tr_of("where", "ahead"), tr_of("where", "behind")
# What a signed number of a distance means: when it is 0 or more, and when it is less.
SIDES: Mapping[str, tuple[str, str]] = {
    "eye_line_cm": (tr("short of it"), tr("beyond it")),
    "hands_plumb_cm": _OUT,
    "elbow_plumb_cm": _OUT,
    "hips_back_cm": _BACK,
    "ball_widths": _BACK[::-1],
    "shoulder_level_deg": (tr("lead high"), tr("lead low")),
    "eyes_level_deg": (tr("lead high"), tr("lead low")),
    "hands_ahead_cm": _AHEAD,
    "head_ahead_cm": _AHEAD,
}
THERE_WORD = tr("There")


def title(name: str) -> str:
    """What the measure is called."""
    return WORDS[name][0]


def number(name: str, value: float, unit: str) -> str:
    """A number with its unit and, where it has two sides, which side: "4.2 cm inside", "31°"."""
    side = SIDES.get(name)
    shown = abs(value) if side is not None else value
    if unit == "deg":
        text = tr("{shown:.0f}°", shown=shown)
    elif unit == "cm":
        text = tr("{shown:.1f} cm", shown=shown)
    elif unit == "ball widths":
        text = tr("{shown:.1f} balls", shown=shown)
    else:
        text = tr("{shown:.2f}", shown=shown)
    if side is None or not any(digit in text for digit in "123456789"):
        return text
    return tr("{text} {words}", text=text, words=side[0] if value >= 0 else side[1])


def reading(name: str, measure: Measure) -> str:
    """The measure's number, or why there is none."""
    value = confident_value(measure)
    if value is None:
        return measure.reason or (tr("not seen") if measure.value is None else tr("not sure"))
    return number(name, value, measure.unit)


def span(check: Check) -> str:
    """The range in numbers."""
    unit = {"deg": "°", "cm": " cm", "ball widths": tr(" balls")}.get(check.measure.unit, "")
    return tr("{low:g} to {high:g}{unit}", low=check.low, high=check.high, unit=unit)


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
        return tr("{lower} first, then see", lower=title(first.name).lower())
    return str(advice(check) or "")
