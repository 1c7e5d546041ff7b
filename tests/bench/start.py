"""The start window's times: to the first page, to the first judged frame after practice was begun, and at rest.

    python -m tests.bench.start CLIP [--rounds 5] [--rest 10] > tests/bench/start.md

Each round is a process of its own on a new folder of data, with the real model and the clip in the camera's place: the first
page is drawn, the window rests while what practice is made of loads in the background, then Free practice is pressed. Beside
the time by the clock stands the processor's, of all threads, which other programs do not make longer.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

HEAD = """# The start window's times

Printed by `python -m tests.bench.start`. Median of {rounds} rounds, the longest in brackets; load {load:.1f} on {cores} cores.

| what | by the clock | processor |
|---|---|---|
"""
ROWS = {
    "page": "from the command to the first page",
    "warm": "then, in the background: code and model loaded after",
    "judged": "from Free practice to the first judged frame",
    "rest": "at rest on the start page, share of a core",
}
WARM_S = 60.0  # at most
Moment = tuple[float, float]  # clock, processor (s)


def moment() -> Moment:
    return time.monotonic(), time.process_time()


class Noting:
    """An observer that notes when its first frame has been looked at, and then ends practice and window as a user would."""

    def __init__(self, observer: Any) -> None:
        self._observer = observer
        self.at: Moment | None = None
        self.loaded: set[str] = set()

    def look(self, frame: Any, found: Any) -> Any:
        seen = self._observer.look(frame, found)
        if self.at is None:
            self.at, self.loaded = moment(), set(sys.modules)
            for wait_s in (0.3, 1.0):
                threading.Timer(wait_s, post, ("QUIT",)).start()
        return seen

    def __getattr__(self, name: str) -> Any:
        return getattr(self._observer, name)


def post(kind: str, **what: Any) -> None:
    import pygame

    pygame.event.post(pygame.event.Event(getattr(pygame, kind), **what))


def one_round(clip: Path, rest_s: float, folder: Path) -> dict[str, Moment]:
    """In this process. Seconds since it began, by clock and processor."""
    import pygame

    from trainer.app.context import load_context
    from trainer.app.start.memory import DONE, StartMemory, remember_start
    from trainer.ui.drawing.window import open_surface
    from trainer.ui.start.desk import Outside, StartDesk
    from trainer.ui.start.first_pages import first_or_home
    from trainer.ui.start.page_view import PageView
    from trainer.ui.start.start_window import StartWindow

    remember_start(folder, StartMemory(None, DONE))
    window = load_context(folder).settings.window
    open_surface((window.width, window.height), "start", pygame.RESIZABLE)
    view = PageView(window.theme)
    noting: list[Noting] = []
    loaded: set[str] = set()

    def observer(settings: Any) -> Any:
        from trainer.app.practice.practice import load_observer

        noting.append(Noting(load_observer(settings)))
        return noting[0]

    def source(settings: Any, _: Path | None = None, paced: bool = True, folder: Path | None = None) -> Any:
        from trainer.app.devices import open_source

        return open_source(settings, clip, paced, folder)

    desk = StartDesk(folder, view, folder, Outside(source=source, observer=observer))
    shown = StartWindow(view, pygame.display.get_surface, lambda: first_or_home(desk), desk.camera.tick)
    shown.draw()
    pygame.display.flip()
    times = {"page": moment()}
    desk.warm_up()

    def rested() -> None:
        desk.warmed(WARM_S)
        times["warm"] = moment()
        import av  # noqa: F401  (what decodes the clip, which no camera needs)

        loaded.update(sys.modules)
        times["still"] = moment()
        time.sleep(rest_s)
        times["rest"] = moment()
        times["pressed"] = times["rest"]
        layout = view.layout(shown.shown, pygame.display.get_surface().get_size())
        box = next(item.box for item in layout.pressables() if item.of.words == "Free practice").move(0, layout.top)
        post("MOUSEBUTTONDOWN", button=1, pos=box.center)
        post("MOUSEBUTTONUP", button=1, pos=box.center)

    threading.Thread(target=rested, daemon=True).start()
    shown.run()
    desk.close()
    assert noting, "practice did not begin"
    assert noting[0].at is not None
    times["judged"] = noting[0].at
    late = sorted(name for name in noting[0].loaded - loaded if name.startswith("trainer."))
    print(*(late or ["nothing"]), "loaded late", file=sys.stderr)
    return times


def measured(clip: Path, rest_s: float) -> dict[str, Moment]:
    """One round in another process; each row's own times."""
    with tempfile.TemporaryDirectory() as folder:
        begun_s = time.monotonic()
        line = [sys.executable, "-m", "tests.bench.start", str(clip), "--rest", str(rest_s), "--in", folder]
        done = subprocess.run(line, check=True, stdout=subprocess.PIPE)
    told = json.loads(done.stdout.splitlines()[-1])

    def between(a: str, b: str) -> Moment:
        return told[b][0] - told[a][0], told[b][1] - told[a][1]

    clock_s, worked_s = between("still", "rest")
    return {
        "page": (told["page"][0] - begun_s, told["page"][1]),
        "warm": between("page", "warm"),
        "judged": between("pressed", "judged"),
        "rest": (0.0, worked_s / clock_s),
    }


def main() -> int:
    options = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    options.add_argument("clip", type=Path)
    options.add_argument("--rounds", type=int, default=5)
    options.add_argument("--rest", type=float, default=10.0, help="Seconds.")
    options.add_argument("--in", dest="folder", type=Path, help=argparse.SUPPRESS)
    given = options.parse_args()
    if given.folder is not None:
        print(json.dumps(one_round(given.clip, given.rest, given.folder)))
        return 0
    rounds = [measured(given.clip, given.rest) for _ in range(given.rounds)]
    print(HEAD.format(rounds=given.rounds, load=os.getloadavg()[0], cores=os.cpu_count()), end="")
    for name, words in ROWS.items():
        clock, worked = ([one[name][k] for one in rounds] for k in (0, 1))
        unit = "" if name == "rest" else " s"
        cells = [f"{statistics.median(x):.2f} ({max(x):.2f}){unit}" if any(x) else "" for x in (clock, worked)]
        if name == "rest":
            cells[1] = f"{statistics.median(worked):.1%} ({max(worked):.1%})"
        print(f"| {words} | {cells[0]} | {cells[1]} |")
    return 0


if __name__ == "__main__":
    sys.exit(main())
