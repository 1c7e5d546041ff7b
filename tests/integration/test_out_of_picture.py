"""Clips cropped so that the putter leaves the picture: nothing is called by what was out of it, and the side is said."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.support.truth import read_truth
from trainer.app.build import observer, pipeline
from trainer.domain.observation import Frame
from trainer.live.advice import AdviceTeller
from trainer.settings.load import load
from trainer.vision.sources.clip import Clip


@pytest.mark.parametrize(
    ("name", "first", "last"),
    [("T01_good", 0, 346), ("T02_early_look", 0, 370), ("T03_hand_stall", 0, 370), ("T07_recoil", 262, 640)],
)
def test_cropped(clips: Path, name: str, first: int, last: int) -> None:
    truth = read_truth(clips / f"{name}.json")
    settings = load()
    sees, teller, strokes = observer(settings), AdviceTeller(), []
    pipe = pipeline(settings, sees)
    with Clip(clips / f"{name}.mp4") as clip:
        for frame in clip:
            cut = Frame(frame.index, frame.time_s, np.ascontiguousarray(frame.image[:, first:last]))
            step = pipe.step(cut, pipe.find_body(cut))
            teller.see(step.observation, step.moment.phase)
            strokes += [step.finished] if step.finished is not None else []
    end = pipe.finish()
    strokes += [end] if end is not None else []
    sees.close()
    side = "left" if first else "right"
    assert any(f"out of the picture on its {side}" in line for line in teller.said), teller.said
    for stroke, true in zip(strokes, truth.strokes):
        assert {f.name for f in stroke.verdict.faults} <= set(true.intended)
        assert stroke.verdict.indeterminate
