"""A clip that plays in slow motion without saying so is refused where one practises on it, as where it is judged."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Sequence

import numpy as np
import pytest

from tests.support.practice_stage import FPS, PICTURE, QUIET, Stage, StageDisplay, StageSource, Watches
from trainer.app import build
from trainer.app.analyse import watch
from trainer.app.clip_pace import SlowMotion
from trainer.app.practice.practice import PracticeOutcome
from trainer.commands.practice import PracticeOptions, practised
from trainer.domain.observation import Frame, Observation
from trainer.live.pipeline import StepResult
from trainer.settings.load import load
from trainer.testing.fakes import ListSource
from trainer.testing.simulate import Scene, ordinary_stroke
from trainer.testing.simulate_observations import observations
from trainer.ui.export.annotated_clip import AnnotatedClip


def seen(times: int) -> list[Observation]:
    """A stroke, taken at so many times the usual rate, and played at that."""
    rng = np.random.default_rng(4)
    scene = Scene((ordinary_stroke(rng, 1.5),), 5.0, seed=4)
    taken = observations(scene, times * FPS, QUIET, rng)
    return [replace(each, index=n, time_s=n / FPS) for n, each in enumerate(taken)]


class Copy(AnnotatedClip):
    """Only every eighth picture is drawn."""

    def __init__(self, path: Path) -> None:
        super().__init__(path, FPS / 8, size=(320, 240))
        self.written = 0

    def add(self, frame: Frame, step: StepResult) -> None:
        self.written += 1
        if self.written % 8 == 1:
            super().add(frame, step)


def practise_on(folder: Path, observations: Sequence[Observation]) -> PracticeOutcome:
    display = StageDisplay()
    source = StageSource(len(observations), display)
    source.live, source.pace_known, source.where = False, False, "slow.mp4"
    machine = replace(Stage(observations, display).machine, source=lambda *given, **more: source)
    return practised(folder, PracticeOptions(), machine)


def test_slow_motion_is_one_line_and_nothing_is_kept(tmp_path: Path) -> None:
    outcome = practise_on(tmp_path, seen(8))
    assert isinstance(outcome.failure, SlowMotion)
    assert str(outcome.failure) == (
        "slow.mp4: its strokes are slower than any player's: it plays in slow motion; "
        "say at how many frames a second it was recorded: --recorded-fps 240"
    )
    assert outcome.session is None


def test_judging_it_is_refused_too_and_no_part_of_a_copy_stays(tmp_path: Path) -> None:
    observations = seen(4)
    frames = [Frame(each.index, each.time_s, PICTURE) for each in observations]
    source = ListSource(frames, name="slow")
    source.pace_known = False
    copy = Copy(tmp_path / "copy.mp4")
    with pytest.raises(SlowMotion, match="--recorded-fps"):
        watch(source, build.pipeline(load([]), Watches(observations)), copy)
    assert copy.written > FPS
    assert not list(tmp_path.iterdir())
    source = ListSource(frames, name="slow, and it says so")
    watch(source, build.pipeline(load([]), Watches(observations)))


def test_a_stroke_of_a_usual_pace_is_not_refused(tmp_path: Path) -> None:
    outcome = practise_on(tmp_path, seen(1))
    assert outcome.failure is None
    assert outcome.session is not None
