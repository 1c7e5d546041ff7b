"""What each measure of the address should lie between. Per student: a coach's reference posture is a set of these ranges.

The defaults are common practice in the trade without a source ("two widths" and the like; none has a published norm), wide
where measuring is coarse.
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Mapping

from pydantic import BaseModel, PrivateAttr, ValidationInfo, model_validator

from trainer.domain.observation import View
from trainer.settings.keys import STRICT, Within, range_of, rule_fault
from trainer.texts import tr

PART = "part"  # in a validation's context: these values are laid over others, which may hold the range's other end


class Range(BaseModel):
    """low..high as asked for.

    doubt: what the measure may be off by (one standard deviation on rendered truth, tests/integration/
    test_posture_stills.py), same unit.
    """

    model_config = STRICT
    doubt: ClassVar[float]
    note: ClassVar[str]
    unit: ClassVar[str]
    lowest: ClassVar[float]  # what a settings file may give either end
    highest: ClassVar[float]
    low: float
    high: float

    @classmethod
    def __pydantic_init_subclass__(cls, **options: Any) -> None:
        super().__pydantic_init_subclass__(**options)
        within = range_of(cls.model_fields["low"])
        cls.lowest, cls.highest, cls.unit = within.low, within.high, within.unit

    @model_validator(mode="after")
    def _in_order(self, info: ValidationInfo) -> Range:
        one_end_only = info.context == PART and self.model_fields_set != {"low", "high"}
        if self.low > self.high and not one_end_only:
            raise rule_fault(
                ("", tr("low ({low:g}) lies above high ({high:g}); swap them", low=self.low, high=self.high))
            )
        return self


class EyeLine(Range):
    note = "eyes inside the ball line: over it to two ball widths inside"
    doubt = 1.0
    low: Annotated[float, Within(-40, 60, "cm")] = 0.0
    high: Annotated[float, Within(-40, 60, "cm")] = 8.5


class HandsPlumb(Range):
    note = "hands from the plumb line of the shoulders, + away"
    doubt = 1.2
    low: Annotated[float, Within(-40, 60, "cm")] = -5.0
    high: Annotated[float, Within(-40, 60, "cm")] = 5.0


class SpineTilt(Range):
    note = "hip centre to neck, from upright"
    doubt = 2.0
    low: Annotated[float, Within(0, 90, "deg")] = 30.0
    high: Annotated[float, Within(0, 90, "deg")] = 45.0


class KneeFlex(Range):
    note = "bend of the trail knee; 0 is a straight leg"
    doubt = 2.5
    low: Annotated[float, Within(0, 90, "deg")] = 10.0
    high: Annotated[float, Within(0, 90, "deg")] = 25.0


class Elbow(Range):
    note = "trail elbow; 180 is a straight arm"
    doubt = 6.0
    low: Annotated[float, Within(30, 180, "deg")] = 135.0
    high: Annotated[float, Within(30, 180, "deg")] = 180.0


class ElbowPlumb(Range):
    note = "trail elbow from the plumb line; + away: not inside it"
    doubt = 2.0
    low: Annotated[float, Within(-60, 40, "cm")] = -25.0
    high: Annotated[float, Within(-60, 40, "cm")] = 4.0


class HipsBack(Range):
    note = "hip centre behind the ankles"
    doubt = 2.0
    low: Annotated[float, Within(-30, 40, "cm")] = 2.0
    high: Annotated[float, Within(-30, 40, "cm")] = 18.0


class BallPosition(Range):
    note = "ball between the feet: 0 trail ankle, 1 lead ankle"
    doubt = 0.02
    low: Annotated[float, Within(-0.5, 1.5)] = 0.50
    high: Annotated[float, Within(-0.5, 1.5)] = 0.75


class BallWidths(Range):
    note = "ball from the middle of the stance, + to the target"
    doubt = 0.2
    low: Annotated[float, Within(-10, 10, "ball widths")] = 0.0
    high: Annotated[float, Within(-10, 10, "ball widths")] = 2.0


class Stance(Range):
    note = "between the ankles: about as wide as the hips"
    doubt = 1.6
    low: Annotated[float, Within(5, 100, "cm")] = 25.0
    high: Annotated[float, Within(5, 100, "cm")] = 45.0


class ShoulderLevel(Range):
    # The trail hand is the lower one on the grip, so the trail shoulder hangs lower: + is the usual side (anatomy; how far,
    # common practice, no source).
    note = "shoulders; + lead side higher"
    doubt = 1.5
    low: Annotated[float, Within(-45, 45, "deg")] = -6.0
    high: Annotated[float, Within(-45, 45, "deg")] = 10.0


class EyesLevel(Range):
    note = "head; + lead side higher"
    doubt = 3.0
    low: Annotated[float, Within(-45, 45, "deg")] = -8.0
    high: Annotated[float, Within(-45, 45, "deg")] = 8.0


class HandsAhead(Range):
    note = "hands past the ball along the line, + to the target"
    doubt = 0.7
    low: Annotated[float, Within(-40, 40, "cm")] = -10.0
    high: Annotated[float, Within(-40, 40, "cm")] = 5.0


class HeadAhead(Range):
    note = "head past the ball along the line, + to the target"
    doubt = 1.0
    low: Annotated[float, Within(-40, 40, "cm")] = -12.0
    high: Annotated[float, Within(-40, 40, "cm")] = 2.0


class DownTheLineRanges(BaseModel):
    """Measures seen from down the line."""

    model_config = STRICT
    eye_line_cm: EyeLine = EyeLine()
    hands_plumb_cm: HandsPlumb = HandsPlumb()
    spine_tilt_deg: SpineTilt = SpineTilt()
    knee_flex_deg: KneeFlex = KneeFlex()
    elbow_deg: Elbow = Elbow()
    elbow_plumb_cm: ElbowPlumb = ElbowPlumb()
    hips_back_cm: HipsBack = HipsBack()


class FaceOnRanges(BaseModel):
    """Measures seen face-on."""

    model_config = STRICT
    ball_position: BallPosition = BallPosition()
    ball_widths: BallWidths = BallWidths()
    stance_cm: Stance = Stance()
    shoulder_level_deg: ShoulderLevel = ShoulderLevel()
    eyes_level_deg: EyesLevel = EyesLevel()
    hands_ahead_cm: HandsAhead = HandsAhead()
    head_ahead_cm: HeadAhead = HeadAhead()


class Ranges(BaseModel):
    """Of all measures, by view."""

    model_config = STRICT
    down_the_line: DownTheLineRanges = DownTheLineRanges()
    face_on: FaceOnRanges = FaceOnRanges()

    _left_out: frozenset[str] = PrivateAttr(frozenset())

    def __getitem__(self, view: View) -> Mapping[str, Range]:
        """Measure -> its range, in the order in which they are shown."""
        every: BaseModel = getattr(self, table_name(view))
        return {name: bounds for name, bounds in every if name not in self._left_out}

    def without(self, names: frozenset[str]) -> Ranges:
        """The same but for measures that are not asked of a player."""
        if not names:
            return self
        found = self.model_copy()
        found._left_out = self._left_out | names
        return found


def table_name(view: View) -> str:
    """A view as a TOML table is called."""
    return view.replace("-", "_")


DEFAULTS = Ranges()
