"""What the accuracy bench tells: sets apart, parts added up, a player's rows with honest intervals."""

from __future__ import annotations

import ast

import numpy as np
import pytest

from tests.bench.accuracy_table import Bench, Row, player_table, rmse_interval, table
from tests.support.clip_sets import SETS, clip_set
from tests.support.paths import ROOT


def scenario_names() -> set[str]:
    """Names of the full strokes that there are recipes for, read without the generator."""
    names = set()
    for path in sorted((ROOT / "tests" / "recipes").glob("s*_*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Dict):
                keys = {k.value for k in node.keys if isinstance(k, ast.Constant) and isinstance(k.value, str)}
                names |= {k for k in keys if k[:1] in "HRV" and k[1:3].isdigit()}
    return names


def test_every_clip_is_of_one_set_only() -> None:
    develop, report = (clip_set(name) for name in SETS)
    assert not develop & report
    assert len(scenario_names()) > 30
    assert scenario_names() <= develop | report
    assert {p.stem for p in (ROOT / "tests" / "data" / "clips").glob("*.mp4")} <= develop, (
        "tests tune; they are not reported on"
    )


def part(clip: str, errors: list[float], missing: int = 0) -> Bench:
    bench = Bench(clips=1, strokes=len(errors))
    for e in errors:
        bench.row("back_cm", "cm").add(clip, e)
    bench.row("back_cm", "cm").missing += missing
    return bench


def test_clips_measured_apart_add_up() -> None:
    whole = Bench()
    whole.add(part("a", [1.0, -1.0]))
    whole.add(part("b", [3.0], missing=1))
    row = whole.rows["back_cm"]
    assert (row.errors, row.clips, row.missing, whole.strokes) == ([1.0, -1.0, 3.0], ["a", "a", "b"], 1, 3)
    text = player_table(whole)
    assert "| length of the backstroke | 1.9 cm (1.0 to 3.0) | 3.0 cm | 25% |" in text
    assert "| when it meets the ball | - | - | 100% |" in text, "what was never seen is said so"
    assert "| back_cm, cm | 1.00 |" in table(whole)


def test_a_players_row_takes_its_own_measure_alone() -> None:
    bench = Bench(clips=1, strokes=1)
    for name, unit, error in (
        ("takeaway (30 fps)", "s", 0.01),
        ("takeaway_cm_s", "cm/s", 4.0),
        ("look_from_impact_s", "s", 2.0),
    ):
        bench.row(name, unit).add("a", error)
    text = player_table(bench)
    assert "| when the putter starts back | 0.010 s" in text
    assert "| when the head turns to look | - |" in text


@pytest.mark.parametrize("clips", [8, 40])
def test_the_interval_holds_the_true_error_as_often_as_it_says(clips: int) -> None:
    """Errors of one clip go together; an interval over frames alone would be far too narrow."""
    rng = np.random.default_rng(1)
    held = 0
    for _ in range(120):
        row = Row("deg")
        for k in range(clips):
            for e in rng.normal(0, 1) + rng.normal(0, 0.3, 20):
                row.add(str(k), float(e))
        low, high = rmse_interval(row, rng)
        held += low <= np.sqrt(1.09) <= high
    assert held / 120 > (0.75 if clips == 8 else 0.88)
