"""Keys, clicks and events at random in a window, closed in any state. Each window runs in a process of its own."""

from __future__ import annotations

import os
import random
import threading
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Callable, Iterator

from tests.bench.campaign.checks import record_faults, spoken, spoken_faults
from tests.bench.campaign.forked import Child, told
from tests.bench.campaign.practising import QuickStage, SaysSounds, session_seen
from tests.support.made_strokes import keep_sessions
from tests.support.practice_stage import FPS, PICTURE
from trainer.app.context import RunContext, load_context
from trainer.app.devices import Openers
from trainer.camera_setup.mode_cost import Cost
from trainer.commands.cli import _guarded
from trainer.commands.console import CONSOLE
from trainer.commands.practice import PracticeOptions, practise
from trainer.domain.observation import Frame
from trainer.live.ports import Devices, Sounds
from trainer.settings.model import Settings
from trainer.store.store import Store
from trainer.store.students import Students
from trainer.testing.fakes import FakeClock, ListSource
from trainer.ui.drawing.window import Draws

EVENTS = 400
STOOD = 150  # pictures of one who stands
LOOKS_PER_S = 30.0  # a window looks for events so often
LENT = 60  # a window lent is left after this many twentieths of a second
LATE = 8  # one window in five is left so many times later
SIZES = ((1, 1), (320, 200), (1280, 720), (2600, 300))


def _looks(rng: random.Random, most: int) -> int:
    """How often a window looks for events until it is closed."""
    return rng.randrange(2, most) * rng.choice((1, 1, 1, 1, LATE))


class Monkey:
    """Puts events into pygame's queue; never the one that closes before it is told to. looks: times that any was asked to."""

    looks = 0

    def __init__(self, rng: random.Random, size: tuple[int, int] = (1280, 720)) -> None:
        import pygame

        self._pg, self._rng, self._size = pygame, rng, size
        self._keys = [getattr(pygame, name) for name in dir(pygame) if name.startswith("K_")]
        self._closing = {pygame.K_ESCAPE, pygame.K_q}

    def mash(self, events: int, closes: bool = False) -> None:
        """So many events; closes: the last one closes the window."""
        pg = self._pg
        Monkey.looks += 1
        for _ in range(events):
            pg.event.post(self.event())
        if closes:
            pg.event.post(pg.event.Event(pg.QUIT))

    def event(self) -> Any:
        pg, rng = self._pg, self._rng
        place = rng.randrange(-5, self._size[0] + 5), rng.randrange(-5, self._size[1] + 5)
        way = rng.random()
        if way < 0.6:
            key = rng.choice([key for key in self._keys if key not in self._closing])
            kind = rng.choice([pg.KEYDOWN, pg.KEYDOWN, pg.KEYUP])
            letter = chr(key) if 32 <= key < 127 else ""
            return pg.event.Event(
                kind, key=key, mod=rng.choice([0, 0, pg.KMOD_SHIFT, pg.KMOD_CTRL]), unicode=letter, scancode=0
            )
        if way < 0.75:
            button = rng.choice([1, 1, 1, 2, 3, 9])
            return pg.event.Event(
                rng.choice([pg.MOUSEBUTTONDOWN, pg.MOUSEBUTTONUP]), pos=place, button=button, touch=False
            )
        if way < 0.9:
            held = tuple(rng.choice([0, 1]) for _ in range(3))
            return pg.event.Event(pg.MOUSEMOTION, pos=place, rel=(1, 1), buttons=held, touch=False)
        if way < 0.95:
            return pg.event.Event(pg.MOUSEWHEEL, x=0, y=rng.choice([-1, 1, 40]), flipped=False, touch=False)
        return pg.event.Event(
            rng.choice([pg.WINDOWFOCUSLOST, pg.WINDOWFOCUSGAINED, pg.ACTIVEEVENT, pg.TEXTINPUT]), text="x"
        )


class _Mashed:
    """A window's display before which a monkey sits."""

    visible = True

    def __init__(self, shown: Any, monkey: Monkey, rng: random.Random, looks: int) -> None:
        self._shown, self._monkey, self._rng, self._left = shown, monkey, rng, looks

    def poll(self) -> list[str]:
        self._left -= 1
        self._monkey.mash(self._rng.randint(0, 3), closes=self._left == 0)
        return list(self._shown.poll())

    def show(self, state: Any) -> None:
        self._shown.show(state)

    def close(self) -> None:
        self._shown.close()


class _MashedStage(QuickStage):
    rng = random.Random(0)
    looks = 0

    @contextmanager
    def open_devices(self, settings: Settings, sounds: Sounds, window: bool) -> Iterator[Devices]:
        from trainer.ui.drawing.window import open_window

        shown = open_window(settings.window, "monkey")
        assert shown is not None
        display = _Mashed(shown, Monkey(self.rng), self.rng, self.looks)
        yield Devices(display, SaysSounds(lambda: 0.0), CONSOLE)


def _practice(rng: random.Random, data: Path) -> int:
    looks = _looks(rng, 200)
    stage = _MashedStage(session_seen(rng.randrange(1 << 30), 3 + looks // 100))
    stage.rng, stage.looks = rng, looks
    whose = rng.choice([None, "Robin"])
    drill = rng.choice([None, "hold-then-look", "ladder"])
    return practise(data, PracticeOptions(student=whose, drill=drill), stage.machine)


class _Clock:
    """Each look at it is a moment of the window's loop: the monkey's turn."""

    def __init__(self, monkey: Monkey, rng: random.Random) -> None:
        self._monkey, self._rng, self._left, self._now_s = monkey, rng, _looks(rng, EVENTS), 0.0

    def now(self) -> float:
        self._left -= 1
        self._now_s += 0.03
        self._monkey.mash(self._rng.randint(1, 4), closes=self._left <= 0)
        return self._now_s

    def sleep(self, seconds: float) -> None:
        self._now_s += seconds


def _review(rng: random.Random, data: Path) -> int:
    from trainer.app.review import Arrangement, ReviewRequest, open_review
    from trainer.ui.drawing.window import open_window
    from trainer.ui.review.reviewer import Reviewer
    from trainer.ui.review.window import ReviewWindow

    context = load_context(data, "Robin")
    against = rng.choice([None, "best"])
    request = ReviewRequest(context, (), None, "Robin", None, against, Arrangement("impact", None, False, True, None))
    shown = open_window(context.settings.window, "monkey")
    assert shown is not None
    with open_review(request, CONSOLE) as session:
        ReviewWindow(Reviewer(session, "dark"), _Clock(Monkey(rng), rng)).run()
    return 0


def _limits(rng: random.Random, data: Path) -> int:
    import pygame

    from trainer.app.limits import LimitsDesk, LimitsRequest
    from trainer.ui.drawing.window import open_window
    from trainer.ui.limits.limits_page import limits_page
    from trainer.ui.limits.limits_state import LimitsState
    from trainer.ui.start.page import Goes
    from trainer.ui.start.page_view import PageView
    from trainer.ui.start.start_window import StartWindow

    context = load_context(data, "Robin")
    shown = open_window(context.settings.window, "monkey")
    assert shown is not None
    state = LimitsState(LimitsDesk(context, LimitsRequest("Robin", {}, 20), lambda arguments: None))
    window = StartWindow(
        PageView("dark"), pygame.display.get_surface, lambda: limits_page(state, lambda _: Goes("stay"), home=True)
    )
    monkey = Monkey(rng)
    for _ in range(_looks(rng, EVENTS // 3)):
        monkey.mash(rng.randint(1, 4))
        for event in pygame.event.get():
            window.handle(event)
        if rng.random() < 0.02:
            pygame.display.set_mode(rng.choice(SIZES), pygame.RESIZABLE)
            window.handle(pygame.event.Event(pygame.VIDEORESIZE, size=(1, 1), w=1, h=1))
        window.draw()
    return 0


def _stood(rng: random.Random) -> Openers:
    """A camera before which somebody stands, and his points."""
    from tests.support.made_address import Still, picture, points

    name = rng.choice(["s02", "s03"])
    image = picture(name)
    frames = [Frame(k, k / FPS, image) for k in range(_looks(rng, STOOD))]
    return Openers(
        source=lambda settings, clip=None, paced=True, folder=None: ListSource(list(frames)),
        body=lambda: Still(points(name), image),
        cost=lambda size: Cost(0.0, 0.0, 0.0),
    )


def _mashed(rng: random.Random, context: RunContext, view: Draws) -> Devices:
    from trainer.ui.drawing.window import PygameWindow, WindowConfig

    shown = PygameWindow(WindowConfig(theme=context.settings.window.theme), view)
    return Devices(_Mashed(shown, Monkey(rng), rng, _looks(rng, STOOD)), SaysSounds(lambda: 0.0), CONSOLE)


def _setup(rng: random.Random, data: Path) -> int:
    from trainer.app.camera_setup import CameraSetupRequest, set_up_camera
    from trainer.ui.camera_setup.setup_view import SetupView

    context = load_context(data, rng.choice([None, "Robin"]))
    request = CameraSetupRequest(context, view=rng.choice([None, None, "face-on", "down-the-line"]))
    set_up_camera(request, _mashed(rng, context, SetupView()), _stood(rng), FakeClock())
    return 0


def _posture(rng: random.Random, data: Path) -> int:
    from trainer.app.posture import Given, PostureRequest, find_posture
    from trainer.ui.posture.posture_view import PostureView

    context = load_context(data, "Robin")
    request = PostureRequest(context, Given(), student="Robin", save=rng.random() < 0.5, label="monkey")
    find_posture(request, _mashed(rng, context, PostureView()), _stood(rng))
    return 0


class _Hand(threading.Thread):
    """In the windows that the start window lends, which wait for keys, a hand goes on with the monkey's; at last it leaves."""

    def __init__(self, monkey: Monkey) -> None:
        super().__init__(daemon=True)
        self._monkey, self._pressed, self.over = monkey, 0, threading.Event()
        self.busy = threading.Event()

    def run(self) -> None:
        import pygame

        while not self.over.wait(0.05):
            self._pressed = self._pressed + 1 if self.busy.is_set() else 0
            if self._pressed > LENT:
                for kind in (pygame.KEYDOWN, pygame.KEYUP):  # let go again: a key held down counts once
                    pygame.event.post(pygame.event.Event(kind, key=pygame.K_ESCAPE, mod=0))
            elif self._pressed > 4:
                self._monkey.mash(3)


def _start(rng: random.Random, data: Path) -> int:
    """All pages, and the tasks behind their buttons."""
    import pygame

    from tests.support.start_stage import StartStage

    home = data.parent / "home"  # what a launcher or a page is written to
    home.mkdir()
    os.environ |= {"HOME": str(home), "XDG_DATA_HOME": str(home), "XDG_CONFIG_HOME": str(home)}
    os.environ["PUTTING_TRAINER_STRICT"] = "1"
    stage, opened = StartStage(data, home, rng.choice(SIZES[1:3])), _stood(rng)
    stage.bodies, stage.seen = opened.body, session_seen(rng.randrange(1 << 30), 1)
    frames = [Frame(one.index, one.time_s, PICTURE) for one in stage.seen]
    hand = _Hand(Monkey(random.Random(rng.random())))
    hand.start()
    for _ in range(_looks(rng, EVENTS)):
        stage.show(frames)
        if not stage.window.open:
            break
        size = pygame.display.get_surface().get_size()
        monkey = Monkey(rng, size)
        monkey.mash(rng.randint(1, 3))
        pressed = pygame.K_ESCAPE if rng.random() < 0.1 else rng.choice([pygame.K_TAB, pygame.K_RETURN, pygame.K_SPACE])
        pygame.event.post(pygame.event.Event(pygame.KEYDOWN, key=pressed, mod=0))
        hand.busy.set()
        for event in pygame.event.get():
            stage.window.handle(event)
        stage.window.tick()
        hand.busy.clear()
        if rng.random() < 0.02:
            pygame.display.set_mode(rng.choice(SIZES), pygame.RESIZABLE)
        stage.window.draw()
    hand.over.set()
    hand.join()
    stage.close()
    return 0


WINDOWS: tuple[Callable[[random.Random, Path], int], ...] = (_practice, _review, _limits, _setup, _posture, _start)


def one_round(seed: int, folder: Path) -> list[str]:
    """One window."""
    rng = random.Random(seed)
    window, data = WINDOWS[seed % len(WINDOWS)], folder / "data"
    assert spoken("--data-folder", str(data), "students", "add", "Robin")[0] == 0
    student = Students(data).find("Robin")
    with Store(data, "t") as store:
        keep_sessions(store, student.settings, student.card.id, 2, 4, seed)

    def work() -> int:
        code = _guarded(lambda: window(rng, data))
        print(f"\nloop time {Monkey.looks / LOOKS_PER_S:.1f} s", flush=True)
        return code

    child = Child(work)
    found = []
    if not child.wait(300.0):
        child.kill()
        found.append("did not end")
    found += spoken_faults(child.code, child.err)  # 2: there is nothing to set a stroke against
    numbers = told(child.out)
    print(
        f"seed {seed}, {window.__name__[1:]}:",
        *(line for line in child.out.splitlines() if line.startswith("loop time")),
    )
    child.close()
    return [f"{window.__name__[1:]}: {fault}" for fault in (*found, *record_faults(data, numbers))]
