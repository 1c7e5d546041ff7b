"""What there is to be shown at one moment, worked out from the steps of the pipeline: the same for window and video."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any, Literal, Sequence

from trainer.coaching.reasons.card import Card
from trainer.coaching.verdict import BY_TIMING, near_rest
from trainer.domain.measures import confident_value
from trainer.domain.observation import Frame, Observation
from trainer.domain.record import LiveState
from trainer.domain.verdict import Fault
from trainer.feedback.schedule import FeedbackLevel
from trainer.feedback.signs import FAULT_WORDS, KEPT_WORD, UNCOUNTED_WORD, Sign, result_sign, summary_sign
from trainer.live.display_types import DrillView, GestureView, GroundMark, Targets
from trainer.live.keys import ALWAYS
from trainer.live.pipeline import Finished, StepResult
from trainer.replay.stroke_clip import StrokeClip
from trainer.texts import tr

Dial = Literal["plain", "alarm", "hidden"]
CAUTIONS = (
    tr("Clear the space your putter can reach"),
    tr("Mind the camera cable"),
    tr("Stop if your back hurts"),
)
CUT_SHORT = tr("its pictures ended too soon")
NEWS_AFTER_S = 4.0  # a result stands so long before the sign that a block is over
SUMMARY_MOST = 50  # strokes of one summary at most
NO_ADVICE = tr("The trainer describes movement. It gives no medical advice.")
ASK_FIRST = tr("Trouble with back, neck or balance, or multifocal glasses: ask a doctor first.")


@dataclass(frozen=True)
class ReplayView:
    """A stroke seen again: this frame of it, at that share of its own speed."""

    stroke_clip: StrokeClip
    frame: int
    speed: float


@dataclass(frozen=True)
class DisplayState:
    """One moment. image: (height, width, 3) uint8 BGR or None; held_s: the last hold, once it is over and told.

    sign: the last result; cautions: shown instead of the picture; notes: lines for the coach, small; recorded: for a
    video, where there are no keys and no sound to tell of; replay: shown in place of the picture; drill, gestures, mark: while
    practising, what is done, what arms may order, where to go back to; advice: what would help to see more; card: why, in
    place of picture and numbers; waiting_s: how long the cautions have stood; losing: why frames are
    being lost, in words; keys: the commands whose keys do something now; answer: what the last order came to.
    """

    image: Any = None
    observation: Observation | None = None
    moment: LiveState | None = None
    held_s: float | None = None
    sign: Sign | None = None
    strokes: int = 0
    fps: float | None = None
    losing: str = ""
    cautions: bool = False
    status: str = ""
    paused: bool = False
    muted: bool = False
    can_sound: bool = True
    targets: Targets = field(default_factory=Targets)
    notes: tuple[str, ...] = ()
    recorded: bool = False
    replay: ReplayView | None = None
    drill: DrillView | None = None
    gestures: GestureView | None = None
    mark: GroundMark | None = None
    waiting_s: float = 0.0
    dial: Dial = "plain"
    advice: tuple[str, ...] = ()
    card: Card | None = None
    keys: frozenset[str] = ALWAYS
    answer: str = ""


def replay_dial(moment: LiveState, targets: Targets, faults: Sequence[Fault]) -> Dial:
    """Of a stroke seen again: a turn past the limit is drawn as a fault where the look was called one."""
    over = moment.turn_deg is not None and moment.turn_deg > targets.turn_deg
    return "alarm" if over and any(fault.name in BY_TIMING for fault in faults) else "plain"


def withheld(finished: Finished, targets: Targets) -> bool:
    """The player is not to be told how this stroke was."""
    feedback_level = finished.feedback_level
    inside = not finished.verdict.faults and not finished.verdict.too_close and finished.called in (None, "good")
    return targets.silent or feedback_level.silent or (feedback_level.outside_only and inside)


def with_feel(sign: Sign, gestures: GestureView | None) -> Sign:
    """The result, with what the player had said of it."""
    if gestures is None or gestures.felt is None:
        return sign
    said = tr("it felt {words}", words=tr("good") if gestures.felt else tr("not good"))
    return replace(sign, detail=tr("{detail}; {said}", detail=sign.detail, said=said) if sign.detail else said)


class TurnSign:
    """Whether the head's turn is drawn as a fault, as it is, or not at all: it must not say what the result is to say."""

    def __init__(self) -> None:
        self._free = False
        self._looked_s: float | None = None

    def dial(self, moment: LiveState, targets: Targets, told: bool, asks: bool) -> Dial:
        """At every moment in order. told: faults of this stroke are told as they happen; asks: how it felt is asked."""
        if "takeaway_s" in moment.new_events:
            self._free, self._looked_s = False, None
        if not moment.phase.under_way:
            return "hidden" if asks else "plain"
        over = moment.turn_deg is not None and moment.turn_deg > targets.turn_deg
        held = moment.held_s is not None and moment.held_s >= targets.hold_s
        self._free |= held and self._looked_s is None
        if over and not self._free and self._looked_s is None:
            self._looked_s = moment.time_s
        if asks or not told:
            return "hidden"
        settle = moment.events.settle_s
        close = settle is not None and self._looked_s is not None and near_rest(self._looked_s - settle)
        return "alarm" if over and self._looked_s is not None and not close else "plain"


class DisplayStateBuilder:
    """Follows the steps and keeps what outlasts a frame: the result until the next stroke begins, the last hold."""

    def __init__(self, targets: Targets | None = None, opening: Sign | None = None) -> None:
        """opening: a sign that stands until the first stroke."""
        self._targets = targets or Targets()
        self._view = DisplayState(targets=self._targets, notes=self._targets.notes, sign=opening)
        self._before: Sign | None = None  # the result that stood when the stroke under way began
        self._due: tuple[float, Sign, float | None] | None = (
            None  # a result that is still held back, and how long the hold
        )
        self._past: list[Finished] = []
        self._news: tuple[float, Sign] | None = None
        self._asks = False
        self._turn = TurnSign()
        self._about: Sign | None = None

    @property
    def waiting(self) -> bool:
        """A result is still held back, so nothing else may tell it either."""
        return self._due is not None or self._asks

    def begin(self, targets: Targets, sign: Sign | None) -> DisplayState:
        """Other targets from now on, and what begins with them: the sign stands until the next stroke. A result that is still
        held back goes before it.
        """
        self._targets, self._news = targets, None
        self._view = replace(self._view, targets=targets, notes=targets.notes)
        if sign is not None and self.waiting:
            self._news = (self._due[0] + NEWS_AFTER_S if self._due is not None else 0.0, sign)
        elif sign is not None:
            self._view = replace(self._view, sign=sign, held_s=None)
        return self._view

    def about(self, sign: Sign | None) -> None:
        """The result of the stroke that is over now, where what is practised has one of its own."""
        self._about = sign

    @property
    def free(self) -> bool:
        """No result and no other sign waits to be shown."""
        return not self.waiting and self._news is None

    def announce(self, sign: Sign, now_s: float) -> None:
        """A sign that follows the result: a block is over."""
        self._news = (now_s + NEWS_AFTER_S, sign)

    def rest(self, frame: Frame, observation: Observation) -> DisplayState:
        """While nothing is followed."""
        self._view = replace(self._view, image=frame.image, observation=observation)
        return self._view

    def see(self, frame: Frame, step: StepResult, gestures: GestureView | None = None) -> DisplayState:
        """The state after this step. gestures: while the player is asked how it felt, the result waits."""
        moment, view = step.moment, self._view
        self._asks = gestures is not None and gestures.asks
        begins = "takeaway_s" in moment.new_events
        if self._due is not None and (begins or (moment.time_s >= self._due[0] and not self._asks)):
            view, self._due = replace(view, sign=with_feel(self._due[1], gestures), held_s=self._due[2]), None
        if begins:
            self._news = None
        elif self._news is not None and self._due is None and moment.time_s >= self._news[0]:
            view, self._news = replace(view, sign=self._news[1]), None
        if "takeaway_s" in moment.new_events:
            self._before = view.sign
            view = replace(view, sign=None, held_s=None)
        elif not moment.phase.under_way and view.sign is None and step.finished is None:
            view = replace(view, sign=self._before)  # a waggle, no stroke: the last result still stands
        if moment.uncounted:
            view = replace(view, sign=Sign(UNCOUNTED_WORD, moment.uncounted, "plain"))
        if step.cue is not None and step.cue.name in FAULT_WORDS:  # at once, for there may be no sound
            view = replace(view, sign=Sign(FAULT_WORDS[step.cue.name], "", "fault"))
        dial = self._turn.dial(moment, self._targets, step.feedback_level.tone, self._asks)
        view = replace(view, image=frame.image, observation=step.observation, moment=moment, dial=dial)
        self._view = view
        return self.close(step.finished, moment.time_s) if step.finished is not None else view

    def close(self, finished: Finished, time_s: float | None = None) -> DisplayState:
        """The view once a stroke is over. time_s: now; None: there is no later, so nothing is held back."""
        self._past = [*self._past, finished.summed_up][-SUMMARY_MOST:]
        record, feedback_level, self._before = finished.record, finished.feedback_level, None
        result, self._about = self._about or _sign(finished), None
        if withheld(finished, self._targets):
            sign = self._summary(feedback_level) or Sign(
                KEPT_WORD, tr("silent block") if self._targets.silent else "", "plain"
            )
            self._view = replace(self._view, sign=sign, strokes=finished.number)
            return self._view
        settle = record.events.settle_s
        hold = confident_value(record.measures.get("hold_s"))
        if time_s is not None and settle is not None and (time_s < settle + self._targets.result_delay_s or self._asks):
            self._due = (settle + self._targets.result_delay_s, result, hold)
            self._view = replace(self._view, strokes=finished.number)
            return self._view
        self._view = replace(self._view, sign=result, held_s=hold, strokes=finished.number)
        return self._view

    def broken_off(self) -> None:
        """The stroke that was under way, if one was, came to nothing: no older result may stand for it."""
        if self._view.moment is not None and self._view.moment.phase.under_way:
            self._view = replace(self._view, sign=Sign(UNCOUNTED_WORD, CUT_SHORT, "plain"), held_s=None)

    def end(self) -> DisplayState:
        """The view at the end of all pictures: a result that was held back is shown."""
        if self._due is not None:
            self._view, self._due = replace(self._view, sign=self._due[1], held_s=self._due[2]), None
        return self._view

    def _summary(self, feedback_level: FeedbackLevel) -> Sign | None:
        """The last strokes together, where the plan says so."""
        if self._targets.silent or not feedback_level.summary_of:
            return None
        last = self._past[-feedback_level.summary_of :]
        called = [{"good": True, "not good": False}.get(one.called) for one in last if one.called is not None]
        return summary_sign([(one.record, one.verdict) for one in last], called if len(called) == len(last) else None)


def _sign(finished: Finished) -> Sign:
    return result_sign(finished.record, finished.verdict.faults, finished.verdict.too_close)
