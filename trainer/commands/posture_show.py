"""What `posture` prints and writes: tables, and pictures with every line in them."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Callable, Mapping, Sequence

from rich import box
from rich.table import Table

from trainer.coaching.posture.address import AddressSeen
from trainer.coaching.posture.address_measures import setup
from trainer.coaching.posture.compare import Change
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.ranges import Check, Ranges
from trainer.coaching.posture.words import advice, reading, span, title
from trainer.domain.record import Measure
from trainer.errors import StoreError
from trainer.posture.snapshots import Snapshot
from trainer.ui.posture.compare_view import CompareState, CompareView, Posture, cells
from trainer.ui.posture.posture_view import PostureState, PostureView, judged, main_sign

ONE_SIZE, TWO_SIZE = (1280, 720), (1440, 960)


def check_table(checks: Sequence[Check], reference: Mapping[str, Measure] | None = None) -> Table:
    """A row a measure. reference: the measures of the reference posture, for a column of their own."""
    table = Table(box=box.SIMPLE_HEAD)
    for heading in ("measure", "now", "range", *(("reference",) if reference is not None else ()), "", "what to do"):
        table.add_column(heading, justify="right" if heading in ("now", "range", "reference") else "left")
    for check in checks:
        told = "inside" if check.inside else "OUTSIDE" if check.fault else "at the edge"
        theirs: tuple[str, ...] = ()
        if reference is not None:
            theirs = (reading(check.name, reference[check.name]) if check.name in reference else "-",)
        table.add_row(
            title(check.name),
            reading(check.name, check.measure),
            span(check),
            *theirs,
            told if judged(check) else "not judged",
            str(advice(check) or "") if judged(check) else "",
        )
    return table


def change_table(changes: Sequence[Change]) -> Table:
    """A row a measure: before, after, change, the least change that can be told, and what that means."""
    table = Table(box=box.SIMPLE_HEAD)
    for heading in ("measure", "before", "after", "change", "least told", ""):
        table.add_column(heading, justify="left" if heading in ("measure", "") else "right")
    for change in changes:
        table.add_row(*cells(change))
    return table


def lines_picture(picture: Any, seen: AddressSeen, checks: Sequence[Check], hints: Sequence[Hint], source: str) -> Any:
    """The posture screen as a picture (a pygame surface)."""
    import pygame

    surface = pygame.Surface(ONE_SIZE)
    view = PostureState(picture, seen, checks, main_sign(checks, hints), notes=(source, *map(str, hints)), keys=False)
    PostureView().draw(surface, view)
    return surface


def compare_picture(
    before: Snapshot,
    after: Snapshot,
    called: Callable[[Snapshot], str],
    table: Sequence[Change],
    ranges: Ranges,
) -> Any:
    """Both side by side as a picture (a pygame surface)."""
    import pygame

    surface = pygame.Surface(TWO_SIZE)
    sides = [Posture(called(one), one.image(), one.seen, setup(one.seen, ranges)) for one in (before, after)]
    CompareView().draw(surface, CompareState(sides[0], sides[1], table))
    return surface


def write_picture(surface: Any, path: Path) -> None:
    """As PNG, whatever the name says. Raises StoreError."""
    import cv2
    import numpy as np
    import pygame

    from trainer.store.folder import write_atomically

    pixels = np.ascontiguousarray(pygame.surfarray.array3d(surface).swapaxes(0, 1)[:, :, ::-1])
    ok, data = cv2.imencode(".png", pixels)
    if not ok:
        raise StoreError("cannot be written as PNG", str(path), "choose another place")
    write_atomically(path, data.tobytes())
