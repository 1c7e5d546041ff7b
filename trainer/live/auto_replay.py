"""The replay that runs by itself after a result, and gives way the moment the player is at address again.

The loop's worker tells of every frame; the main thread asks what is to be shown now. Nothing waits: frames are compressed
and videos written in threads of their own.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass, replace
from typing import Callable, Protocol

import numpy as np

from trainer.domain.observation import Frame
from trainer.domain.record import Events, Floats, LiveState
from trainer.live.display_types import Targets
from trainer.live.pipeline import Finished
from trainer.live.practice_state import DisplayState, ReplayView, replay_dial, withheld
from trainer.live.practice_step import PracticeStep
from trainer.live.slow_motion import phase_at, pictures, slow_times
from trainer.replay.frames import MemoryFrames
from trainer.replay.ring import FrameRing
from trainer.replay.stroke_clip import StrokeClip, stretch_s
from trainer.stroke.events import turn_change
from trainer.texts import tr
from trainer.vision.sources.base import Clock

REST_S = 0.8  # the last picture stands so long
LATE_S = 0.5  # for the last frames of a stroke's stretch to come after its end


@dataclass(frozen=True, slots=True)
class ReplayConfig:
    """auto: off, once or loop; speed: of the slow motion; keep_video: put every stroke's beside the record."""

    auto: str = "once"
    speed: float = 0.25
    ring_mb: float = 64.0
    keep_video: bool = False


class KeepsVideo(Protocol):
    """Where a stroke's frames go when video is asked for."""

    def keep(self, number: int, frames: MemoryFrames) -> bool:
        """number: of the stroke in this run. False: it is not on record, or its video is kept already."""

    def start(self) -> None:
        """Before the first video."""

    def close(self) -> None:
        """Returns once all is written."""


@dataclass(frozen=True)
class Done:
    """A stroke that is over, and what was aimed at in it."""

    finished: Finished
    targets: Targets


@dataclass
class Playing:
    """A replay under way. frames: which are shown; times_s: when, from begun_s of the loop's clock."""

    stroke_clip: StrokeClip
    frames: list[int]
    times_s: Floats
    begun_s: float
    targets: Targets  # what was aimed at in that stroke
    turns: Floats  # head turn since address at the record's samples, NaN where it was not seen

    def moment(self, index: int) -> LiveState:
        """What the signs beside the picture say at that frame: of this stroke, not of the player now."""
        time_s = float(self.stroke_clip.frames.times_s[index])
        turn = float(self.turns[self.stroke_clip.sample_at(time_s)]) if len(self.turns) else math.nan
        return LiveState(
            time_s, phase_at(self.stroke_clip.record, time_s), Events(), turn_deg=None if math.isnan(turn) else turn
        )

    def frame_at(self, now_s: float) -> int | None:
        """Which frame is due; None: it is over."""
        at = now_s - self.begun_s
        if at > self.times_s[-1] + REST_S:
            return None
        return self.frames[max(0, int(np.searchsorted(self.times_s, at, "right")) - 1)]


class LiveReplay:
    """``see`` and ``ended`` from the worker, ``shown`` and ``save`` from the main thread."""

    def __init__(
        self,
        config: ReplayConfig,
        clock: Clock,
        video: KeepsVideo | None = None,
        say: Callable[[str], None] = lambda line: None,
    ) -> None:
        self._config, self._clock = config, clock
        self._video, self._say = video, say
        self.ring = FrameRing(config.ring_mb)
        self._lock = threading.Lock()
        self._due: tuple[Done, float] | None = None  # a stroke to be replayed, and from when of the frames' clock
        self._ready: Done | None = None
        self._playing: Playing | None = None
        self._turn = 0  # grows when the player takes the picture back
        self._unsaved: list[tuple[int, float]] = []
        self._last: int | None = None

    def start(self) -> None:
        """Before the first frame."""
        self.ring.start()
        if self._video is not None:
            self._video.start()

    # ---- worker

    def see(self, frame: Frame, step: PracticeStep) -> None:
        """Every frame with what came of it; those looked at for orders only are no stroke's."""
        if step.result is None:
            return
        self.ring.add(frame)
        moment = step.result.moment
        with self._lock:
            if moment.phase.eyes_down:
                self._due = self._ready = self._playing = None
                self._turn += 1
            if self._due is not None and moment.time_s >= self._due[1]:
                self._ready, self._due = self._due[0], None
        if step.finished is not None:
            self._finished(Done(step.finished, step.targets), moment.time_s)
        late = [number for number, end_s in self._unsaved if frame.time_s > end_s + LATE_S]
        self._unsaved = [u for u in self._unsaved if u[0] not in late]
        for number in late:
            self._keep(number)

    def ended(self, last: PracticeStep | None) -> None:
        """No more frames come. last: with the stroke that was still under way."""
        self.ring.settled()
        if last is not None and last.finished is not None:
            self._finished(Done(last.finished, last.targets), None)
        for number, _ in self._unsaved:
            self._keep(number)
        self._unsaved = []

    def _finished(self, done: Done, now_s: float | None) -> None:
        finished = done.finished
        start_s, end_s = stretch_s(finished.record)
        self.ring.hold(finished.number, start_s, end_s)
        self._last = finished.number
        if self._config.keep_video:
            self._unsaved.append((finished.number, end_s))
        if self._config.auto == "off" or withheld(finished, done.targets):
            return
        settle = finished.record.events.settle_s
        due_s = (settle or 0.0) + done.targets.result_delay_s
        with self._lock:
            if now_s is None or now_s >= due_s:
                self._ready = done
            else:
                self._due = (done, due_s)

    def _keep(self, number: int) -> bool:
        frames = self.ring.frames(number)
        if frames is None or self._video is None:
            return False
        return self._video.keep(number, frames)

    # ---- main thread

    def shown(self, view: DisplayState) -> DisplayState:
        """The view with the replay in place of the picture, while there is one."""
        now_s = self._clock.now()
        with self._lock:
            ready, self._ready = self._ready, None
            playing, turn = self._playing, self._turn
        if ready is not None:
            playing = self._begun(ready, now_s)
        if playing is None:
            return view
        index = playing.frame_at(now_s)
        if index is None and self._config.auto == "loop":
            playing = replace(playing, begun_s=now_s)
            index = playing.frames[0]
        with self._lock:
            if self._turn != turn:  # the player is at address again
                return view
            self._playing = playing if index is not None else None
        if index is None:
            return view
        moment = playing.moment(index)
        return replace(
            view,
            replay=ReplayView(playing.stroke_clip, index, self._config.speed),
            moment=moment,
            observation=None,
            targets=playing.targets,
            dial=replay_dial(moment, playing.targets, playing.stroke_clip.faults),
        )

    @property
    def may_save(self) -> bool:
        """There is a stroke whose video could be kept."""
        return self._video is not None and self._last is not None

    def save(self) -> str:
        """The save key: the last stroke's video. What came of it, said too."""
        if self._video is None:
            line = tr("no video is kept in this run")
        elif self._last is None:
            line = tr("there is no stroke to keep yet")
        elif self._keep(self._last):
            line = tr("stroke {last}: video kept", last=self._last)
        else:
            line = tr("stroke {last}: its video is kept already, or no longer in memory", last=self._last)
        self._say(line)
        return line

    def close(self) -> None:
        """Writes what is still to be written, then lets the frames go."""
        try:
            if self._video is not None:
                self._video.close()
        finally:
            self.ring.close()

    def _begun(self, done: Done, now_s: float) -> Playing | None:
        finished = done.finished
        frames = self.ring.frames(finished.number)
        if frames is None:
            return None
        hand = done.targets.handedness
        stroke_clip = StrokeClip(
            finished.record,
            frames,
            finished.verdict.limits,
            tr("stroke {number}", number=finished.number),
            handedness=hand,
            faults=finished.verdict.faults,
            too_close=finished.verdict.too_close,
        )
        first, last = frames.nearest(stroke_clip.start_s), frames.nearest(stroke_clip.end_s)
        own = frames.times_s[first : last + 1]
        at = slow_times(finished.record, own, self._config.speed)
        chosen = pictures(own, at)
        take = finished.record.events.takeaway_s
        told = take is not None and stroke_clip.record.view == "face-on"
        turns = turn_change(finished.record.signals, take) if take is not None and told else np.array([])
        return Playing(stroke_clip, [first + i for i in chosen], at[chosen], now_s, done.targets, turns)
