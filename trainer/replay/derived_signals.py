"""What is drawn and read of one stroke, worked out once from its record with the very functions that measure.

Columns are at the samples of the record's signals; places in the player's frame (px); not seen is NaN.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from trainer.coaching.posture.posture_change import spine_change_deg
from trainer.domain.measures import short_label
from trainer.domain.record import EventName, Floats, StrokeRecord
from trainer.stroke.angles import UPPER_ARM_SHARE, hinge_deg
from trainer.stroke.events import turn_change
from trainer.stroke.filters import slope, smooth
from trainer.stroke.hands_past_leg import hands_past_leg
from trainer.stroke.measures import HANDS_HZ
from trainer.stroke.signals import cm_per_px, places_in_view
from trainer.stroke.stretch import Stretch
from trainer.stroke.wrists import HINGE_HZ
from trainer.texts import tr

PLACES_HZ = 8.0  # places are drawn through the filter that speeds are told by: no lag, less of the frame's noise
UNSEEN_S = 0.10  # a point is drawn this long past the last frame that showed it, no longer
LEAST_SEEN = 0.6  # share of the frames that must show a track before its speed is told; as in stroke.measures
Place = tuple[float, float]  # along, up in px

# Event -> its word on the screen, in order of time.
EVENT_WORDS: dict[EventName, str] = {
    "takeaway_s": tr("takeaway"),
    "top_s": tr("top"),
    "impact_s": tr("impact"),
    "finish_s": tr("finish"),
    "settle_s": tr("settle"),
    "look_s": tr("look"),
}


def event_words(word: str) -> str:
    """The same word as it is told in other languages, for who has it from a command or a list."""
    return next((told for told in EVENT_WORDS.values() if told == word), word)


@dataclass(frozen=True, slots=True)
class Reading:
    """One number at one instant. value: None when not seen."""

    name: str
    label: str
    value: float | None
    unit: str

    @property
    def text(self) -> str:
        """As it is printed: signed, except speeds; a dash when not seen."""
        if self.value is None:
            return "-"
        if self.unit == "cm/s":
            return tr("{lstrip} cm/s", lstrip=signed(self.value, 0).lstrip("+"))
        space = "" if self.unit == "°" else " "
        return tr("{signed}{space}{unit}", signed=signed(self.value), space=space, unit=self.unit)


def signed(value: float, decimals: int = 1) -> str:
    """+1.2, -1.2 with a real minus sign, 0.0 without one."""
    text = tr("{value:+.{decimals}f}", decimals=decimals, value=value)
    if float(text) == 0.0:
        return text[1:]
    return text.replace("-", "−")


# Column -> label, unit. The names of those that the record measures are the measure's own.
LABELS: dict[str, tuple[str, str]] = {
    **{name: (short_label(name), "°") for name in ("head_turn_deg", "hinge_change_deg")},
    "hands_cm_s": (tr("hands' speed"), "cm/s"),
    "putter_cm_s": (tr("putter's speed"), "cm/s"),
    "hands_along_cm": (tr("hands' place"), "cm"),
    **{name: (short_label(name), "°") for name in ("spine_change_deg",)},
}


class DerivedSignals:
    """Read-only. ``columns``: head_turn_deg, hinge_change_deg and spine_change_deg since address; hands_cm_s and
    putter_cm_s along the line, + toward the target; hands_along_cm since address (px where there is no scale, see unit)."""

    def __init__(self, record: StrokeRecord) -> None:
        self.record = record
        s = self._signals = record.signals
        self.time_s = t = s.time_s
        self.face_on = record.view == "face-on"
        stretch = Stretch(s, None, record.events)
        self.take_s = stretch.take
        self._address = stretch.address
        nothing = np.full(len(t), np.nan)
        self.hinge_deg = smooth(t, hinge_deg(s, self._address), HINGE_HZ) if self.face_on else nothing
        body, ball = cm_per_px(s, "body"), cm_per_px(s, "ball")
        self.body_cm_per_px = body or ball
        hands_cm = s["hands_along_px"] * (self.body_cm_per_px or 1.0)
        self.units = {name: unit for name, (_, unit) in LABELS.items()}
        if self.body_cm_per_px is None:
            self.units["hands_along_cm"] = "px"
        self.columns: dict[str, Floats] = {
            "head_turn_deg": turn_change(s, self.take_s) if self.face_on else nothing,
            "hinge_change_deg": stretch.change(self.hinge_deg),
            "hands_cm_s": self._speed("hands", body or ball),
            "putter_cm_s": self._speed("putter", ball or body),
            "hands_along_cm": stretch.change(smooth(t, hands_cm, HANDS_HZ)) if self.face_on else nothing,
            "spine_change_deg": nothing if self.face_on else spine_change_deg(s, self.take_s),
        }
        self._places: dict[str, Floats] = {}
        self._at_address: dict[str, Place | None] = {}
        self._ankle_along_px = s["lead_ankle_along_px"]

    def _speed(self, name: str, scale: float | None) -> Floats:
        """As stroke.measures tells it."""
        track = self._signals[f"{name}_along_px"]
        if not self.face_on or scale is None or np.isfinite(track).mean() < LEAST_SEEN:
            return np.full(len(track), np.nan)
        return slope(self.time_s, smooth(self.time_s, track * scale, HANDS_HZ))

    # ---- instants

    def sample(self, time_s: float) -> int:
        """The sample nearest to that time."""
        return int(np.argmin(np.abs(self.time_s - time_s)))

    def events(self) -> dict[str, float]:
        """Word -> time (s) of the events that were seen, in order of time."""
        found = {word: self.record.events.named(name) for name, word in EVENT_WORDS.items()}
        return dict(sorted(((w, t) for w, t in found.items() if t is not None), key=lambda pair: pair[1]))

    def event_s(self, word: str) -> float | None:
        """Time of the event of that word; None when not seen."""
        return self.events().get(word)

    def readings(self, sample: int) -> list[Reading]:
        """All numbers at that sample, those of the other view left out."""
        other = {"spine_change_deg"} if self.face_on else set(LABELS) - {"spine_change_deg"}
        return [self.reading(name, sample) for name in LABELS if name not in other]

    def reading(self, name: str, sample: int) -> Reading:
        """One of them."""
        return Reading(name, LABELS[name][0], self._value(name, sample), self.units[name])

    def _value(self, name: str, sample: int) -> float | None:
        """At the sample nearest to impact at impact itself, between samples, as the stroke's own measures tell it."""
        column, impact = self.columns[name], self.record.events.impact_s
        seen = np.isfinite(column)
        if not seen[sample]:
            return None
        if impact is None or self.sample(impact) != sample:
            return float(column[sample])
        return float(np.interp(impact, self.time_s[seen], column[seen]))

    def past_leg(self, sample: int) -> Reading:
        """Hands past the lead leg at that sample; at the sample nearest to the finish, at the finish itself."""
        finish = self.record.events.finish_s
        at = float(self.time_s[sample])
        if finish is not None and self.sample(finish) == sample:
            at = finish
        measure = hands_past_leg(self._signals, replace(self.record.events, finish_s=at))
        return Reading("hands_past_leg_cm", short_label("hands_past_leg_cm"), measure.value, "cm")

    # ---- places

    def track(self, point: str) -> Floats:
        """(n, 2) of a point, smoothed; NaN where it was not seen. Along and up face-on, across and up down the line.

        point: as in domain.record.SIGNAL_NAMES, without its ending.
        """
        if point not in self._places:  # one thread draws
            both = np.stack(places_in_view(self._signals, point))
            gone = _unseen(self.time_s, np.isfinite(both).all(axis=0))
            out = np.stack([smooth(self.time_s, column, PLACES_HZ) for column in both], axis=1)
            out[gone] = np.nan
            self._places[point] = out
        return self._places[point]

    def place(self, point: str, sample: int) -> Place | None:
        """Where the point is at that sample."""
        aside, up = self.track(point)[sample]
        return (float(aside), float(up)) if math.isfinite(aside) and math.isfinite(up) else None

    def place_at_address(self, point: str) -> Place | None:
        """Its median place at address."""
        if point not in self._at_address:
            self._at_address[point] = self._median_at_address(point)
        return self._at_address[point]

    def _median_at_address(self, point: str) -> Place | None:
        seen = self.track(point)[self._address]
        seen = seen[np.isfinite(seen).all(axis=1)]
        if not len(seen):
            return None
        aside, up = np.median(seen, axis=0)
        return float(aside), float(up)

    def middle(self, part: str, sample: int | None) -> Place | None:
        """Between lead and trail of a pair of joints, at that sample or (None) at address; down-the-line of the near side
        alone where the far one is not seen."""
        both = [
            self.place_at_address(f"{side}_{part}") if sample is None else self.place(f"{side}_{part}", sample)
            for side in ("lead", "trail")
        ]
        if not self.face_on and both[0] is None:
            return both[1]
        if both[0] is None or both[1] is None:
            return None
        return (both[0][0] + both[1][0]) / 2, (both[0][1] + both[1][1]) / 2

    def arm(self, sample: int) -> tuple[Place, Place] | None:
        """The lead arm about as its angle is measured (``angles``): from the middle of the upper arm to the wrist."""
        shoulder, elbow, wrist = (self.place(p, sample) for p in ("lead_shoulder", "lead_elbow", "lead_wrist"))
        if shoulder is None or elbow is None or wrist is None:
            return None
        (sa, su), (ea, eu), k = shoulder, elbow, UPPER_ARM_SHARE
        return (k * sa + (1 - k) * ea, k * su + (1 - k) * eu), wrist

    def ankle_along_px(self) -> float | None:
        """The lead ankle's place along the line: its median, as hands_past_leg has it; None when not seen."""
        seen = self._ankle_along_px[np.isfinite(self._ankle_along_px)]
        return float(np.median(seen)) if len(seen) else None


def _unseen(time_s: Floats, seen: Any) -> Any:
    """Samples further than UNSEEN_S from every sample that was seen."""
    at = time_s[seen]
    if not len(at):
        return np.ones(len(time_s), dtype=bool)
    k = np.clip(np.searchsorted(at, time_s), 1, len(at) - 1) if len(at) > 1 else np.zeros(len(time_s), dtype=int)
    gap = np.minimum(np.abs(time_s - at[k]), np.abs(time_s - at[np.maximum(k - 1, 0)]))
    return np.asarray(gap > UNSEEN_S)
