"""A short round of each campaign, and that a campaign finds what it is there to find. Long ones: tests/bench/campaign.md."""

from __future__ import annotations

import gc
import random
import shutil
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

import pytest

from tests.bench.campaign import camera, clock, display, full, hostile, kill, monkey, power, together
from tests.bench.campaign.checks import record_faults
from tests.bench.campaign.forked import Child, practising, told
from trainer.resources import data_path
from trainer.store.database import FILE_NAME
from trainer.vision.sources.clip import Clip

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="forks, /proc and strace are Linux's")


def test_nothing_told_is_lost_by_a_kill_and_a_loss_would_be_seen(tmp_path: Path) -> None:
    assert kill.one_round(3, tmp_path, kills=4) == []
    child = practising(tmp_path, 1, 2)
    child.wait()
    numbers = told(child.out)
    child.close()
    assert numbers == [1, 2]
    assert list(record_faults(tmp_path, numbers)) == []
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as db:
        db.execute("DELETE FROM strokes WHERE id = (SELECT max(id) FROM strokes)")
        db.commit()
    assert "strokes [2] were told and are not on record" in list(record_faults(tmp_path, numbers))


@pytest.mark.skipif(shutil.which("strace") is None, reason="strace is not here")
def test_a_power_cut_takes_nothing_that_was_synced_and_much_that_was_not(tmp_path: Path) -> None:
    calls = power.recorded(tmp_path, 5)
    unsynced = [call for call in calls if call.what != "sync"]
    found = {}
    for name, some in (("synced", calls), ("unsynced", unsynced)):
        rng, faults = random.Random(1), []
        tells = [k + 1 for k, call in enumerate(some) if call.what == "tell" and b"stroke " in call.data]
        for k in range(8):
            target = tmp_path / f"{name}{k}"
            target.mkdir()
            faults += power.faults_after(
                power.after_cut(some, rng.choice(tells), rng, tmp_path / "data", target), target
            )
        found[name] = faults
    assert found["synced"] == []
    assert found["unsynced"]


@pytest.mark.parametrize("seed", [1, 2, 8])
def test_a_disk_that_fails(seed: int, tmp_path: Path) -> None:
    assert full.one_round(seed, tmp_path) == []


def test_a_clip_that_was_left_half_read_holds_up_no_forked_child() -> None:
    gc.disable()
    try:
        clip = Clip(data_path("demo", "demo.mp4"))
        for _ in range(5):
            clip.read()  # its decoder has threads now
        left: list[object] = [clip]
        left.append(left)
        del clip, left
        child = Child(lambda: 0 * gc.collect())
    finally:
        gc.enable()
    gone = child.wait(20.0)
    child.kill()
    child.close()
    assert gone


def test_several_at_once(tmp_path: Path) -> None:
    assert together.one_round(1, tmp_path) == []


@pytest.mark.parametrize("seed", range(len(hostile.KINDS)))
def test_hostile_files(seed: int, tmp_path: Path) -> None:
    assert hostile.one_round(seed, tmp_path, files=2) == []


def test_a_clock_that_is_set(tmp_path: Path) -> None:
    assert clock.one_round(1, tmp_path) == []


def test_a_camera_that_does_all_wrong(tmp_path: Path) -> None:
    assert camera.one_round(1, tmp_path) == []


@pytest.mark.parametrize("seed", range(len(monkey.WINDOWS)))
def test_random_keys(seed: int, tmp_path: Path) -> None:
    assert monkey.one_round(seed, tmp_path) == []


@pytest.mark.skipif(not display.HERE, reason="Xvfb is not here")
def test_a_display_that_goes(tmp_path: Path) -> None:
    assert display.one_round(1, tmp_path, losses=1) == []
