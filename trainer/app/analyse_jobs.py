"""Several clips judged at once, each in a process of its own: the same results in the same order as one after the other."""

from __future__ import annotations

import multiprocessing
import traceback
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any, Callable, Generator, Iterable, Iterator, Sequence, TypeVar

from trainer.errors import TrainerError
from trainer.texts import tr

Result = TypeVar("Result")
Work = Callable[[Path, Any], Any]  # at the top of a module: it is sent to the processes by its name


def in_processes(work: Work, paths: Sequence[Path], settings: Any, jobs: int) -> Generator[tuple[int, Any], None, None]:
    """(place in ``paths``, what ``work`` gave) as each is done. Raises what it raises; the processes end with the iteration."""
    context = multiprocessing.get_context("spawn")  # a fork would copy threads that are under way
    waiting = list(enumerate(paths))[::-1]
    busy: dict[Connection, tuple[BaseProcess, int]] = {}
    started: list[BaseProcess] = []
    try:
        for _ in range(min(jobs, len(paths))):
            ours, theirs = context.Pipe()
            process: BaseProcess = context.Process(target=_serve, args=(theirs, work, settings), daemon=True)
            process.start()
            started.append(process)
            theirs.close()  # its end is then the other's alone, and is seen
            _send_next(ours, waiting, busy, process)
        while busy:
            for ready in wait(list(busy)):
                assert isinstance(ready, Connection)
                worker, place = busy.pop(ready)
                result = _received(ready, paths[place])
                yield place, result
                _send_next(ready, waiting, busy, worker)
    finally:
        for each in started:
            each.terminate()
            each.join()


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


def _send_next(
    to: Connection,
    waiting: list[tuple[int, Path]],
    busy: dict[Connection, tuple[BaseProcess, int]],
    process: BaseProcess,
) -> None:
    if waiting:
        place, path = waiting.pop()
        to.send(path)
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


def _serve(connection: Connection, work: Work, settings: Any) -> None:
    """In the process: one path after the other, until no more come."""
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
