"""What is read large after a stroke in a drill: what the drill is about; all else beside it, smaller."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.coaching.distance.ladder import PLACE_WORDS, place
from trainer.coaching.drills import Run, judged
from trainer.coaching.verdict import Verdict
from trainer.domain.measures import MEASURES, confident_value, short_label
from trainer.domain.record import StrokeRecord
from trainer.domain.units import Unit, shown
from trainer.domain.verdict import fault_words
from trainer.feedback.signs import NOT_JUDGED_WORD, Sign, SignKind, result_sign
from trainer.settings.drill_file import Goal
from trainer.texts import capital, join, tr

WORDS_OF_PLACE = {**PLACE_WORDS, "in": tr("in the window")}


@dataclass(frozen=True, slots=True)
class Putted:
    """A putt of a distance drill. rolled_m: how far the ball would have run, None: not known, and why says it; asked_cm:
    backstroke for that distance, None: not known.
    """

    rolled_m: float | None
    unit: Unit
    asked_cm: float | None = None
    why: str = ""


def drill_sign(run: Run, record: StrokeRecord, verdict: Verdict, putted: Putted | None = None) -> Sign:
    """run: as it was before this stroke, which counts."""
    good = _kind(run, record, verdict, putted)
    back = confident_value(record.measures.get("back_cm"))
    if putted is not None and run.target_m is not None:
        taken = [] if back is None else [tr("back {back:.0f} cm", back=back) + _asked(putted.asked_cm, run.chooses)]
        if putted.rolled_m is None:
            return _with_faults(tr("Distance not known"), [putted.why, *taken], verdict, "plain")
        where = WORDS_OF_PLACE[place(putted.rolled_m, run.target_m, run.window_share)]
        word = tr(
            "{rolled_m} for {target_m}",
            rolled_m=shown(putted.rolled_m, putted.unit, 1),
            target_m=shown(run.target_m, putted.unit, 1),
        )
        return _with_faults(word, [where, *taken], verdict, good)
    if run.length_cm is not None:
        word = tr("Length not seen") if back is None else tr("Back {back:.0f} cm", back=back)
        within = tr(
            "asked {length_cm:g} cm, within {within_cm:g}",
            length_cm=run.length_cm,
            within_cm=run.drill.ladder.within_cm,
        )
        return _with_faults(word, [within], verdict, good)
    for name, goal in run.drill.goals.given():
        value, spec = confident_value(record.measures.get(name)), MEASURES[name]
        label = short_label(name)
        unit = {"1": "", "deg": "°"}.get(spec.unit, f" {spec.unit}")
        word = (
            tr("{label} not seen", label=label)
            if value is None
            else tr(
                "{label} {value:.{decimals}f}{unit}",
                label=label,
                decimals=_decimals(value, goal, spec.decimals),
                value=value,
                unit=unit,
            )
        )
        ends = [tr("at least {at_least:g}", at_least=goal.at_least)] if goal.at_least is not None else []
        ends += [tr("at most {at_most:g}", at_most=goal.at_most)] if goal.at_most is not None else []
        return _with_faults(capital(word), [tr("asked {ends}", ends=join(", ", ends))], verdict, good)
    own = [fault for fault in verdict.faults if fault.name in run.drill.rule.faults]
    others = [fault.name for fault in verdict.faults if fault.name not in run.drill.rule.faults]
    mark = judged(run, record.measures, verdict, confident_value(record.measures.get("back_cm")))
    sign = result_sign(record, own, verdict.too_close)
    if mark.good is None and not verdict.too_close:
        sign = Sign(NOT_JUDGED_WORD, join("; ", mark.why), "plain")
    return Sign(sign.word, join("; ", filter(None, (sign.detail, _also(others)))), sign.kind)


def _decimals(value: float, goal: Goal[float], of_measure: int) -> int:
    """One at most, for what is read from afar, but where it would read as if a goal were met that is missed."""

    def met(told: float) -> bool:
        return (goal.at_least is None or told >= goal.at_least) and (goal.at_most is None or told <= goal.at_most)

    few = min(of_measure, 1)
    return few if met(round(value, few)) == met(value) else of_measure


def _kind(run: Run, record: StrokeRecord, verdict: Verdict, putted: Putted | None) -> SignKind:
    """Good or not by the drill's own rule."""
    rolled_m = putted.rolled_m if putted is not None else None
    good = judged(run, record.measures, verdict, confident_value(record.measures.get("back_cm")), rolled_m).good
    return "plain" if good is None else "good" if good else "fault"


def _asked(length_cm: float | None, chosen: bool) -> str:
    """chosen: by the player; then it is the chart that says one."""
    return (
        ""
        if length_cm is None
        else tr(", {words} {length_cm:.0f}", words=tr("the chart") if chosen else tr("asked"), length_cm=length_cm)
    )


def _with_faults(word: str, details: list[str], verdict: Verdict, kind: SignKind) -> Sign:
    also = _also([fault.name for fault in verdict.faults])
    near = tr("the look too close to call") if verdict.too_close else ""
    return Sign(word, join("; ", filter(None, (*details, also, near))), kind)


def _also(names: list[str]) -> str:
    return tr("also: ") + join(", ", map(fault_words, names)) if names else ""
