"""The strokes of a review: walked through one by one or in pairs, opened and closed as one goes. Nothing is drawn.

Commands beyond ``playback.COMMANDS`` are in ``COMMANDS``. What goes wrong with a stroke becomes a message; the review goes on.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, field
from typing import Callable, Mapping, Sequence

from trainer.domain.naming import kind_words
from trainer.errors import TrainerError, UsageError
from trainer.replay.differences import Differing, Measures, differing
from trainer.replay.playback import OF_TWO, Layout, Loaded, Playback
from trainer.replay.stroke_clip import StrokeClip
from trainer.texts import tr

COMMANDS: Mapping[str, str] = {
    "next": tr("next stroke"),
    "previous": tr("stroke before"),
    "pair": tr("the most instructive pair"),
}


@dataclass(frozen=True, eq=False)
class Entry:
    """One stroke that can be opened. name: what it is called; open: raises TrainerError when it cannot be."""

    name: str
    kind: str
    open: Callable[[], StrokeClip]

    @property
    def title(self) -> str:
        return tr("{name}, {kind}", name=self.name, kind=kind_words(self.kind))


@dataclass(frozen=True)
class Lookups:
    """What is looked up only when it is asked for. own: measures of the student's strokes, for their variability.

    pair: the suggested one, (main, other, why); best: the student's best stroke.
    """

    own: Callable[[], Sequence[Measures]] = tuple
    pair: Callable[[], tuple[Entry, Entry, str] | None] = lambda: None
    best: Callable[[], Entry | None] = lambda: None


@dataclass(frozen=True)
class Choice:
    """entries: what is walked through; main, other: what is open first; why: that pair, a sentence or empty."""

    entries: tuple[Entry, ...]
    main: Entry
    other: Entry | None = None
    why: str = ""
    lookups: Lookups = field(default_factory=Lookups)


class ReviewSession:
    """``do`` commands and ``tick``, then ``close``. on: what two strokes are aligned on.

    Raises TrainerError at once when the first strokes cannot be opened or cannot stand side by side.
    """

    def __init__(self, choice: Choice, on: str = "impact") -> None:
        self.entries = choice.entries
        self._lookups = choice.lookups
        self._open: dict[Entry, Loaded] = {}
        self.why, self.message = choice.why, ""
        self.main, self.other = choice.main, choice.other
        self.differences: tuple[Differing, ...] = ()
        try:
            self.playback = self._opened(self.main, self.other, on)
        except BaseException:
            self.close()
            raise
        self.message = self.playback.main.stroke_clip.note

    def close(self) -> None:
        """Lets every file go. May be called twice."""
        for loaded in self._open.values():
            loaded.stroke_clip.close()
        self._open.clear()

    def apart(self) -> ReviewSession:
        """The same strokes at the same instant, to be drawn in another thread. Closed with this one, not by itself."""
        other = copy(self)
        other.playback = self.playback.apart()
        return other

    def changes_strokes(self, command: str) -> bool:
        """Whether that command may open and close strokes."""
        return command in COMMANDS or (command in ("beside", "ghost") and self.playback.other is None)

    def do(self, command: str) -> None:
        """One of COMMANDS or ``playback.COMMANDS``."""
        self.message = ""
        if command in ("next", "previous"):
            self._walk(1 if command == "next" else -1)
        elif command == "pair":
            self._suggest()
        elif command in OF_TWO and self.playback.other is None:
            self._compare(OF_TWO[command])
        else:
            self.playback.do(command)

    def tick(self, passed_s: float) -> None:
        self.playback.tick(passed_s)

    def own_measures(self) -> Sequence[Measures]:
        """Of the student's strokes."""
        return self._lookups.own()

    @property
    def notes(self) -> list[str]:
        """What must be said of the strokes that are open, each with its label."""
        both = (self.playback.main, self.playback.other)
        clips = [loaded.stroke_clip for loaded in both if loaded is not None]
        return [tr("{label}: {note}", label=clip.label, note=clip.note) for clip in clips if clip.note]

    def _walk(self, by: int) -> None:
        here = self.entries.index(self.main) if self.main in self.entries else -1
        there = here + by
        if not 0 <= there < len(self.entries):
            self.message = tr("that was the last stroke") if by > 0 else tr("that was the first stroke")
            return
        self._go(self.entries[there], None, "")

    def _suggest(self) -> None:
        pair = self._lookups.pair()
        if pair is None:
            self.message = tr("no rehearsal and ball stroke differ by more than the measuring varies")
            return
        self._go(*pair)

    def _compare(self, layout: Layout) -> None:
        """No other stroke yet: the student's best, else the stroke before."""
        other = self._lookups.best()
        why = "" if other is None else tr("beside it: the best so far")
        if other is None or other is self.main:
            here = self.entries.index(self.main) if self.main in self.entries else 0
            other, why = (self.entries[here - 1], "") if here > 0 else (None, "")
        if other is None:
            self.message = tr("there is no other stroke to compare with")
            return
        at_s, show = self.playback.time_s, self.playback.show
        if self._go(self.main, other, why):
            self.playback.time_s, self.playback.show = at_s, show
            self.playback.layout = layout

    def _go(self, main: Entry, other: Entry | None, why: str) -> bool:
        """Other strokes on the screen; where they cannot be, a message, and all stays."""
        before = self.main, self.other, self.differences
        try:
            playback = self._opened(main, other, "impact")
        except TrainerError as error:
            self.main, self.other, self.differences = before
            self.message = error.line()
            return False
        old = self.playback
        if playback.main.tracked.face_on == old.main.tracked.face_on:
            playback.show = old.show
        playback.close_up, playback.speed = old.close_up, old.speed
        self.playback, self.why = playback, why
        self.message = playback.main.stroke_clip.note
        for entry in [e for e in self._open if e not in (main, other)]:
            self._open.pop(entry).stroke_clip.close()
        return True

    def _opened(self, main: Entry, other: Entry | None, on: str) -> Playback:
        loaded = self._loaded(main)
        beside = self._loaded(other) if other is not None else None
        playback = Playback(loaded, beside, on)
        differences: tuple[Differing, ...] = ()
        if beside is not None:
            a, b = loaded.stroke_clip.student, beside.stroke_clip.student
            if a != b:
                raise UsageError(
                    tr("the two strokes are of {a} and of {b}", a=a, b=b), "", tr("choose two of one student")
                )
            differences = differing(loaded.stroke_clip.record, beside.stroke_clip.record, self.own_measures())
        self.main, self.other, self.differences = main, other, differences
        return playback

    def _loaded(self, entry: Entry) -> Loaded:
        if entry not in self._open:
            self._open[entry] = Loaded.of(entry.open())
        return self._open[entry]
