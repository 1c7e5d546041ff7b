"""Impact and tempo on invented strokes, by pictures alone and with the click of the ball: ``python -m tests.bench.impact_sound``.

The click is heard at the true impact less what the camera takes to give its picture, found to a millisecond, as by
``trainer.hearing.onset`` on made-up sound. Errors are those of strokes from the sixth on, when the delay is known.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, replace

import numpy as np

from trainer.domain.observation import Observation
from trainer.domain.sound import Onset
from trainer.stroke.impact_sound import ImpactSound
from trainer.stroke.tracker import Tracker
from trainer.testing.simulate import Scene, ordinary_stroke
from trainer.testing.simulate_observations import Noise, observations

CAMERA_S = 0.06  # from exposure to the picture's stamp
FOUND_SD_S = 0.001
LEARNING = 6  # strokes before those that count
HIDDEN_S = (-0.05, 0.04)  # about impact: a ball or a foot before the putter


@dataclass(frozen=True)
class Errors:
    """RMS (ms) of impact, standard deviation of the tempo ratio's error, strokes."""

    impact_ms: float
    tempo: float
    strokes: int


def errors(fps: float, with_sound: bool, hidden: bool, strokes: int = 60, seed: int = 1) -> Errors:
    """hidden: the putter is not seen about impact."""
    rng = np.random.default_rng(seed)
    heard: list[Onset] = []
    sound = ImpactSound(lambda first, last: [o for o in heard if first <= o.time_s <= last])
    impacts, tempos = [], []
    begins_s = 0.0
    for number in range(strokes):
        made = ordinary_stroke(rng, 1.5)
        scene = Scene((made,), made.finish_s + 3.0, seed=int(rng.integers(1 << 30)))
        known = scene.known()[0]
        struck_s = known.events.at("impact_s")
        heard = [Onset(begins_s + struck_s - CAMERA_S + float(rng.normal(0, FOUND_SD_S)), 20.0)]
        tracker, record = Tracker(sound=sound if with_sound else None), None
        for seen in observations(scene, fps, Noise(), rng):
            shown = _without_putter(seen, struck_s) if hidden else seen
            moment = tracker.update(replace(shown, time_s=begins_s + shown.time_s))
            record = moment.closed or record
        record = record or tracker.finish()
        begins_s += scene.lasts_s + 5.0
        if record is None or number < LEARNING or record.events.impact_s is None:
            continue
        impacts.append(record.events.impact_s - (begins_s - scene.lasts_s - 5.0) - struck_s)
        ratio, e = record.measures["tempo_ratio"].value, known.events
        true = (e.at("top_s") - e.at("takeaway_s")) / (struck_s - e.at("top_s"))
        if ratio is not None:
            tempos.append(ratio - true)
    return Errors(1000 * _rms(impacts), float(np.std(tempos)), len(impacts))


def _without_putter(seen: Observation, struck_s: float) -> Observation:
    return replace(seen, putter=None) if HIDDEN_S[0] < seen.time_s - struck_s < HIDDEN_S[1] else seen


def _rms(values: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values)))) if values else float("nan")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--strokes", type=int, default=60)
    strokes = parser.parse_args().strokes
    print("| putter about impact | frames/s | click | impact, ms | tempo, SD | strokes |\n|---|---|---|---|---|---|")
    for hidden in (False, True):
        for fps, with_sound in ((30.0, False), (30.0, True), (60.0, False), (120.0, False)):
            found = errors(fps, with_sound, hidden, strokes)
            place, click = "hidden" if hidden else "seen", "heard" if with_sound else "-"
            print(f"| {place} | {fps:.0f} | {click} | {found.impact_ms:.1f} | {found.tempo:.3f} | {found.strokes} |")


if __name__ == "__main__":
    main()
