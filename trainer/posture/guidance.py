"""What the player is to do: one sign out of all checks and hints, and what changed between two postures, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping, Sequence

from trainer.coaching.posture.address import AddressSeen
from trainer.coaching.posture.causes import cause_of, causes_first
from trainer.coaching.posture.compare import Change
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.ranges import Check
from trainer.coaching.posture.words import advice, number, title
from trainer.domain.measures import MIN_CONFIDENCE
from trainer.domain.record import Measure
from trainer.feedback.signs import Sign, SignKind
from trainer.texts import capital, join, tr


@dataclass(frozen=True)
class PostureState:
    """One moment. image: (h, w, 3) uint8 BGR as the camera gives it; share: how long the position has been held, 0..1.

    notes: small lines; keys: whether there are keys to tell of; reference: the measures to come back to.
    """

    image: Any
    seen: AddressSeen | None
    checks: Sequence[Check]
    sign: Sign
    share: float = 0.0
    notes: Sequence[str] = ()
    keys: bool = True
    reference: Mapping[str, Measure] | None = None


@dataclass(frozen=True)
class ComparedPosture:
    """One of two side by side. title: what stands above it; image: (h, w, 3) uint8 BGR as the camera gave it."""

    title: str
    image: Any
    seen: AddressSeen
    checks: Sequence[Check]


def state_of(check: Check) -> SignKind:
    """good: inside; fault: clearly outside; plain: outside by less than the method can tell, or not confident."""
    if check.fault:
        return "fault"
    return "good" if check.inside and judged(check) else "plain"


def judged(check: Check) -> bool:
    """Whether it was seen with confidence enough to judge it."""
    return check.inside is not None and check.measure.confidence >= MIN_CONFIDENCE


def main_sign(checks: Sequence[Check], hints: Sequence[Hint]) -> Sign:
    """The one sign: a hint, or what is outside (a cause before what follows from it), or that all is well."""
    if not checks:
        first = hints[0] if hints else Hint(tr("stand at address"))
        return Sign(capital(first.what), first.todo, "plain")
    outside = [c for c in checks if c.fault] or [c for c in checks if judged(c) and not c.inside]
    if outside:
        outside = causes_first(outside, checks)
        what = advice(outside[0]) or Hint("")
        others = len({title(c.name) for c in outside}) - 1
        parts = [what.todo]
        if not outside[0].fault:
            parts.append(tr("just out of range, by less than can be seen for sure"))
        others -= len(waiting := {title(c.name) for c in outside if cause_of(c, checks) is outside[0]})
        if waiting:
            parts.append(tr("then see: {lower}", lower=join(", ", sorted(waiting)).lower()))
        if others:
            parts.append(tr("{others} more out of range", others=others))
        return Sign(what.what, join("; ", (part for part in parts if part)), "fault" if outside[0].fault else "plain")
    unseen = [title(c.name).lower() for c in checks if not judged(c)]
    detail = tr("not judged: {listed}", listed=join(", ", unseen)) if unseen else tr("every measure in its range")
    return Sign(tr("All in range"), detail, "good")


def change_verdict(change: Change) -> str:
    """One change in words."""
    if change.change is None:
        return tr("not seen both times")
    if not change.real:
        return tr("no sure change")
    if change.nearer is None:
        return tr("changed, in its range both times")
    if change.nearer:
        return tr("changed, now in its range") if change.inside_after else tr("changed, nearer to its range")
    return tr("changed, farther from its range") if not change.inside_before else tr("changed, now out of its range")


def change_cells(change: Change) -> tuple[str, str, str, str, str, str]:
    """Measure, before, after, change, the least change that can be told, verdict."""

    def shown(value: float | None) -> str:
        return "-" if value is None else number(change.name, value, change.unit)

    digits = 2 if change.unit == "" else 0 if change.unit == "deg" else 1
    unit = {"deg": "°", "": "", "ball widths": tr(" balls")}.get(change.unit, f" {change.unit}")
    moved = (
        "-"
        if change.change is None
        else tr("{change:+.{digits}f}{unit}", digits=digits, change=change.change, unit=unit)
    )
    least = tr(
        "{smallest:.{words}f}{unit}",
        words=max(digits, 1) if change.unit == "deg" else digits,
        smallest=change.smallest,
        unit=unit,
    )
    return title(change.name), shown(change.before), shown(change.after), moved, least, change_verdict(change)
