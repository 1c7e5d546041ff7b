"""What a rendered clip's truth file says, in the record's own words. See SCHEMA.md beside the clips."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Mapping, Sequence

import numpy as np

from trainer.coaching.verdict import BY_TIMING, TOO_CLOSE_S, Verdict
from trainer.domain.record import Events
from trainer.settings.limits import Limits
from trainer.stroke.address import MOST_STILL_S, STILL_CM
from trainer.stroke.pace import START_S
from trainer.stroke.while_looking import LOOKING_S

LOOK_DEG = 12.0
NEVER_RESTS_S = 1.0  # after its finish: until then a putter that never comes to rest is asked how far it comes back


@dataclass(frozen=True)
class TrueStroke:
    """kind; events; measures by name; intended faults; stroke window (s)."""

    kind: str
    events: Events
    measures: dict[str, float | None]
    intended: frozenset[str]
    hinge_passes_s: float | None

    @property
    def look_after_s(self) -> float | None:
        """From settle to look, below 0 where the look came first."""
        look, settle = self.events.look_s, self.events.settle_s
        return None if look is None or settle is None else look - settle

    @property
    def near_rest(self) -> bool:
        """The look came so near to rest that calling it a little early, too close to call or a little held are all right."""
        return self.look_after_s is not None and abs(self.look_after_s) <= TOO_CLOSE_S

    def told_near_rest(self, verdict: Verdict) -> bool:
        """Whether it did and was called one of these: no look at all, or one long before or after rest, is wrong."""
        near = any(fault.name in BY_TIMING and fault.value <= 2 * TOO_CLOSE_S for fault in verdict.faults)
        return self.near_rest and (verdict.too_close or near)


@dataclass(frozen=True)
class _Scene:
    """Over all frames (n,): putter head along and shoulders up in cm, wrist angle since address; width of the stance."""

    putter_cm: np.ndarray
    shoulders_up_cm: np.ndarray
    bent: np.ndarray
    stance_cm: float


@dataclass(frozen=True)
class Truth:
    """One clip. t (n,) s; turn_deg, hinge_deg (n,); putter_px (n,2) and head_cm (n,2: along, up) in the player's frame."""

    name: str
    fps: float
    view: str
    handedness: str
    tape: bool
    note: str
    t: np.ndarray
    turn_deg: np.ndarray
    hinge_deg: np.ndarray
    putter_px: np.ndarray
    head_cm: np.ndarray
    strokes: tuple[TrueStroke, ...]


def _crossing(t: np.ndarray, v: np.ndarray, level: float, after: float) -> float | None:
    for k in range(len(t) - 1):
        if t[k] >= after and v[k] <= level < v[k + 1]:
            return float(t[k] + (level - v[k]) / (v[k + 1] - v[k]) * (t[k + 1] - t[k]))
    return None


def _described(
    t: np.ndarray, s: dict[str, Any], look: float | None, address: np.ndarray, scene: _Scene
) -> dict[str, float | None]:
    """What only describes a stroke (see ``trainer.stroke.pace``, ``while_looking``, ``address``, ``wrists``)."""
    take, top, impact, settle = (s[f"{event}_s"] for event in ("takeaway", "top", "impact", "settle"))
    x, up = scene.putter_cm, scene.shoulders_up_cm
    speed = np.gradient(x, t)
    at_impact = float(np.interp(impact, t, speed))
    fastest = max(float(speed[(t >= top) & (t <= impact)].max()), at_impact)
    gone = float(np.median(x[address]) - np.interp(take + START_S, t, x))
    out: dict[str, float | None] = {
        "hinge_back_deg": _largest(scene.bent[(t >= take) & (t <= top)]),
        "slowing_share": 1.0 - at_impact / fastest,
        "takeaway_cm_s": gone / START_S,
        "look_from_impact_s": None if look is None else look - impact,
        "address_stance_cm": scene.stance_cm,
        "still_before_s": _still(t, x, take),
        "putter_while_looking_cm": None,
        "body_while_looking_cm": None,
    }
    if look is not None and settle is not None and look >= settle:
        during = (t >= look) & (t <= look + LOOKING_S)
        out["putter_while_looking_cm"] = float(np.abs(x[during] - np.interp(look, t, x)).max())
        out["body_while_looking_cm"] = float(up[during].max() - np.median(up[address]))
    return out


def _still(t: np.ndarray, along: np.ndarray, take: float) -> float | None:
    """How long the putter head had lain where it lay; None where the clip begins too late to tell."""
    before = (t <= take - 0.1) & (t >= take - MOST_STILL_S)
    away = np.flatnonzero(before & (np.abs(along - along[before][-1]) > STILL_CM))
    if not away.size and t[0] > take - MOST_STILL_S:
        return None
    return float(take - t[away[-1]]) if away.size else MOST_STILL_S


def _tempo(s: dict[str, Any]) -> float | None:
    """From the start of the motion; None for a captured putt, whose file tells no start before the 5 mm of takeaway."""
    if s["motion_start_s"] >= s["takeaway_s"]:
        return None
    return float((s["top_s"] - s["motion_start_s"]) / (s["impact_s"] - s["top_s"]))


def _carry(t: np.ndarray, along: np.ndarray, address: np.ndarray, s: dict[str, Any]) -> float:
    """How far through less how far back."""
    top, finish = (float(np.interp(s[event], t, along)) for event in ("top_s", "finish_s"))
    return top + finish - 2 * float(np.median(along[address]))


def _comes_back(along: np.ndarray) -> float:
    """The most that it lies behind the furthest place it had reached by then."""
    return float((np.maximum.accumulate(along) - along).max())


def _intended(s: dict[str, Any], measures: Mapping[str, float | None]) -> frozenset[str]:
    """Those put in, as far as the limits make them faults: a head that began to turn before the putter's rest may pass the limit
    after it, a putter that was let go may come back by less. And the recoil of one that does not rest but swings on."""
    limit_cm = Limits().recoil.value
    came_back = (measures["recoil_cm"] or 0.0) > limit_cm
    none = {"early_look"} if measures["hold_s"] is not None else set()
    none |= set() if came_back else {"recoil"}
    return (frozenset(s["intended"]) - none) | ({"recoil"} if came_back and s["settle_s"] is None else set())


def _along(t: np.ndarray, moved: np.ndarray, take: float, top: float, last: float) -> float:
    """The head's travel with the putter, the larger of back and through."""
    at_top = float(np.interp(top, t, moved))
    back, through = moved[(t >= take) & (t <= top)], moved[(t >= top) & (t <= last)] - at_top
    return max(-_largest(back), _largest(through))


def _largest(values: np.ndarray) -> float:
    return float(values[np.argmax(np.abs(values))])


def _body_along(frames: Sequence[Mapping[str, Any]], sign: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Over all frames (n,), cm: wrists and putter head along the line, shoulders up. Clips may come without these points."""

    def column(name: str, axis: int) -> np.ndarray:
        return np.array([f["kp3"][name][axis] for f in frames]) * 100

    wrists = (column("left_wrist", 0) + column("right_wrist", 0)) / 2 * sign
    return wrists, column("putter_head", 0) * sign, (column("left_shoulder", 2) + column("right_shoulder", 2)) / 2


def read_truth(path: Path) -> Truth:
    """path: NAME.json."""
    raw: dict[str, Any] = json.loads(path.read_text())
    frames = raw["frames"]
    t = np.array([f["t"] for f in frames])
    turn = np.array([f["yaw_deg"] for f in frames])
    hinge = np.array([f["hinge_deg"] for f in frames])
    putter = np.array([f["kp2"]["putter_head"] for f in frames], float)
    sign = -1.0 if raw["handedness"] == "left" else 1.0
    if sign < 0:
        putter[:, 0] = raw["width"] - putter[:, 0]
    ears = np.array([(np.array(f["kp3"]["left_ear"]) + f["kp3"]["right_ear"]) / 2 for f in frames]) * 100
    head = np.stack([sign * ears[:, 0], ears[:, 2]], axis=1)
    body = _body_along(frames, sign) if "left_wrist" in frames[0]["kp3"] else None
    strokes = []
    ends = [s["takeaway_s"] for s in raw["strokes"][1:]] + [float(t[-1]) + 1]
    for s, end in zip(raw["strokes"], ends):
        take, impact, settle = s["takeaway_s"], s["impact_s"], s["settle_s"]
        address = (t > take - 0.6) & (t < take - 0.1)
        turned = turn - np.median(turn[address])
        bent = hinge - np.median(hinge[address])
        look = _crossing(t, turned, LOOK_DEG, take)
        look = look if look is not None and look < end else None
        stop = settle if settle is not None else float(t[-1])
        follow = (t >= impact) & (t <= stop)
        until = (t >= take) & (t <= min(stop, look if look is not None else stop))
        moved = head - np.median(head[address], axis=0)
        events = replace(Events.of(s), look_s=look)
        held = look is not None and settle is not None
        measures: dict[str, float | None] = {
            "hinge_change_deg": _largest(bent[follow]),
            "back_cm": s["back_cm"],
            "through_cm": s["through_cm"],
            "recoil_cm": s["recoil_cm"],
            "sway_cm": _largest(moved[until, 0]),
            "head_with_putter_cm": _along(t, moved[:, 0], take, s["top_s"], t[until][-1]),
            "lift_cm": float(moved[until, 1].max()),
            "tempo_ratio": _tempo(s),
            "hold_s": look - settle if held and look >= settle else None,
            "early_by_s": settle - look if held and look < settle else None,
        }
        if body is not None:
            wrists, putter_cm, shoulders = body
            measures |= _described(t, s, look, address, _Scene(putter_cm, shoulders, bent, raw["setup"]["stance_cm"]))
            measures["hands_carry_cm"] = _carry(t, wrists, address, s)
            if settle is None:  # it swings on: the file tells what was put in as a recoil, the frames how it moved
                measures["recoil_cm"] = _comes_back(putter_cm[(t >= impact) & (t <= s["finish_s"] + NEVER_RESTS_S)])
        passes = _crossing(t, bent, 12.0, impact)
        strokes.append(
            TrueStroke(
                s["kind"],
                events,
                measures,
                _intended(s, measures),
                passes if passes is not None and passes < stop else None,
            )
        )
    return Truth(
        raw["name"],
        raw["fps"],
        raw["view"],
        raw["handedness"],
        raw["tape"],
        raw["note"],
        t,
        turn,
        hinge,
        putter,
        head,
        tuple(strokes),
    )
