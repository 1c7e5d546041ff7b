"""What all tests share: no window, no sound card, no user's folder, and the shared clips where they are."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import hypothesis
import pytest

from tests.support.paths import shared_folder

# Before anything imports SDL: tests need neither a screen nor a sound card.
os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("SDL_AUDIODRIVER", "dummy")
os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
os.environ.setdefault("PUTTING_TRAINER_STRICT", "1")  # a fault of ours in one frame is raised
os.environ["LANGUAGE"] = "en"  # whatever language the machine speaks
os.environ.pop("COLUMNS", None)  # xdist sets it; tables are as wide as in a file
import trainer.vision  # noqa: F401  (numpy and OpenCV read their environment when a test first imports them)

# What else runs on the machine is no property of the code; pytest-timeout ends what hangs.
hypothesis.settings.register_profile("tests", deadline=None)
hypothesis.settings.load_profile("tests")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "slow: takes more than a few seconds; run by .ci/run like all others")
    config.addinivalue_line(
        "markers", "timed: measures time, so nothing may run beside it and its lines are not followed"
    )


# Tests that look at the same pictures: what is looked at is kept in the process. Each file, or each of its clips, in one of two.
ONE_PROCESS = {f"tests/integration/test_{name}.py" for name in ("heads", "mess", "posture_stills", "whole")}
ONE_PROCESS_A_CLIP = {"tests/integration/test_clips.py"}


def together(test: str) -> str:
    """Tests of the same answer run in the same process. test: a node's id (xdist_group's suffix is lost with pytest 9.2)."""
    file, _, name = test.partition("::")
    if file in ONE_PROCESS_A_CLIP and "[" in name:
        return file + name[name.rindex("[") :]
    return file if file in ONE_PROCESS else test


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    from xdist.scheduler import LoadScopeScheduling

    class Scheduling(LoadScopeScheduling):  # type: ignore[misc]
        def _split_scope(self, nodeid: str) -> str:
            return together(nodeid)

    return Scheduling(config, log)


@pytest.fixture(scope="session")
def shared() -> Path:
    """The shared folder, or a skip that says why."""
    folder = shared_folder()
    if not (folder / "clips").is_dir():
        pytest.skip(f"no rendered clips: {folder} is absent (set PUTTING_SHARED to the folder that holds clips/)")
    return folder


@pytest.fixture(scope="session")
def clips(shared: Path) -> Path:
    """The folder of the rendered clips and their truth."""
    return shared / "clips"


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test touches the user's own record."""
    folder = tmp_path_factory.mktemp("data")
    monkeypatch.setenv("PUTTING_TRAINER_DATA", str(folder))
    return folder
