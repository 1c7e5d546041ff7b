"""One cause first: what is told of an address in which one thing takes others with it."""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
import pytest

from tests.support.paths import shared_folder
from trainer.coaching.posture.causes import FOLLOWS, cause_of, causes_first
from trainer.coaching.posture.ranges import DEFAULTS, Check, check
from trainer.coaching.posture.words import WORDS, advice, advice_among
from trainer.domain.record import Measure
from trainer.posture.guidance import main_sign

UPRIGHT = {"eye_line_cm": 20.8, "hands_plumb_cm": 11.9, "spine_tilt_deg": 26.2, "knee_flex_deg": 20.3}  # T09's truth


def side_on(**values: float) -> list[Check]:
    measures = {name: Measure(value, name.rpartition("_")[2], 0.9) for name, value in values.items()}
    return check(measures, "down-the-line")


def of(name: str, checks: list[Check]) -> Check:
    return next(c for c in checks if c.name == name)


def test_who_stands_too_upright_is_told_to_bend_not_to_come_nearer() -> None:
    checks = side_on(**UPRIGHT)
    by_place = [c for c in checks if c.fault]
    assert str(advice(by_place[0])) == "Eyes short of the ball: come nearer"  # first in the list, and no cause
    sign = main_sign(checks, ())
    assert sign.word == "Too upright"
    assert sign.detail.startswith("bend from the hips, only as far as is easy")
    assert "eyes and ball" in sign.detail
    assert "come nearer" not in sign.detail
    assert advice_among(of("eye_line_cm", checks), checks) == "spine first, then see"


def test_what_is_left_is_told_once_the_cause_is_mended() -> None:
    checks = side_on(**{**UPRIGHT, "spine_tilt_deg": 37.0, "eye_line_cm": 12.0, "hands_plumb_cm": 2.0})
    sign = main_sign(checks, ())
    assert (sign.word, sign.detail) == ("Eyes short of the ball", "come nearer")
    assert advice_among(of("eye_line_cm", checks), checks) == "Eyes short of the ball: come nearer"


def test_only_a_cause_that_is_surely_out_goes_first() -> None:
    doubt = DEFAULTS["down-the-line"]["spine_tilt_deg"].doubt
    checks = side_on(**{**UPRIGHT, "spine_tilt_deg": 30.0 - doubt / 2})
    assert cause_of(of("eye_line_cm", checks), checks) is None
    assert main_sign(checks, ()).word == "Eyes short of the ball"
    other_way = side_on(**{**UPRIGHT, "eye_line_cm": -6.0})
    assert cause_of(of("eye_line_cm", other_way), other_way) is None
    assert causes_first([c for c in checks if c.fault], checks)[0].name == "eye_line_cm"


def test_causes_are_of_measures_that_there_are_and_none_follows_from_itself() -> None:
    ranges = {name for view in ("face-on", "down-the-line") for name in DEFAULTS[view]}
    for (name, _), follow in FOLLOWS.items():
        assert {name, *(other for other, _ in follow)} <= ranges
        assert name not in {other for other, _ in follow}
        assert not {(other, side) for other, side in follow} & set(FOLLOWS)  # one step only: no rings


def bent(point: Any, hips: Any, by_deg: float) -> Any:
    """Turned about the hips toward the ball."""
    v, a = np.asarray(point) - hips, math.radians(by_deg)
    return hips + np.array([v[0], v[1] * math.cos(a) - v[2] * math.sin(a), v[1] * math.sin(a) + v[2] * math.cos(a)])


def test_bending_from_the_hips_brings_the_eyes() -> None:
    """The rendered player who stands too upright, her trunk turned about the hips."""
    path = shared_folder() / "clips" / "T09_dtl_poor_posture.json"
    if not path.is_file():
        pytest.skip("no rendered clips")
    raw = json.loads(path.read_text())
    at = {name: 100 * np.array(place) for name, place in raw["frames"][0]["kp3"].items()}
    hips, eyes = (at["left_hip"] + at["right_hip"]) / 2, (at["left_eye"] + at["right_eye"]) / 2
    tilt, ball = raw["setup"]["spine_tilt_deg"], at["ball"][1]
    lines = [float(bent(eyes, hips, to - tilt)[1] - ball) for to in (tilt, 37.5, 45.0)]
    assert lines[0] == pytest.approx(raw["setup"]["eye_line_cm"], abs=0.5)
    assert lines[1] < 0.6 * lines[0]
    assert lines[2] < DEFAULTS["down-the-line"]["eye_line_cm"].high


def test_a_lower_trail_hand_lets_the_lead_shoulder_be_higher() -> None:
    """Anatomy: the trail hand is the lower one on the grip, as in every rendered player."""
    low, high = DEFAULTS["face-on"]["shoulder_level_deg"].low, DEFAULTS["face-on"]["shoulder_level_deg"].high
    assert high > -low
    found = check({"shoulder_level_deg": Measure(8.0, "deg", 0.9)}, "face-on")[0]
    assert found.inside
    assert not check({"shoulder_level_deg": Measure(-9.0, "deg", 0.9)}, "face-on")[0].inside


def test_what_is_not_measured_is_not_said() -> None:
    """Where the hips are is seen; where the weight is, is not."""
    told = [str(hint).lower() for _, below, above in WORDS.values() for hint in (below, above)]
    assert not any("weight" in text or "toes" in text or "heels" in text for text in told)
    assert all("only as far as is easy" in text for text in told if "bend from" in text or "flex" in text)
