"""Several clips judged at once, each in a process of its own: the same results in the same order as one after the other."""

from __future__ import annotations

import multiprocessing
import sys
import traceback
from contextlib import suppress
from importlib import import_module
from multiprocessing import forkserver
from multiprocessing.connection import Connection, wait
from multiprocessing.context import ForkServerContext, SpawnContext
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any, Callable, Iterable, Iterator, Sequence, TypeVar

from trainer.errors import TrainerError
from trainer.texts import tr

Result = TypeVar("Result")
Work = Callable[[Path, Any], Any]  # at the top of a module: it is sent to the processes by its name


class Processes:
    """They load ``module`` while whoever entered this goes on: ``with`` ends them."""

    def __init__(self, count: int, module: str) -> None:
        self.count, self._module = count, module
        self._idle: list[tuple[Connection, BaseProcess]] = []
        self._started: list[BaseProcess] = []

    def __enter__(self) -> Processes:
        # A plain fork would copy threads that are under way. On Linux one process loads what all need and is forked before it
        # does anything: that takes the time of one, and whoever asks for a fork before that waits for it. macOS's own libraries
        # do not bear it.
        if sys.platform == "linux":
            multiprocessing.set_forkserver_preload([self._module])
            forkserver.ensure_running()
        else:
            self._start(multiprocessing.get_context("spawn"))
        return self

    def _start(self, context: SpawnContext | ForkServerContext) -> None:
        for _ in range(self.count):
            ours, theirs = context.Pipe()
            process: BaseProcess = context.Process(target=_serve, args=(theirs, self._module), daemon=True)
            process.start()
            self._started.append(process)
            theirs.close()  # its end is then the other's alone, and is seen
            self._idle.append((ours, process))

    def __exit__(self, *_: object) -> None:
        for each in self._started:
            each.terminate()
            each.join()

    def done(self, work: Work, paths: Sequence[Path], settings: Any) -> Iterator[tuple[int, Any]]:
        """(place in ``paths``, what ``work`` gave) as each is done; once. Raises what it raises."""
        if not self._started:
            self._start(multiprocessing.get_context("forkserver"))
        waiting = list(enumerate(paths))[::-1]
        busy: dict[Connection, tuple[BaseProcess, int]] = {}
        for ours, process in self._idle:
            _send(ours, (work, settings))
            _send_next(ours, waiting, busy, process)
        while busy:
            for ready in wait(list(busy)):
                assert isinstance(ready, Connection)
                worker, place = busy.pop(ready)
                result = _received(ready, paths[place])
                yield place, result
                _send_next(ready, waiting, busy, worker)


def in_order(done: Iterable[tuple[int, Result]], tick: Callable[[], None] = lambda: None) -> Iterator[Result]:
    """Each result once those of all earlier places were given. tick: called at each that is done."""
    kept: dict[int, Result] = {}
    given = 0
    for place, result in done:
        kept[place] = result
        tick()
        while given in kept:
            yield kept.pop(given)
            given += 1


def _send(to: Connection, what: Any) -> None:
    """To one that was ended from outside too: that is told where its answer is waited for."""
    with suppress(OSError):
        to.send(what)


def _send_next(
    to: Connection,
    waiting: list[tuple[int, Path]],
    busy: dict[Connection, tuple[BaseProcess, int]],
    process: BaseProcess,
) -> None:
    if waiting:
        place, path = waiting.pop()
        _send(to, path)
        busy[to] = (process, place)


def _received(connection: Connection, path: Path) -> Any:
    try:
        result, error, told = connection.recv()
    except (EOFError, ConnectionError):
        raise TrainerError(
            tr("its process was ended from outside"), str(path), tr("is there memory enough? fewer --jobs need less")
        ) from None
    if error is not None:
        raise error from RuntimeError(told)
    return result


def _serve(connection: Connection, module: str) -> None:
    """In the process: what is to be done, then one path after the other, until no more come."""
    try:
        import_module(module)
        work, settings = connection.recv()
    except (EOFError, KeyboardInterrupt):  # Ctrl-C goes to all processes at once: who started this one tells of it
        return
    while True:
        try:
            path = connection.recv()
        except (EOFError, KeyboardInterrupt):
            return
        try:
            answer: tuple[Any, Exception | None, str] = (work(path, settings), None, "")
        except KeyboardInterrupt:
            return
        except Exception as error:
            answer = (None, error, traceback.format_exc())  # a traceback itself cannot be sent
        connection.send(answer)
