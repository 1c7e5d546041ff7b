"""What could not be judged is named, counted, and never sounded."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from trainer.app.strokes import uncalled_lines, verdict_words
from trainer.coaching.faults import indeterminate, judge
from trainer.coaching.live_judge import LiveJudge
from trainer.coaching.verdict import Verdict
from trainer.domain.measures import MIN_CONFIDENCE
from trainer.domain.phases import Phase
from trainer.domain.player_frame import PlayerFrame
from trainer.domain.record import ACROSS_NAMES, SIGNAL_NAMES, Events, LiveState, Measure, Signals, StrokeRecord
from trainer.domain.verdict import FAULT_NAMES, Fault, FaultName
from trainer.settings.limits import Limits
from trainer.stroke.tracker import Tracker
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_observations import Noise, observations

LIMITS = Limits()
NEEDED = {
    "head_turn_deg": ("early_look", "short_hold"),
    "hinge_change_deg": ("hand_stall",),
    "recoil_cm": ("recoil",),
    "head_with_putter_cm": ("sway",),
    "lift_cm": ("lift",),
}


def record(**changed: Measure | None) -> StrokeRecord:
    """All well and surely seen, but for what is changed (None: not in the record at all)."""
    t = np.arange(0, 4, 1 / 30)
    columns = {n: np.full(len(t), np.nan) for n in SIGNAL_NAMES}
    columns["head_turn_deg"], columns["head_turn_conf"] = np.zeros(len(t)), np.full(len(t), 0.9)
    events = Events(1.0, 1.6, 2.0, 2.4, 2.5, None)
    measures: dict[str, Measure | None] = {
        "head_turn_deg": Measure(1.0, "deg", 0.9),
        "hinge_change_deg": Measure(2.0, "deg", 0.9),
        "hands_to_putter_stop": Measure(0.8, "1", 0.9),
        "recoil_cm": Measure(0.5, "cm", 0.9),
        "head_with_putter_cm": Measure(0.5, "cm", 0.9),
        "lift_cm": Measure(0.5, "cm", 0.9),
        **changed,
    }
    return StrokeRecord(
        "ball", events, {n: m for n, m in measures.items() if m is not None}, Signals(t, np.arange(len(t)), columns)
    )


def test_all_surely_seen() -> None:
    assert indeterminate(record(), LIMITS) == ()


@pytest.mark.parametrize("measure", list(NEEDED))
@pytest.mark.parametrize(
    "how", [None, Measure(None, "deg", 0.0, "not seen"), Measure(2.0, "deg", MIN_CONFIDENCE - 0.01)]
)
def test_a_measure_missing_or_doubtful(measure: str, how: Measure | None) -> None:
    assert indeterminate(record(**{measure: how}), LIMITS) == NEEDED[measure]
    assert judge(record(**{measure: how}), LIMITS) == ()


def test_at_the_floor_it_is_judged() -> None:
    at = record(recoil_cm=Measure(9.0, "cm", MIN_CONFIDENCE))
    assert [f.name for f in judge(at, LIMITS)] == ["recoil"]
    assert indeterminate(at, LIMITS) == ()


def test_events_not_seen() -> None:
    seen = record()
    assert indeterminate(replace(seen, events=replace(seen.events, takeaway_s=None)), LIMITS) == (
        "early_look",
        "short_hold",
    )
    assert indeterminate(replace(seen, events=replace(seen.events, impact_s=None)), LIMITS) == ("hand_stall",)


def test_near_the_limit_the_second_sign_is_needed() -> None:
    near = Measure(0.9 * LIMITS.hand_stall.value, "deg", 0.9)
    unknown = Measure(None, "1", 0.0, "not seen")
    assert indeterminate(record(hinge_change_deg=near, hands_to_putter_stop=unknown), LIMITS) == ("hand_stall",)
    assert indeterminate(record(hinge_change_deg=near), LIMITS) == ()
    plain = record(hinge_change_deg=Measure(30.0, "deg", 0.9), hands_to_putter_stop=unknown)
    assert indeterminate(plain, LIMITS) == ()  # a fault is found, so it was judged
    assert [f.name for f in judge(plain, LIMITS)] == ["hand_stall"]


def test_what_is_switched_off_or_not_measured_in_a_view_is_not_asked_for() -> None:
    nothing = record(**dict.fromkeys(NEEDED))
    face_on = tuple(n for n in FAULT_NAMES if n != "posture_change")
    assert indeterminate(nothing, LIMITS) == face_on
    off = LIMITS.changed("sway", on=False)
    assert indeterminate(nothing, off) == tuple(n for n in face_on if n != "sway")
    signals = nothing.signals
    across = {name: np.full(len(signals.time_s), np.nan) for name in ACROSS_NAMES}
    seen = replace(signals, columns={**signals.columns, **across}, frame=PlayerFrame("down-the-line"))
    side = replace(nothing, view="down-the-line", signals=seen)
    assert indeterminate(side, LIMITS) == ("posture_change",)
    assert indeterminate(side, LIMITS.changed("posture_change", on=False)) == ()


def test_said_in_words() -> None:
    recoil = Fault("recoil", 2.0, 4.0, "cm", 3.0)
    assert verdict_words([]) == "no fault"
    assert verdict_words([], ("early_look",)) == "not sure: early look"
    assert verdict_words([recoil], ("early_look", "hand_stall")) == "recoil; not sure: early look, stopped hands"
    assert uncalled_lines([Verdict(), Verdict()]) == []
    assert uncalled_lines([Verdict(), Verdict((), ("early_look",))]) == ["not sure: 1 stroke (early look)"]
    open_: list[tuple[FaultName, ...]] = [("recoil", "lift"), ("early_look",), ("recoil",)]
    said = ["not sure: 3 strokes (early look, recoil, head going up)"]
    assert uncalled_lines([Verdict((), names) for names in open_]) == said
    near = "too close to call: 2 strokes (look within 0.06 s of rest, neither early nor held)"
    assert uncalled_lines([Verdict(too_close=True), Verdict(), Verdict(too_close=True)]) == [near]
    assert verdict_words([], (), True) == "look too close to call"
    assert verdict_words([recoil], (), True) == "recoil; look too close to call"


def moments(turn_conf: float = 0.9, hinge_conf: float = 0.9, putter_conf: float = 0.9) -> list[LiveState]:
    """A stroke whose head turns, wrists break and putter comes back, as surely seen as said."""
    out = []
    for k in range(60):
        t = k / 30
        late = max(0.0, t - 1.0)
        phase = Phase.BACKSTROKE if t < 0.6 else Phase.FORWARD if t < 1.0 else Phase.FOLLOW
        events = Events(takeaway_s=0.0, impact_s=1.0 if t >= 1.0 else None)
        turn, hinge = min(50.0, 150 * late), min(30.0, 90 * late)
        out.append(
            LiveState(
                t, phase, events, (), turn, turn_conf, hinge, hinge_conf, 20.0, 60.0, 9.0 * late,
                putter_conf=putter_conf,
            )
        )  # fmt: skip
    return out


def cues(limits: Limits, seen: list[LiveState]) -> list[str]:
    live = LiveJudge(limits)
    return [cue.name for moment in seen if (cue := live.update(moment)) is not None]


def only(name: str) -> Limits:
    return LIMITS.overlaid({n: {"on": n == name} for n in FAULT_NAMES})


@pytest.mark.parametrize(
    ("fault", "part"), [("early_look", "turn_conf"), ("hand_stall", "hinge_conf"), ("recoil", "putter_conf")]
)
def test_no_cue_for_what_is_not_surely_seen(fault: str, part: str) -> None:
    assert cues(only(fault), moments()) == [fault]
    assert cues(only(fault), moments(**{part: MIN_CONFIDENCE - 0.05})) == []


def test_one_clear_glimpse_does_not_make_a_head_seen() -> None:
    seen = [replace(m, turn_conf=0.9 if k == 45 else 0.1) for k, m in enumerate(moments())]
    assert cues(only("early_look"), seen) == []


def simulated(noise: Noise) -> tuple[list[str], StrokeRecord]:
    """Live cues and record of an invented early look."""
    stroke = SimStroke(1.5, look_s=2.45)
    tracker, live, told = Tracker(), LiveJudge(LIMITS), []
    closed = None
    for observation in observations(Scene((stroke,)), noise=noise):
        moment = tracker.update(observation)
        cue = live.update(moment)
        told += [cue.name] if cue is not None else []
        closed = moment.closed or closed
    closed = closed or tracker.finish()
    assert closed is not None
    return told, closed


def test_live_and_afterwards_agree_on_a_doubtful_stroke() -> None:
    told, sure = simulated(Noise())
    assert "early_look" in told
    assert "early_look" in [f.name for f in judge(sure, LIMITS)]
    told, doubtful = simulated(replace(Noise(), conf=0.25))
    assert [name for name in told if name in FAULT_NAMES] == []
    assert judge(doubtful, LIMITS) == ()
    assert "early_look" in indeterminate(doubtful, LIMITS)
