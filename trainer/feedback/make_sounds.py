"""Makes the sounds: ``python -m trainer.feedback.make_sounds FOLDER`` writes one WAV a sound. Same input, same samples.

A sound is a short figure of notes. Faults are told apart by rhythm first (how many notes, how long, how spaced: a
player who hears pitch badly, or through a laptop's loudspeaker, still knows) and by pitch second. Every figure starts
at once, because the moment of the sound is the message. Notes ramp up and down, since a wave that starts or ends off
zero clicks. Pitches stay within 520 to 1570 Hz and the energy between 500 Hz and 4 kHz, where the loudspeakers of phones and
laptops are loud and the ear is keen (common practice, no source). Faults are all of one loudness, all else is softer.
"""

from __future__ import annotations

import math
import sys
import wave
from array import array
from dataclasses import dataclass
from pathlib import Path
from typing import Mapping, Sequence

from trainer.domain.verdict import FAULT_NAMES

RATE_HZ = 44_100
PEAK = 0.9  # of full scale at most; the rest is head room
# By ITU-R BS.1770 (``loudness``). The softer ones are told from faults across a room (no source).
FAULT_LKFS, SOFT_LKFS = -9.5, -21.5
RAMP_S = 0.006


@dataclass(frozen=True, slots=True)
class Note:
    """start_s from the beginning of the sound; pitch_hz to end_hz in a straight glide (None: steady).

    overtones: strength of the 2nd, 3rd, ... partial beside the 1st; fade_s: time in which the note dies to 1/e (None:
    it holds).
    """

    start_s: float
    length_s: float
    pitch_hz: float
    end_hz: float | None = None
    loud: float = 1.0
    overtones: Sequence[float] = (0.35, 0.12)
    fade_s: float | None = None
    ramp_s: float = RAMP_S


# Equal-tempered pitches from A4 = 440 Hz (ISO 16).
def _pitch(steps_from_a4: int) -> float:
    return 440.0 * float(2.0 ** (steps_from_a4 / 12.0))


_C5, _D5, _E5, _FS5, _G5, _A5, _D6, _G6 = (_pitch(n) for n in (3, 5, 7, 9, 10, 12, 17, 22))

# Rhythm, in letters: . short, - long.
FIGURES: Mapping[str, Sequence[Note]] = {
    # ..   two quick high ticks: "not yet!"
    "early_look": (Note(0.0, 0.075, _G6), Note(0.120, 0.075, _G6)),
    # -    one long note that sinks: the hands ran down
    "hand_stall": (Note(0.0, 0.480, _FS5, end_hz=_D5, overtones=(0.6, 0.35, 0.15)),),
    # .-   short, long, on one pitch: stay longer
    "short_hold": (Note(0.0, 0.090, _D5), Note(0.170, 0.360, _D5)),
    # -.   long, short and lower: it came back
    "recoil": (Note(0.0, 0.300, _A5), Note(0.380, 0.100, _C5)),
    # - - -  three even swings, high low high
    "sway": (Note(0.0, 0.140, _G5), Note(0.240, 0.140, _C5), Note(0.480, 0.140, _G5)),
    # ....  four quick steps upward
    "lift": (Note(0.0, 0.055, _C5), Note(0.095, 0.055, _E5), Note(0.190, 0.055, _G5), Note(0.285, 0.080, _D6)),
    # -..  one long note and two short ones below it: the back has moved
    "posture_change": (Note(0.0, 0.260, _G5), Note(0.340, 0.080, _C5), Note(0.500, 0.080, _C5)),
    # A soft bell, two tones that ring together: that was held.
    "hold_done": (
        Note(0.0, 1.10, _D5, loud=0.50, overtones=(0.10, 0.20), fade_s=0.28, ramp_s=0.012),
        Note(0.09, 1.01, _A5, loud=0.42, overtones=(0.06, 0.10), fade_s=0.30, ramp_s=0.012),
    ),
    # Setting up. One bright tick: one more line is well. Two soft bells upward: the position is found. Three: all is set.
    "step_done": (Note(0.0, 0.12, _A5, loud=0.5, overtones=(0.15,), fade_s=0.05, ramp_s=0.008),),
    "there": (
        Note(0.0, 0.55, _G5, loud=0.5, overtones=(0.10, 0.08), fade_s=0.12, ramp_s=0.010),
        Note(0.22, 0.60, _D6, loud=0.5, overtones=(0.08, 0.06), fade_s=0.16, ramp_s=0.010),
    ),
    "all_set": (
        Note(0.0, 0.30, _D5, loud=0.5, overtones=(0.10, 0.08), fade_s=0.10, ramp_s=0.010),
        Note(0.16, 0.30, _FS5, loud=0.5, overtones=(0.10, 0.08), fade_s=0.10, ramp_s=0.010),
        Note(0.32, 0.75, _A5, loud=0.5, overtones=(0.08, 0.06), fade_s=0.20, ramp_s=0.010),
    ),
    # One soft low tap: seen standing at the ball.
    "ready": (Note(0.0, 0.16, _C5, loud=0.45, overtones=(0.20,), fade_s=0.06, ramp_s=0.010),),
}


def samples(figure: Sequence[Note], wanted_lkfs: float) -> array[int]:
    """The figure as 16-bit mono samples at RATE_HZ, as loud as wanted unless that would clip. It ends with the last note."""
    import numpy as np

    from trainer.feedback.loudness import loudness_lkfs

    length = round(max(n.start_s + n.length_s for n in figure) * RATE_HZ)
    mix = [0.0] * length
    for note in figure:
        first = round(note.start_s * RATE_HZ)
        for i, value in enumerate(_wave(note)):
            if first + i < length:
                mix[first + i] += value
    louder_db = wanted_lkfs - loudness_lkfs(np.asarray(mix), RATE_HZ)
    gain = 32767.0 * min(10 ** (louder_db / 20), PEAK / max(abs(v) for v in mix))
    return array("h", (round(v * gain) for v in mix))


def _wave(note: Note) -> list[float]:
    count = round(note.length_s * RATE_HZ)
    ramp = max(1, round(note.ramp_s * RATE_HZ))
    out, turns = [], 0.0
    for i in range(count):
        part = i / count
        hz = note.pitch_hz + ((note.end_hz or note.pitch_hz) - note.pitch_hz) * part
        angle = 2.0 * math.pi * turns
        value = math.sin(angle) + sum(a * math.sin(k * angle) for k, a in enumerate(note.overtones, 2))
        edge = min(i, count - 1 - i)
        if edge < ramp:
            value *= 0.5 - 0.5 * math.cos(math.pi * edge / ramp)
        if note.fade_s is not None:
            value *= math.exp(-i / RATE_HZ / note.fade_s)
        out.append(note.loud * value)
        turns += hz / RATE_HZ
    return out


def write(folder: Path) -> list[Path]:
    """Writes every sound into ``folder`` (made if need be); returns the files."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, figure in FIGURES.items():
        data = samples(figure, FAULT_LKFS if name in FAULT_NAMES else SOFT_LKFS)
        if sys.byteorder == "big":
            data.byteswap()  # WAV is little-endian
        path = folder / f"{name}.wav"
        with wave.open(str(path), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(RATE_HZ)
            file.writeframes(data.tobytes())
        paths.append(path)
    return paths


if __name__ == "__main__":
    for made in write(Path(sys.argv[1] if len(sys.argv) > 1 else "sounds")):
        print(made)
