"""What a camera's pictures can support: from the times of its frames to plain statements. Pure: numbers in, words out.

Errors are standard deviations. Sizes and times of an ordinary putt: 99 tour players, backstroke 670 +-90 ms, forward stroke
317 +-35 ms, putter head 1.5 m/s at impact (summary table at probablegolfinstruction.com, "natural putting tempo").
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

import numpy as np

from trainer.texts import tr

PUTTER_MM_S = 1500.0
# Tempo ratio of one stroke when events fall on whole frames: 0.126 at 30 a second, in proportion to the step, by drawing
# strokes of that population. Ours lie between frames and halve it: 0.06 at 30 a second on rendered truth (README's table).
TEMPO_SD_30 = 0.126
SUB_FRAME_SHARE = 0.06 / TEMPO_SD_30
SLOW_FPS = 25.0
# What counts as irregular: our own choice. Event times are meant to be good to 10 ms.
OFF_BEAT_S = 0.005
MISSING_SHARE = 0.05
LONG_EXPOSURE_S = 1 / 250
LEAST_FRAMES = 10


@dataclass(frozen=True, slots=True)
class Timing:
    """fps: frames/s of the camera's beat; off_beat_s: spread of the steps about it; missing: share of beats with no frame.

    longest_gap_s: between two frames.
    """

    fps: float
    off_beat_s: float
    missing: float
    longest_gap_s: float

    @property
    def irregular(self) -> bool:
        return self.off_beat_s > OFF_BEAT_S or self.missing > MISSING_SHARE


def timing(times_s: Sequence[float]) -> Timing | None:
    """From the frames' times in order (s); None with fewer than LEAST_FRAMES. A step of twice the beat is a frame missed."""
    steps = np.diff(np.asarray(times_s, dtype=np.float64))
    steps = steps[steps > 0]
    if len(steps) < LEAST_FRAMES - 1:
        return None
    beat = float(np.median(steps))
    beats = np.maximum(1, np.round(steps / beat))
    whole = beats == 1
    beat = float(steps[whole].mean()) if whole.any() else beat
    missing = float((beats - 1).sum() / beats.sum())
    return Timing(1 / beat, float(np.std(steps - beats * beat)), missing, float(steps.max()))


def tempo_sd(fps: float) -> float:
    """Error of one stroke's tempo ratio when its events fall on whole frames."""
    return TEMPO_SD_30 * 30 / fps


def motion_mm(fps: float) -> float:
    """Way of the putter head from picture to picture at impact."""
    return PUTTER_MM_S / fps


def smear_mm(exposure_s: float) -> float:
    """Its way while the shutter is open."""
    return PUTTER_MM_S * exposure_s


def tempo_line(found: Timing) -> str:
    """What the frame rate allows."""
    return tr(
        "{fps:.0f} frames/s: the rhythm of one stroke is measured to about ±{sd:.2f}",
        fps=found.fps,
        sd=tempo_sd(found.fps) * SUB_FRAME_SHARE,
    )


def motion_line(found: Timing) -> str:
    """How far the putter head gets, and what light does about its smear."""
    return tr(
        "at impact the putter head moves {way:.0f} mm from picture to picture; its smear stays under "
        "{smear:.0f} mm only with light enough for exposures under 1/{exposures:.0f} s",
        way=motion_mm(found.fps),
        smear=smear_mm(LONG_EXPOSURE_S),
        exposures=1 / LONG_EXPOSURE_S,
    )


def warnings(found: Timing) -> tuple[str, ...]:
    """What speaks against the numbers: too slow, off the beat, frames missing. Empty when all is well."""
    slow = (tr("{line}; a faster camera mode would help", line=tempo_line(found)),) if found.fps < SLOW_FPS else ()
    return slow + irregularities(found)


def irregularities(found: Timing) -> tuple[str, ...]:
    """Frames off their beat, and frames missing, in words."""
    lines = []
    if found.off_beat_s > OFF_BEAT_S:
        lines.append(
            tr(
                "frames come {off_ms:.0f} ms off their beat: event times are no better than that",
                off_ms=1000 * found.off_beat_s,
            )
        )
    if found.missing > MISSING_SHARE:
        lines.append(
            tr(
                "{missing:.0%} of the frames are missing, longest gap {gap_s:.2f} s: what happens in a gap is not seen",
                missing=found.missing,
                gap_s=found.longest_gap_s,
            )
        )
    return tuple(lines)
