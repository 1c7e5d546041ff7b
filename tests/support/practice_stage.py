"""A stage for whole runs of practice: invented strokes and arms as vision would report them, a display that is looked at.

Camera, pose model, loudspeaker and screen are stand-ins; pipeline, loop, record and the drawing are the real ones.
"""

from __future__ import annotations

import os
import threading
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Callable, Iterator, Sequence

import numpy as np

from tests.support.made_bodies import observations as arms
from trainer.app.practice.practice import Machine
from trainer.commands.console import CONSOLE
from trainer.commands.practice import PracticeOptions, practise
from trainer.domain.observation import Frame, Observation
from trainer.live.opening import Opening
from trainer.live.ports import Devices, Sounds
from trainer.live.practice_state import DisplayState
from trainer.settings.model import Settings
from trainer.testing.fakes import FakeTonePlayer, ListSource
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_observations import Noise
from trainer.testing.simulate_observations import observations as strokes_seen
from trainer.ui.practice.practice_view import PracticeView
from trainer.vision.sources.base import Source

FPS = 30.0
STROKE_S = 7.0  # from address to address
AHEAD = 12  # frames at most that are given before the display has shown one
PICTURE = np.full((480, 640, 3), 70, np.uint8)
QUIET = Noise(gone=0.0, misses=0.0, jitter_s=0.0)


def stroke(hold_s: float = 1.5, kind: str = "ball", **more: Any) -> list[Observation]:
    """One stroke with its address before and a rest after. hold_s: from rest to the head's setting off; below 0 before."""
    made = SimStroke(2.0, kind=kind, **more)  # type: ignore[arg-type]
    made = replace(made, look_s=made.finish_s + hold_s, back_at_s=None)
    scene = Scene((made,), STROKE_S)
    return strokes_seen(scene, FPS, QUIET, np.random.default_rng(int(1000 * (hold_s + 5))))


def positions(*story: tuple[str | None, float]) -> list[Observation]:
    """Arms, or nobody (None)."""
    out = ((None, 0.3), *story, (None, 0.3))  # the figure stands elsewhere: it walks there unseen
    return arms(out, FPS)


def joined(*parts: Sequence[Observation]) -> list[Observation]:
    """One after the other, in one run of time."""
    out: list[Observation] = []
    for part in parts:
        start = len(out)
        out += [replace(s, index=start + i, time_s=(start + i) / FPS) for i, s in enumerate(part)]
    return out


class Watches:
    """In place of the observer: what is seen in each frame is known beforehand."""

    def __init__(self, seen: Sequence[Observation]) -> None:
        self._seen = seen

    def find_body(self, frame: Frame) -> None:
        return None

    def look(self, frame: Frame, found: Any) -> Observation:
        return self._seen[frame.index]


class WatchesAgain(Watches):
    """The same again and again."""

    def look(self, frame: Frame, found: Any) -> Observation:
        return replace(self._seen[frame.index % len(self._seen)], index=frame.index, time_s=frame.time_s)


class StageSource(Source):
    """Frames as they are asked for, never more than a few ahead of what was shown. live: a camera."""

    name = "stage"
    live = True
    size = (640, 480)

    def __init__(self, count: int, display: StageDisplay) -> None:
        self._count, self._next, self._display = count, 0, display
        self.closed = False

    def read(self) -> Frame | None:
        self._display.wait_for(self._next - AHEAD)
        if self._next >= self._count or self.closed:
            return None
        self._next += 1
        return Frame(self._next - 1, (self._next - 1) / FPS, PICTURE)

    @property
    def measured_fps(self) -> float | None:
        return FPS

    def close(self) -> bool:
        self.closed = True
        return True


@dataclass
class StageDisplay:
    """Keeps every view; draws those asked for. keys: (frame's time, command), given once that frame is shown."""

    pictures_folder: Path | None = None
    keys: list[tuple[float, str]] = field(default_factory=list)
    wanted: dict[str, Callable[[DisplayState], bool]] = field(default_factory=dict)
    theme: str = "dark"
    visible: bool = True

    def __post_init__(self) -> None:
        import pygame

        self._pg = pygame
        self._board, self._surface = PracticeView(self.theme), pygame.Surface((1280, 720))
        self.views: list[DisplayState] = []
        self.drawn: dict[str, DisplayState] = {}
        self._shown = threading.Condition()
        self._index, self._given = -1, 0  # the frame shown last; frames given since
        self._over = self._replaying = False

    def wait_for(self, index: int) -> None:
        with self._shown:
            # The views of a replay tell no frame: their number does, so that nothing that is held meanwhile goes unseen.
            self._shown.wait_for(
                lambda: self._over or (self._given < AHEAD if self._replaying else self._index >= index), 5.0
            )
            self._given += 1

    def poll(self) -> list[str]:
        due = [k for k in self.keys if self.views and self.time_s(self.views[-1]) >= k[0]]
        self.keys = [k for k in self.keys if k not in due]
        return [command for _, command in due]

    @staticmethod
    def time_s(view: DisplayState) -> float:
        return view.observation.time_s if view.observation is not None else -1.0

    def show(self, view: DisplayState | Opening) -> None:
        if isinstance(view, Opening):
            return
        self.views.append(view)
        for name, test in list(self.wanted.items()):
            if name not in self.drawn and view.image is not None and not view.cautions and test(view):
                self.drawn[name] = view
                self._board.draw(self._surface, view)
                if self.pictures_folder is not None:
                    self._pg.image.save(self._surface, str(self.pictures_folder / f"{name}.png"))
        with self._shown:
            self._index = view.observation.index if view.observation is not None else self._index
            self._replaying, self._given = view.replay is not None, 0
            self._shown.notify_all()

    def close(self) -> None:
        with self._shown:
            self._over = True
            self._shown.notify_all()


def shots_folder() -> Path | None:
    """Where pictures are to be left for looking at: the environment says; None: nowhere."""
    named = os.environ.get("PUTTING_SHOTS")
    if not named:
        return None
    Path(named).mkdir(parents=True, exist_ok=True)
    return Path(named)


@dataclass
class Stage:
    """A machine on which practice sees these observations and shows on this display. live: as a camera does."""

    seen: Sequence[Observation]
    display: StageDisplay
    live: bool = True
    second: Sequence[Observation] = ()

    def __post_init__(self) -> None:
        self.tones = FakeTonePlayer(lambda: 0.0)

    @property
    def machine(self) -> Machine:
        return Machine(self._devices, self._source, self._observer, cautions_s=0.0)

    def practise(self, folder: Path, **options: Any) -> None:
        """As the command does; what it prints is for capsys."""
        assert practise(folder, PracticeOptions(**options), self.machine) == 0

    @contextmanager
    def _devices(self, settings: Settings, sounds: Sounds, window: bool) -> Iterator[Devices]:
        yield Devices(self.display, self.tones, CONSOLE)

    def _source(
        self, settings: Settings, clip: Path | None = None, paced: bool = True, folder: Path | None = None
    ) -> Source:
        if self._is_second(settings):
            return ListSource([Frame(s.index, s.time_s, PICTURE) for s in self.second], name="second stage")
        source = StageSource(len(self.seen), self.display)
        source.live = self.live
        return source

    def _observer(self, settings: Settings) -> Watches:
        return Watches(self.second if self._is_second(settings) else self.seen)

    @staticmethod
    def _is_second(settings: Settings) -> bool:
        return settings.camera.view == "down-the-line"


def side_on(seen: Observation) -> Observation:
    """The shoulders one behind the other."""
    assert seen.body is not None
    lead = seen.body["lead_shoulder"]
    return replace(seen, body={**seen.body, "trail_shoulder": lead._replace(along_px=lead.along_px - 4.0)})
