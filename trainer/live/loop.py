"""Live practice: frames come in one thread, are judged in another, and are shown on the main one.

The window never slows the stroke's clock: the worker leaves the newest view in a slot and goes on. A failure anywhere
comes up on the main thread, after all threads were told to stop and waited for, and the stroke under way was kept.
"""

from __future__ import annotations

import statistics
import threading
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Any, Callable, Protocol

from trainer.app.practice.gesture_control import GestureControl
from trainer.app.practice.ground_mark import GroundMarker
from trainer.coaching.gestures import Order
from trainer.domain.observation import Frame
from trainer.feedback.cues import READY
from trainer.feedback.tones import Muting, TonePlayer
from trainer.live.auto_replay import LiveReplay
from trainer.live.pipeline import Finished, StepResult
from trainer.live.ports import FELT_BAD, FELT_GOOD, MUTE, NEXT, PAUSE, QUIT, SAVE, Display
from trainer.live.practice_state import CAUTIONS, NO_ADVICE, DisplayState, DisplayStateBuilder, DrillView, Targets
from trainer.live.prefetch import JOIN_S, Prefetch
from trainer.live.queues import LatestValue
from trainer.vision.sources.base import Clock, RateMeter, Source
from trainer.worker import Worker

ORDERS: dict[str, Order] = {NEXT: "next", FELT_GOOD: "good", FELT_BAD: "not good"}
DRAW_WAIT_S = 0.05  # the window looks at its keys at least so often
LONGEST_REST_S = 0.1
CAUTIONS_S = 5.0
NOTICES_EVERY = 60  # frames


class Steps(Protocol):
    """What the loop needs of the pipeline."""

    def find_body(self, frame: Frame) -> Any: ...
    def step_with(self, frame: Frame, found: Any) -> StepResult: ...
    def look(self, frame: Frame, found: Any) -> Any: ...
    def finish(self) -> Finished | None: ...


@dataclass(frozen=True, slots=True)
class CueTiming:
    """One cue's way. frame_s: the frame's own time; seen_to_sound_s: from reading the frame to the call that plays.

    call_s: how long that call took, the part that is sound alone.
    """

    name: str
    frame_s: float
    seen_to_sound_s: float
    call_s: float


@dataclass
class Summary:
    """What a run was like; grows while it runs."""

    frames: int = 0
    strokes: list[Finished] = field(default_factory=list)
    cues: list[CueTiming] = field(default_factory=list)
    first_frame_s: float | None = None  # from the start of run to the first frame judged
    fps: float | None = None  # frames judged per second of the loop's clock
    dropped: int = 0  # frames of a camera that came while earlier ones were still being judged
    drawn: int = 0
    draw_s: float = 0.0
    notices: list[str] = field(default_factory=list)

    @property
    def typical_latency_s(self) -> float | None:
        """Median time from reading the frame to playing its cue."""
        return statistics.median(c.seen_to_sound_s for c in self.cues) if self.cues else None


class LiveLoop:
    """``run`` once, on the main thread. The loop closes source, display and tones.

    make_pipeline: called in the worker, so that the window is up while the model loads; on_finished: told of each
    stroke, kept already, in the worker; linger_s: how long the last view stays after a clip's end; replay: seeing strokes
    again, closed with the rest; hands: orders by arms and keys; drill: the one under way, asked for every frame.
    """

    def __init__(
        self,
        source: Source,
        make_pipeline: Callable[[], Steps],
        tones: TonePlayer,
        display: Display,
        clock: Clock,
        targets: Targets | None = None,
        linger_s: float = 0.0,
        cautions_s: float = CAUTIONS_S,
        on_finished: Callable[[Finished], None] = lambda finished: None,
        say: Callable[[str], None] = lambda line: None,
        replay: LiveReplay | None = None,
        hands: GestureControl | None = None,
        drill: Callable[[], DrillView | None] = lambda: None,
    ) -> None:
        self._source = source
        self._make_pipeline = make_pipeline
        self._tones = Muting(tones)
        self._display = display
        self._clock = clock
        self._targets = targets or Targets()
        self._linger_s = linger_s
        self._cautions_s = cautions_s
        self._on_finished = on_finished
        self._say = say
        self._replay = replay
        self._hands = hands
        self._drill, self._drill_shown = drill, drill()
        self._marker = GroundMarker()
        self._viewer = DisplayStateBuilder(self._targets)
        self._shown = DisplayState()
        self._views: LatestValue[DisplayState] = LatestValue()
        self._worker = Worker("vision", self._work, self._views.wake)
        self._paused = threading.Event()
        self._begun_s = 0.0
        self._stroke_seen = False
        self.summary = Summary()

    def run(self) -> Summary:
        """Until the source ends or the user does. Raises what went wrong in any thread; ``summary`` stays good."""
        self._begun_s = self._clock.now()
        if not self._display.visible:  # the window shows them
            self._say(". ".join((*CAUTIONS, NO_ADVICE)))
        self._source.start()
        if self._replay is not None:
            self._replay.start()
        self._worker.start()
        try:
            self._show_until_done()
        except KeyboardInterrupt:  # Ctrl-C is how a run without a window ends
            pass
        finally:
            self._worker.stop()
            let_go = self._source.close()
            self.summary.dropped = self._source.dropped
            ended = self._worker.wait(JOIN_S)
            self._tones.close()
            self._display.close()
            if self._replay is not None:
                self._replay.close()
            if not ended or not let_go:
                self._say(f"{self._source.name} did not stop in time; it ends with the program")
        self._worker.check()
        return self.summary

    # ---- main thread

    def _show_until_done(self) -> None:
        view = DisplayState(targets=self._targets, cautions=True, status=f"Opening {self._source.name}")
        ended_s: float | None = None
        self._draw(view, cautions=True)
        while True:
            for command in self._display.poll():
                if command == QUIT:
                    return
                if command == PAUSE:
                    self._pause()
                elif command in ORDERS and self._hands is not None:
                    self._hands.order(ORDERS[command])
                elif command == MUTE:
                    self._tones.muted = not self._tones.muted
                elif command == SAVE and self._replay is not None:
                    self._replay.save()
            view = self._views.take(DRAW_WAIT_S) or view
            now_s = self._clock.now()
            cautions = view.moment is None or self._cautions_last(now_s)
            self._draw(view, cautions)
            if self._worker.ended:
                if self._worker.failure is not None:
                    return
                if ended_s is None:
                    ended_s = now_s
                    continue  # once more: the last view may have come meanwhile
                if now_s - ended_s >= self._linger_s:
                    return
                self._clock.sleep(min(DRAW_WAIT_S, self._linger_s))

    def _pause(self) -> None:
        """By key. A camera goes on while its frames are looked at for orders; a clip stands still."""
        resting = self._hands is not None and self._hands.resting
        if self._hands is not None and (self._source.live or resting):
            self._hands.order("pause")
        else:
            (self._paused.clear if self._paused.is_set() else self._paused.set)()

    def _cautions_last(self, now_s: float) -> bool:
        """Shown for a while, but never over a stroke."""
        return now_s - self._begun_s < self._cautions_s and not self._stroke_seen

    def _draw(self, view: DisplayState, cautions: bool) -> None:
        begun = self._clock.now()
        shown = replace(
            view,
            cautions=cautions,
            paused=self._paused.is_set() or (self._hands is not None and self._hands.resting),
            muted=self._tones.muted,
            can_sound=self._tones.can_sound,
        )
        asked = self._hands is not None and self._hands.asking  # a replay would answer for the player
        if self._replay is not None and not asked:
            shown = self._replay.shown(shown)
            if _same_replay(shown, self._shown):  # a slow picture is drawn once: that is what its lines cost
                return
        self._display.show(shown)
        self._shown = shown
        took_s = self._clock.now() - begun
        self.summary.drawn += 1
        self.summary.draw_s += took_s
        if took_s > 0.0:  # never more than half of a core for the window: the rest is the stroke's
            self._clock.sleep(min(took_s, LONGEST_REST_S))

    # ---- worker

    def _work(self, stop: threading.Event) -> None:
        pipeline = self._make_pipeline()
        try:
            with Prefetch(self._source, pipeline.find_body, self._clock, self._paused, stop) as ahead:
                self._watch(pipeline, ahead)
        except BaseException:
            with suppress(Exception):  # the first failure is the one to be told
                self._finish(pipeline)
            raise
        self._finish(pipeline)

    def _watch(self, pipeline: Steps, ahead: Prefetch) -> None:
        rate, summary = RateMeter(), self.summary
        for frame, body, read_s in ahead:
            if self._hands is not None and self._hands.resting:
                self._rest(pipeline, frame, body)
                continue
            step = pipeline.step_with(frame, body)
            if step.cue is not None:
                before = self._clock.now()
                self._tones.play(step.cue.name)
                after = self._clock.now()
                summary.cues.append(CueTiming(step.cue.name, frame.time_s, before - read_s, after - before))
            if "takeaway_s" in step.moment.new_events:
                self._stroke_seen = True
            if step.finished is not None:
                self._keep(step.finished)
            if self._replay is not None:
                self._replay.see(frame, step)
            going = self._hands is None or self._hands.see(step.observation, step.moment, step.finished is not None)
            self._confirm()
            hands = self._hands.view() if self._hands is not None else None
            view = self._practising(self._viewer.see(frame, step, hands), step)
            now_s = self._clock.now()
            rate.add(now_s)
            summary.frames += 1
            if summary.first_frame_s is None:
                summary.first_frame_s = now_s - self._begun_s
                self._tones.play(READY)
            summary.fps = rate.fps
            self._views.put(replace(view, fps=self._source.measured_fps, hands=hands))
            if not going:
                return
            if summary.frames % NOTICES_EVERY == 0:
                self._pass_on_notices()

    def _rest(self, pipeline: Steps, frame: Frame, body: Any) -> None:
        """A frame that is only looked at for orders."""
        assert self._hands is not None
        observation = pipeline.look(frame, body)
        if not self._hands.see(observation):
            self._worker.stop()
        self._confirm()
        view = replace(self._viewer.rest(frame, observation), hands=self._hands.view(), drill=self._drill_shown)
        self._views.put(replace(view, fps=self._source.measured_fps))

    def _confirm(self) -> None:
        """A sound for an order that was obeyed: its giver stands metres away."""
        if self._hands is not None and self._hands.obeyed is not None:
            self._tones.play(READY)

    def _practising(self, view: DisplayState, step: StepResult) -> DisplayState:
        """With the drill as far as it may be told: not before the result is."""
        if not self._viewer.waiting:
            drill = self._drill()
            news = drill.news if drill is not None else None
            late = "takeaway_s" in step.moment.new_events  # the next stroke goes before
            if news is not None and not late and (self._drill_shown is None or news != self._drill_shown.news):
                self._viewer.announce(news, step.moment.time_s)
            self._drill_shown = drill
        drill, mark = self._drill_shown, None
        if drill is not None and drill.mark_cm is not None:
            mark = self._marker.mark(step.observation, step.moment.phase, drill.mark_cm)
        return replace(view, drill=drill, mark=mark)

    def aim(self, targets: Targets) -> None:
        """Other aims from the next frame on; called in the worker, by what an order led to."""
        self._viewer.aim(targets)

    def _keep(self, finished: Finished) -> None:
        self.summary.strokes.append(finished)
        self._on_finished(finished)

    def _finish(self, pipeline: Steps) -> None:
        """The stroke under way when the frames ended, be it by the user, the clip's end or a lost camera."""
        finished = pipeline.finish()
        if finished is not None:
            self._keep(finished)
            self._views.put(self._viewer.close(finished))
        if self._replay is not None:
            self._replay.ended(finished)

    def _pass_on_notices(self) -> None:
        for line in self._source.notices():
            if line not in self.summary.notices:
                self.summary.notices.append(line)
                self._say(line)


def _same_replay(view: DisplayState, last: DisplayState) -> bool:
    """Nothing but the live frame behind a replay has changed."""
    now, before = view.replay, last.replay
    if now is None or before is None or now.stroke_clip is not before.stroke_clip or now.frame != before.frame:
        return False
    bare, bare_before = (replace(v, image=None, fps=None, replay=None) for v in (view, last))
    return bare == bare_before
