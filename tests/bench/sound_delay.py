"""From the call that plays to the driver, by the sound buffer's size: ``python -m tests.bench.sound_delay``.

SDL's disk driver writes what the mixer gives into a pipe that holds one buffer, and the other end is a device with a steady
clock: it plays one buffer while the next waits, so its delay is known (two buffers, and what is left of the one that was
begun), and where none waits at a buffer's end that is an underrun, as with a sound card of two periods. The mixer runs in a
process of its own without any right to be preferred, beside nothing or beside two busy processes and a busy thread. No
loudspeaker is part of it: the air is measured by `check --sound`.
"""

from __future__ import annotations

import argparse
import fcntl
import os
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.support.paths import ROOT
from trainer.processors import usable_processors

BUFFERS = (128, 256, 512, 1024, 2048)
RATE_HZ = 44_100
# The mixer is made to write as much a second as it can (twice the rate, 4 channels of 4 bytes): what plays as long as 128
# samples do is then one page, which is what the C library keeps back and what a pipe holds at least.
FINER, CHANNELS = 2, 4
SAMPLE_BYTES = FINER * CHANNELS * 4
TONE = "early_look"
GAP_S = (0.30, 0.45)  # between calls: the tone is over
NOBODY = 65534
BURN = "while True: pass"


@dataclass(frozen=True)
class Found:
    """delays_s: from each call to its first sample; plays: buffers; late: the device itself came too late to judge them."""

    delays_s: tuple[float, ...]
    call_s: float
    plays: int
    underruns: int
    late: int


class Device:
    """The loudspeaker's end of the pipe, in this process."""

    def __init__(self, pipe: Path, samples: int) -> None:
        self._samples, self._bytes, self._period_s = samples, samples * SAMPLE_BYTES, samples / RATE_HZ
        self._in = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
        fcntl.fcntl(self._in, fcntl.F_SETPIPE_SZ, self._bytes)  # type: ignore[attr-defined]
        self.heard_s: list[float] = []  # when each tone's first sample was played
        self.plays = self.underruns = self.late = 0

    def run(self, player: subprocess.Popen[str]) -> None:
        """Until the player has ended."""
        while not self._waiting():
            if player.poll() is not None:
                return
            time.sleep(0.001)
        edge_s, silent = time.monotonic() + self._period_s, True
        while player.poll() is None:
            time.sleep(max(0.0, edge_s - time.monotonic()))
            behind_s = time.monotonic() - edge_s
            data = self._read()
            if data is None:
                break
            self.plays += 1
            if (
                behind_s > 0.25 * self._period_s
            ):  # our own clock was not steady: begins anew, and this one is not judged
                self.late += 1
                edge_s += behind_s
            elif len(data) < self._bytes:
                self.underruns += 1
            silent = self._listen(data, edge_s, silent)
            edge_s += self._period_s
        os.close(self._in)

    def _listen(self, data: bytes, from_s: float, silent: bool) -> bool:
        """Was the buffer's end silent?"""
        sound = np.frombuffer(data, "<f4").reshape(-1, CHANNELS)[:, 0] if data else np.zeros(1)
        loud = np.flatnonzero(sound)
        if silent and len(loud):
            self.heard_s.append(from_s + loud[0] / (FINER * RATE_HZ))
        return not len(loud)

    def _waiting(self) -> bool:
        count = bytearray(4)
        fcntl.ioctl(self._in, 0x541B, count)  # FIONREAD
        return int.from_bytes(count, sys.byteorder) >= self._bytes

    def _read(self) -> bytes | None:
        """None once the player has gone."""
        with suppress(BlockingIOError):
            return os.read(self._in, self._bytes) or None
        return b""


def measure(samples: int, busy: bool, lasts_s: float) -> Found:
    with tempfile.TemporaryDirectory() as folder, ExitStack() as ended:
        Path(folder).chmod(0o755)
        pipe = Path(folder) / "heard"
        os.mkfifo(pipe)
        pipe.chmod(0o666)
        device = Device(pipe, samples)
        for _ in range(2 if busy else 0):
            burner = subprocess.Popen([sys.executable, "-c", BURN])
            ended.callback(burner.wait)
            ended.callback(burner.kill)
        environment = {
            **os.environ, "SDL_AUDIODRIVER": "disk", "SDL_DISKAUDIOFILE": str(pipe), "SDL_DISKAUDIODELAY": "0",
            "PYTHONPATH": str(ROOT),
        }  # fmt: skip
        words = [sys.executable, "-m", __spec__.name, "--play", str(samples), "--seconds", str(lasts_s)]
        player = subprocess.Popen(
            [*words, *(["--busy"] if busy else [])],
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        with _steady():
            device.run(player)
        said, _ = player.communicate()
    called = [tuple(map(float, line.split())) for line in said.splitlines() if line[:1].isdigit()]
    delays = []
    for at, _took in called:
        after = [heard - at for heard in device.heard_s if 0 <= heard - at < GAP_S[0]]
        if after:
            delays.append(after[0])
    call_s = statistics.median([took for _, took in called] or [float("nan")])
    return Found(tuple(delays), call_s, device.plays, device.underruns, device.late)


class _steady:
    """This process before all others while the device plays, where that is allowed."""

    def __enter__(self) -> None:
        with suppress(PermissionError):
            os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(20))

    def __exit__(self, *_: object) -> None:
        with suppress(PermissionError):
            os.sched_setscheduler(0, os.SCHED_OTHER, os.sched_param(0))


def play(samples: int, busy: bool, lasts_s: float) -> None:
    """The player's process: says when each call was made and how long it took."""
    import pygame

    from trainer.feedback.tones import MixerPlayer, load_sounds, shaped

    sounds = {TONE: load_sounds()[TONE]}
    shaped(sounds[TONE], FINER * RATE_HZ, 32, CHANNELS)  # what it imports may not be readable afterwards
    if os.geteuid() == 0:  # SDL prefers its sound thread where it may, which players' computers mostly do not allow
        os.setuid(NOBODY)
    real = pygame.mixer.init
    pygame.mixer.init = lambda rate, _form, _few, size, name: real(FINER * rate, 32, CHANNELS, FINER * size, name, 0)
    if busy:
        threading.Thread(target=_burn, daemon=True).start()
    player = MixerPlayer(sounds, 1.0, samples)
    lines, rng, until = [], random.Random(samples), time.monotonic() + lasts_s
    time.sleep(0.3)
    while time.monotonic() < until:
        before = time.monotonic()
        player.play(TONE)
        lines.append(f"{before} {time.monotonic() - before}")
        time.sleep(rng.uniform(*GAP_S))
    print("\n".join(lines), flush=True)
    os._exit(0)  # closing would wait for a device that no longer reads


def _burn() -> None:
    while True:
        sum(k * k for k in range(1000))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=20.0, help="of each row")
    parser.add_argument("--play", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--busy", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.play is not None:
        play(asked.play, asked.busy, asked.seconds)
        return
    print(f"{usable_processors()} cores, load {os.getloadavg()[0]:.1f} at the beginning, {asked.seconds:.0f} s a row\n")
    print(
        "| buffer | device's delay, ms | beside | call to first sample: median, 95 %, most, ms | call, ms | underruns |"
    )
    print("|---|---|---|---|---|---|")
    for samples in BUFFERS:
        for busy in (False, True):
            found = measure(samples, busy, asked.seconds)
            beside = "two busy cores" if busy else "nothing"
            known = f"{2000 * samples / RATE_HZ:.0f} to {3000 * samples / RATE_HZ:.0f}"  # its two, and the one begun
            ms = 1000 * np.percentile(found.delays_s, [50, 95, 100]) if found.delays_s else [np.nan] * 3
            judged = found.plays - found.late
            print(
                f"| {samples} | {known} | {beside} | {ms[0]:.0f}, {ms[1]:.0f}, {ms[2]:.0f} ({len(found.delays_s)}) | "
                f"{1000 * found.call_s:.2f} | {found.underruns} of {judged} |",
                flush=True,
            )


if __name__ == "__main__":
    main()
