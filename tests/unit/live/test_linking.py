"""A source that waits for its user: told once each time, shown while it lasts, and a window stays alive meanwhile."""

from __future__ import annotations

import threading
from dataclasses import replace
from typing import Any

from tests.unit.live.test_loop import LiveJudge, Tracker, Watcher, frames, judge
from trainer.domain.observation import Frame
from trainer.feedback.cues import CueChooser
from trainer.live.frame_loop import PAUSED, run_frame_loop
from trainer.live.linking import LOST_HERE, LOST_ON_THE_WAY, QUIET, TellsLink, TellsLosses, in_letters
from trainer.live.loop import LiveLoop, LoopOptions
from trainer.live.pipeline import Pipeline
from trainer.live.pipeline_session import PipelineSession
from trainer.live.ports import Devices
from trainer.testing.fakes import FakeClock, FakeDisplay, FakeReporter, FakeTonePlayer, ListSource
from trainer.ui.drawing.window import NoWindow
from trainer.vision.sources.base import Waiting

QR = ((True, False, True), (False, True, False), (True, True, True))
OPEN = Waiting("Open this on the phone", "go on all the same", "https://10.0.0.7:8443/abcd", QR)
GONE = Waiting("The phone is gone", "open its page again", OPEN.address, QR)


class Linked(ListSource):
    """A list whose frames come when a script says so: None: there is one; else what it waits for."""

    def __init__(self, frames: list[Frame], script: list[Waiting | None], plays: bool = False) -> None:
        super().__init__(frames, name="phone")
        self.script, self.plays, self.played = list(script), plays, []

    def waiting(self) -> Waiting | None:
        return self.script[0] if self.script else None

    def ready(self, wait_s: float) -> bool:
        return self.waiting() is None

    def read(self) -> Frame | None:
        if self.script:
            self.script.pop(0)
        return super().read()

    def play(self, name: str) -> bool:
        self.played.append(name)
        return self.plays


def test_each_change_is_told_once_and_the_address_once_for_all() -> None:
    reporter = FakeReporter()
    source = Linked([], [OPEN])
    link = TellsLink([source], reporter, NoWindow())
    assert link.tell()
    assert link.tell()
    source.script = []
    assert not link.tell()
    assert not link.tell()
    source.script = [GONE]
    assert link.tell()
    code = in_letters(QR)
    assert reporter.lines == [
        "phone: open this on the phone; go on all the same",
        *code,
        OPEN.address,
        "phone: pictures come",
        "phone: the phone is gone; open its page again",
    ]


def test_losses_are_called_by_where_they_happen() -> None:
    class Slow(ListSource):
        loses_on_the_way = False

    source = Slow([])
    tells = TellsLosses(source)
    told = []
    for index, on_the_way in ((0, False), (1, False), (3, False), (4, True), (40, True)):
        source.loses_on_the_way = on_the_way
        told.append(tells.see(Frame(index, index / 30, None)))
    assert told == ["", "", LOST_HERE, LOST_ON_THE_WAY, LOST_ON_THE_WAY]


def test_two_phones_have_an_address_each() -> None:
    reporter = FakeReporter()
    first, second = Linked([], [OPEN]), Linked([], [replace(OPEN, address="https://10.0.0.7:8444/efgh")])
    link = TellsLink([first, second], reporter, NoWindow())
    assert link.tell()
    first.script = []
    assert link.tell()
    assert [line for line in reporter.lines if line.startswith("https")] == [OPEN.address, second.script[0].address]


def test_the_code_in_letters_is_the_code() -> None:
    lines = in_letters(QR)
    light = {"\N{FULL BLOCK}": (1, 1), "\N{UPPER HALF BLOCK}": (1, 0), "\N{LOWER HALF BLOCK}": (0, 1), " ": (0, 0)}
    rows: list[list[int]] = []
    for line in lines:
        upper, lower = zip(*(light[letter] for letter in line))
        rows += [list(upper), list(lower)]
    inner = [row[QUIET : QUIET + 3] for row in rows[QUIET : QUIET + 3]]
    assert inner == [[int(not dark) for dark in row] for row in QR]
    assert all(all(row) for row in (*rows[:QUIET], *rows[QUIET + 3 :]))


def test_a_loop_shows_what_it_waits_for_and_hears_keys_meanwhile() -> None:
    shown: list[Any] = []
    source = Linked([Frame(0, 0.0, None)], [OPEN])
    waits = 0

    def show(view: Any) -> None:
        nonlocal waits
        shown.append(view)
        waits += view is OPEN
        if waits == 3:
            source.script = [None]

    display = FakeDisplay(lambda: 0.0, on_show=show)
    tones, reporter = FakeTonePlayer(lambda: 0.0), FakeReporter()

    def step(frame: Frame) -> tuple[object, str | None]:
        return "frame", "ready"

    assert run_frame_loop(source, step, Devices(display, tones, reporter)) is False
    assert shown == [OPEN, OPEN, OPEN, "frame"]
    assert [name for _, name in tones.played] == ["ready"]
    for_ever = Linked([], [OPEN])
    quits = FakeDisplay(lambda: 0.0, keys=["quit"])
    assert run_frame_loop(for_ever, step, Devices(quits, tones, reporter)) is False


def test_a_loop_that_pauses_says_so_and_how_to_go_on() -> None:
    shown: list[Any] = []
    frames = [Frame(index, index / 30, None) for index in range(4)]
    display = FakeDisplay(lambda: 0.0, keys=["pause", "theme", "pause"], on_show=shown.append)

    def step(frame: Frame) -> tuple[object, str | None]:
        return frame.index, None

    devices = Devices(display, FakeTonePlayer(lambda: 0.0), FakeReporter())
    run_frame_loop(ListSource(frames), step, devices)
    assert shown == [PAUSED, PAUSED, 2, 3]  # again in the other colours
    assert (PAUSED.words, PAUSED.todo) == ("Paused", "Space: go on")


def test_a_cue_sounds_there_or_here_but_not_at_both() -> None:
    for plays, here in ((True, []), (False, ["ready"])):
        source = Linked([Frame(0, 0.0, None)], [], plays)
        tones = FakeTonePlayer(lambda: 0.0)
        run_frame_loop(source, lambda frame: (None, "ready"), Devices(NoWindow(), tones, FakeReporter()))
        assert source.played == ["ready"]
        assert [name for _, name in tones.played] == here


class Blocks(ListSource):
    """Gives nothing until it is linked, as a phone; linked: set from another thread."""

    live = True

    def __init__(self, count: int) -> None:
        super().__init__(frames(count), name="phone")
        self.linked = threading.Event()
        self.cues: list[str] = []

    def waiting(self) -> Waiting | None:
        return None if self.linked.is_set() else OPEN

    def read(self) -> Frame | None:
        while not self.linked.wait(0.01):
            if self.closed:
                return None
        return super().read()

    def play(self, name: str) -> bool:
        self.cues.append(name)
        return True


def test_practice_shows_how_to_link_then_goes_on_with_its_sounds_there() -> None:
    clock = FakeClock()
    source, beside = Blocks(90), Linked([], [])
    shown: list[Any] = []

    def show(view: Any) -> None:
        shown.append(view)
        if sum(each is OPEN for each in shown) == 3:
            source.linked.set()

    display, tones, reporter = FakeDisplay(clock.now, on_show=show), FakeTonePlayer(clock.now), FakeReporter()
    devices = Devices(display, tones, reporter)

    def session() -> PipelineSession:
        return PipelineSession(Pipeline(Watcher(), Tracker(), LiveJudge(), judge, CueChooser()))

    summary = LiveLoop(source, session, devices, clock, LoopOptions(0.0, 0.0, beside)).run()
    assert summary.frames == 90
    assert [view is OPEN for view in shown[1:4]] == [True, True, True]  # the first says that it opens
    assert not any(view is OPEN for view in shown[4:])
    assert reporter.lines.count("phone: pictures come") == 1
    assert source.cues[0] == "ready"
    assert tones.played == []


def test_the_other_cameras_link_is_told_too_and_quitting_works_meanwhile() -> None:
    clock = FakeClock()
    first, beside = Blocks(10), Linked([], [GONE])
    first.linked.set()
    display = FakeDisplay(clock.now, keys=["", "", "quit"])
    reporter = FakeReporter()

    def session() -> PipelineSession:
        return PipelineSession(Pipeline(Watcher(), Tracker(), LiveJudge(), judge, CueChooser()))

    LiveLoop(
        first, session, Devices(display, FakeTonePlayer(clock.now), reporter), clock, LoopOptions(0.0, 0.0, beside)
    ).run()
    assert display.shown[1][1] is GONE
    assert reporter.lines[:2] == ["phone: the phone is gone; open its page again", OPEN.address]
