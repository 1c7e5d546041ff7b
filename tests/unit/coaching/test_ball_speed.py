"""The ball's speed over its first 60 cm, as a camera sees it: on drawn ways and on rendered clips with truth."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from tests.bench.accuracy import run_clip
from tests.support.truth import read_truth
from trainer.coaching.distance.ball_speed import ball_speed, frames_per_s, putt_of
from trainer.coaching.distance.roll import deceleration_m_s2
from trainer.coaching.distance.skid import Launch, skid, time_over_s
from trainer.domain.record import SIGNAL_NAMES, Events, Measure, Signals, StrokeRecord
from trainer.errors import UsageError

IMPACT_S = 2.013


def drawn(speed_m_s: float, fps: float = 30.0, noise_px: float = 0.4, seed: int = 1, spin: float = 0.5) -> StrokeRecord:
    """A record in which only the ball is seen: at rest, then sliding and rolling on a 10 ft green, 0.41 cm a pixel."""
    rng = np.random.default_rng(seed)
    t = np.arange(0.0, 4.0, 1.0 / fps)
    slide, since = skid(speed_m_s, Launch(spin)), np.clip(t - IMPACT_S, 0.0, None)
    slowing = (speed_m_s - slide.roll_m_s) / slide.time_s
    sliding = speed_m_s * since - slowing * since**2 / 2
    after = np.clip(since - slide.time_s, 0.0, slide.roll_m_s / deceleration_m_s2(10))
    rolling = slide.length_m + slide.roll_m_s * after - deceleration_m_s2(10) * after**2 / 2
    way_m = np.where(since < slide.time_s, sliding, rolling)
    columns = {name: np.full(len(t), np.nan) for name in SIGNAL_NAMES}
    columns["ball_along_px"] = 300.0 + way_m * 100 / 0.41 + rng.normal(0, noise_px, len(t))
    columns["ball_cm_per_px"] = np.full(len(t), 0.41)
    measures = {
        "back_cm": Measure(24.0, "cm", 0.9),
        "backstroke_s": Measure(0.66, "s", 0.9),
        "forward_s": Measure(0.32, "s", 0.9),
    }
    return StrokeRecord("ball", Events(impact_s=IMPACT_S + 0.01), measures, Signals(t, np.arange(len(t)), columns))


@pytest.mark.parametrize("fps", [30.0, 60.0])
@pytest.mark.parametrize("speed", [1.4, 2.0, 3.0])
def test_speed_of_a_drawn_ball(speed: float, fps: float) -> None:
    time_s = time_over_s(speed, 0.6, 10)
    assert time_s is not None
    errors = [ball_speed(drawn(speed, fps, seed=seed)).value / (60 / time_s) - 1 for seed in range(20)]
    assert max(abs(e) for e in errors) < 0.03


def test_single_wrong_places_do_not_matter() -> None:
    record = drawn(2.0)
    true = ball_speed(record).value
    record.signals.columns["ball_along_px"][64] += 40
    record.signals.columns["ball_along_px"][66] = np.nan
    assert ball_speed(record).value == pytest.approx(true, rel=0.02)


def test_what_was_not_seen_says_why() -> None:
    record = drawn(2.0)
    columns, after = record.signals.columns, record.signals.time_s > IMPACT_S

    def why(**changes: object) -> str:
        made = StrokeRecord(
            **{**{f: getattr(record, f) for f in ("kind", "events", "measures", "signals", "view")}, **changes}
        )  # type: ignore[arg-type]
        found = ball_speed(made)
        assert found.value is None
        return found.reason

    def blind(where: np.ndarray) -> Signals:
        hidden = {**columns, "ball_along_px": np.where(where, np.nan, columns["ball_along_px"])}
        return Signals(record.signals.time_s, record.signals.index, hidden)

    assert why(view="down-the-line") == "the ball's way is measured face-on only"
    assert why(kind="rehearsal") == "no ball was struck"
    assert why(events=Events(impact_s=None)) == "impact not seen"
    assert why(signals=blind(~after)) == "no ball seen at address"
    assert why(signals=blind(after)) == "the ball was not followed over its first 60 cm"
    assert why(events=Events(impact_s=IMPACT_S - 0.2)) == "the ball's way does not begin at impact"
    assert ball_speed(drawn(0.6)).value is None, "it stops within 60 cm"


def test_a_record_becomes_a_putt() -> None:
    record = drawn(2.0)
    putt = putt_of(record, 3.1, 10, 0.0, 3.0, 0.25)
    assert (putt.back_cm, putt.back_s, putt.to_impact_s, putt.rolled_m, putt.target_m) == (24.0, 0.66, 0.32, 3.1, 3.0)
    assert putt.ball_speed_m_s == pytest.approx(2.0, rel=0.03)
    assert frames_per_s(record) == pytest.approx(30.0)
    unseen = StrokeRecord("ball", record.events, {"back_cm": Measure(None, "cm", 0, "putter not seen")}, record.signals)
    with pytest.raises(
        UsageError, match="putter not seen: the length of this stroke was not seen; enter it with --back"
    ):
        putt_of(unseen, 3.1, 10)


def true_speed_cm_s(path: Path) -> float:
    raw = json.loads(path.read_text())
    sign = -1.0 if raw["handedness"] == "left" else 1.0
    t = np.array([f["t"] for f in raw["frames"]])
    x = sign * np.array([f["kp3"]["ball"][0] for f in raw["frames"]])
    impact = next(s["impact_s"] for s in raw["strokes"] if s["kind"] == "ball")
    rest = x[t < impact][-1]
    after = t > impact
    return 60.0 / (float(np.interp(0.6, (x - rest)[after], t[after])) - impact)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "within"), [("T02_early_look", 0.08), ("T06_left_hander_prelook", 0.08), ("T11_60fps_good", 0.05)]
)
def test_speed_on_rendered_clips(clips: Path, name: str, within: float) -> None:
    """8 % at 30 frames/s, 5 % at 60."""
    truth = read_truth(clips / f"{name}.json")
    _, finished, _ = run_clip(clips / f"{name}.mp4", truth)
    (record,) = [f.record for f in finished if f.record.kind == "ball"]
    assert ball_speed(record).value == pytest.approx(true_speed_cm_s(clips / f"{name}.json"), rel=within)
