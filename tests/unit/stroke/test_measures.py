"""Each measure of a stroke against values worked out by hand from a motion that can be written down in one line.

The putter head lies at 0 until 1.5 s, goes back 24 cm along half a cosine in 0.6 s, waits 0.1 s, comes forward under steady
acceleration in 0.3 s (impact at 2.5 s with 2 x 24 / 0.3 = 160 cm/s) and runs out under steady slowing in 0.4 s, which takes it
160 x 0.4 / 2 = 32 cm through, at rest at 2.9 s. Its speed falls under 5 cm/s at 2.9 - 5 / 400 = 2.8875 s.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from trainer.domain.player_frame import PlayerFrame
from trainer.domain.record import SIGNAL_NAMES, Events, Floats, Measure, Signals, StrokeRecord
from trainer.stroke.record_builder import build_record
from trainer.stroke.signals import part

T = np.arange(0.0, 6.0, 1 / 120)
CM = 0.4  # a pixel, in both planes
ROUGH = Events(takeaway_s=1.56, top_s=2.15, impact_s=2.5, finish_s=2.88, settle_s=2.89)
HANDS = 0.42  # of the putter's way


def ramp(start_s: float, end_s: float, to: float) -> Floats:
    """0 before, to after, straight between."""
    return np.interp(T, [start_s, end_s], [0.0, to])


def smooth_ramp(start_s: float, end_s: float, to: float) -> Floats:
    """The same with soft ends: half a cosine."""
    return to * (1 - np.cos(np.pi * np.clip((T - start_s) / (end_s - start_s), 0, 1))) / 2


def path() -> Floats:
    back = -smooth_ramp(1.5, 2.1, 24.0)
    forward = -24.0 * (1 - np.clip((T - 2.2) / 0.3, 0, 1) ** 2)
    u = np.clip(T - 2.5, 0, 0.4)
    return np.where(T < 2.2, back, np.where(T < 2.5, forward, 160 * u - 200 * u * u))


def stroke(**columns: Floats) -> StrokeRecord:
    """The motion above, with some columns (cm or deg, names without _px) in place of the plain ones."""
    x = path()
    plain: dict[str, Floats | float] = {
        "putter_along": x, "putter_up": 0.0, "hands_along": HANDS * x, "hands_up": 75.0,
        "lead_wrist_along": HANDS * x, "lead_wrist_up": 78.0, "lead_elbow_along": HANDS * x, "lead_elbow_up": 104.0,
        "lead_shoulder_along": HANDS * x, "lead_shoulder_up": 135.0, "trail_shoulder_along": HANDS * x - 36,
        "trail_shoulder_up": 135.0, "lead_knee_along": 14.0, "lead_knee_up": 45.0, "lead_hip_along": 12.0,
        "lead_hip_up": 88.0, "trail_hip_along": -18.0, "trail_hip_up": 88.0, "lead_ankle_along": 16.0, "lead_ankle_up": 8.0,
        "trail_ankle_along": -20.0, "trail_ankle_up": 8.0, "head_along": 0.0, "head_up": 155.0, "shaft_deg": 0.0,
        "head_turn_deg": 0.0,
    }  # fmt: skip
    given = {**plain, **{name: column for name, column in columns.items() if not name.endswith("_conf")}}
    full = {n: np.full(len(T), np.nan) for n in SIGNAL_NAMES}
    for name, value in given.items():
        angle = name.endswith("_deg")
        full[name if angle else f"{name}_px"] = np.zeros(len(T)) + (value if angle else np.asarray(value) / CM)
    for name in ("putter_conf", "hands_conf", "forearm_conf", "head_turn_conf", "putter_by_tape"):
        full[name] = np.ones(len(T)) * columns.get(name, 1.0)
    full["ball_cm_per_px"] = full["body_cm_per_px"] = np.full(len(T), CM)
    full["ball_diameter_px"] = np.full(len(T), 4.267 / CM)
    made = build_record(Signals(T, np.arange(len(T)), full), ROUGH)
    assert made is not None
    return made


def value(record: StrokeRecord, name: str) -> float:
    found = record.measures[name].value
    assert found is not None, record.measures[name].reason
    return found


def test_events() -> None:
    """5 mm: 12 (1 - cos pi u) = 0.5 at u = 0.0922, 0.0553 s after 1.5. The middle of the dwell from 2.1 to 2.2."""
    events = stroke().events
    assert events.takeaway_s == pytest.approx(1.5553, abs=0.003)
    assert events.top_s == pytest.approx(2.15, abs=0.008)
    assert events.impact_s == pytest.approx(2.5, abs=0.001)
    assert events.settle_s == pytest.approx(2.8875, abs=0.004)
    assert events.finish_s == pytest.approx(2.9, abs=0.015)
    assert events.look_s is None


def test_times_and_tempo() -> None:
    """Tempo from the start of the motion: (2.15 - 1.5) / (2.5 - 2.15) = 1.857."""
    record = stroke()
    assert value(record, "backstroke_s") == pytest.approx(2.15 - 1.5553, abs=0.01)
    assert value(record, "forward_s") == pytest.approx(0.35, abs=0.008)
    assert value(record, "tempo_ratio") == pytest.approx(1.857, abs=0.06)


def test_down_the_line_no_rhythm_is_told() -> None:
    record = stroke(putter_up=path())
    aslant = build_record(replace(record.signals, frame=PlayerFrame("right", "down-the-line")), ROUGH)
    assert aslant is not None
    for name in ("backstroke_s", "forward_s", "tempo_ratio"):
        assert record.measures[name].value is not None
        assert aslant.measures[name].value is None
        assert "face-on only" in aslant.measures[name].reason
    assert aslant.events.impact_s == pytest.approx(record.events.impact_s, abs=0.01)


def test_hold_and_early_look() -> None:
    """100 deg/s from 4.0 s: 12 deg at 4.12 s, 1.2325 s after rest. From 2.6 s: 12 deg at 2.72 s, 0.1675 s before it."""
    held = stroke(head_turn_deg=ramp(4.0, 4.5, 50.0))
    assert value(held, "hold_s") == pytest.approx(1.2325, abs=0.005)
    assert held.measures["early_by_s"].value is None
    early = stroke(head_turn_deg=ramp(2.6, 3.1, 50.0))
    assert value(early, "early_by_s") == pytest.approx(0.1675, abs=0.005)
    assert early.measures["hold_s"].value is None


def test_lengths() -> None:
    record = stroke()
    assert value(record, "back_cm") == pytest.approx(24.0, abs=0.1)
    assert value(record, "through_cm") == pytest.approx(32.0, abs=0.1)
    assert value(record, "recoil_cm") == pytest.approx(0.0, abs=0.05)


def test_a_rehearsal_behind_the_ball_is_longer_than_the_ball_tells() -> None:
    """2.75 cm farther up in the picture than beside the ball, from a camera 55 cm up: 5 % farther away."""
    beside = stroke(ball_along=3.3, ball_up=1.2)
    behind = stroke(ball_along=3.3, ball_up=1.2, putter_up=2.75)
    for name in ("back_cm", "through_cm"):
        assert value(behind, name) == pytest.approx(1.05 * value(beside, name), rel=1e-3)
        assert behind.measures[name].confidence < beside.measures[name].confidence
    assert value(beside, "back_cm") == pytest.approx(24.0, abs=0.1)


def test_a_putter_that_swings_on_has_its_finish_where_it_first_turns() -> None:
    """It comes back by 5 cm within 0.25 s: not held, though half a second later it is farther through than before."""
    record = stroke(putter_along=path() - 5.0 * np.sin(2 * np.pi * np.clip(T - 2.9, 0.0, None)))
    assert record.events.settle_s is None
    assert record.events.finish_s == pytest.approx(2.9, abs=0.03)
    assert value(record, "through_cm") == pytest.approx(32.0, abs=0.3)


@pytest.mark.parametrize("rate_hz", [1.0, 1.3, 1.7])
def test_a_putter_that_swings_on_recoils_by_how_far_it_comes_back(rate_hz: float) -> None:
    """Back by 8 cm and forth again, over and over: the same wherever in its swing the first second ends."""
    swings = 8.0 * (1 - np.cos(2 * np.pi * rate_hz * np.clip(T - 2.9, 0.0, None))) / 2
    record = stroke(putter_along=path() - swings)
    assert record.events.settle_s is None
    assert value(record, "recoil_cm") == pytest.approx(8.0, abs=0.25)


def test_a_putter_that_swings_on_farther_than_its_finish_has_come_back_all_the_same() -> None:
    """Back by 8 cm at 3.4 s, and 8 cm beyond its finish at 3.9, when the first second ends."""
    swings = -8.0 * (1 - np.cos(2 * np.pi * np.clip(T - 2.9, 0.0, None))) / 2 + smooth_ramp(3.4, 3.9, 8.0)
    record = stroke(putter_along=path() + swings)
    assert record.events.settle_s is None
    assert value(record, "recoil_cm") == pytest.approx(8.0, abs=0.25)


def test_recoil() -> None:
    """4 cm back within 0.3 s, from 0.05 s after the end; the same from 0.8 s after it is brought back on purpose."""
    assert value(stroke(putter_along=path() - smooth_ramp(2.95, 3.25, 4.0)), "recoil_cm") == pytest.approx(4.0, abs=0.1)
    assert value(stroke(putter_along=path() - smooth_ramp(3.7, 4.0, 4.0)), "recoil_cm") == pytest.approx(0.0, abs=0.05)


def test_a_recoil_that_goes_on_behind_the_address_place_is_none() -> None:
    lost = stroke(putter_along=path() - smooth_ramp(2.95, 3.6, 60.0))
    assert lost.measures["recoil_cm"].value is None
    assert "behind its address place" in lost.measures["recoil_cm"].reason


def test_a_player_who_sways_after_the_putter_has_come_back_adds_nothing_to_it() -> None:
    """The putter goes along; what comes back further than a sway is recoil that went on after a pause."""
    back = path() - smooth_ramp(2.95, 3.25, 4.0)
    swaying, again = smooth_ramp(3.65, 3.95, 0.45), smooth_ramp(3.65, 3.95, 2.0)
    assert value(stroke(putter_along=back - swaying), "recoil_cm") == pytest.approx(4.0, abs=0.1)
    assert value(stroke(putter_along=back - again), "recoil_cm") == pytest.approx(6.0, abs=0.15)


def test_speeds() -> None:
    """Back: half a cosine's peak, pi/2 x 24 / 0.6 = 62.8 cm/s. Hands at HANDS of it all. The filter rounds the peak at impact."""
    record = stroke()
    assert value(record, "back_peak_cm_s") == pytest.approx(62.8, rel=0.02)
    assert value(record, "putter_impact_cm_s") == pytest.approx(160.0, rel=0.12)
    assert value(record, "putter_peak_cm_s") == pytest.approx(160.0, rel=0.12)
    ratio = value(record, "hands_impact_cm_s") / value(record, "putter_impact_cm_s")
    assert ratio == pytest.approx(HANDS, rel=0.01)
    assert value(record, "hands_peak_cm_s") / value(record, "putter_peak_cm_s") == pytest.approx(HANDS, rel=0.01)


def test_hands_that_stop_and_hands_that_go_on() -> None:
    """Going along with the putter their shares of the impact speed are the same: 0.6 where the putter's is still over 0.6.

    Stopped 0.05 s after impact they are far under 0.3 while the putter, at 0.6 of its speed after 0.16 s, goes on.
    """
    assert value(stroke(), "hands_to_putter_stop") == pytest.approx(0.6, abs=0.06)
    x = path()
    stopped = HANDS * np.where(T < 2.5, x, 160 * np.minimum(T - 2.5, 0.025))
    assert value(stroke(hands_along=stopped), "hands_to_putter_stop") < 0.3


def test_hands_that_go_out_of_sight_are_not_said_to_go_on() -> None:
    """The record ends soon after the putter's rest, so that hands lost about impact are seen for most of it."""
    last_s = 3.3

    def lost_from(time_s: float, hands: Floats) -> StrokeRecord:
        whole = stroke(hands_along=np.where(time_s < T, np.nan, hands))
        made = build_record(part(whole.signals, 0.0, last_s), ROUGH)
        assert made is not None
        return made

    before = lost_from(2.45, HANDS * path()).measures
    assert before["hands_impact_cm_s"].value is None  # not that of the last moment they were seen
    assert before["hands_to_putter_stop"].value is None
    soon = lost_from(2.55, HANDS * path()).measures
    assert soon["hands_impact_cm_s"].value == pytest.approx(HANDS * 160, abs=6)
    assert soon["hands_to_putter_stop"].value is None
    stops = np.where(T < 2.5, HANDS * path(), np.minimum(HANDS * path(), 1.0))
    assert value(lost_from(2.7, stops), "hands_to_putter_stop") < 0.3  # they stopped before


def test_head() -> None:
    """The largest change from takeaway to rest, by the head's middle; turn with its sign."""
    sways = stroke(head_along=smooth_ramp(2.4, 2.7, -2.0), head_up=155 + smooth_ramp(2.4, 2.7, 1.5))
    assert value(sways, "sway_cm") == pytest.approx(-2.0, abs=0.03)
    assert value(sways, "lift_cm") == pytest.approx(1.5, abs=0.03)
    assert value(stroke(head_turn_deg=smooth_ramp(2.3, 2.6, 7.0)), "head_turn_deg") == pytest.approx(7.0, abs=0.1)
    after = stroke(head_along=smooth_ramp(3.4, 3.8, 5.0))
    assert value(after, "sway_cm") == pytest.approx(0.0, abs=0.03)


def test_a_head_that_is_hardly_made_out_goes_nowhere() -> None:
    """Its place counts as long as it is sure: a turn that is not read is taken for a way."""
    lost = {"head_along": smooth_ramp(2.6, 2.8, 4.0), "head_up": 155 + smooth_ramp(2.6, 2.8, 3.0)}
    told = stroke(**lost, head_turn_conf=np.where(T > 2.6, 0.2, 1.0))
    for name in ("sway_cm", "lift_cm", "head_with_putter_cm"):
        assert value(stroke(**lost), name) > 1.5
        assert value(told, name) == pytest.approx(0.0, abs=0.05)
    assert told.measures["sway_cm"].confidence < stroke(**lost).measures["sway_cm"].confidence


def test_the_head_goes_with_the_putter_or_against_it() -> None:
    """Back by 2 cm with the putter, through by 5 from there; the same the other way; and only through, as a whole body does."""
    shift = -smooth_ramp(1.5, 2.1, 2.0) + smooth_ramp(2.2, 2.7, 5.0)
    assert value(stroke(head_along=shift), "head_with_putter_cm") == pytest.approx(5.0, abs=0.1)
    assert value(stroke(head_along=-shift), "head_with_putter_cm") == pytest.approx(-2.0, abs=0.1)
    assert value(stroke(head_along=smooth_ramp(2.4, 2.7, 4.0)), "head_with_putter_cm") == pytest.approx(4.0, abs=0.1)
    assert value(stroke(head_along=-smooth_ramp(2.4, 2.7, 4.0)), "head_with_putter_cm") == pytest.approx(0.0, abs=0.05)
    late = stroke(head_along=smooth_ramp(3.4, 3.8, 5.0))
    assert value(late, "head_with_putter_cm") == pytest.approx(0.0, abs=0.05)


def test_a_look_during_the_backstroke_leaves_no_follow_through_to_tell_it_by() -> None:
    looks = stroke(head_turn_deg=smooth_ramp(1.7, 1.9, 25.0))
    assert looks.events.at("look_s") < looks.events.at("top_s")
    assert looks.measures["head_with_putter_cm"] == Measure(None, "cm", 0.0, "the look came before the top")


def figure(shaft_deg: Floats, arm_deg: Floats, **columns: Floats) -> StrokeRecord:
    """The lead wrist 78 cm up the shaft from the putter's head; elbow and shoulder 26 and 57 cm up the arm from it."""
    shaft, arm = np.radians(shaft_deg), np.radians(arm_deg)
    wrist = path() - 78 * np.sin(shaft), 78 * np.cos(shaft)
    given: dict[str, Floats] = {"shaft_deg": shaft_deg, "lead_wrist_along": wrist[0], "lead_wrist_up": wrist[1]}
    for name, up in (("lead_elbow", 26.0), ("lead_shoulder", 57.0)):
        given |= {f"{name}_along": wrist[0] - up * np.sin(arm), f"{name}_up": wrist[1] + up * np.cos(arm)}
    return stroke(**(given | columns))


@pytest.mark.parametrize("deg", [15.0, -9.0])
def test_arm_and_shaft(deg: float) -> None:
    """The shaft turns on by deg between impact and rest, + with the head past the hands; of the arm's direction it turns 1 / 22.

    The point of the grip lies 0.1 of 41.5 cm below the wrist, and half of where it is goes by the putter.
    """
    turns = figure(smooth_ramp(2.52, 2.82, deg), 0.0 * T)
    assert value(turns, "hinge_change_deg") == pytest.approx(deg * (1 - 0.5 * 0.1 / 1.1), abs=0.3)


def test_the_arm_counts_as_much_as_the_shaft() -> None:
    """The arm turns on by 7 deg, seen over 1.1 of its length."""
    turns = figure(0.0 * T, smooth_ramp(2.52, 2.82, 7.0))
    assert value(turns, "hinge_change_deg") == pytest.approx(-7.0 / 1.1, abs=0.2)


def test_a_wrist_that_is_not_where_the_putter_is_held_counts_half() -> None:
    """5 cm of error over the 45.65 cm from the middle of the upper arm to the grip would be 6.25 deg."""
    wrong = figure(0.0 * T, 0.0 * T, lead_wrist_along=path() + smooth_ramp(2.52, 2.82, 5.0))
    assert value(wrong, "hinge_change_deg") == pytest.approx(-6.25 / 2, abs=0.1)


def test_half_the_scale_halves_lengths_and_no_angle() -> None:
    x = path() / 2
    half = stroke(putter_along=x, hands_along=HANDS * x)
    assert value(half, "back_cm") == pytest.approx(12.0, abs=0.1)
    assert value(half, "through_cm") == pytest.approx(16.0, abs=0.1)
    assert value(half, "tempo_ratio") == pytest.approx(1.857, abs=0.06)


@pytest.mark.parametrize(("times", "sure"), [(2.0, True), (5.0, False)])
def test_a_putter_faster_than_any_putt_makes_nothing_sure(times: float, sure: bool) -> None:
    """160 cm/s at impact in the plain one: a leg, a shadow or another club was taken for the putter."""
    x = times * path()
    made = stroke(putter_along=x, hands_along=HANDS * x)
    assert any(m.confidence > 0.35 for m in made.measures.values()) == sure


def test_hands_past_the_lead_leg() -> None:
    """At the finish the hands are at HANDS x 32 = 13.44 cm, the lead ankle at 16 cm."""
    record = stroke()
    assert value(record, "hands_past_leg_cm") == pytest.approx(13.44 - 16.0, abs=0.1)
    more = value(stroke(hands_along=HANDS * path() + smooth_ramp(2.5, 2.8, 4.0)), "hands_past_leg_cm")
    assert more - value(record, "hands_past_leg_cm") == pytest.approx(4.0, abs=0.1)


@pytest.mark.parametrize("ankle_cm", [5.0, 16.0, 30.0])
def test_hands_that_carry_on_are_told_whatever_the_stance(ankle_cm: float) -> None:
    """Back HANDS x 24 cm, through HANDS x 32; the leg is passed or not by where the foot stands."""
    carried = stroke(lead_ankle_along=np.full(len(T), ankle_cm))
    assert value(carried, "hands_carry_cm") == pytest.approx(HANDS * (32 - 24), abs=0.1)
    stopped = np.minimum(HANDS * path(), 5.0)
    kept = stroke(lead_ankle_along=np.full(len(T), ankle_cm), hands_along=stopped)
    assert value(kept, "hands_carry_cm") == pytest.approx(5.0 - HANDS * 24, abs=0.1)


def test_the_goal_can_be_met_by_an_ordinary_stroke_and_the_leg_cannot() -> None:
    """A stroke as long through as back, in an ordinary stance: the old goal (past the leg) is out of its reach."""
    short = np.clip(HANDS * path(), None, HANDS * 25.0)
    record = stroke(hands_along=short)
    assert value(record, "hands_past_leg_cm") < 0.0
    assert value(record, "hands_carry_cm") > -1.0


def test_unseen_is_none_with_a_reason() -> None:
    nothing = np.full(len(T), np.nan)
    blind = stroke(head_turn_deg=nothing, head_along=nothing, head_up=nothing)
    for name in ("head_turn_deg", "sway_cm", "lift_cm", "hold_s", "head_with_putter_cm"):
        assert blind.measures[name].value is None
        assert blind.measures[name].reason
