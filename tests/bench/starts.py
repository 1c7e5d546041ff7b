"""How soon the trainer is there: the start window to its first page and to practice, at rest, and the command `practice`.

    python -m tests.bench.starts [--rounds 5] [--clip CLIP] [--rest 10] [--out FILE.md]

Each round is a process of its own on a new folder of data, with the real model and the clip in the camera's place. The
window: its first page is drawn, it rests while what practice is made of loads in the background, then Free practice is
pressed. The command: in a window and with a loudspeaker that SDL only plays; the interpreter's own start counts. Cold: before
such a run this interpreter's files, its packages and the trainer are put out of the file cache as far as no other program has
them mapped (of Linux): a machine just switched on is slower still. Beside the time by the clock stands the processor's, of
all threads, which other programs do not make longer. Rounds in turn, medians.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import statistics
import subprocess
import sys
import sysconfig
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

from tests.bench.tables import tell
from tests.support.paths import ROOT
from trainer.processors import usable_processors
from trainer.resources import data_path

HEAD = """
Printed by `python -m tests.bench.starts` on {clip}. Median of {rounds} rounds, the longest in brackets; load {load:.1f}
on {cores} cores.

| what | by the clock | processor |
|---|---|---|"""
ROWS = {
    "page": "from the command to the first page",
    "warm": "then, in the background: code and model loaded after",
    "judged": "from Free practice to the first judged frame",
    "rest": "at rest on the start page, share of a core",
    "command": "from the command `practice` to its first judged frame",
    "cold": "the same with nothing of it in the file cache",
}
FIRST = re.compile(r"the first ([\d.]+) s after the start")
# The command, which first says when it began by the machine's clock, as it counts itself.
CHILD = """
import sys, time
from trainer.app.context import since_start_s
print("began", time.monotonic() - since_start_s(), flush=True)
from trainer.commands.cli import run
sys.exit(run(sys.argv[1:]))
"""
BEGAN = re.compile(r"began ([\d.]+)")


def first_frame_s(clip: Path) -> float:
    """From the start of a process of its own, s."""
    with tempfile.TemporaryDirectory() as data:
        command = [sys.executable, "-c", CHILD, "--data-folder", data, "practice", "--clip", str(clip)]
        started_s = time.monotonic()
        done = subprocess.run(command, capture_output=True, text=True, check=True, env=os.environ | QUIET, cwd=ROOT)
        log = (Path(data) / "log" / "putting-trainer.log").read_text(encoding="utf-8")
    began, first = BEGAN.search(done.stdout), FIRST.search(log)
    if began is None or first is None:
        raise SystemExit(f"practice did not say when its first frame was judged:\n{done.stdout}{done.stderr}")
    return float(began.group(1)) - started_s + float(first.group(1))


def forget_files() -> int:
    """Bytes of files whose pages were put out of the cache."""
    paths = sysconfig.get_paths()
    folders = {Path(paths[name]) for name in ("stdlib", "platstdlib", "purelib", "platlib")} | {ROOT / "trainer"}
    size = 0
    for path in {file for folder in folders for file in folder.rglob("*") if file.is_file()}:
        with path.open("rb") as file:
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
            size += path.stat().st_size
    return size


QUIET = {"SDL_VIDEODRIVER": "dummy", "SDL_AUDIODRIVER": "dummy", "PYTHONPATH": str(ROOT)}
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
        desk._warming.wait(WARM_S)
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


def window_times(clip: Path, rest_s: float) -> dict[str, Moment]:
    """One round of the window in another process; each row's own times."""
    with tempfile.TemporaryDirectory() as folder:
        begun_s = time.monotonic()
        line = [sys.executable, "-m", "tests.bench.starts", "--clip", str(clip), "--rest", str(rest_s), "--in", folder]
        done = subprocess.run(line, check=True, stdout=subprocess.PIPE, env=os.environ | QUIET, cwd=ROOT)
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


def row(name: str, times: list[Moment]) -> str:
    """Of the table."""
    clock, worked = ([one[k] for one in times] for k in (0, 1))
    unit = "" if name == "rest" else " s"
    cells = [f"{statistics.median(x):.2f} ({max(x):.2f}){unit}" if any(x) else "" for x in (clock, worked)]
    if name == "rest":
        cells[1] = f"{statistics.median(worked):.1%} ({max(worked):.1%})"
    return f"| {ROWS[name]} | {cells[0]} | {cells[1]} |"


def main() -> int:
    options = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    options.add_argument("--clip", type=Path, default=data_path("demo", "demo.mp4"))
    options.add_argument("--rounds", type=int, default=5)
    options.add_argument("--rest", type=float, default=10.0, help="Seconds.")
    options.add_argument("--out", type=Path)
    options.add_argument("--in", dest="folder", type=Path, help=argparse.SUPPRESS)
    given = options.parse_args()
    if given.folder is not None:
        print(json.dumps(one_round(given.clip, given.rest, given.folder)))
        return 0
    times: dict[str, list[Moment]] = {name: [] for name in ROWS}
    first_frame_s(given.clip)  # compiles, and warms the cache
    for _ in range(given.rounds):
        for name, time_s in window_times(given.clip, given.rest).items():
            times[name].append(time_s)
        times["command"].append((first_frame_s(given.clip), 0.0))
        forget_files()
        times["cold"].append((first_frame_s(given.clip), 0.0))
    head = HEAD.format(clip=given.clip.name, rounds=given.rounds, load=os.getloadavg()[0], cores=usable_processors())
    tell((head, *(row(name, some) for name, some in times.items())), given.out)
    return 0


if __name__ == "__main__":
    sys.exit(main())
