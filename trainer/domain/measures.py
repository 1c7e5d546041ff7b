"""What is known of each measure of a stroke, once: its words, unit, precision, and the fault that is judged by it.

A new measure takes an entry here and its computation (``stroke.measures``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Mapping

from trainer.domain.record import Measure
from trainer.domain.units import unit_words
from trainer.domain.verdict import FaultName
from trainer.texts import tr

FAR_TURN_DEG = 40.0  # a head turned farther is only known to be turned far (``vision/head/STUDY.md``)
MIN_CONFIDENCE = 0.35  # a measure less certain than this is not judged: no verdict is better than a wrong one


@dataclass(frozen=True, slots=True)
class MeasureSpec:
    """One measure; tolerance, repeatability and goal in its unit.

    label: in a list of numbers, short: beside a curve or a drill's goal (else the label), heading: over a column.
    decimals: shown; signed: shown with its sign; listed: among a stroke's numbers.
    tolerance: the error (2/3 of values within it at a confidence of 0.5) that it is wanted to, a quarter of the default limit
    where there is one; None: its error is not worked out. tolerance_share: of the value, where that is more: a long stroke
    need not be known to the millimetre, nor a plain fault to a tenth.
    repeatability: SD about rendered truth (``tests.bench.accuracy``); None: two strokes are not compared by it.
    fault: told in this measure; limited: that fault's limit is set on this very measure.
    goal: widest sensible range of a drill's goal; None: no drill may set one.
    """

    name: str
    label: str
    unit: str
    decimals: int
    signed: bool = False
    tolerance: float | None = None
    tolerance_share: float = 0.0
    repeatability: float | None = None
    fault: FaultName | None = None
    limited: bool = False
    goal: tuple[float, float] | None = None
    short: str = ""
    heading: str = ""
    listed: bool = False

    def wanted(self, value: float) -> float:
        """The error that this value is wanted to; infinite where no tolerance is set."""
        return math.inf if self.tolerance is None else max(self.tolerance, self.tolerance_share * abs(value))


_LIST: tuple[MeasureSpec, ...] = (
    MeasureSpec(
        "hold_s", tr('look after rest'), "s", 2, tolerance=0.1, repeatability=0.02, fault="short_hold", limited=True,
        goal=(0.0, 10.0), heading=tr("hold\ns"), listed=True,
    ),
    MeasureSpec(
        "early_by_s", tr('look before rest'), "s", 2, tolerance=0.1, repeatability=0.01, fault="early_look",
        heading=tr("early\ns"), listed=True,
    ),
    MeasureSpec(
        "head_turn_deg", tr('head turn up to rest'), "deg", 1, True, 3.0, 0.25, 3.28, "early_look", True,
        goal=(-90.0, 90.0), short=tr('head turn'), heading=tr("turn\ndeg"), listed=True,
    ),
    MeasureSpec(
        "hinge_change_deg", tr('wrist angle change'), "deg", 1, True, 3.0, 0.25, 1.50, "hand_stall", True,
        goal=(-90.0, 90.0), short=tr('wrist angle'), heading=tr("wrist\nangle\ndeg"), listed=True,
    ),
    MeasureSpec(
        "hands_past_leg_cm", tr('hands past leg at finish'), "cm", 1, True, goal=(-60.0, 60.0), short=tr('hands past leg'),
        listed=True,
    ),
    MeasureSpec(
        "hands_carry_cm", tr('hands through, less back'), "cm", 1, True, repeatability=1.0, goal=(-40.0, 60.0),
        short=tr('hands through'),
    ),
    MeasureSpec(
        "back_cm", tr('backstroke'), "cm", 1, False, 1.5, 0.06, 0.50, goal=(1.0, 150.0), heading=tr("back\ncm"), listed=True
    ),
    MeasureSpec(
        "through_cm", tr('follow-through'), "cm", 1, False, 1.5, 0.06, 0.76, goal=(1.0, 200.0), heading=tr("thru\ncm"),
        listed=True,
    ),
    MeasureSpec(
        "tempo_ratio", tr('rhythm, back to forward'), "1", 2, tolerance=0.25, repeatability=0.06, goal=(0.5, 6.0),
        short=tr('rhythm'), heading=tr('rhythm'), listed=True,
    ),
    MeasureSpec("putter_impact_cm_s", tr('putter head at impact'), "cm/s", 0, listed=True),
    MeasureSpec("hands_impact_cm_s", tr('hands at impact'), "cm/s", 0, listed=True),
    MeasureSpec(
        "recoil_cm", tr('putter coming back'), "cm", 1, False, 0.75, 0.25, 0.30, "recoil", True,
        goal=(0.0, 50.0), heading=tr("recoil\ncm"), listed=True,
    ),
    MeasureSpec("sway_cm", tr('head along the line'), "cm", 1, True, 0.75, 0.25, 0.50, goal=(-30.0, 30.0), listed=True),
    MeasureSpec(
        "head_with_putter_cm", tr('head with the putter'), "cm", 1, True, 0.75, 0.25, 0.50, "sway", True,
        goal=(-30.0, 30.0), listed=True,
    ),
    MeasureSpec("lift_cm", tr('head up'), "cm", 1, True, 0.62, 0.25, 0.40, "lift", True, (-30.0, 30.0), listed=True),
    MeasureSpec("backstroke_s", tr('backstroke time'), "s", 2, repeatability=0.008, goal=(0.1, 3.0)),
    MeasureSpec("forward_s", tr('forward time'), "s", 2, repeatability=0.005),
    MeasureSpec("back_peak_cm_s", tr('fastest in the backstroke'), "cm/s", 0, goal=(1.0, 500.0)),
    MeasureSpec("hands_peak_cm_s", tr('hands, fastest'), "cm/s", 0),
    MeasureSpec("putter_peak_cm_s", tr('putter head, fastest'), "cm/s", 0),
    MeasureSpec("hands_to_putter_stop", tr("hands' speed while the putter goes on, of that at impact"), "1", 2),
    MeasureSpec("share_shoulders", tr('putter speed from the shoulders'), "1", 2),
    MeasureSpec("share_arms", tr('putter speed from the arms'), "1", 2),
    MeasureSpec("share_wrists", tr('putter speed from the wrists'), "1", 2, repeatability=0.03),
    MeasureSpec("impact_ball_later_s", tr("ball's start after impact"), "s", 3, True),
    MeasureSpec("impact_sound_later_s", tr("click after the picture's impact"), "s", 3, True),
    MeasureSpec("head_putter_correlation", tr('head with putter, correlation'), "1", 2, True),
    MeasureSpec("rest_sight", tr('putter seen from impact to rest'), "1", 2),
    # These describe, and have no norm: a player's own strokes are compared by them.
    MeasureSpec(
        "hinge_back_deg", tr('wrist angle change, backstroke'), "deg", 1, True, repeatability=1.8,
        goal=(-90.0, 90.0), short=tr('wrists back'),
    ),
    MeasureSpec("slowing_share", tr('speed lost before impact'), "1", 2, repeatability=0.03, goal=(0.0, 1.0)),
    MeasureSpec("takeaway_cm_s", tr('start of the backstroke'), "cm/s", 0, repeatability=3.0, goal=(1.0, 300.0)),
    MeasureSpec(
        "look_from_impact_s", tr('look after impact'), "s", 2, True, tolerance=0.1, repeatability=0.02, goal=(-3.0, 10.0)
    ),
    MeasureSpec(
        "putter_while_looking_cm", tr('putter moves while looking'), "cm", 1, repeatability=0.15, goal=(0.0, 50.0),
        short=tr('putter, looking'),
    ),
    MeasureSpec(
        "body_while_looking_cm", tr('shoulders up while looking'), "cm", 1, True, repeatability=0.7, goal=(-30.0, 30.0),
        short=tr('shoulders, looking'),
    ),
    MeasureSpec("address_stance_cm", tr('stance'), "cm", 1, repeatability=0.8, goal=(5.0, 100.0)),
    MeasureSpec(
        "address_ball_share", tr('ball between the feet, as the camera sees it'), "1", 2, repeatability=0.01, goal=(-0.5, 1.5),
        short=tr('ball in stance'),
    ),
    MeasureSpec("still_before_s", tr('putter still before it (counted to 1.5 s)'), "s", 1, repeatability=0.1, goal=(0.0, 1.5)),
    # Worked out from the record when asked for.
    MeasureSpec("look_after_s", tr('look after rest'), "s", 2, True, repeatability=0.02),
    MeasureSpec(
        "spine_change_deg", tr('spine straighter, most'), "deg", 1, True, fault="posture_change", limited=True, short=tr("spine")
    ),
)  # fmt: skip
MEASURES: Mapping[str, MeasureSpec] = {spec.name: spec for spec in _LIST}
# Fault -> the measure that its limit is set on.
LIMITED: Mapping[str, MeasureSpec] = {spec.fault: spec for spec in _LIST if spec.fault is not None and spec.limited}


# Fault -> what its limit was set on in releases before, whose strokes lack the measure of today: of its size.
_FORMERLY: Mapping[str, str] = {"sway": "sway_cm"}


def limited_measure(measures: Mapping[str, Measure], fault: str) -> Measure | None:
    """The measure that a fault's limit is set on; of a stroke kept by an earlier release, what it was judged by then."""
    found = measures.get(LIMITED[fault].name)
    if found is not None or fault not in _FORMERLY:
        return found
    then = measures.get(_FORMERLY[fault])
    return None if then is None or then.value is None else replace(then, value=abs(then.value))


def confident_value(measure: Measure | None) -> float | None:
    """The value where it may be judged; None: not seen, or not surely."""
    if measure is None or measure.value is None or measure.confidence < MIN_CONFIDENCE:
        return None
    return measure.value


def turn_text(turn_deg: float) -> str:
    """A head turn as it may be said: how far, up to FAR_TURN_DEG."""
    if abs(turn_deg) > FAR_TURN_DEG:
        return tr("over {far_turn_deg:.0f}°", far_turn_deg=FAR_TURN_DEG) + (tr(" away") if turn_deg < 0 else "")
    return tr("{turn_deg:+d}°", turn_deg=round(turn_deg)) if round(turn_deg) else "0°"


def with_unit(name: str) -> str:
    """A measure's label and its unit."""
    spec = MEASURES[name]
    return spec.label if spec.unit == "1" else tr("{label}, {unit}", label=spec.label, unit=unit_words(spec.unit))


def short_label(name: str) -> str:
    """Of a measure, where there is little room."""
    return MEASURES[name].short or MEASURES[name].label
