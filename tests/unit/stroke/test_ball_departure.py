"""Impact by the ball's leaving against impact by the putter's path."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from trainer.domain.record import SIGNAL_NAMES, Events, Signals
from trainer.stroke.ball_departure import (
    AGREE_S,
    LEFT_DIAMETERS,
    MISFIT_DIAMETERS,
    NAME,
    ROLL_S,
    by_both,
    disagreement,
    impact_ball_later,
    left_s,
)
from trainer.stroke.tracker import Tracker
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_observations import observations

BALL_PX = 10.4
CM_PER_PX = 4.267 / BALL_PX


def events(impact_s: float | None) -> Events:
    return Events(impact_s=impact_s)


def ball(
    left: float,
    fps: float = 30.0,
    speed_cm_s: float = 180.0,
    noise_px: float = 0.0,
    lost: tuple[int, ...] = (),
    slows_cm_s2: float = 60.0,
    seed: int = 2,
) -> Signals:
    """A ball that lies still and leaves at a known time, slowing as on a green of ordinary speed. lost: frames after it."""
    t = np.arange(0, 4, 1 / fps)
    rng = np.random.default_rng(seed)
    u = np.clip(t - left, 0, speed_cm_s / slows_cm_s2)
    x = 300.0 + (speed_cm_s * u - slows_cm_s2 * u * u / 2) / CM_PER_PX + rng.normal(0, noise_px, len(t))
    x[x > 300 + 120 / CM_PER_PX] = np.nan
    after = np.flatnonzero(t > left)
    x[after[list(lost)]] = np.nan
    columns = {n: np.full(len(t), np.nan) for n in SIGNAL_NAMES}
    columns["ball_along_px"] = x
    columns["ball_diameter_px"] = np.where(np.isfinite(x), BALL_PX, np.nan)
    columns["ball_conf"] = np.where(np.isfinite(x), 0.9, np.nan)
    return Signals(t, np.arange(len(t)), columns)


@pytest.mark.parametrize("fps", [30.0, 60.0, 120.0])
@pytest.mark.parametrize("offset", [0.0, 0.3, 0.7])
@pytest.mark.parametrize("speed_cm_s", [70.0, 180.0, 350.0])
def test_time_between_frames(fps: float, offset: float, speed_cm_s: float) -> None:
    left = 2.0 + offset / fps
    found = left_s(ball(left, fps, speed_cm_s), left)
    assert found is not None
    # What slowing by 60 cm/s2 bends the line of 0.17 s: half of 60 x 0.17^2 at most, less than a tenth of it at its start.
    assert found[0] == pytest.approx(left, abs=0.7 / speed_cm_s + 0.0005)


@pytest.mark.parametrize("seed", range(8))
def test_noise_and_lost_frames(seed: int) -> None:
    found = left_s(ball(2.013, noise_px=0.5, lost=(1, 3), seed=seed), 2.0)
    assert found is not None
    assert found[0] == pytest.approx(2.013, abs=0.008)
    assert 0 < found[1] < 0.02


def test_one_wild_frame_does_not_matter() -> None:
    seen = ball(2.0)
    x = seen["ball_along_px"].copy()
    x[63] += 4.0
    assert left_s(Signals(seen.time_s, seen.index, {**seen.columns, "ball_along_px": x}), 2.0)[0] == pytest.approx(  # type: ignore[index]
        2.0, abs=0.006
    )


@pytest.mark.parametrize("later", [0.0, 0.012, -0.012])
def test_agreement_is_silent(later: float) -> None:
    found = impact_ball_later(ball(2.0 + later), events(2.0))
    assert found.value == pytest.approx(later, abs=0.005)
    assert (found.unit, found.reason) == ("s", "")
    assert found.confidence > 0.5


@pytest.mark.parametrize("later", [0.04, -0.035])
def test_disagreement_is_said(later: float) -> None:
    found = impact_ball_later(ball(2.0 + later), events(2.0))
    assert found.value is not None
    assert abs(found.value) > AGREE_S
    assert found.reason == disagreement(found.value)
    assert ("after" if later > 0 else "before") in found.reason


def test_not_seen_to_leave() -> None:
    lies = ball(9.0)
    taken = ball(2.0)
    gone = {**taken.columns, "ball_along_px": np.where(taken.time_s < 2.0, taken["ball_along_px"], np.nan)}
    never = {**taken.columns, "ball_along_px": np.full(len(taken.time_s), np.nan)}
    for seen in (lies, Signals(taken.time_s, taken.index, gone), Signals(taken.time_s, taken.index, never), ball(2.4)):
        found = impact_ball_later(seen, events(2.0))
        assert found.value is None
        assert found.confidence == 0.0
        assert found.reason == "the ball was not seen to leave its place"
    assert impact_ball_later(taken, events(None)).reason == "impact not seen"


def test_a_ball_moved_backward_has_not_left() -> None:
    seen = ball(2.0)
    mirrored = {**seen.columns, "ball_along_px": 600.0 - seen["ball_along_px"]}
    assert left_s(Signals(seen.time_s, seen.index, mirrored), 2.0) is None


def test_less_is_believed_of_a_slow_ball_seen_badly() -> None:
    sure = impact_ball_later(ball(2.0), events(2.0)).confidence
    assert impact_ball_later(ball(2.0, speed_cm_s=40.0), events(2.0)).confidence < sure
    assert impact_ball_later(ball(2.0, noise_px=1.5), events(2.0)).confidence < sure


def test_path_and_ball_are_weighed_by_what_each_may_be_off_by() -> None:
    impact_s, sd_s = by_both(ball(2.0), 2.006, 0.002)
    assert 2.000 < impact_s < 2.003
    assert sd_s < 0.0025
    blurred_s, blurred_sd_s = by_both(ball(2.0, speed_cm_s=70.0), 2.006, 0.002)
    assert impact_s < blurred_s < 2.006
    assert blurred_sd_s > sd_s
    for signals, path_s in ((ball(2.0), 2.0 + 1.1 * AGREE_S), (ball(2.0, lost=tuple(range(40))), 2.006)):
        assert by_both(signals, path_s, 0.004) == (path_s, pytest.approx(0.005))


def simulated(ball_later_s: float) -> tuple[float | None, str]:
    """Measure and warning of an invented stroke whose ball is seen later by so much."""
    seen = observations(Scene((SimStroke(1.5),)), fps=60.0)
    shift = round(ball_later_s * 60.0)
    moved = [replace(s, ball=seen[max(k - shift, 0)].ball) for k, s in enumerate(seen)]
    tracker, closed = Tracker(), None
    for observation in moved:
        closed = tracker.update(observation).closed or closed
    closed = closed or tracker.finish()
    assert closed is not None
    assert closed.kind == "ball"
    return closed.measures[NAME].value, closed.context.impact_warning


def test_a_stroke_as_a_whole() -> None:
    value, warning = simulated(0.0)
    assert value == pytest.approx(0.0, abs=0.012)
    assert warning == ""
    late, warning = simulated(0.05)
    assert late is not None
    assert value is not None
    assert late - value == pytest.approx(0.05, abs=0.012)
    assert warning == disagreement(late)


def test_a_ball_on_its_way_back_did_not_leave() -> None:
    """It was seen late, as it rolled back down a slope."""
    seen = ball(2.0, speed_cm_s=200.0)
    x = seen["ball_along_px"].copy()
    after = np.flatnonzero(seen.time_s > 2.0)
    x[after] = np.nan
    x[after[:5]] = 300 + np.array([60.0, 50.0, 40.0, 30.0, 20.0])
    assert left_s(replace(seen, columns={**seen.columns, "ball_along_px": x}), 2.0) is None


@pytest.mark.parametrize("fps", [30.0, 60.0, 120.0])
def test_the_doubt_is_that_of_a_straight_lines_crossing(fps: float) -> None:
    """Least squares, with the least scatter that is reckoned with: some few points lie on a line by chance."""
    left = 2.0 + 0.5 / fps
    seen = ball(left, fps, slows_cm_s2=1e-3)
    found = left_s(seen, left)
    assert found is not None
    t = seen.time_s[seen["ball_along_px"] - 300.0 > LEFT_DIAMETERS * BALL_PX]
    t = t[t <= t[0] + ROLL_S]
    inverse = np.linalg.inv(np.array([[len(t), (t - left).sum()], [(t - left).sum(), ((t - left) ** 2).sum()]]))
    expected = MISFIT_DIAMETERS * BALL_PX * CM_PER_PX / 180.0 * float(inverse[0, 0]) ** 0.5
    assert found[1] == pytest.approx(expected, rel=0.02)
