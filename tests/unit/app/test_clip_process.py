"""The cases of ``clip_process_cases``, where no thread of another test is copied half done."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

CASES = Path(__file__).with_name("clip_process_cases.py")


@pytest.mark.timeout(900)
@pytest.mark.skipif(sys.platform != "linux", reason="of Linux")
def test_clips_are_read_in_a_process_of_their_own() -> None:
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", str(CASES)]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert " passed" in ran.stdout
