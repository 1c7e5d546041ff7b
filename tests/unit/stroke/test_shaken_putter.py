"""A putter that shakes while it swings, though it lies still at rest (as in a coded picture), is not told to rest."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.observations import watch
from trainer.coaching.faults import verdict
from trainer.domain.measures import MIN_CONFIDENCE
from trainer.domain.observation import Observation
from trainer.domain.record import Measure
from trainer.settings.limits import Limits
from trainer.stroke.events import arrival
from trainer.stroke.filters import shakes_moving, smooth
from trainer.stroke.path import Path
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_observations import Noise, observations

STROKE = SimStroke(1.5, look_s=3.4)


def frames(shake_px: float, fps: float = 30.0, from_s: float = STROKE.start_s) -> list[Observation]:
    """shake_px: of the putter head along the line, from a time on."""
    rng = np.random.default_rng(5)
    scene = Scene((STROKE,), 5.5, seed=3)
    seen = observations(scene, fps, Noise(gone=0.0, misses=0.0), rng)
    return [_shaken(frame, rng.normal(0, shake_px)) if frame.time_s > from_s else frame for frame in seen]


def _shaken(frame: Observation, by_px: float) -> Observation:
    if frame.putter is None:
        return frame
    head = frame.putter.head
    return replace(frame, putter=replace(frame.putter, head=head._replace(along_px=head.along_px + by_px)))


def measures(seen: list[Observation]) -> dict[str, Measure]:
    return dict(watch(seen).record.measures)


def test_it_is_not_told_to_rest_and_no_look_is_judged_by_it() -> None:
    calm, shaken = watch(frames(0.0)).record, watch(frames(2.5)).record
    assert calm.measures["hold_s"].confidence > 0.6
    assert "short_hold" not in verdict(calm, Limits()).indeterminate
    assert (shaken.measures["rest_sight"].value or 0.0) < MIN_CONFIDENCE
    assert {"early_look", "short_hold"} <= set(verdict(shaken, Limits()).indeterminate)


def test_lengths_and_tempo_are_less_sure() -> None:
    calm, shaken = measures(frames(0.0)), measures(frames(2.5))
    for name in ("tempo_ratio", "recoil_cm", "back_cm"):
        assert shaken[name].confidence < calm[name].confidence - 0.05, name


def test_lengths_from_an_address_place_that_was_not_seen_are_not_sure() -> None:
    seen = frames(0.0)
    under_way_s = STROKE.start_s + 0.2
    hidden = [replace(frame, putter=None) if frame.time_s < under_way_s else frame for frame in seen]
    told = measures(hidden)
    for name in ("back_cm", "through_cm"):
        assert measures(seen)[name].confidence > 0.6, name
        assert told[name].value is None or told[name].confidence < MIN_CONFIDENCE, name


@pytest.mark.parametrize("fps", [30.0, 60.0, 120.0])
def test_a_swing_alone_does_not_shake(fps: float) -> None:
    t = np.arange(0, 1.2, 1 / fps)
    swing = 30.0 * np.sin(9.0 * t)
    assert shakes_moving(t, swing) < 0.06
    noise = np.random.default_rng(1).normal(0, 0.5, t.size)
    assert 0.3 < shakes_moving(t, swing + noise) < 0.75


def test_few_frames_a_second_tell_no_shake() -> None:
    t = np.arange(0, 2.0, 1 / 15)
    assert shakes_moving(t, 30.0 * np.sin(9.0 * t)) == 0.0


def test_frames_that_did_not_show_it_are_left_out() -> None:
    t = np.arange(0, 2.0, 1 / 60)
    place = 30.0 * np.sin(9.0 * t)
    place[10:14] = np.nan
    assert shakes_moving(t, place) < 0.06
    assert shakes_moving(t[:8], place[:8]) == 0.0


@pytest.mark.parametrize(("back_cm", "shakes_cm", "recoils"), [(0.5, 0.2, False), (0.5, 0.0, True), (3.0, 0.2, True)])
def test_a_place_that_comes_back_by_what_it_shakes_by_is_no_recoil(
    back_cm: float, shakes_cm: float, recoils: bool
) -> None:
    """A coded picture shows the putter a little too far as it stops, and lets it back in the next ones."""
    t = np.arange(0.0, 2.0, 1 / 30)
    left_s = np.clip(0.36 - (t - 0.5), 0.0, 0.36)
    x = 30.0 * (1 - (left_s / 0.36) ** 2) - back_cm * np.clip((t - 0.88) / 0.06, 0.0, 1.0)
    came = arrival(Path(t, smooth(t, x, 12.0), x, np.isfinite(x), "putter", 0.4), 0.5, shakes_cm)
    assert came is not None
    assert came.forward == (not recoils)
    if not recoils:
        assert came.settle_s == pytest.approx(0.85, abs=0.02)
