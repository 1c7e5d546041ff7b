"""A run that listens writes nothing and opens no socket: told by the system calls it makes."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.paths import ROOT

LISTENS = """
import threading, time
import numpy as np
from tests.support.made_sounds import RATE_HZ, heard
from trainer.hearing.ears import Ears
from trainer.testing.fakes import FakeMicrophone

made = heard("hard ball, steel", "fan", 30, np.random.default_rng(1), count=2)
device = FakeMicrophone(made.sound, RATE_HZ)
open("/dev/null", "w").write("begins")
ears = Ears(device).start()
device.play(3.0)
for _ in range(400):
    if len(ears.onsets(0.0, 3.0)) >= 2:
        break
    threading.Event().wait(0.01)
assert len(ears.onsets(0.0, 3.0)) >= 2
ears.close()
"""


def test_listening_writes_no_file_and_opens_no_socket(tmp_path: Path) -> None:
    if shutil.which("strace") is None:
        if os.environ.get("CI"):
            pytest.fail("strace is missing")
        pytest.skip("needs strace")
    trace = tmp_path / "trace"
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}
    calls = ["strace", "-f", "-qq", "--seccomp-bpf", "-e", "trace=open,openat,creat,socket", "-o", str(trace)]
    subprocess.run([*calls, sys.executable, "-c", LISTENS], check=True, env=environment, timeout=120)
    lines = trace.read_text(encoding="utf-8", errors="replace").splitlines()
    begins = next(k for k, line in enumerate(lines) if '"/dev/null", O_WRONLY' in line)
    after = lines[begins + 1 :]
    assert not [line for line in lines if "socket(" in line]
    assert not [line for line in after if re.search(r"O_WRONLY|O_RDWR|O_CREAT|creat\(", line)], after
