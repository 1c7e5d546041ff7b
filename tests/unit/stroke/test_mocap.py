"""One real putt, motion-captured: CMU Graphics Lab Motion Capture Database, subject 64, trial 13 ("Putt"); mocap.cs.cmu.edu,
created with funding from NSF EIA-0196217. No putter, ball or picture was recorded: the hands stand in.

Event times and their half-widths of uncertainty: events.json beside the data, read by hand from plots.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.support.observations import Watched, watch
from trainer.coaching.faults import Basis, judge
from trainer.domain.observation import HeadObservation, Observation, Scale
from trainer.domain.player_frame import Point
from trainer.settings.limits import Limits

CM_PER_PX = 0.5  # as if filmed; any scale would do


@pytest.fixture(scope="module")
def putt(shared: Path) -> tuple[Watched, dict[str, Any]]:
    """The putt as observations through the tracker, and what was read by hand."""
    folder = shared / "mocap"
    if not (folder / "putt_a.npz").is_file():
        pytest.skip(f"no motion-captured putt: {folder} is absent")
    data = np.load(folder / "putt_a.npz", allow_pickle=True)
    names = [str(n) for n in data["names"]]
    axis = data["stroke_axis"]
    along = data["positions"] @ axis * 100 / CM_PER_PX
    up = data["positions"][:, :, 1] * 100 / CM_PER_PX
    observations = []
    for k, t in enumerate(data["t"]):
        body = {}
        for n, name in enumerate(names):
            side, _, joint = name.partition("_")
            if side in ("left", "right"):
                key = f"{'lead' if side == 'left' else 'trail'}_{joint}"
                body[key] = Point(float(along[k, n]), float(up[k, n]), 1.0)
        n = names.index("head_centre")
        head = HeadObservation(float(data["head_turn_deg"][k]), 0.9, Point(float(along[k, n]), float(up[k, n]), 1.0))
        scale = Scale(None, CM_PER_PX, None, "known")
        observations.append(Observation(k, float(t), body, head, None, None, scale))
    read = json.loads((folder / "events.json").read_text())["trial"]["putt_a"]
    return watch(observations), read


def test_it_is_one_stroke_without_a_ball(putt: tuple[Watched, dict[str, Any]]) -> None:
    watched, _ = putt
    assert watched.record.kind == "rehearsal"
    assert watched.record.measures["hinge_change_deg"].value is None
    assert "not seen" in watched.record.measures["hinge_change_deg"].reason
    assert watched.record.measures["back_cm"].value is None


@pytest.mark.parametrize(
    ("event", "read_as"), [("top_s", "top"), ("impact_s", "impact_hands_pass_address"), ("settle_s", "hands_settled")]
)
def test_events_lie_within_the_readings_uncertainty(
    putt: tuple[Watched, dict[str, Any]], event: str, read_as: str
) -> None:
    watched, read = putt
    at, half_width = read[read_as]
    found = watched.record.events.named(event)
    assert found is not None
    assert abs(found - at) <= half_width + 0.5 / 30  # and half a frame of the 30 Hz samples


def test_takeaway_follows_the_start_by_the_time_five_millimetres_take(putt: tuple[Watched, dict[str, Any]]) -> None:
    watched, read = putt
    start, half_width = read["start"]
    found = watched.record.events.takeaway_s
    assert found is not None
    assert start - half_width <= found <= start + half_width + 0.20  # 5 mm at the hands' first 2 to 5 cm/s


def test_the_head_turn_passes_ten_degrees_when_read(putt: tuple[Watched, dict[str, Any]]) -> None:
    watched, read = putt

    limits = Limits().changed("early_look", 10.0)
    found = Basis(watched.record).look(limits).look_s
    at, half_width = read["head_turn_over_10deg"]
    assert found is not None
    assert (
        abs(found - at) <= half_width + 0.06
    )  # change since takeaway's address here, since the first still second there


def test_this_player_looks_early(putt: tuple[Watched, dict[str, Any]]) -> None:
    watched, _ = putt
    assert "early_look" in {f.name for f in judge(watched.record, Limits())}
    assert "early_look" in {c.name for cues in watched.cues for c in cues}
