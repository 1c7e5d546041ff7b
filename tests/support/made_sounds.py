"""Made-up sound with clicks at known times. Modes of putters, balls and floors: no source; chosen to span dull to bright."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
RATE_HZ = 48_000

# (Hz, share, decay s) of damped modes.
CLICKS = {
    "hard ball, steel": ((2600.0, 1.0, 0.004), (4300.0, 0.7, 0.003), (6900.0, 0.4, 0.002)),
    "soft ball, insert": ((1500.0, 1.0, 0.006), (2400.0, 0.5, 0.004)),
    "on a hollow mat": ((420.0, 0.8, 0.020), (1900.0, 1.0, 0.005), (3600.0, 0.5, 0.003)),
    "on stone": ((3200.0, 1.0, 0.003), (5600.0, 0.8, 0.003), (900.0, 0.3, 0.010)),
}


# One player's clicks differ: in loudness by so much either way, in each mode's share by so much (SD). No source.
LOUDER_DB, MODE_SD_DB = 3.0, 2.0


def click(name: str, lasts_s: float = 0.08, rng: np.random.Generator | None = None) -> Floats:
    """Its loudest millisecond has a mean square of 1. rng: each mode a little louder or softer than usual."""
    t = np.arange(round(lasts_s * RATE_HZ)) / RATE_HZ
    modes = CLICKS[name]
    by_db = rng.normal(0, MODE_SD_DB, len(modes)) if rng is not None else np.zeros(len(modes))
    sound = sum(
        share * 10 ** (db / 20) * np.exp(-t / decay) * np.sin(2 * np.pi * hz * t)
        for (hz, share, decay), db in zip(modes, by_db, strict=True)
    )
    step = RATE_HZ // 1000
    loudest = max(float(np.mean(sound[k : k + step] ** 2)) for k in range(0, 10 * step, step))
    return np.asarray(sound / np.sqrt(loudest))


def fan(n: int, rng: np.random.Generator) -> Floats:
    """White noise through a slope of 1/f, with a hum."""
    spectrum = np.fft.rfft(rng.normal(size=n))
    f = np.fft.rfftfreq(n, 1 / RATE_HZ)
    noise = np.fft.irfft(spectrum / np.sqrt(np.maximum(f, 50.0) / 50.0), n)
    return noise / noise.std() + 0.5 * np.sin(2 * np.pi * 100 * np.arange(n) / RATE_HZ)


def speech(n: int, rng: np.random.Generator) -> Floats:
    """Voiced syllables of a few formants with hissing consonants between: like speech in its rhythm and bands."""
    out = np.zeros(n)
    t, k = 0.0, 0
    while t < n / RATE_HZ:
        length = rng.uniform(0.08, 0.22)
        i, j = round(t * RATE_HZ), min(n, round((t + length) * RATE_HZ))
        u = np.arange(j - i) / RATE_HZ
        shape = np.sin(np.pi * np.clip(u / length, 0, 1)) ** 0.7
        if k % 3 == 2:
            out[i:j] += 0.25 * shape * rng.normal(size=j - i)
        else:
            pitch = rng.uniform(95, 220)
            for hz in np.arange(pitch, 4000, pitch):
                out[i:j] += shape * np.sin(2 * np.pi * hz * u) / (1 + (hz / 700) ** 1.5)
        t += length + rng.choice([0.02, 0.05, 0.25])
        k += 1
    return out / max(out.std(), 1e-9)


def music(n: int, rng: np.random.Generator) -> Floats:
    """Plucked notes four to the second, each with its own sharp onset."""
    out = np.zeros(n)
    for start in np.arange(0.0, n / RATE_HZ, 0.25):
        i = round(start * RATE_HZ)
        u = np.arange(min(n - i, RATE_HZ)) / RATE_HZ
        hz = 220.0 * 2 ** (rng.integers(0, 24) / 12)
        rise = np.minimum(u / 0.004, 1.0)
        out[i : i + len(u)] += rise * sum(
            np.exp(-u * (2 + q)) * np.sin(2 * np.pi * q * hz * u) / q for q in range(1, 7)
        )
    return out / out.std()


OTHERS = "other clicks"  # of other players, in a fan: one a second at any time, 6 dB softer to 6 dB louder than his own
GROUNDS = {
    "silence": lambda n, rng: 1e-4 * rng.normal(size=n),
    "fan": fan,
    "speech": speech,
    "music": music,
    OTHERS: fan,
}


@dataclass(frozen=True)
class Heard:
    """Sound at RATE_HZ and the times of the clicks in it (s)."""

    sound: Floats
    clicks_s: Floats


def heard(kind: str, ground: str, over_db: float, rng: np.random.Generator, count: int = 10) -> Heard:
    """Clicks every second or so. over_db: their loudest millisecond over the ground's mean, in energy, on average."""
    lasts_s = count + 1.0
    n = round(lasts_s * RATE_HZ)
    sound = 0.01 * GROUNDS[ground](n, rng)
    times = 0.7 + np.arange(count) + rng.uniform(-0.2, 0.2, count)
    level = 0.01 * 10 ** (over_db / 20)
    louder_db = rng.uniform(-LOUDER_DB, LOUDER_DB, count)
    made = [(at, level * 10 ** (db / 20) * click(kind, rng=rng)) for at, db in zip(times, louder_db, strict=True)]
    if ground == OTHERS:
        for at in rng.uniform(0, lasts_s, round(lasts_s)):
            made.append((at, level * 10 ** (rng.uniform(-6, 6) / 20) * click(str(rng.choice(list(CLICKS))))))
    for at, one in made:
        first = int(np.ceil(at * RATE_HZ))
        end = min(n, first + len(one))
        sound[first:end] += one[: end - first]
    return Heard(np.clip(sound, -1, 1), times)
