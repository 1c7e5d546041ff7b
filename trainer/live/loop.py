"""Live practice: frames come in one thread, are judged in another, and are shown on the main one. Threads only: what a frame
gives is the session's.

The window never slows the stroke's clock: the worker leaves the newest state in a slot and goes on. A failure anywhere
comes up on the main thread, after all threads were told to stop and waited for, and the stroke under way was kept.
"""

from __future__ import annotations

import gc
import threading
from collections import deque
from contextlib import ExitStack, suppress
from dataclasses import dataclass, replace
from typing import Callable

from trainer.coaching.gestures import Order
from trainer.domain.observation import Frame
from trainer.feedback.cues import READY
from trainer.feedback.tones import Muting
from trainer.live.auto_replay import LiveReplay
from trainer.live.interruption import Interruption
from trainer.live.keys import ORDERS
from trainer.live.linking import TellsLink, TellsLosses
from trainer.live.ports import MUTE, PAUSE, QUIT, SAVE, Devices
from trainer.live.practice_state import ASK_FIRST, CAUTIONS, NO_ADVICE, DisplayState
from trainer.live.practice_step import PracticeStep, Session
from trainer.live.prefetch import JOIN_S, run_pipeline, short_turns
from trainer.live.queues import LatestValue
from trainer.live.summary import CueTiming, Summary
from trainer.stroke import filters
from trainer.texts import alike, join, tr
from trainer.vision.sources.base import Clock, RateMeter, Source
from trainer.worker import Worker

DRAW_WAIT_S = 0.05  # the window looks at its keys at least so often
DRAW_EVERY_S = 1 / 30  # at most: pictures that come faster are judged all, and drawn as the eye needs them
# Of the time from drawing to drawing: then the next frame is waited for, so that the window draws right after a frame was judged
# and is done when the following one comes, rather than keep its turn from it.
REST_SHARE = 0.75
UNSEEN_EVERY_S = 1 / 15  # while the player's eyes are on the ball: what that saves is the stroke's
LONGEST_REST_S = 0.1
CAUTIONS_S = 5.0
ANSWER_S = 5.0  # what an order came to stands so long
NOTICES_EVERY = 60  # frames


@dataclass(frozen=True, slots=True)
class LoopOptions:
    """linger_s: how long the last state stays after a clip's end; cautions_s: how long the cautions stand before it; beside:
    another source of the same run, whose link is told too."""

    linger_s: float = 0.0
    cautions_s: float = CAUTIONS_S
    beside: Source | None = None


class LiveLoop:
    """``run`` once, on the main thread. The loop closes source, display and tones.

    make_session: called in the worker, so that the window is up while the model loads; replay: seeing strokes again, closed
    with the rest.
    """

    def __init__(
        self,
        source: Source,
        make_session: Callable[[], Session],
        devices: Devices,
        clock: Clock,
        options: LoopOptions | None = None,
        replay: LiveReplay | None = None,
    ) -> None:
        self._source = source
        self._make_session = make_session
        self._display, self._reporter = devices.display, devices.reporter
        self._tones = Muting(devices.tones, source.play)
        self._clock = clock
        self._options = options or LoopOptions()
        sources = [source] if self._options.beside is None else [source, self._options.beside]
        self._link = TellsLink(sources, devices.reporter, devices.display)
        self._replay = replay
        self._shown = DisplayState()
        self._states: LatestValue[DisplayState] = LatestValue()
        self._orders: deque[Order] = deque()  # by key, on their way to the session
        self._worker = Worker("vision", self._work, self._states.wake)
        self._later = Worker("loading", _load_later, gives_way=True)
        self._paused = threading.Event()
        self._begun_s = 0.0
        self._noticed: set[object] = set()
        self._answer = ("", 0.0)  # what the last order came to, and since when
        self._stroke_seen = False
        self._rate = RateMeter()
        self._lost = TellsLosses(source)
        self.summary = Summary()

    def run(self) -> Summary:
        """Until the source ends or the user does. Raises what went wrong in any thread; ``summary`` stays good."""
        self._begun_s = self._clock.now()
        if not self._display.visible:  # the window shows them
            self._reporter.report(join(". ", (*CAUTIONS, join(" ", (NO_ADVICE, ASK_FIRST)))))
        with ExitStack() as closing:
            closing.enter_context(short_turns())
            if self._replay is not None:
                closing.callback(self._replay.close)
                self._replay.start()
            closing.callback(self._display.close)
            closing.callback(self._tones.close)
            closing.callback(self._end)
            self._source.start()
            self._worker.start()
            with suppress(KeyboardInterrupt):  # Ctrl-C is how a run without a window ends
                self._show_until_done()
        self._worker.check()
        return self.summary

    def _end(self) -> None:
        """Stops the worker and gives the source back."""
        self._worker.stop()
        let_go = self._source.close()
        self.summary.dropped = self._source.dropped
        if not (self._worker.wait(JOIN_S) and let_go):
            self._reporter.report(tr("{name} did not stop in time; it ends with the program", name=self._source.name))

    # ---- main thread

    def _show_until_done(self) -> None:
        state = DisplayState(cautions=True, status=tr("Opening {name}", name=self._source.name))
        ended_s: float | None = None
        self._draw(state, cautions=True)
        while True:
            for command in self._display.poll():
                if command == QUIT:
                    return
                self._obey(command, state)
            state = self._states.take(DRAW_WAIT_S) or state
            now_s = self._clock.now()
            if self._link.tell():
                self._begun_s = now_s if self.summary.first_frame_s is None else self._begun_s
            else:
                self._draw(state, state.moment is None or self._cautions_last(now_s))
            if self._worker.ended:
                if self._worker.failure is not None:
                    return
                if ended_s is None:
                    ended_s = now_s
                    continue  # once more: the last state may have come meanwhile
                if now_s - ended_s >= self._options.linger_s:
                    return
                self._clock.sleep(min(DRAW_WAIT_S, self._options.linger_s))

    def _obey(self, command: str, state: DisplayState) -> None:
        """A key. Paused by key a camera goes on while its frames are looked at for orders; a clip stands still."""
        if command == PAUSE and state.gestures is not None and (self._source.live or state.paused):
            self._orders.append("pause")
        elif command == PAUSE:
            (self._paused.clear if self._paused.is_set() else self._paused.set)()
        elif command in ORDERS:
            self._orders.append(ORDERS[command])
        elif command == MUTE:
            self._tones.muted = not self._tones.muted
        elif command == SAVE and self._replay is not None:
            self._answer = self._replay.save(), self._clock.now()
        else:
            self._tones.heed(command)

    def _cautions_last(self, now_s: float) -> bool:
        """Shown for a while, but never over a stroke."""
        return now_s - self._begun_s < self._options.cautions_s and not self._stroke_seen

    def _draw(self, state: DisplayState, cautions: bool) -> None:
        begun = self._clock.now()
        shown = replace(
            state,
            cautions=cautions,
            waiting_s=begun - self._begun_s if cautions else 0.0,
            paused=self._paused.is_set() or state.paused,
            muted=self._tones.muted,
            can_sound=self._tones.can_sound,
            answer=self._answer[0] if begun - self._answer[1] < ANSWER_S else "",
        )
        if self._replay is not None and self._replay.may_save:
            shown = replace(shown, keys=shown.keys | {SAVE})
        asked = state.gestures is not None and state.gestures.asks  # a replay would answer for the player
        if self._replay is not None and not asked:
            shown = self._replay.shown(shown)
            if _same_replay(shown, self._shown):  # a slow picture is drawn once: that is what its lines cost
                return
        self._display.show(shown)
        self._shown = shown
        took_s = self._clock.now() - begun
        self.summary.drawn += 1
        if took_s > 0.0:  # never more than half of a core for the window: the rest is the stroke's
            every_s = UNSEEN_EVERY_S if state.moment is not None and state.moment.phase.eyes_down else DRAW_EVERY_S
            self._clock.sleep(min(max(took_s, REST_SHARE * every_s - took_s), LONGEST_REST_S))

    # ---- worker

    def _work(self, stop: threading.Event) -> None:
        session = self._make_session()
        gc.freeze()  # no collection goes through what is loaded while frames wait: that would stop all threads for over a frame
        broken = Interruption(self._source, session, self._end_stroke)
        try:
            for frame, step, read_s in run_pipeline(
                self._source, session, self._clock, stop, self._paused, broken.look
            ):
                broken.see(step)
                self._take(frame, step, read_s)
                if step.ended:
                    break
                while self._orders:
                    session.order(self._orders.popleft())
        except BaseException:
            with suppress(Exception):  # the first failure is the one to be told
                self._end_stroke(session.finish())
            raise
        finally:
            self._later.wait(JOIN_S)
            gc.unfreeze()
        self._end_stroke(session.finish())

    def _take(self, frame: Frame, step: PracticeStep, read_s: float) -> None:
        """The sound first: it is what must not wait."""
        result, summary = step.result, self.summary
        if step.sound is not None:
            before = self._clock.now()
            self._tones.play(step.sound)
            if step.sound != READY:  # that confirms an order
                cue = result.cue if result is not None else None
                passed_s = cue.passed_s if cue is not None else None
                summary.cues.append(CueTiming(step.sound, frame.time_s, before - read_s, passed_s))
        if result is not None and "takeaway_s" in result.moment.new_events:
            self._stroke_seen = True
        self._keep(step)
        if step.answers:
            self._answer = step.answers[-1], self._clock.now()
        if self._replay is not None:
            self._replay.see(frame, step)
        if result is not None:
            self._count()
        self._states.put(replace(step.state, fps=self._source.measured_fps, losing=self._lost.see(frame)))

    def _count(self) -> None:
        """One more frame that was judged."""
        now_s, summary = self._clock.now(), self.summary
        self._rate.add(now_s)
        summary.frames += 1
        summary.fps = self._rate.fps
        if summary.first_frame_s is None:
            summary.first_frame_s = now_s - self._begun_s
            self._tones.play(READY)
            self._later.start()
        if summary.frames % NOTICES_EVERY == 0:
            self._pass_on_notices()

    def _keep(self, step: PracticeStep) -> None:
        if step.finished is not None:
            self.summary.strokes.append(step.finished.summed_up)
        for line in step.messages:
            self._reporter.report(line)

    def _end_stroke(self, last: PracticeStep | None) -> None:
        """No frame comes any more, for ever or for now. last: what became of the stroke under way, None: there was none."""
        if last is not None:
            self._keep(last)
            if last.finished is not None:
                self._states.put(last.state)
        if self._replay is not None:
            self._replay.ended(last)

    def _pass_on_notices(self) -> None:
        for line in self._source.notices():
            if alike(line) not in self._noticed:  # a rate that goes up and down is told once
                self._noticed.add(alike(line))
                self.summary.notices.append(line)
                self._reporter.report(line)


def _load_later(_: threading.Event) -> None:
    """What no frame needs before a stroke is over."""
    filters.load()
    gc.freeze()


def _same_replay(view: DisplayState, last: DisplayState) -> bool:
    """Nothing but the live frame behind a replay has changed."""
    now, before = view.replay, last.replay
    if now is None or before is None or now.stroke_clip is not before.stroke_clip or now.frame != before.frame:
        return False
    bare, bare_before = (replace(v, image=None, fps=None, replay=None) for v in (view, last))
    return bare == bare_before
