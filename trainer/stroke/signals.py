"""Observations to columns and back: the raw material of a record."""

from __future__ import annotations

from typing import Mapping, Sequence

import numpy as np

from trainer.domain.measures import MIN_CONFIDENCE
from trainer.domain.observation import Observation
from trainer.domain.player_frame import PlayerFrame, Point
from trainer.domain.record import Floats, Signals, signal_names

NAN = float("nan")
_BODY = (
    "lead_shoulder", "trail_shoulder", "lead_hip", "trail_hip", "lead_knee", "trail_knee", "lead_ankle", "trail_ankle",
    "lead_wrist", "lead_elbow",
)  # fmt: skip
# Of the leg. The lead shoulder of a player who faces the camera is so much nearer the target, or the pose model took left for
# right, or him for one who stands edge on: 0.35 at least all through 33 rendered strokes, -0.4 and 0 in the dark under a hat.
LEAST_SHOULDERS = 0.15


def sample_of(s: Observation) -> dict[str, float]:
    """One observation as column -> value, NaN where not seen."""
    row = dict.fromkeys(signal_names(s.view), NAN)
    body, told = s.body or {}, s.view != "face-on" or sides_told(s.body or {})
    for name in _BODY if told else ():
        if name in body:
            _put(row, name, body[name], s.frame)
    wrists = [body[n] for side in s.frame.holding if (n := f"{side}_wrist") in body]
    if wrists:
        _put(row, "hands", _middle(wrists), s.frame)
        row["hands_conf"] = min(p.confidence for p in wrists)
    arm = [body[n] for n in ("lead_wrist", "lead_elbow") if n in body]
    if len(arm) == 2 and told:
        row["forearm_conf"] = min(p.confidence for p in arm) if s.frame.one_line else 0.0
    if s.putter is not None:
        _put(row, "putter", s.putter.head, s.frame)
        _put(row, "grip", s.putter.grip, s.frame)
        row["shaft_deg"], row["putter_conf"] = s.putter.shaft_deg, s.putter.confidence
        row["putter_by_tape"] = 1.0 if s.putter.source == "tape" else 0.0
    if s.head is not None:
        row["head_turn_deg"], row["head_turn_conf"] = s.head.turn_deg, s.head.confidence
        _put(row, "head", s.head.centre, s.frame)
    if s.ball is not None:
        _put(row, "ball", s.ball.centre, s.frame)
        row["ball_diameter_px"], row["ball_conf"] = s.ball.diameter_px, s.ball.centre.confidence
    if s.scale is not None:
        for name in ("ball_cm_per_px", "body_cm_per_px", "stance_px"):
            value = getattr(s.scale, name)
            row[name] = NAN if value is None or (name == "stance_px" and not told) else value
    return row


def sides_told(body: Mapping[str, Point]) -> bool:
    """Whether left and right of a player seen face-on can be as the pose model says. True where shoulders are not seen."""
    lead, trail, hip, ankle = (body.get(n) for n in ("lead_shoulder", "trail_shoulder", "lead_hip", "lead_ankle"))
    leg_px = hip.up_px - ankle.up_px if hip is not None and ankle is not None else 0.0
    if ankle is not None and (other := body.get("trail_ankle")) is not None and ankle.along_px < other.along_px:
        return False
    return lead is None or trail is None or lead.along_px - trail.along_px > LEAST_SHOULDERS * leg_px


def _put(row: dict[str, float], name: str, point: Point, frame: PlayerFrame) -> None:
    """The point's two columns."""
    row[f"{name}_{frame.aside}_px"], row[f"{name}_up_px"] = frame.in_view(point)


def _middle(points: Sequence[Point]) -> Point:
    """Mean place, as sure as the least sure."""
    along, up, across = (sum(p[i] for p in points) / len(points) for i in (0, 1, 3))
    return Point(along, up, min(p.confidence for p in points), across)


def places_in_view(signals: Signals, name: str) -> tuple[Floats, Floats]:
    """(along or across, up) of a tracked point at each sample (px), as its view sees it; NaN where it was not seen."""
    none = np.full(len(signals.time_s), NAN)
    aside, up = (signals.columns.get(f"{name}_{axis}_px", none) for axis in (signals.frame.aside, "up"))
    return aside, up


def head_px(signals: Signals, axis: str) -> Floats:
    """The head's place at each sample, along or up (px); NaN where it was not seen surely enough to be judged: a turn that is
    misread is taken for a way, some 3 cm of 40 degrees."""
    surely = np.nan_to_num(signals["head_turn_conf"]) >= MIN_CONFIDENCE
    return np.where(surely, signals[f"head_{axis}_px"], NAN)


def line_px(signals: Signals, name: str) -> Floats:
    """A tracked point's way along the line (px), as far as the view shows it (see ``PlayerFrame.line``)."""
    return signals[f"{name}_{signals.frame.line}_px"]


def signals_of(rows: Sequence[tuple[int, float, Mapping[str, float]]], frame: PlayerFrame) -> Signals:
    """Rows of (index, time_s, columns) as arrays; what a row has no column for was not seen in it."""
    names = signal_names(frame.view)
    columns = {n: np.array([r.get(n, NAN) for _, _, r in rows], dtype=np.float64) for n in names}
    index = np.array([i for i, _, _ in rows], dtype=np.int64)
    return Signals(np.array([t for _, t, _ in rows]), index, columns, frame)


def part(signals: Signals, start_s: float, end_s: float) -> Signals:
    """The samples from start_s to end_s, both included."""
    keep = (signals.time_s >= start_s) & (signals.time_s <= end_s)
    columns = {n: c[keep] for n, c in signals.columns.items()}
    return Signals(signals.time_s[keep], signals.index[keep], columns, signals.frame)


def cm_per_px(signals: Signals, plane: str) -> float | None:
    """Centimetres per pixel in the ball's or the body's plane: the median over the stretch; None without a scale reference."""
    column = signals[f"{plane}_cm_per_px"]
    seen = column[np.isfinite(column)]
    return float(np.median(seen)) if len(seen) else None


STANCE_CM = 36.0  # ankle to ankle at address, only to tell motion from rest where there is no scale (common practice, no source)


# Down-the-line a ball half hidden by the putter measures up to 30 % small, and motion along the line is foreshortened; this
# share of its scale reference keeps the tracker's thresholds above the noise of the picture. No length is measured in that view.
DOWN_THE_LINE_SHARE = 0.7


def rough_cm_per_px(signals: Signals) -> float:
    """A scale reference good enough to tell rest from motion (see ``sample.rough_scale``); never for a measure."""
    exact = cm_per_px(signals, "ball") or cm_per_px(signals, "body")
    if exact is not None:
        return exact * (DOWN_THE_LINE_SHARE if signals.view == "down-the-line" else 1.0)
    stance = signals["stance_px"]
    seen = stance[np.isfinite(stance) & (stance > 25)]
    return float(STANCE_CM / np.median(seen)) if len(seen) and signals.view == "face-on" else 0.45
