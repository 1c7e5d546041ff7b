"""Descriptor 2 while other people's C++ code writes to it: one command, nested, from several threads."""

from __future__ import annotations

import os
import subprocess
import sys
import threading

import pytest

from tests.support.paths import ROOT
from trainer.native_output import NOISE_VARIABLE, quiet
from trainer.vision.body.pose import PoseBody

WAIT_S = 60.0


def test_quiet_swallows_what_c_code_prints_and_no_more() -> None:
    code = """
import os, sys
from trainer.native_output import quiet
with quiet():
    os.write(2, b"noise from below\\n")
    print("our line", file=sys.stderr)
os.write(2, b"after\\n")
print("ours after", file=sys.stderr)
"""

    def stderr(**environment: str) -> list[str]:
        done = subprocess.run(
            [sys.executable, "-c", code],
            cwd=ROOT,
            env={**os.environ, **environment},
            capture_output=True,
            text=True,
            timeout=60,
        )
        return done.stderr.splitlines()

    assert stderr() == ["our line", "after", "ours after"]
    assert "noise from below" in stderr(**{NOISE_VARIABLE: "1"})


def test_quiet_restores_after_an_error(capfd: pytest.CaptureFixture[str]) -> None:
    def noisy() -> None:
        with quiet():
            os.write(2, b"noise\n")
            raise KeyError

    with pytest.raises(KeyError):
        noisy()
    os.write(2, b"heard\n")
    assert capfd.readouterr().err == "heard\n"


def test_quiet_may_be_nested(capfd: pytest.CaptureFixture[str]) -> None:
    with quiet():
        with quiet():
            os.write(2, b"noise\n")
        os.write(2, b"still noise\n")
    os.write(2, b"heard\n")
    assert capfd.readouterr().err == "heard\n"


def test_quiet_in_two_threads_ends_with_the_last_of_them(capfd: pytest.CaptureFixture[str]) -> None:
    """The first in is the first out: what the second found descriptor 2 leading to is not where it belongs."""
    first_in, second_in, first_out = (threading.Event() for _ in range(3))

    def first() -> None:
        with quiet():
            first_in.set()
            assert second_in.wait(WAIT_S)
        first_out.set()

    def second() -> None:
        assert first_in.wait(WAIT_S)
        with quiet():
            second_in.set()
            assert first_out.wait(WAIT_S)
            os.write(2, b"noise\n")

    threads = [threading.Thread(target=run) for run in (first, second)]
    for t in threads:
        t.start()
    for t in threads:
        t.join(WAIT_S)
    os.write(2, b"heard\n")
    assert capfd.readouterr().err == "heard\n"


def test_two_loads_of_the_model_at_once_leave_descriptor_2_as_it_was(capfd: pytest.CaptureFixture[str]) -> None:
    start, failed = threading.Barrier(2), []

    def load() -> None:
        start.wait(WAIT_S)
        try:
            PoseBody().close()
        except BaseException as error:
            failed.append(error)

    threads = [threading.Thread(target=load) for _ in range(2)]
    for t in threads:
        t.start()
    for t in threads:
        t.join(WAIT_S)
    os.write(2, b"heard\n")
    assert not failed
    assert capfd.readouterr().err == "heard\n"
