"""Work in several processes: in any order done, each result with its place, failures told, nothing left behind."""

from __future__ import annotations

import multiprocessing
import os
from pathlib import Path
from typing import Any, Generator

import pytest

from trainer.app.analyse_jobs import Processes, Work, in_order
from trainer.errors import ClipError, TrainerError

PATHS = tuple(Path(f"{n}.mp4") for n in range(5))


def named(path: Path, settings: Any) -> tuple[str, Any, int]:
    return path.stem, settings, os.getpid()


def failing(path: Path, settings: Any) -> str:
    if path.stem == "2":
        raise ClipError("not a video", str(path), "give another")
    return path.stem


def dying(path: Path, settings: Any) -> str:
    os._exit(9)


def in_processes(work: Work, paths: tuple[Path, ...], settings: Any = None) -> Generator[tuple[int, Any], None, None]:
    """By two."""
    with Processes(2, __name__) as processes:
        yield from processes.done(work, paths, settings)


def test_every_path_once_with_its_place_and_never_here() -> None:
    done = dict(in_processes(named, PATHS, {"hand": "left"}))
    assert {place: result[:2] for place, result in done.items()} == {n: (str(n), {"hand": "left"}) for n in range(5)}
    assert len({result[2] for result in done.values()} | {os.getpid()}) == 3
    assert not multiprocessing.active_children()


def test_a_failure_comes_with_where_it_was() -> None:
    with pytest.raises(ClipError) as caught:
        list(in_processes(failing, PATHS))
    assert caught.value.line() == "2.mp4: not a video; give another"
    assert "in failing" in str(caught.value.__cause__)
    assert not multiprocessing.active_children()


def test_a_process_that_dies_is_told_of() -> None:
    with pytest.raises(TrainerError, match=r"0\.mp4: its process was ended"):
        list(in_processes(dying, PATHS[:1]))


def test_processes_that_get_nothing_to_do_end_too() -> None:
    with Processes(2, __name__) as processes:
        assert list(processes.done(named, (), None)) == []
        assert len(multiprocessing.active_children()) == 2
    assert not multiprocessing.active_children()


def test_given_up_half_way_nothing_goes_on() -> None:
    results = in_processes(named, PATHS)
    next(results)
    results.close()
    assert not multiprocessing.active_children()


def test_results_are_given_in_the_order_of_the_paths_as_soon_as_that_goes() -> None:
    ticks: list[int] = []
    given: list[tuple[str, int]] = []
    done = [(2, "c"), (0, "a"), (1, "b"), (4, "e"), (3, "d")]
    for result in in_order(done, lambda: ticks.append(1)):
        given.append((result, len(ticks)))
    assert given == [("a", 2), ("b", 3), ("c", 3), ("d", 5), ("e", 5)]
