"""After a stroke in a drill, what the drill is about is what is large."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from trainer.app.practice.drill_result import Putted, drill_sign
from trainer.coaching.drills import Run
from trainer.coaching.verdict import Verdict
from trainer.domain.record import Events, Measure, Signals, StrokeRecord
from trainer.domain.verdict import Fault
from trainer.feedback.signs import Sign
from trainer.settings.drill_file import load_drill

HEAD = "[drill]\nname = 'N'\ninstruction = 'I'\n"
STALL = Fault("hand_stall", 2.0, 30.0, "deg", 12.0)
SWAY = Fault("sway", 3.0, 5.0, "cm", 3.0)


def run(folder: Path, text: str) -> Run:
    (folder / "mine.toml").write_text(HEAD + text, encoding="utf-8")
    return Run(load_drill("mine", [folder]))


def record(**values: float) -> StrokeRecord:
    measures = {name: Measure(value, "x", 0.9) for name, value in values.items()}
    return StrokeRecord("ball", Events(), measures, Signals(np.array([0.0]), np.array([0]), {}))


def test_distances(tmp_path: Path) -> None:
    ladder = run(tmp_path, "[pass]\nfaults = ['hand_stall']\n[ladder]\ndistances_m = [8]\norder = 'blocked'\n")
    stroke = record(back_cm=55.0)
    sign = drill_sign(ladder, stroke, Verdict((STALL,)), Putted(11.5, "m", 37.0))
    assert sign == Sign("11.5 m for 8.0 m", "long; back 55 cm, asked 37; also: stopped hands", "fault")
    assert drill_sign(ladder, stroke, Verdict(), Putted(8.2, "m")).kind == "good"
    unknown = drill_sign(ladder, stroke, Verdict(), Putted(None, "m", 37.0, "the ball's speed was not seen"))
    assert unknown.word == "Distance not known"
    assert unknown.detail == "the ball's speed was not seen; back 55 cm, asked 37"
    assert unknown.kind == "plain"


def test_lengths(tmp_path: Path) -> None:
    ladder = run(tmp_path, "[pass]\nfaults = []\n[ladder]\nback_cm = [24]\nwithin_cm = 3.0\n")
    assert drill_sign(ladder, record(back_cm=25.2), Verdict()) == Sign("Back 25 cm", "asked 24 cm, within 3", "good")
    assert drill_sign(ladder, record(back_cm=30.0), Verdict()).kind == "fault"
    assert drill_sign(ladder, record(), Verdict()).word == "Length not seen"


def test_goals(tmp_path: Path) -> None:
    tempo = run(tmp_path, "[pass]\nfaults = []\n[goals.tempo_ratio]\nat_least = 1.6\nat_most = 2.6\n")
    sign = drill_sign(tempo, record(tempo_ratio=1.4), Verdict((SWAY,)))
    assert sign == Sign("Rhythm 1.4", "asked at least 1.6, at most 2.6; also: head going along", "fault")
    assert drill_sign(tempo, record(tempo_ratio=2.64), Verdict()).word == "Rhythm 2.64"  # 2.6 would read as met
    assert drill_sign(tempo, record(), Verdict()) == Sign("Rhythm not seen", "asked at least 1.6, at most 2.6", "plain")


@pytest.mark.parametrize(
    ("faults", "word", "kind"), [((STALL, SWAY), "Head going along", "fault"), ((STALL,), "Well held", "good")]
)
def test_the_drills_own_fault_comes_first(tmp_path: Path, faults: tuple[Fault, ...], word: str, kind: str) -> None:
    """Though another one came before it."""
    still = run(tmp_path, "[pass]\nfaults = ['sway']\n")
    sign = drill_sign(still, record(hold_s=1.4), Verdict(faults))
    assert (sign.word, sign.kind) == (word, kind)
    assert "also: stopped hands" in sign.detail
