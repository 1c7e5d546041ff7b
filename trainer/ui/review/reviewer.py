"""The review's window as state: the session with theme, keys, mouse and what may be saved. Its drawing is ``review_view``."""

from __future__ import annotations

from dataclasses import replace
from typing import Callable, Mapping

from trainer.errors import TrainerError
from trainer.feedback.signs import THEMES
from trainer.replay import playback, review_session
from trainer.replay.review_session import ReviewSession
from trainer.texts import tr, tr_of
from trainer.ui.drawing.canvas import Surface
from trainer.ui.review.review_view import ReviewView
from trainer.ui.review.saving import Saving
from trainer.ui.review.scene import Scene, Shown
from trainer.worker import Progress

SAVES = ("picture", "clip", "sheet")
TARGET_PX = 46  # as wide and high as what a finger finds
COMMANDS: Mapping[str, str] = {
    "picture": tr("save a picture (PNG)"),
    "clip": tr("save a clip with the lines (MP4)"),
    "sheet": tr("save a sheet of one page (PDF)"),
    "keys": tr("all keys"),
    "theme": tr("light or dark"),
    "quit": tr("quit"),
}
ALL_COMMANDS: Mapping[str, str] = {**playback.COMMANDS, **review_session.COMMANDS, **COMMANDS}
KEYS: Mapping[str, str] = {
    tr_of("key", "Space"): "play",
    tr_of("key", "Down"): "slow",
    tr_of("key", "Up"): "full",
    tr_of("key", "Left"): "back",
    tr_of("key", "Right"): "on",
    tr_of("key", "Shift+Left"): "back10",
    tr_of("key", "Shift+Right"): "on10",
    tr_of("key", "Home"): "first",
    tr_of("key", "End"): "last",
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
    tr_of("key", "Page down"): "next",
    tr_of("key", "Page up"): "previous",
    "W": "pair",
    "I": "picture",
    "C": "clip",
    "D": "sheet",
    "T": "theme",
    "F1": "keys",
    "Q": "quit",
}

# One of SAVES, of a review that stands apart; returns the line that says where it is.
Save = Callable[["Reviewer", str, Progress], str]
REPEATING = ("back", "on", "back10", "on10")  # go on while their key is held down


class Reviewer:
    """``do`` commands, ``tick``, ``draw``; the session is closed by whoever opened it."""

    def __init__(self, session: ReviewSession, theme: str = "dark", save: Save | None = None) -> None:
        self.session, self.theme = session, theme
        self._save = save
        self.saving = Saving()
        self.keys_shown = False
        self.hover_s: float | None = None
        self.corner_px = 0  # what the window's cross takes
        self._view = ReviewView()
        self.shown = Shown()

    @property
    def message(self) -> str:
        return self.saving.words or self.session.message

    def do(self, command: str) -> bool:
        """One of ALL_COMMANDS. False: it asks to quit."""
        self.session.message = ""
        if command == "quit":
            return False
        if command == "keys":
            self.keys_shown = not self.keys_shown
        elif command == "theme":
            names = list(THEMES)
            self.theme = names[(names.index(self.theme) + 1) % len(names)]
        elif command in SAVES:
            self._begin(command)
        elif self.saving.busy and self.session.changes_strokes(command):
            pass  # what is being written is of these strokes, and says so
        else:
            self.session.do(command)
        return True

    def escape(self) -> bool:
        """Stops what is being written; where nothing is, it asks to quit: False."""
        if not self.saving.busy:
            return False
        self.saving.stop()
        return True

    def _begin(self, what: str) -> None:
        save = self._save
        if save is None:
            self.session.message = tr("nothing can be saved from here")
            return
        apart = Reviewer(self.session.apart(), self.theme)
        self.saving.begin(what, lambda progress: save(apart, what, progress))

    def tick(self, passed_s: float) -> None:
        """So much time has passed."""
        self.session.tick(passed_s)
        line = self.saving.look()
        if line is not None:
            self.session.message = line

    def close(self) -> None:
        """Ends what is being written, before the strokes are closed."""
        self.saving.end()

    # ---- drawing

    def scene(self, bare: bool = False) -> Scene:
        """What is to be drawn now."""
        session = self.session
        other = session.other.title if session.other is not None else ""
        scene = Scene(session.playback, session.main.title, other, session.differences, session.why, theme=self.theme)
        if bare:
            return replace(scene, bare=True)
        keys = tuple((key, ALL_COMMANDS[command]) for key, command in KEYS.items()) if self.keys_shown else ()
        busy = (self.saving.share or 0.0) if self.saving.busy else None
        shown = replace(scene, hover_s=self.hover_s, message=self.message, keys=keys, busy=busy)
        return replace(shown, corner_px=self.corner_px)

    def draw(self, on: Surface, bare: bool = False) -> Shown:
        """Paints it; a frame that cannot be read becomes a message."""
        try:
            self.shown = self._view.draw(on, self.scene(bare))
        except TrainerError as error:
            if bare:
                raise
            self.session.playback.playing, self.session.message = False, error.line()
            self.shown.settled = True  # nothing better comes
            self._view.message(on, error.line(), self.theme)
        return self.shown

    # ---- the mouse, in px of the window

    def point(self, place: tuple[float, float], pressed: bool) -> None:
        """The mouse is there; pressed: its button is held down, so it scrubs."""
        curves = self.shown.curves
        inside = curves is not None and curves.plot.collidepoint(place)
        self.hover_s = curves.time_at(place[0]) if inside and not pressed else None
        if inside and pressed:
            self.session.playback.scrub(curves.time_at(place[0]))

    def _pressed(self, place: tuple[float, float]) -> str:
        """What is there or, since a finger is TARGET_PX wide, just beside it where nothing else is; empty: nothing."""
        hits, curves = self.shown.hits, self.shown.curves
        there = [command for box, command in hits if box.collidepoint(place)]
        if there or (curves is not None and curves.plot.collidepoint(place)):
            return there[0] if there else ""
        beside = [
            (abs(place[1] - box.centery), command)
            for box, command in hits
            if box.inflate(*(max(0, TARGET_PX - side) for side in box.size)).collidepoint(place)
        ]
        return min(beside)[1] if beside else ""

    def click(self, place: tuple[float, float]) -> bool:
        """The button went down there. False: it asks to quit."""
        if command := self._pressed(place):
            return self.do(command)
        if any(picture.collidepoint(place) for picture in self.shown.pictures):
            return self.do("play")
        self.point(place, True)
        return True
