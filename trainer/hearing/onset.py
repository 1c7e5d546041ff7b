"""Finds clicks in a stream of sound: sudden, short, bright. Putter on ball is one; so are other things, told apart elsewhere.

The sound is narrowed to the band where a click has its energy and speech and hum have little, and its energy taken by the
millisecond. A click is a rise over the loudest of the milliseconds before and over the mean of a longer while, and is gone
again soon; its time is that of the first sound past a share of its peak. The figures below were found on made-up clicks in
fan noise, speech-like and music-like sound (``tests/support/made_sounds.py``); no other source.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.domain.sound import Onset

Floats = npt.NDArray[np.float64]

BAND_HZ = (2000.0, 8000.0)
STEP_S = 0.001
BEFORE_STEPS = 10  # the click is louder than any of these before it
FLOOR_STEPS = 250  # and than the mean of these
PEAK_STEPS = 4  # its loudest step is among so many
LATER_STEPS = (20, 40)  # by then it is gone again
RISE, OVER_FLOOR = 1.7, 3.0  # times as much energy
GONE = 0.6  # share of the peak's energy that may be left
SHARE = 0.2  # of the peak's energy: the first sound that passes it is the onset
SILENCE = 1e-9  # energy of full scale 1 under which nothing is looked for
APART_STEPS = 15  # what follows sooner is the same click,
LOUDER = 2.0  # but for what has so many times its energy: a click just after a consonant
SAME_STEPS = 3  # and comes no sooner than this


class OnsetFinder:
    """``feed`` blocks of mono sound in order; what it gives lags behind by 40 ms."""

    def __init__(self, rate_hz: float) -> None:
        from scipy.signal import butter, sosfilt

        self._filter = sosfilt
        high = min(BAND_HZ[1], 0.45 * rate_hz)
        self._sos = butter(2, (BAND_HZ[0], high), "bandpass", fs=rate_hz, output="sos")
        self._state: Floats = np.zeros((len(self._sos), 2))
        self._rate_hz, self._step = rate_hz, max(1, round(STEP_S * rate_hz))
        self._sound: Floats = np.empty(0)  # squared, in the band; a bit more than is still looked at
        self._begins_s: float | None = None  # of its first sample
        self._done = FLOOR_STEPS  # steps of it that were looked at
        self._last, self._last_peak = -APART_STEPS, 0.0  # step and energy of the onset before

    def feed(self, block: npt.NDArray[np.floating], begins_s: float) -> list[Onset]:
        """block: samples, -1 to 1; begins_s: when its first one was heard. A gap of over 5 ms begins anew."""
        due_s = None if self._begins_s is None else self._begins_s + len(self._sound) / self._rate_hz
        if due_s is None or abs(begins_s - due_s) > 0.005:
            self._sound, self._begins_s, self._done, self._last = np.empty(0), begins_s, FLOOR_STEPS, -APART_STEPS
        band, self._state = self._filter(self._sos, np.asarray(block, np.float64), zi=self._state)
        self._sound = np.concatenate([self._sound, band * band])
        steps = len(self._sound) // self._step
        energy = self._sound[: steps * self._step].reshape(steps, self._step).mean(axis=1)
        until = steps - LATER_STEPS[1]
        found = [onset for k in self._rises(energy, until) if (onset := self._onset(energy, k)) is not None]
        self._done = max(self._done, until)
        self._forget()
        return found

    def _rises(self, energy: Floats, until: int) -> list[int]:
        """Steps that rise over what was before."""
        from scipy.ndimage import maximum_filter1d

        if until <= self._done:
            return []
        loudest = maximum_filter1d(
            energy, BEFORE_STEPS, origin=(BEFORE_STEPS - 1) // 2
        )  # of a step and those before it
        total = np.concatenate([[0.0], np.cumsum(energy)])
        at = np.arange(self._done, until)
        floor = (total[at] - total[at - FLOOR_STEPS]) / FLOOR_STEPS
        here = energy[at]
        rises = (here > RISE * loudest[at - 1]) & (here > OVER_FLOOR * floor) & (here > SILENCE)
        return [int(k) for k in at[rises]]

    def _onset(self, energy: Floats, k: int) -> Onset | None:
        peak, since = float(energy[k : k + PEAK_STEPS].max()), k - self._last
        if since < SAME_STEPS or (since < APART_STEPS and peak < LOUDER * self._last_peak):
            return None
        floor = float(energy[k - FLOOR_STEPS : k].mean())
        left = float(energy[k + LATER_STEPS[0] : k + LATER_STEPS[1]].mean())
        if left - floor > GONE * peak:
            return None
        self._last, self._last_peak = k, peak
        first, end = (k - 1) * self._step, (k + PEAK_STEPS) * self._step
        window = max(1, self._step // 8)
        fine = np.convolve(self._sound[first:end], np.ones(window) / window, "same")
        sample = first + int(np.argmax(fine > SHARE * fine.max()))
        assert self._begins_s is not None
        usual = float(np.median(energy[k - FLOOR_STEPS : k]))  # which a click just before does not raise
        strength = 10 * np.log10(peak / max(usual, SILENCE / 10))
        return Onset(self._begins_s + sample / self._rate_hz, float(strength))

    def _forget(self) -> None:
        """What is no longer looked at."""
        steps = self._done - FLOOR_STEPS
        if steps > 0 and self._begins_s is not None:
            samples = steps * self._step
            self._sound = self._sound[samples:]
            self._begins_s += samples / self._rate_hz
            self._done -= steps
            self._last -= steps
