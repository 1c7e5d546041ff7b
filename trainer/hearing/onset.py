"""Finds clicks in a stream of sound: sudden, short, bright. Putter on ball is one; so are other things, told apart elsewhere.

The sound is narrowed to bands where a click may have its energy, dull or bright, and speech or hum leave one of them free; the
energy of each is taken by the millisecond. A click is a rise in one of them over the loudest of the milliseconds before and over
the mean of a longer while, and is gone again soon; its time is that of the first sound past a share of its peak, in the band in
which it is plainest. The figures below were found on made-up clicks in fan noise, speech-like and music-like sound
(``tests/support/made_sounds.py``); no other source.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.domain.sound import Onset

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

BANDS_HZ = ((1200.0, 2700.0), (2000.0, 8000.0), (4000.0, 10000.0))
STEP_S = 0.001
BEFORE_STEPS = 10  # the click is louder than any of these before it
FLOOR_STEPS = 250  # and than the mean of these
PEAK_STEPS = 4  # its loudest step is among so many
LATER_STEPS = (20, 40)  # by then it is gone again
RISE = 1.7  # times as much energy
OVER_FLOOR = np.array([[5.0], [3.0], [3.0]])  # by band: a narrow one's steps differ more
GONE = 0.6  # share of the peak's energy that may be left
SHARE = 0.2  # of the peak's energy: the first sound that passes it is the onset
SILENCE = 1e-9  # energy of full scale 1 under which nothing is looked for
APART_STEPS = 15  # what follows sooner is the same click,
LOUDER = 2.0  # but for what has so many times its energy: a click just after a consonant
SAME_STEPS = 3  # and comes no sooner than this
FAINTEST = 0.01  # share of its loudest band's energy under which a band's is not told


class OnsetFinder:
    """``feed`` blocks of mono sound in order; what it gives lags behind by 40 ms."""

    def __init__(self, rate_hz: float) -> None:
        from scipy.signal import butter, sosfilt

        self._filter = sosfilt
        top = 0.45 * rate_hz
        bands = [(low, min(high, top)) for low, high in BANDS_HZ if low < 0.8 * top]
        self._sos = [butter(2, band, "bandpass", fs=rate_hz, output="sos") for band in bands]
        self._states: list[Floats] = [np.zeros((len(sos), 2)) for sos in self._sos]
        self._rate_hz, self._step = rate_hz, max(1, round(STEP_S * rate_hz))
        self._sound: Floats = np.empty((len(bands), 0))  # squared, by band; a bit more than is still looked at
        self._begins_s: float | None = None  # of its first sample
        self._done = FLOOR_STEPS  # steps of it that were looked at
        self._last = -APART_STEPS  # step of the onset before
        self._last_peaks: Floats = np.zeros(len(bands))

    def feed(self, block: npt.NDArray[np.floating], begins_s: float) -> list[Onset]:
        """block: samples, -1 to 1; begins_s: when its first one was heard. A gap of over 5 ms begins anew."""
        due_s = None if self._begins_s is None else self._begins_s + self._sound.shape[1] / self._rate_hz
        if due_s is None or abs(begins_s - due_s) > 0.005:
            self._sound, self._begins_s = self._sound[:, :0], begins_s
            self._done, self._last = FLOOR_STEPS, -APART_STEPS
        samples, bands = np.asarray(block, np.float64), []
        for k, sos in enumerate(self._sos):
            band, self._states[k] = self._filter(sos, samples, zi=self._states[k])
            bands.append(band * band)
        self._sound = np.concatenate([self._sound, bands], axis=1)
        steps = self._sound.shape[1] // self._step
        energy = self._sound[:, : steps * self._step].reshape(len(bands), steps, self._step).mean(axis=2)
        until = steps - LATER_STEPS[1]
        rises = self._rises(energy, until)
        found = [onset for k in sorted(rises) if (onset := self._onset(energy, k, rises[k])) is not None]
        self._done = max(self._done, until)
        self._forget()
        return found

    def _rises(self, energy: Floats, until: int) -> dict[int, Flags]:
        """Steps that rise over what was before, with the bands in which they do."""
        from scipy.ndimage import maximum_filter1d

        if until <= self._done:
            return {}
        loudest = maximum_filter1d(
            energy, BEFORE_STEPS, origin=(BEFORE_STEPS - 1) // 2
        )  # of a step and those before it
        total = np.concatenate([np.zeros((len(energy), 1)), np.cumsum(energy, axis=1)], axis=1)
        at = np.arange(self._done, until)
        floor = (total[:, at] - total[:, at - FLOOR_STEPS]) / FLOOR_STEPS
        here = energy[:, at]
        rises = (here > RISE * loudest[:, at - 1]) & (here > OVER_FLOOR[: len(here)] * floor) & (here > SILENCE)
        return {int(at[k]): rises[:, k] for k in np.flatnonzero(rises.any(axis=0))}

    def _onset(self, energy: Floats, k: int, rises: Flags) -> Onset | None:
        peaks, since = energy[:, k : k + PEAK_STEPS].max(axis=1), k - self._last
        if since < SAME_STEPS:
            return None
        before = energy[:, k - FLOOR_STEPS : k]
        left = energy[:, k + LATER_STEPS[0] : k + LATER_STEPS[1]].mean(axis=1)
        fits = rises & (left - before.mean(axis=1) <= GONE * peaks)
        if since < APART_STEPS:
            fits &= peaks >= LOUDER * self._last_peaks
        if not fits.any():
            return None
        self._last, self._last_peaks = k, peaks
        usual = np.maximum(np.median(before, axis=1), SILENCE / 10)  # which a click just before does not raise
        over = np.where(fits, peaks / usual, 0.0)
        plainest = int(np.argmax(over))
        first, end = (k - 1) * self._step, (k + PEAK_STEPS) * self._step
        window = max(1, self._step // 8)
        fine = np.convolve(self._sound[plainest, first:end], np.ones(window) / window, "same")
        sample = first + int(np.argmax(fine > SHARE * fine.max()))
        assert self._begins_s is not None
        new = np.maximum(peaks - energy[:, k - BEFORE_STEPS : k].mean(axis=1), FAINTEST * peaks.max())
        levels_db = tuple(float(v) for v in 10 * np.log10(new))
        return Onset(self._begins_s + sample / self._rate_hz, float(10 * np.log10(over[plainest])), levels_db)

    def _forget(self) -> None:
        """What is no longer looked at."""
        steps = self._done - FLOOR_STEPS
        if steps > 0 and self._begins_s is not None:
            samples = steps * self._step
            self._sound = self._sound[:, samples:]
            self._begins_s += samples / self._rate_hz
            self._done -= steps
            self._last -= steps
