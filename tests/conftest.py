"""What all tests share: no window, no sound card, no user's folder, and the shared clips where they are."""

from __future__ import annotations

import os
from pathlib import Path

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
if "PYTEST_XDIST_WORKER" in os.environ:  # two at a time: threads of one's matrices would wait for the other's
    os.environ.setdefault("OMP_NUM_THREADS", "1")
import trainer.vision  # noqa: F401  (quiets OpenCV, which reads its environment when a test first imports it)

# What else runs on the machine is no property of the code; pytest-timeout ends what hangs.
hypothesis.settings.register_profile("tests", deadline=None)
hypothesis.settings.load_profile("tests")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "slow: takes more than a few seconds; run by .ci/run like all others")
    config.addinivalue_line(
        "markers", "timed: measures time, so nothing may run beside it and its lines are not followed"
    )


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
