"""What the pages of the start window share: who practises, where data are, the devices, the window lent to a task."""

from __future__ import annotations

from contextlib import closing, contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Callable, Iterator, Sequence, TypeVar

from trainer.app.context import RunContext, load_context
from trainer.app.language import speak_as_set
from trainer.app.start.cameras import KeptCamera
from trainer.app.start.memory import StartMemory, recall_start, remember_start
from trainer.errors import UsageError
from trainer.settings.model import Settings
from trainer.ui.start import texts
from trainer.ui.start.page_view import PageView
from trainer.worker import Progress, Worker

Result = TypeVar("Result")
WARMING_END_S = 10.0  # what loads in the background is waited for so long at the end


@dataclass
class Lines:
    """A ``Reporter`` that keeps what is told, to be read in the window."""

    lines: list[str] = field(default_factory=list)

    def report(self, line: str) -> None:
        self.lines.append(line)

    def warn(self, line: str) -> None:
        self.lines.append(line)

    def take(self) -> tuple[str, ...]:
        """What was told since the last time."""
        taken, self.lines = tuple(self.lines), []
        return taken


@dataclass(frozen=True)
class Outside:
    """The world outside, as ``Openers`` and ``Machine`` take it; tests hand in others. start: a program of this one's."""

    source: Any = None
    body: Any = None
    tones: Any = None
    cost: Any = None
    observer: Any = None
    clock: Any = None
    cautions_s: float | None = None
    start: Callable[[Sequence[str]], object] = lambda _: None
    loudspeakers: Callable[[], tuple[str, ...]] | None = None
    can_listen: Callable[[], bool] | None = None  # is there what the microphone needs
    show: Callable[[str], object] | None = None  # an address, by the system's browser


class StartDesk:
    """folder: as --data-folder gives it; saving: where exports and pages go."""

    def __init__(self, folder: Path | None, view: PageView, saving: Path, outside: Outside | None = None) -> None:
        from trainer.vision.sources.base import MonotonicClock

        self.folder, self.view, self.saving = folder, view, saving
        self.looking = saving  # where files are looked for
        self.outside = outside or Outside()
        self.clock = self.outside.clock or MonotonicClock()
        self.reporter = Lines()
        self.camera = KeptCamera(self.outside.source or _open_source, self.clock)
        self.memory = recall_start(self.context(None).base)
        self.level_by_hand = False  # somebody set the camera level, and no straight edge tells
        self.lent: Any = None  # the window as it was lent last
        self.peek: Any = None  # the camera's picture on a page, while there is one
        self._warming: Worker | None = None

    # ---- who, and with which settings

    @property
    def student(self) -> str | None:
        return self.memory.student

    def context(self, student: str | None, **options: object) -> RunContext:
        """Settings as the commands load them."""
        return load_context(self.folder, student, **options)

    def own(self, **options: object) -> RunContext:
        """Of whoever practises, nobody included."""
        return self.context(self.student, **options)

    def whose(self) -> str:
        """Raises UsageError when nobody is chosen."""
        if self.student is None:
            raise UsageError(texts.WHO_FIRST, "", texts.WHO_TODO)
        return self.student

    def choose(self, student: str | None) -> None:
        self.remember(replace(self.memory, student=student))

    def remember(self, memory: StartMemory) -> None:
        self.memory = memory
        remember_start(self.context(None).base, memory)

    def look_as_set(self) -> None:
        """Colours, size of letters and language as the settings have them now."""
        window = self.context(None).settings.window
        self.view.theme, self.view.scale = window.theme, window.letters
        speak_as_set(self.folder)

    # ---- devices and tasks

    def display(self, view: Any = None) -> Any:
        """The window, lent to a task. view: what draws; without one only the bar of work that goes on is shown."""
        from trainer.ui.start.task_window import BarOnly, TaskWindow

        self.lent = TaskWindow(view or BarOnly(self.view.theme), self.view.scale)
        return self.lent

    def run(self, words: str, work: Callable[[Progress], Result]) -> Result:
        """Long work beside a bar, which the user may stop. Raises UsageError then, and what the work raises."""
        from trainer.live.opening import made_ready

        found = made_ready(self.display(), self.clock, words, lambda told: (work(told),))
        if found is None:
            raise UsageError(texts.STOPPED)
        return found[0]

    @contextmanager
    def devices(self, settings: Settings, view: Any, sounds: Any = None) -> Iterator[Any]:
        """The window with this view, the loudspeaker, and a reporter whose lines are read afterwards."""
        from trainer.live.ports import Devices

        opens = self.outside.tones or _open_tones
        with closing(opens(settings, self.reporter, sounds)) as tones:
            yield Devices(self.display(view), tones, self.reporter)

    def openers(self) -> Any:
        """For a check, a set-up, a posture."""
        from trainer.app.devices import Openers, measure_cost, open_body

        out = self.outside
        return Openers(self.camera, out.body or open_body, out.tones or _open_tones, out.cost or measure_cost)

    def loudspeakers(self) -> tuple[str, ...]:
        """Names to choose from: first the system's own, as "", and the one that is chosen though it is not there now."""
        from trainer.feedback.loudspeakers import loudspeakers

        found = (self.outside.loudspeakers or loudspeakers)()
        return tuple(dict.fromkeys(("", *found, self.context(None).settings.sound.device)))

    def can_listen(self) -> bool:
        from trainer.app.microphone import can_listen

        return (self.outside.can_listen or can_listen)()

    def show(self, path: Path) -> None:
        """A page that was written, in the system's browser."""
        import webbrowser

        (self.outside.show or webbrowser.open)(path.absolute().as_uri())

    def machine(self) -> Any:
        """For a run of practice."""
        from trainer.app.practice.practice import Machine, load_observer
        from trainer.live.loop import CAUTIONS_S
        from trainer.ui.practice.practice_view import PracticeView

        theme = self.view.theme
        return Machine(
            lambda settings, sounds, window: self.devices(settings, PracticeView(theme), sounds),
            self.camera,
            self.outside.observer or load_observer,
            self.clock,
            CAUTIONS_S if self.outside.cautions_s is None else self.outside.cautions_s,
        )

    # ---- in the background

    def warm_up(self) -> None:
        """Loads what practice is made of while the player chooses: the code, and the pose model once."""
        self._warming = Worker("warm up", lambda _: _load_practice())
        self._warming.start()

    def close(self) -> None:
        if self.peek is not None:
            self.peek.close()
        self.camera.close()
        if self._warming is not None:
            self._warming.wait(WARMING_END_S)


def _load_practice() -> None:
    import trainer.app.practice.practice
    import trainer.ui.practice.practice_view
    import trainer.ui.start.practice_pages
    import trainer.ui.start.task_window  # noqa: F401
    from trainer.app import build
    from trainer.app.devices import open_body

    build.load_code()
    open_body().close()


def _open_source(settings: Any, clip: Path | None = None, paced: bool = True, folder: Path | None = None) -> Any:
    from trainer.app.devices import open_source

    return open_source(settings, clip, paced, folder)


def _open_tones(settings: Any, reporter: Any = None, sounds: Any = None) -> Any:
    from trainer.app.devices import open_tones

    return open_tones(settings, reporter, sounds)
