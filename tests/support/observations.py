"""What tests of the stroke floor share: observations from truth files and motion capture, and running the tracker over them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Iterable

import numpy as np

from trainer.coaching.live_judge import LiveJudge
from trainer.domain.observation import BallObservation, HeadObservation, Observation, PutterObservation, Scale
from trainer.domain.player_frame import PlayerFrame, Point
from trainer.domain.record import LiveState, StrokeRecord
from trainer.domain.verdict import Cue
from trainer.settings.limits import Limits
from trainer.stroke.tracker import Tracker

BALL_CM = 4.267
JOINTS = ("shoulder", "elbow", "wrist", "hip", "knee", "ankle")


@dataclass
class Watched:
    """What came of a run: every moment, the finished strokes, the cues of each."""

    moments: list[LiveState]
    records: list[StrokeRecord]
    cues: list[list[Cue]]

    @property
    def record(self) -> StrokeRecord:
        """The only stroke."""
        assert len(self.records) == 1, f"{len(self.records)} strokes"
        return self.records[0]

    @property
    def phases(self) -> list[str]:
        """The phases in order, each once as long as it lasts."""
        names = [m.phase for m in self.moments]
        return [b for a, b in zip(["", *names], names) if a != b]


def watch(observations: Iterable[Observation], limits: Limits | None = None, tracker: Tracker | None = None) -> Watched:
    """The tracker and the live judge over observations, to their end."""
    limits = limits or Limits()
    tracker, judge = tracker or Tracker(limits.early_look.value), LiveJudge(limits)
    out, cues = Watched([], [], []), []
    for observation in observations:
        moment = tracker.update(observation)
        cue = judge.update(moment)
        out.moments.append(moment)
        if "takeaway_s" in moment.new_events:
            cues = []  # what began before this stroke never became one
        if cue is not None:
            cues.append(cue)
        if moment.closed is not None:
            out.records.append(moment.closed)
            out.cues.append(cues)
            cues = []
    last = tracker.finish()
    if last is not None:
        out.records.append(last)
        out.cues.append(cues)
    return out


def observations_from_truth(path: Path, noise_px: float, rng: np.random.Generator) -> list[Observation]:
    """A rendered clip's truth file as perfect vision with white noise would see it. Angles get noise_px / 3 degrees."""
    raw: dict[str, Any] = json.loads(path.read_text())
    frame = PlayerFrame(raw["view"], raw["handedness"], raw["width"])
    sides = {f"{s}_{j}": frame.named(f"{s}_{j}") for s in ("left", "right") for j in JOINTS}
    first = raw["frames"][0]

    def place(xy: list[float], conf: float = 0.95) -> Point:
        x, y = np.array(xy) + rng.normal(0, noise_px, 2)
        return frame.to_player(x, y, conf)

    # The ball's plane: putter head moved along the line in cm against px.
    heads = np.array([f["kp2"]["putter_head"] for f in raw["frames"]])
    along = np.array([f["kp3"]["putter_head"][0] for f in raw["frames"]]) * 100
    ball_scale = float(np.ptp(along) / np.ptp(heads[:, 0]))
    ears = [np.subtract(first["kp3"][f"{s}_ear"], first["kp3"][f"{s}_ankle"]) for s in ("left", "right")]
    pixels = [np.subtract(first["kp2"][f"{s}_ear"], first["kp2"][f"{s}_ankle"]) for s in ("left", "right")]
    body_scale = float(np.mean([100 * abs(e[2]) / abs(p[1]) for e, p in zip(ears, pixels)]))
    stance = abs(first["kp2"]["left_ankle"][0] - first["kp2"]["right_ankle"][0])
    scale = Scale(ball_scale, body_scale, stance, "ball")
    out = []
    for i, f in enumerate(raw["frames"]):
        k = f["kp2"]
        body = {name: place(k[n]) for n, name in sides.items()}
        grip, head = place(k["grip_top"]), place(k["putter_head"])
        shaft = np.degrees(np.arctan2(head.along_px - grip.along_px, grip.up_px - head.up_px))
        middle = np.mean([k["left_ear"], k["right_ear"]], axis=0)
        turned = HeadObservation(f["yaw_deg"] + rng.normal(0, noise_px / 3), 0.9, place(list(middle)))
        ball = None
        if k["ball"] is not None and 0 <= k["ball"][0] < raw["width"]:
            ball = BallObservation(place(k["ball"]), BALL_CM / ball_scale)
        out.append(
            Observation(
                i,
                f["t"],
                body,
                turned,
                PutterObservation(grip, head, float(shaft), 0.9, "tape" if raw["tape"] else "shaft"),
                ball,
                scale,
                frame,
            )
        )
    return out
