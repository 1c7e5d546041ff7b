"""A clip judged as what it is not: no stroke is found, and what it looks like is suggested. On rendered clips with truth."""

from __future__ import annotations

import pytest

from tests.support.paths import shared_folder
from trainer.app.analyse import analyse_clip
from trainer.settings.model import Settings


@pytest.mark.slow
@pytest.mark.parametrize(
    ("clip", "options"),
    [("T06_left_hander_prelook", "--handedness left"), ("T08_dtl_good", "--view down-the-line")],
)
def test_who_is_filmed_otherwise_than_said_is_told(clip: str, options: str) -> None:
    path = shared_folder() / "clips" / f"{clip}.mp4"
    if not path.is_file():
        pytest.skip("no rendered clips")
    report, error = analyse_clip(path, Settings())
    assert (error, report.strokes) == (None, [])
    assert report.warnings[-1].endswith(f": try `{options}`")
