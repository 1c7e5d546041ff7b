"""Practice tells when the camera does not look from where it was said to, and when a drill cannot be judged from there."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.practice_stage import side_on, stroke
from trainer.app.practice.view_teller import FRAMES, ViewTeller, shoulder_width
from trainer.coaching.drill_words import blind_line
from trainer.domain.observation import Observation
from trainer.domain.phases import Phase
from trainer.domain.player_frame import PlayerFrame
from trainer.resources import data_path
from trainer.settings.drill_file import load_drill


def told(seen: list[Observation]) -> list[str]:
    teller = ViewTeller()
    return [line for one in seen for line in teller.see(one, Phase.ADDRESS)]


def test_as_said_nothing_is_told() -> None:
    assert told(stroke(1.3)[:60]) == []


def test_another_view_is_told_once() -> None:
    seen = [side_on(one) for one in stroke(1.3)[:60]]
    assert shoulder_width(seen[0]) is not None
    (line,) = told(seen)
    assert line.startswith("the camera looks down-the-line, not face-on: end it and set `--view down-the-line`")
    assert told(seen[: FRAMES - 1]) == []


def test_and_the_other_way_round() -> None:
    wide = []
    for one in stroke(1.3)[:30]:
        assert one.body is not None
        turned = {n: p._replace(across_px=p.along_px) for n, p in one.body.items()}
        wide.append(replace(one, body=turned, frame=PlayerFrame("down-the-line")))
    (line,) = told(wide)
    assert "looks face-on, not down-the-line" in line


def test_nobody_in_the_picture_tells_nothing() -> None:
    assert told([replace(one, body=None) for one in stroke(1.3)[:60]]) == []


@pytest.mark.parametrize(
    ("drill", "view", "said"),
    [
        (
            "posture-hold",
            "down-the-line",
            "cannot be judged from this side (down-the-line): seen face-on only: head going up",
        ),
        ("posture-hold", "face-on", ""),
        (
            "unhurried-backstroke",
            "down-the-line",
            "cannot be judged from this side (down-the-line): seen face-on only: rhythm",
        ),
    ],
)
def test_a_drill_says_what_is_not_seen_from_there(drill: str, view: str, said: str) -> None:
    line = blind_line(load_drill(drill, [data_path("config", "drills")]), view)
    assert said in line
    assert bool(said) == bool(line)


def test_a_drill_seen_in_part(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(
        "[drill]\nname = 'N'\ninstruction = 'I'\n[pass]\nfaults = ['posture_change', 'lift']\n", encoding="utf-8"
    )
    drill = load_drill("mine", [tmp_path])
    assert blind_line(drill, "face-on") == (
        "N can be judged only in part from this side (face-on): seen down-the-line only: back moving"
    )
