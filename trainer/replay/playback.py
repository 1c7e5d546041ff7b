"""Where in the stroke one is and what is shown: play, step, scrub, jump, loop, lines, layout. Pure: told what time passes.

Every command is a word (see ``COMMANDS``), given by a key, a click or the command line alike.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from typing import Literal, Mapping

from trainer.domain.naming import view_words
from trainer.errors import UsageError
from trainer.replay.align import PHASE, Pair, events_in_both
from trainer.replay.derived_signals import EVENT_WORDS, DerivedSignals, event_words
from trainer.replay.lines import LINE_NAMES, LINE_WORDS, USUAL
from trainer.replay.stroke_clip import StrokeClip
from trainer.texts import join, tr

Layout = Literal["one", "beside", "ghost"]
OF_TWO: Mapping[str, Layout] = {"beside": "beside", "ghost": "ghost"}  # command -> layout
SLOW = 0.25
BIG_STEP = 10
# What may be repeated: from one event to another. The first is none.
LOOPS: tuple[tuple[str, str] | None, ...] = (
    None,
    ("takeaway", "settle"),
    ("takeaway", "top"),
    ("top", "impact"),
    ("impact", "settle"),
    ("settle", "look"),
)
# Command -> what it does, in the order in which the help shows them.
COMMANDS: Mapping[str, str] = {
    "play": tr("play or stop"),
    "slow": tr("quarter speed"),
    "full": tr("full speed"),
    "back": tr("a frame back"),
    "on": tr("a frame on"),
    "back10": tr("ten frames back"),
    "on10": tr("ten frames on"),
    "first": tr("to the beginning"),
    "last": tr("to the end"),
    **{word: tr("to {word}", word=word) for word in EVENT_WORDS.values()},
    "loop": tr("repeat between events"),
    **{name: LINE_WORDS[name] for name in LINE_NAMES},
    "beside": tr("side by side"),
    "ghost": tr("the other one as a ghost"),
    "align": tr("align on another event, or by phase"),
    "close": tr("close up, or the whole picture"),
}


@dataclass(frozen=True)
class Loaded:
    """A stroke with what is read of it."""

    stroke_clip: StrokeClip
    tracked: DerivedSignals

    @classmethod
    def of(cls, stroke_clip: StrokeClip) -> Loaded:
        return cls(stroke_clip, DerivedSignals(stroke_clip.record))


class Playback:
    """main: the stroke that is stepped through; other: the one beside it, or None. time_s: on main's clock.

    on: what the two are aligned on. Raises UsageError where two strokes cannot stand side by side.
    """

    def __init__(self, main: Loaded, other: Loaded | None = None, on: str = "impact") -> None:
        self.main, self.other = main, other
        self.show: set[str] = set(USUAL) if main.tracked.face_on else {"spine", "arm"}
        self.layout: Layout = "one" if other is None else "beside"
        self.playing, self.speed = False, 1.0
        self.loop: tuple[str, str] | None = None
        self.close_up = True
        self.message = ""
        frames = main.stroke_clip.frames
        self.first, self.last = frames.nearest(main.stroke_clip.start_s), frames.nearest(main.stroke_clip.end_s)
        self.time_s = float(frames.times_s[self.first])
        self.pair = _paired(main, other, on) if other is not None else None

    def apart(self) -> Playback:
        """The same at the same instant, which goes its own way from now on."""
        other = copy(self)
        other.show = set(self.show)
        return other

    # ---- where

    @property
    def index(self) -> int:
        """The frame shown of the main stroke."""
        return min(max(self.main.stroke_clip.frames.nearest(self.time_s), self.first), self.last)

    @property
    def other_index(self) -> int | None:
        """The frame shown of the other one at the same instant."""
        if self.pair is None:
            return None
        return self.pair.indices(self.pair.alignment.of_first(self.shown_s))[1]

    @property
    def shown_s(self) -> float:
        """The time of the frame shown."""
        return float(self.main.stroke_clip.frames.times_s[self.index])

    def their_s(self, time_s: float) -> float:
        """The other stroke's time that belongs to a time of the main one."""
        assert self.pair is not None
        return self.pair.alignment.at(self.pair.alignment.of_first(time_s))[1]

    @property
    def event(self) -> str:
        """The event whose nearest frame is shown, all of them where there are several; empty: none."""
        frames = self.main.stroke_clip.frames
        return join(", ", (w for w, t in self.main.tracked.events().items() if frames.nearest(t) == self.index))

    @property
    def where(self) -> str:
        """The instant in words: the event, or the time from impact (or takeaway) on."""
        if self.event:
            return self.event
        for word in (EVENT_WORDS["impact_s"], EVENT_WORDS["takeaway_s"]):
            at = self.main.tracked.event_s(word)
            if at is not None:
                return tr("{word} {shown_s:+.2f} s", word=word, shown_s=self.shown_s - at).replace("-", "−")
        return tr("{shown_s:.2f} s", shown_s=self.shown_s)

    # ---- doing

    def tick(self, passed_s: float) -> None:
        """So much time has passed: goes on if it plays."""
        if not self.playing:
            return
        self.time_s += passed_s * self.speed
        first, last = self._ends()
        if self.time_s > last:
            if self.loop is not None:
                self.time_s = first
            else:
                self.time_s, self.playing = last, False
        elif self.time_s < first and self.loop is not None:
            self.time_s = first

    def _ends(self) -> tuple[float, float]:
        times = self.main.stroke_clip.frames.times_s
        ends = float(times[self.first]), float(times[self.last])
        if self.loop is None:
            return ends
        found = [self.main.tracked.event_s(word) for word in self.loop]
        low, high = (found[0] if found[0] is not None else ends[0]), (found[1] if found[1] is not None else ends[1])
        return (low, high) if high > low else ends

    def step(self, frames: int) -> None:
        """So many frames on, back when negative; stops at the ends and stops playing."""
        self.playing = False
        there = min(max(self.index + frames, self.first), self.last)
        self.time_s = float(self.main.stroke_clip.frames.times_s[there])

    def scrub(self, time_s: float) -> None:
        """To the frame nearest to that time."""
        self.playing = False
        self.time_s = time_s
        self.time_s = self.shown_s

    def jump(self, word: str) -> bool:
        """To the event's frame; False, and a message, when it was not seen."""
        at = self.main.tracked.event_s(word)
        if at is None:
            self.message = tr("{word} was not seen in this stroke", word=event_words(word))
            return False
        self.scrub(at)
        return True

    def do(self, command: str) -> bool:
        """One of COMMANDS. False: it is none of them."""
        self.message = ""
        if command in EVENT_WORDS.values():
            self.jump(command)
        elif command in LINE_NAMES:
            self.show ^= {command}
        elif command in ("back", "on", "back10", "on10"):
            self.step((BIG_STEP if command.endswith("10") else 1) * (-1 if command.startswith("back") else 1))
        elif command in ("first", "last"):
            self.step(-(10**9) if command == "first" else 10**9)
        elif command in ("slow", "full"):
            self.speed = SLOW if command == "slow" else 1.0
        elif command in OF_TWO:
            self._lay(OF_TWO[command])
        elif command == "play":
            self._play()
        elif command == "loop":
            self._next_loop()
        elif command == "align":
            self._next_alignment()
        elif command == "close":
            self.close_up = not self.close_up
        else:
            return False
        return True

    def _play(self) -> None:
        self.playing = not self.playing
        if self.playing and self.loop is None and self.index >= self.last:
            self.time_s = float(self.main.stroke_clip.frames.times_s[self.first])

    def _lay(self, layout: Layout) -> None:
        if self.pair is None:
            self.message = tr("there is no other stroke to compare with")
            return
        self.layout = "one" if self.layout == layout else layout

    def _next_loop(self) -> None:
        seen = self.main.tracked.events()
        whole = [loop for loop in LOOPS if loop is None or all(word in seen for word in loop)]
        whole = [loop for loop in whole if loop is None or seen[loop[1]] > seen[loop[0]]]
        self.loop = whole[(whole.index(self.loop) + 1) % len(whole)] if self.loop in whole else whole[0]
        self.message = (
            tr("repeating {loop} to {loop2}", loop=event_words(self.loop[0]), loop2=event_words(self.loop[1]))
            if self.loop
            else tr("not repeating")
        )
        if self.loop is not None:
            self.time_s = self._ends()[0]

    def _next_alignment(self) -> None:
        if self.pair is None:
            self.message = tr("there is no other stroke to align with")
            return
        ways = [*(EVENT_WORDS[name] for name in events_in_both(self.pair.a, self.pair.b)), PHASE]
        here = self.aligned_on
        on = ways[(ways.index(here) + 1) % len(ways)] if here in ways else ways[0]
        self.pair = Pair(self.pair.a, self.pair.b, on)
        self.message = tr("aligned by phase") if on == PHASE else tr("aligned on {on}", on=on)

    @property
    def aligned_on(self) -> str:
        """In a word; empty without another stroke."""
        if self.pair is None:
            return ""
        return dict[str, str](EVENT_WORDS.items()).get(self.pair.alignment.on, self.pair.alignment.on)


def _paired(main: Loaded, other: Loaded, on: str) -> Pair:
    a, b = main.stroke_clip, other.stroke_clip
    if a.record.view != b.record.view:
        raise UsageError(
            tr('the two strokes are of different views'),
            tr('{label} {view}, {label2} {view2}', label=a.label, view=view_words(a.record.view),
               label2=b.label, view2=view_words(b.record.view)),
            tr('choose two of one view'),
        )  # fmt: skip
    return Pair(a, b, on)
