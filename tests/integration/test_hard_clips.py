"""Strokes and faults on clips that once went wrong (tests/data/hard); lengths and times are not asked of them."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench.accuracy import run_clip
from tests.integration.test_clips import JUDGED
from tests.support.paths import DATA
from tests.support.truth import read_truth
from trainer.coaching.verdict import unjudged


@pytest.mark.parametrize("path", sorted((DATA / "hard").glob("*.mp4")), ids=lambda p: p.stem)
def test_strokes_and_faults_are_told(path: Path) -> None:
    truth = read_truth(path.with_suffix(".json"))
    _, finished, _ = run_clip(path, truth)
    assert [f.record.kind for f in finished] == [s.kind for s in truth.strokes]
    for done, true in zip(finished, truth.strokes, strict=True):
        assert {f.name for f in done.verdict.faults} & JUDGED == true.intended & JUDGED
        assert not set(unjudged(done.verdict)) & JUDGED
