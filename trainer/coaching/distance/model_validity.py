"""Where the roll model must not be believed: downhill, real balls run away on gentler slopes than its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.coaching.distance.roll import runaway_slope_pct
from trainer.texts import tr

# J. Lemons, USGA Green Section (2008, year from memory): on a green of 14 ft a ball does not stop on 2.4 deg, 4.2 %.
PUBLISHED_LIMIT_FT = 14.0
PUBLISHED_LIMIT_PCT = 4.2
# That one published point, as a share of the model's own limit there (0.75), is taken for every green speed: our
# inference.
FIELD_SHARE = PUBLISHED_LIMIT_PCT / runaway_slope_pct(PUBLISHED_LIMIT_FT)
# From two thirds of the field limit on the player is warned: there a quarter foot of green speed moves the ball a lot.
WARN_SHARE = FIELD_SHARE * 2.0 / 3.0

Trust = Literal["good", "doubtful", "none"]


@dataclass(frozen=True, slots=True)
class ModelValidity:
    """trust: good; doubtful (shown with a warning); none (not shown). why: one line for the player, "" when good."""

    trust: Trust
    why: str = ""


def model_validity(green_speed_ft: float, slope_pct: float) -> ModelValidity:
    """How far a prediction on this slope may be believed. slope_pct: + uphill."""
    limit_pct = runaway_slope_pct(green_speed_ft)
    fall_pct = -slope_pct
    if fall_pct >= FIELD_SHARE * limit_pct:
        return ModelValidity(
            "none",
            tr(
                "{fall_pct:.3g} % downhill at green speed {green_speed_ft:.3g} ft: the ball may not stop "
                "(from about {field_share:.1f} % on)",
                fall_pct=fall_pct,
                green_speed_ft=green_speed_ft,
                field_share=FIELD_SHARE * limit_pct,
            ),
        )
    if fall_pct >= WARN_SHARE * limit_pct:
        return ModelValidity(
            "doubtful",
            tr(
                "{fall_pct:.3g} % downhill at green speed {green_speed_ft:.3g} ft: a little more slope "
                "or speed and it runs away; do not trust the length, let it die at the hole",
                fall_pct=fall_pct,
                green_speed_ft=green_speed_ft,
            ),
        )
    return ModelValidity("good")
