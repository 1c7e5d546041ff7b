"""Frames in memory: bounded for as long as it runs, tied to the strokes' own times, never a brake on the loop."""

from __future__ import annotations

import time

import numpy as np
import pytest

from tests.support.burnt import number_of, picture
from trainer.domain.observation import Frame
from trainer.replay.ring import LOOSE_S, FrameRing
from trainer.stroke.late_frames import in_time

FPS = 30.0


@pytest.fixture
def noise() -> list[np.ndarray]:
    """Small pictures that hardly compress."""
    rng = np.random.default_rng(0)
    return [rng.integers(0, 256, (40, 60, 3), dtype=np.uint8) for _ in range(30)]


def feed(ring: FrameRing, frames: list[Frame]) -> None:
    for frame in frames:
        ring.add(frame)
        ring.settled()


def test_memory_stays_under_its_setting_for_an_hour(noise: list[np.ndarray]) -> None:
    """An hour at 30 frames a second, a stroke every 20 s."""
    ring = FrameRing(5.0)
    ring.start()
    most = 0
    try:
        for i in range(int(3600 * FPS)):
            time_s = i / FPS
            ring.add(Frame(i, time_s, noise[i % len(noise)]))
            if i % 3 == 0:
                ring.settled()
            if i and i % 600 == 0:
                ring.hold(i // 600, time_s - 6.0, time_s + 0.5)
            most = max(most, ring.bytes)
        ring.settled()
        assert most <= 5.0e6
        assert most > 4.5e6  # it does use what it may
        held = [key for key in range(1, 180) if ring.frames(key) is not None]
        assert held == list(range(held[0], 180)), "the last strokes are kept, the oldest are gone"
        assert 2 <= len(held) < 100
        assert ring.left_out == 0
    finally:
        ring.close()
    assert ring.bytes == 0


def test_the_bytes_counted_are_those_held(noise: list[np.ndarray]) -> None:
    ring = FrameRing(1.0)
    ring.start()
    try:
        feed(ring, [Frame(i, i / FPS, noise[i % 30]) for i in range(300)])
        ring.hold(1, 5.0, 8.0)
        feed(ring, [Frame(i, i / FPS, noise[i % 30]) for i in range(300, 700)])
        held = ring.frames(1)
        loose = sum(len(e.jpeg) for e in ring._loose)
        kept = sum(map(len, held.jpegs)) if held else 0
        assert loose + kept <= ring.bytes <= 1.0e6
        assert ring.bytes < (loose + kept) * 1.1
    finally:
        ring.close()


def test_a_strokes_frames_are_those_of_its_time_also_such_as_come_later() -> None:
    ring = FrameRing(50.0)
    ring.start()
    try:
        feed(ring, [Frame(i, 100 + i / FPS, picture(i, 320, 60)) for i in range(90)])
        ring.hold(7, 101.0, 104.0)
        feed(ring, [Frame(i, 100 + i / FPS, picture(i, 320, 60)) for i in range(90, 150)])
        frames = ring.frames(7)
        assert frames is not None
        assert [number_of(frames.frame(i)) for i in range(len(frames.times_s))] == list(range(30, 121))
        assert frames.times_s[0] == 101.0
        assert frames.times_s[-1] == 104.0
        assert ring.frames(8) is None
    finally:
        ring.close()


def test_a_frame_that_was_stamped_late_is_in_the_time_that_the_record_gives_it() -> None:
    image = np.zeros((16, 16, 3), np.uint8)
    taken_s = np.arange(40) / 30.0
    stamps_s = taken_s.copy()
    stamps_s[20] += 0.025
    ring = FrameRing(8.0)
    ring.start()
    try:
        for k, time_s in enumerate(stamps_s):
            ring.add(Frame(k, float(time_s), image))
            ring.settled()
        ring.hold(1, 0.0, 2.0)
        frames = ring.frames(1)
    finally:
        ring.close()
    assert frames is not None
    assert np.array_equal(frames.times_s, in_time(stamps_s, np.arange(40)))
    assert frames.times_s == pytest.approx(taken_s, abs=0.002)


def test_what_is_of_no_stroke_is_let_go(noise: list[np.ndarray]) -> None:
    ring = FrameRing(500.0)
    ring.start()
    try:
        feed(ring, [Frame(i, i / 10.0, noise[i % 30]) for i in range(1000)])
        assert ring.bytes / 4000 < 11 * LOOSE_S
        ring.hold(1, 70.0, 82.0)  # most of it is too long ago
        frames = ring.frames(1)
        assert frames is not None
        assert frames.times_s[0] >= 99.9 - LOOSE_S
    finally:
        ring.close()


def test_one_stroke_larger_than_the_ring_is_cut_not_an_excuse(noise: list[np.ndarray]) -> None:
    ring = FrameRing(0.5)
    ring.start()
    try:
        feed(ring, [Frame(i, i / FPS, noise[i % 30]) for i in range(60)])
        ring.hold(1, 0.0, 100.0)
        for i in range(60, 600):
            feed(ring, [Frame(i, i / FPS, noise[i % 30])])
            assert ring.bytes <= 0.5e6
    finally:
        ring.close()


@pytest.mark.timed
def test_adding_never_waits_for_the_compressor() -> None:
    ring = FrameRing(50.0)
    ring.start()
    big = np.zeros((2160, 3840, 3), np.uint8)
    try:
        begun = time.perf_counter()
        for i in range(50):
            ring.add(Frame(i, i / FPS, big))
        assert time.perf_counter() - begun < 0.1
        assert ring.left_out > 0
    finally:
        ring.close()
    ring.add(Frame(99, 99.0, big))  # closed: nothing happens
    assert ring.bytes == 0
