"""What the review does with the strokes there are: open, compare, take away. No window of its own, no clock.

Commands beyond ``playback.COMMANDS`` are in ``MORE``. Whatever goes wrong with a stroke becomes a line
to show; the review goes on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Callable, Mapping, Sequence

from trainer.errors import TrainerError, UsageError
from trainer.feedback.signs import THEMES
from trainer.replay.differences import Differing, Measures, differing
from trainer.replay.playback import COMMANDS, Loaded, Playback
from trainer.replay.stroke_clip import StrokeClip
from trainer.ui.drawing.canvas import Surface
from trainer.ui.review.review_view import ReviewView, Scene, Shown

MORE: Mapping[str, str] = {
    "next": "next stroke",
    "previous": "stroke before",
    "pair": "the pair that teaches most",
    "still": "keep a still (PNG)",
    "clip": "keep a clip with the lines (MP4)",
    "sheet": "keep a sheet of one page (PDF)",
    "keys": "all keys",
    "theme": "light or dark",
    "quit": "quit",
}
KEYS: Mapping[str, str] = {
    "Space": "play",
    "Down": "slow",
    "Up": "full",
    "Left": "back",
    "Right": "on",
    "Shift+Left": "back10",
    "Shift+Right": "on10",
    "Home": "first",
    "End": "last",
    "1": "takeaway",
    "2": "top",
    "3": "impact",
    "4": "finish",
    "5": "settle",
    "6": "look",
    "R": "loop",
    "A": "arm",
    "L": "leg",
    "O": "outline",
    "P": "paths",
    "H": "head",
    "S": "spine",
    "B": "beside",
    "G": "ghost",
    "E": "align",
    "Z": "close",
    "Page down": "next",
    "Page up": "previous",
    "W": "pair",
    "I": "still",
    "C": "clip",
    "D": "sheet",
    "T": "theme",
    "F1": "keys",
    "Q": "quit",
}


@dataclass(frozen=True, eq=False)
class Entry:
    """One stroke that can be opened. Raises TrainerError when it cannot be."""

    title: str
    open: Callable[[], StrokeClip]


@dataclass(frozen=True)
class Finds:
    """What is looked up only when it is asked for. own: measures of the student's strokes, for the spread.

    pair: the proposed one, (main, other, why); best: the student's best stroke.
    """

    own: Callable[[], Sequence[Measures]] = tuple
    pair: Callable[[], tuple[Entry, Entry, str] | None] = lambda: None
    best: Callable[[], Entry | None] = lambda: None


Take = Callable[["Reviewer", str], str]  # does "still", "clip" or "sheet"; returns the line that says where it is


class Reviewer:
    """``do`` commands, ``tick``, ``draw``. entries: what is walked through; main, other: the first on the screen.

    Raises TrainerError at once when these cannot be opened or cannot stand side by side.
    """

    def __init__(
        self,
        entries: Sequence[Entry],
        main: Entry | None = None,
        other: Entry | None = None,
        on: str = "impact",
        why: str = "",
        finds: Finds | None = None,
        theme: str = "dark",
        take: Take | None = None,
    ) -> None:
        self.entries = tuple(entries)
        self._finds = finds or Finds()
        self._take = take
        self._open: dict[Entry, Loaded] = {}
        self.why, self.theme = why, theme
        self.message, self.keys_shown = "", False
        self.hover_s: float | None = None
        self.screen = ReviewView()
        self.shown = Shown()
        self.main, self.other = main or self.entries[0], other
        self.rows: tuple[Differing, ...] = ()
        try:
            self.playback = self._decked(self.main, other, on)
        except BaseException:
            self.close()
            raise
        self.message = self.playback.main.stroke_clip.note

    def close(self) -> None:
        """Lets every file go. May be called twice."""
        for loaded in self._open.values():
            loaded.stroke_clip.close()
        self._open.clear()

    # ---- commands

    def do(self, command: str) -> bool:
        """One of deck.COMMANDS or MORE. False: it asks to quit."""
        self.message = ""
        if command == "quit":
            return False
        if command == "keys":
            self.keys_shown = not self.keys_shown
        elif command == "theme":
            names = list(THEMES)
            self.theme = names[(names.index(self.theme) + 1) % len(names)]
        elif command in ("next", "previous"):
            self._turn(1 if command == "next" else -1)
        elif command == "pair":
            self._propose()
        elif command in ("still", "clip", "sheet"):
            self._take_away(command)
        elif command in ("beside", "ghost") and self.playback.other is None:
            self._compare(command)
        else:
            self.playback.do(command)
        return True

    def tick(self, passed_s: float) -> None:
        self.playback.tick(passed_s)

    def _turn(self, by: int) -> None:
        here = self.entries.index(self.main) if self.main in self.entries else -1
        there = here + by
        if not 0 <= there < len(self.entries):
            self.message = "that was the last stroke" if by > 0 else "that was the first stroke"
            return
        self._go(self.entries[there], None, "")

    def _propose(self) -> None:
        pair = self._finds.pair()
        if pair is None:
            self.message = "no rehearsal and ball stroke differ by more than can be told"
            return
        self._go(*pair)

    def _compare(self, layout: str) -> None:
        """No other stroke yet: the student's best, else the stroke before."""
        other = self._finds.best()
        why = "" if other is None else "beside it: the best so far"
        if other is None or other is self.main:
            here = self.entries.index(self.main) if self.main in self.entries else 0
            other, why = (self.entries[here - 1], "") if here > 0 else (None, "")
        if other is None:
            self.message = "there is no other stroke to compare with"
            return
        at_s, show = self.playback.time_s, self.playback.show
        if self._go(self.main, other, why):
            self.playback.time_s, self.playback.show = at_s, show
            self.playback.layout = layout  # type: ignore[assignment]

    def _go(self, main: Entry, other: Entry | None, why: str) -> bool:
        """Other strokes on the screen; where they cannot be, a message, and all stays."""
        before = self.main, self.other, self.rows
        try:
            playback = self._decked(main, other, "impact")
        except TrainerError as error:
            self.main, self.other, self.rows = before
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

    def _decked(self, main: Entry, other: Entry | None, on: str) -> Playback:
        loaded = self._loaded(main)
        beside = self._loaded(other) if other is not None else None
        playback = Playback(loaded, beside, on)
        rows: tuple[Differing, ...] = ()
        if beside is not None:
            a, b = loaded.stroke_clip.student, beside.stroke_clip.student
            if a != b:
                raise UsageError(f"the two strokes are of {a} and of {b}", "", "choose two of one student")
            rows = differing(loaded.stroke_clip.record, beside.stroke_clip.record, self._finds.own())
        self.main, self.other, self.rows = main, other, rows
        return playback

    def _loaded(self, entry: Entry) -> Loaded:
        if entry not in self._open:
            self._open[entry] = Loaded.of(entry.open())
        return self._open[entry]

    def _take_away(self, what: str) -> None:
        if self._take is None:
            self.message = "nothing can be kept from here"
            return
        try:
            self.message = self._take(self, what)
        except TrainerError as error:
            self.message = error.line()

    def own(self) -> Sequence[Measures]:
        """Measures of the student's strokes."""
        return self._finds.own()

    # ---- drawing

    def scene(self, bare: bool = False) -> Scene:
        """What is to be drawn now."""
        other = self.other.title if self.other is not None else ""
        keys = [(key, {**COMMANDS, **MORE}[command]) for key, command in KEYS.items()] if self.keys_shown else []
        return Scene(
            self.playback, self.main.title, other, self.rows, self.why, None if bare else self.hover_s,
            "" if bare else self.message, () if bare else keys, self.theme, bare,
        )  # fmt: skip

    def draw(self, on: Surface, bare: bool = False) -> Shown:
        """Paints it; a frame that cannot be read becomes a message."""
        try:
            self.shown = self.screen.draw(on, self.scene(bare))
        except TrainerError as error:
            if bare:
                raise
            self.playback.playing, self.message = False, error.line()
            self.screen.say(on, error.line(), self.theme)
        return self.shown

    # ---- the mouse, in px of the window

    def point(self, place: tuple[float, float], pressed: bool) -> None:
        """The mouse is there; pressed: its button is held down, so it scrubs."""
        curves = self.shown.curves
        inside = curves is not None and curves.plot.collidepoint(place)
        self.hover_s = curves.time_at(place[0]) if inside and not pressed else None
        if inside and pressed:
            self.playback.scrub(curves.time_at(place[0]))

    def click(self, place: tuple[float, float]) -> bool:
        """The button went down there. False: it asks to quit."""
        for box, command in self.shown.hits:
            if box.collidepoint(place):
                return self.do(command)
        if any(picture.collidepoint(place) for picture in self.shown.pictures):
            return self.do("play")
        self.point(place, True)
        return True
