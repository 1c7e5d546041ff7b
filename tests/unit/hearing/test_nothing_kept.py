"""A run of practice that listens writes no sound and opens no socket: told by the system calls it makes."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.made_sounds import RATE_HZ
from tests.support.paths import ROOT

PRACTISES = """
import sys
from dataclasses import replace
from pathlib import Path
import numpy as np
from tests.support.made_sounds import RATE_HZ, heard
from tests.support.practice_stage import Stage, StageDisplay, stroke
from trainer.commands.practice import PracticeOptions, practise
from trainer.testing.fakes import FakeMicrophone

class Hears(FakeMicrophone):
    def start(self, on_block):
        super().start(on_block)
        self.play(7.0, 0.1)

made = heard("hard ball, steel", "fan", 30, np.random.default_rng(1), count=6)
device, stage = Hears(made.sound, RATE_HZ), Stage(stroke(), StageDisplay())
folder = Path(sys.argv[1])
(folder / "settings.toml").write_text("[hearing]\\nmicrophone = true\\n")
open("/dev/null", "w").write("begins")
assert practise(folder, PracticeOptions(), replace(stage.machine, microphone=lambda settings, clock: device)) == 0
assert device.closed
"""
RECORD = re.compile(r'/strokes\.sqlite(-journal|-wal|-shm)?"')


def test_practice_with_a_microphone_writes_its_record_alone_and_opens_no_socket(tmp_path: Path) -> None:
    if shutil.which("strace") is None:
        if os.environ.get("CI"):
            pytest.fail("strace is missing")
        pytest.skip("needs strace")
    trace = tmp_path / "trace"
    folder = tmp_path / "data"
    folder.mkdir()
    quiet = {"PYTHONDONTWRITEBYTECODE": "1", "SDL_VIDEODRIVER": "dummy", "SDL_AUDIODRIVER": "dummy"}
    environment = {**os.environ, "PYTHONPATH": str(ROOT), **quiet}
    calls = ["strace", "-f", "-qq", "--seccomp-bpf", "-e", "trace=open,openat,creat,socket", "-o", str(trace)]
    done = subprocess.run(
        [*calls, sys.executable, "-c", PRACTISES, str(folder)],
        env=environment,
        timeout=240,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert "listening for the click of the ball (made-up microphone)" in done.stdout
    assert "the click was heard in" in done.stdout
    lines = trace.read_text(encoding="utf-8", errors="replace").splitlines()
    begins = next(k for k, line in enumerate(lines) if '"/dev/null", O_WRONLY' in line)
    after = lines[begins + 1 :]
    assert not [line for line in lines if "socket(" in line]
    written = [line for line in after if re.search(r"O_WRONLY|O_RDWR|O_CREAT|creat\(", line)]
    assert not [line for line in written if not RECORD.search(line)], written
    kept = sum(path.stat().st_size for path in folder.iterdir())
    assert kept < 7.0 * RATE_HZ  # a byte a sample of what was heard would be more
