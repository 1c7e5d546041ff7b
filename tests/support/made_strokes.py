"""Strokes made up for tests of what comes after the tracker: consistent events, measures and the signals behind them."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from typing import Sequence

import numpy as np

from trainer.coaching.faults import judge
from trainer.domain.record import SIGNAL_NAMES, Events, Kind, Measure, Signals, StrokeContext, StrokeRecord
from trainer.settings.model import Settings
from trainer.store.store import Store
from trainer.store.stroke_rows import Made

TAKE, TOP, IMPACT, FINISH, SETTLE = 1.5, 2.2, 2.5, 2.9, 3.1
# Where a player's joints are in a picture, px along and up from the ball.
BODY = {
    "lead_shoulder": (18, 330), "trail_shoulder": (-40, 322), "lead_hip": (6, 210), "trail_hip": (-36, 210),
    "lead_knee": (18, 115), "trail_knee": (-48, 115), "lead_ankle": (26, 20), "trail_ankle": (-56, 20),
    "lead_elbow": (30, 245), "lead_wrist": (10, 180), "head": (-8, 372), "hands": (8, 176), "grip": (8, 180),
}  # fmt: skip


def record(
    look_after_s: float = 1.4,
    kind: Kind = "ball",
    hinge_deg: float = 5.0,
    back_cm: float = 24.0,
    sway_cm: float = 0.8,
    lift_cm: float = 0.4,
    recoil_cm: float = 0.5,
    fps: float = 30.0,
    told: bool | None = True,
    rng: np.random.Generator | None = None,
) -> StrokeRecord:
    """One stroke. look_after_s: from rest to look; negative: the look came first."""
    rng = rng or np.random.default_rng(0)
    look = SETTLE + look_after_s
    t = np.arange(0.0, max(look, SETTLE) + 1.2, 1 / fps)
    columns = {name: np.full(len(t), np.nan) for name in SIGNAL_NAMES}
    for name, (along, up) in BODY.items():
        for part, value in (("along", along), ("up", up)):
            if f"{name}_{part}_px" in columns:
                columns[f"{name}_{part}_px"] = value + rng.normal(0, 0.4, len(t))
    cm = 0.5
    x = np.interp(t, [0, TAKE, TOP, IMPACT, FINISH, 99], np.array([0, 0, -back_cm, 0, 1.2 * back_cm, 1.2 * back_cm]))
    columns["putter_along_px"], columns["putter_up_px"] = x / cm, np.abs(x) * 0.05
    columns["hands_along_px"] = columns["hands_along_px"] + 0.4 * x / cm
    # The turn passes 12 deg at the look: it grows by 200 deg/s from 0.06 s before.
    columns["head_turn_deg"] = np.clip((t - look) * 200 + 12, 0, 60) + rng.normal(0, 0.3, len(t))
    for name in ("head_turn_conf", "putter_conf", "hands_conf", "forearm_conf"):
        columns[name] = np.full(len(t), 0.9)
    columns["ball_cm_per_px"] = columns["body_cm_per_px"] = np.full(len(t), cm)
    timing = {"early_by_s": -look_after_s} if look_after_s < 0 else {"hold_s": look_after_s}
    values = {
        **timing,
        "head_turn_deg": float(rng.normal(2.0, 0.5)) if look_after_s > 0 else 20.0,
        "hinge_change_deg": hinge_deg,
        "recoil_cm": recoil_cm,
        "sway_cm": sway_cm,
        "head_with_putter_cm": abs(sway_cm),
        "lift_cm": lift_cm,
        "tempo_ratio": float(rng.normal(2.1, 0.1)),
        "backstroke_s": TOP - TAKE,
        "back_cm": back_cm,
        "through_cm": 1.2 * back_cm,
        "back_peak_cm_s": float(rng.normal(55, 3)),
        "hands_past_leg_cm": float(rng.normal(2, 2)),
    }
    units = {"s": "s", "deg": "deg", "cm": "cm", "ratio": ""}
    measures = {n: Measure(float(v), units.get(n.rpartition("_")[2], "cm"), 0.9) for n, v in values.items()}
    if look_after_s < 0:
        measures["hold_s"] = Measure(None, "s", 0.0, "the look came first")
    events = Events(TAKE, TOP, IMPACT, FINISH, SETTLE, look)
    return StrokeRecord(kind, events, measures, Signals(t, np.arange(len(t)), columns), "face-on", StrokeContext(told))


def keep_sessions(
    store: Store,
    settings: Settings,
    student: str | None,
    sessions: int = 10,
    strokes: int = 20,
    seed: int = 1,
    first: datetime = datetime(2026, 3, 2, 17, 0, tzinfo=timezone.utc),
) -> None:
    """A student who learns to hold: some rehearsals, then ball strokes told less and less, the last five in silence."""
    rng = np.random.default_rng(seed)
    for day in range(sessions):
        at = first + timedelta(days=2 * day)
        session = store.begin_session(settings.player.name, "test", at, student)
        middle = 1.5 - 1.5 * np.exp(-0.35 * day)
        for i in range(strokes):
            at += timedelta(seconds=25)
            rehearsal = i < 4
            silent = i >= strokes - 5
            look = float(rng.normal(middle - (0.2 if silent else 0), 0.35))
            made = record(
                look if abs(look) > 0.05 else 0.05,
                "rehearsal" if rehearsal else "ball",
                hinge_deg=float(rng.normal(4 if rehearsal else 8, 2)),
                back_cm=float(rng.normal(23 if rehearsal else 25, 1.5)),
                told=not silent,
                rng=rng,
            )
            verdict = judge(made, settings.limits)
            stage = "silent" if silent else "block"
            store.keep(session, made, verdict, (), settings, at, Made("hold-then-look", stage))


def names(faults: Sequence[object]) -> list[str]:
    """Of a verdict's faults."""
    return [fault.name for fault in faults]  # type: ignore[attr-defined]
