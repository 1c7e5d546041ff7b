"""The head's turn on a dozen of the heads that may be looked at (tests/recipes/README.md, "Heads"): pose model and tracker."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from tests.bench.heads import BAR_FAR_DEG, BAR_RMSE_DEG, HeadRun, calibration, over_clips, report, run
from tests.support.paths import DATA

HEADS = sorted((DATA / "heads").glob("*.mp4"))
CLIP_DEG, REST_DEG = 7.0, 3.0  # of one clip, over 4 to 40 degrees; and while the head does not turn


@cache
def ran(path: Path) -> HeadRun:
    return run(path)


def every() -> list[HeadRun]:
    return [ran(p) for p in HEADS]


@pytest.mark.parametrize("path", HEADS, ids=lambda p: p.stem)
def test_each_head_is_seen_turns_the_right_way_and_rests_where_it_rested(path: Path) -> None:
    head = ran(path)
    assert head.rmse(head.turning) < CLIP_DEG
    assert head.at_rest() < REST_DEG
    turned = head.turning & np.isfinite(head.found_deg) & (np.abs(head.true_deg) > 12)
    assert (np.sign(head.found_deg[turned]) == np.sign(head.true_deg[turned])).all()


def test_all_of_them_together() -> None:
    assert over_clips(every(), "turning")[0] < BAR_RMSE_DEG
    assert over_clips(every(), "far")[0] < BAR_FAR_DEG


def test_a_high_confidence_is_right() -> None:
    share, frames, _ = calibration(every())["over 0.8"]
    assert frames > 20
    assert share >= 0.95


def test_a_hard_head_is_known_before_it_turns() -> None:
    sure = {p.stem.split("_")[0]: ran(p).sure_before() for p in HEADS}
    plain_or_backlit, fair = [sure[k] for k in ("D21", "D28", "D44")], [sure[k] for k in ("D01", "D37", "D51")]
    assert max(plain_or_backlit) < 0.8 < min(fair)


def test_the_report_names_the_worst() -> None:
    text = report(every())
    assert all(p.stem in text for p in HEADS)
    assert "95 % interval" in text
