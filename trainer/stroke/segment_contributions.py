"""How the unit of shoulders, arms and putter works: who carries the putter head along the line, and how the head goes with it.

A planar chain in the picture of the face-on camera: neck (middle of the shoulders) - hands (on the shaft) - putter
head, with the line of the shoulders rocking at the neck. Each joint turns all that hangs below it, so the speed of the putter
head along the line, against the neck, splits without remainder into

    shoulders = rock rate x height of the neck above the putter head
    wrists    = speed of the putter head against the hands - rate of the neck-hands line x height of the hands above it
    arms      = the rest: arms turning against the shoulders, and arms bending or stretching

The share of each is its part of the way, back from takeaway to top and forward from top to finish, over the whole way; the
three sum to 1. One may be below 0 or above 1 when two work against each other. The neck's own travel (sway) is no part of it.
The definition is our own. Its figure is in STUDY.md.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.domain.record import Events, Floats, Measure, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.filters import slope, smooth
from trainer.stroke.signals import cm_per_px, rough_cm_per_px

SHARES = ("share_shoulders", "share_arms", "share_wrists")
CHAIN_HZ = 6.0  # cut-off for the chain's points: a putt's motion lies below 3 Hz
LONGEST_GAP_S = 0.15  # frames lost for longer: what was done in the gap is not made up
SEEN_SHARE = 0.8  # of the samples between takeaway and finish that must show every point of the chain
LEAST_WAY_CM = 4.0  # back and forward together: less, and the shoulders' rock drowns in the pose model's noise
# Seen from knee height the shoulders' rock looks smaller than it is, for they also turn (see STUDY.md): the split between
# shoulders and arms is less sure than that between both and the wrists.
SPLIT_TRUST = 0.6
DOUBTFUL_SHARE = 0.25  # a share that may be this far off (one standard deviation) deserves no confidence
HEAD_HZ = 5.0
# The pose model's head centre shakes by 0.1 to 0.2 cm; speeds of it under this (root mean square, 5 Hz) tell nothing.
LEAST_HEAD_CM_S = 0.5
NOISE_TIMES = 1.5  # and the head must move this many times as fast as it seems to at address


@dataclass(frozen=True)
class Chain:
    """Points of the chain, (n,) each, in one unit of length; rock_rad: direction of the line from trail to lead shoulder."""

    time_s: Floats
    neck_along: Floats
    neck_up: Floats
    rock_rad: Floats
    hands_along: Floats
    hands_up: Floats
    head_along: Floats
    head_up: Floats

    def speeds(self) -> tuple[Floats, Floats, Floats]:
        """Speed along the line given to the putter head by shoulders, arms and wrists, (n,) each; their sum is its own."""
        t = self.time_s
        rock = slope(t, np.unwrap(self.rock_rad))
        swing = slope(t, np.unwrap(np.arctan2(self.hands_up - self.neck_up, self.hands_along - self.neck_along)))
        whole = slope(t, self.head_along - self.neck_along)
        shoulders = rock * (self.neck_up - self.head_up)
        wrists = slope(t, self.head_along - self.hands_along) - swing * (self.hands_up - self.head_up)
        return shoulders, whole - shoulders - wrists, wrists

    def ways(self, takeaway_s: float, top_s: float, finish_s: float) -> Floats:
        """(3,) way made by shoulders, arms, wrists: backward before the top and forward after it count as +."""
        legs = []
        for speed in self.speeds():
            way = np.concatenate([[0.0], np.cumsum(np.diff(self.time_s) * (speed[1:] + speed[:-1]) / 2)])
            at = np.interp([takeaway_s, top_s, finish_s], self.time_s, way)
            legs.append(at[0] - at[1] + at[2] - at[1])
        return np.array(legs)


def chain_of(signals: Signals, takeaway_s: float) -> Chain | None:
    """The chain in px from the samples that show all of it, zero-lag filtered; None with too few.

    The hands are set on the seen shaft, as far from the putter head as the wrists are at address: the pose model's wrists
    move a tenth too little, which gave the wrists of a rigid pendulum 11 % on rendered truth instead of 3 %.
    """
    names = ("lead_shoulder", "trail_shoulder", "putter")
    points = np.array([[signals[f"{n}_along_px"], signals[f"{n}_up_px"]] for n in names])
    seen = np.isfinite(points).all(axis=(0, 1)) & np.isfinite(signals["shaft_deg"])
    if seen.sum() < 8:
        return None
    t = signals.time_s[seen]
    lead, trail, head = (np.array([smooth(t, axis, CHAIN_HZ) for axis in point]) for point in points[:, :, seen])
    shaft = np.radians(smooth(t, signals["shaft_deg"][seen], CHAIN_HZ))
    apart = np.hypot(
        signals["hands_along_px"] - signals["putter_along_px"], signals["hands_up_px"] - signals["putter_up_px"]
    )
    at = (signals.time_s >= takeaway_s - th.ADDRESS_S[0]) & (signals.time_s <= takeaway_s) & np.isfinite(apart)
    if not at.any():
        return None
    hands = head + float(np.median(apart[at])) * np.array([-np.sin(shaft), np.cos(shaft)])
    neck, line = (lead + trail) / 2, lead - trail
    return Chain(t, neck[0], neck[1], np.arctan2(line[1], line[0]), hands[0], hands[1], head[0], head[1])


def shares(signals: Signals, events: Events) -> dict[str, Measure]:
    """The three shares (unit 1) by name."""

    def none(reason: str) -> dict[str, Measure]:
        return {n: Measure(None, "1", 0.0, reason) for n in SHARES}

    if signals.view != "face-on":
        return none("the chain from shoulders to putter is measured face-on only")
    take, top, finish = events.takeaway_s, events.top_s, events.finish_s
    if take is None or top is None or finish is None:
        return none("takeaway, top or finish not seen")
    during = (signals.time_s >= take) & (signals.time_s <= finish)
    if _gap_s(signals, take, finish) > LONGEST_GAP_S:
        return none("frames are missing in mid-stroke")
    parts = ("lead_shoulder_along_px", "trail_shoulder_along_px", "putter_along_px")
    seen = {p: float(np.isfinite(signals[p][during]).mean()) if during.any() else 0.0 for p in parts}
    worst = min(seen, key=lambda p: seen[p])
    if seen[worst] < SEEN_SHARE:
        return none(f"{worst.removesuffix('_along_px').replace('_', ' ')} not seen well enough")
    chain = chain_of(signals, take)
    if chain is None:
        return none("hands not seen at address")
    ways = chain.ways(take, top, finish)
    whole = float(ways.sum())
    whole_cm = whole * rough_cm_per_px(signals)
    if whole_cm < LEAST_WAY_CM:
        return none(f"too small a stroke to tell who made it: the putter head's way is {whole_cm:.0f} cm")
    noise = _noise(chain, take) / whole
    conf = min(float(np.nan_to_num(signals[c][during]).mean()) for c in ("hands_conf", "putter_conf"))
    sure = conf * float(np.clip(1 - noise / DOUBTFUL_SHARE, 0, 1))
    trust = (SPLIT_TRUST, SPLIT_TRUST, 1.0)
    return {n: Measure(float(w / whole), "1", sure * k) for n, w, k in zip(SHARES, ways, trust, strict=True)}


def _gap_s(signals: Signals, first_s: float, last_s: float) -> float:
    """Longest time between two frames from first_s to last_s, their neighbours counting."""
    inside = (signals.time_s[1:] > first_s) & (signals.time_s[:-1] < last_s)
    steps = np.diff(signals.time_s)[inside]
    return float(steps.max()) if steps.size else np.inf


def _noise(chain: Chain, takeaway_s: float) -> float:
    """Standard deviation of a way in the chain's unit (the largest of the three), from how the chain shakes at address.

    A way has three ends (takeaway, top twice, finish): variances 1 + 4 + 1.
    """
    at = (chain.time_s >= takeaway_s - th.ADDRESS_S[0]) & (chain.time_s <= takeaway_s - th.ADDRESS_S[1])
    if at.sum() < 4:
        return 0.0
    places = [np.cumsum(v[at]) * np.gradient(chain.time_s)[at] for v in chain.speeds()]
    return float(max(np.std(p) for p in places) * np.sqrt(6.0))


def head_putter_correlation(signals: Signals, events: Events) -> Measure:
    """Correlation of the speeds of player's head and putter head along the line from takeaway to impact, -1..1 (unit 1).

    Above 0 the head moves with the putter, below 0 against it, as found for less skilled and for expert players: Lee,
    Ishikura, Kegel, Gonzalez and Passmore 2008, J. Mot. Behav. 40(4), 267-272. It describes and is no fault.
    """
    if signals.view != "face-on":
        return Measure(None, "1", 0.0, "measured face-on only")
    take, impact = events.takeaway_s, events.impact_s
    if take is None or impact is None:
        return Measure(None, "1", 0.0, "takeaway or impact not seen")
    t = signals.time_s
    scale = cm_per_px(signals, "body") or cm_per_px(signals, "ball")
    if scale is None:
        return Measure(None, "1", 0.0, "no size reference: neither ball nor height known")
    if _gap_s(signals, take, impact) > LONGEST_GAP_S:
        return Measure(None, "1", 0.0, "frames are missing in mid-stroke")
    during = (t >= take) & (t <= impact)
    head, putter = signals["head_along_px"] * scale, signals["putter_along_px"] * scale
    both = np.isfinite(head) & np.isfinite(putter)
    if during.sum() < 8 or both[during].mean() < SEEN_SHARE:
        return Measure(None, "1", 0.0, "head or putter not seen well enough")
    head_speed, putter_speed = (slope(t, smooth(t, v, HEAD_HZ)) for v in (head, putter))
    use = during & np.isfinite(head_speed) & np.isfinite(putter_speed)
    at = (t >= take - th.ADDRESS_S[0]) & (t <= take - th.ADDRESS_S[1]) & np.isfinite(head_speed)
    rest = float(np.std(head_speed[at])) if at.sum() >= 4 else 0.0
    moved = float(np.std(head_speed[use]))
    if moved < max(LEAST_HEAD_CM_S, NOISE_TIMES * rest):
        return Measure(None, "1", 0.0, "the head hardly moved")
    value = float(np.corrcoef(head_speed[use], putter_speed[use])[0, 1])
    conf = min(float(np.nan_to_num(signals[c][during]).mean()) for c in ("head_turn_conf", "putter_conf"))
    return Measure(value, "1", conf * float(np.clip(1 - (rest / moved) ** 2, 0, 1)))
