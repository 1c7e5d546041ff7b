"""`strokes`: the most recent strokes as a table, and the table that ends a demo or a practice."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Iterable, Mapping, Sequence

from rich import box
from rich.console import Console
from rich.table import Table

from trainer.app.context import load_context
from trainer.domain.record import Measure
from trainer.domain.verdict import Fault
from trainer.settings.limits import FAULT_NAMES
from trainer.store.store import StrokeLine

# Measure -> heading and decimals; the columns of a stroke's row.
COLUMNS = {
    "hold_s": ("hold\ns", 2),
    "early_by_s": ("early\ns", 2),
    "head_turn_deg": ("turn\ndeg", 1),
    "hinge_change_deg": ("arm to\nshaft\ndeg", 1),
    "tempo_ratio": ("tempo", 2),
    "back_cm": ("back\ncm", 1),
    "through_cm": ("thru\ncm", 1),
    "recoil_cm": ("recoil\ncm", 1),
}
WIDTH_OF_A_FILE = 132  # where the output is no terminal


def console() -> Console:
    """Where tables are printed."""
    out = Console(highlight=False)
    if not out.is_terminal and "COLUMNS" not in os.environ:
        out = Console(highlight=False, width=WIDTH_OF_A_FILE)
    return out


def run_strokes(data_folder: Path | None, count: int, player: str | None) -> int:
    """Prints the table; an empty record is said in words."""
    context = load_context(data_folder)
    with context.open_store() as store:
        lines = store.recent(count, player)
    out = console()
    if not lines:
        student_key = f" of {player}" if player else ""
        out.print(f"no strokes{student_key} on record yet in {context.folder}", soft_wrap=True)
        return 0
    out.print(table(lines))
    return 0


def table(lines: Sequence[StrokeLine]) -> Table:
    """Strokes of the record, one a row, with when and whose they are."""
    out = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    out.add_column("when", no_wrap=True)
    out.add_column("player", overflow="ellipsis", no_wrap=True, max_width=12)
    out.add_column("from", overflow="ellipsis", no_wrap=True, max_width=16)
    _measure_columns(out)
    for line in lines:
        when = line.kept_at.astimezone().strftime("%y-%m-%d %H:%M")
        who = (when, line.player, line.source)
        out.add_row(*who, str(line.number), line.kind, *values(line.measures), faults(line.faults))
    return out


def stroke_table(rows: Iterable[tuple[str, str, Mapping[str, Measure], Sequence[Fault], Sequence[str]]]) -> Table:
    """rows: number, kind, measures, faults, names of the faults that could not be judged."""
    out = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    _measure_columns(out)
    for number, kind, measures, found, unsure in rows:
        out.add_row(number, kind, *values(measures), faults(found, unsure))
    return out


def unsure_line(strokes: Iterable[Sequence[str]]) -> str | None:
    """strokes: for each the faults that could not be judged. How many strokes have one, and which; None without any."""
    some = [names for names in strokes if names]
    if not some:
        return None
    which = [words(name) for name in FAULT_NAMES if any(name in names for names in some)]
    return f"not sure: {len(some)} stroke{'' if len(some) == 1 else 's'} ({', '.join(which)})"


def _measure_columns(out: Table) -> None:
    out.add_column("no.", justify="right")
    out.add_column("kind", no_wrap=True)
    for heading, _ in COLUMNS.values():
        out.add_column(heading, justify="right", no_wrap=True)
    out.add_column("faults", min_width=10)


def values(measures: Mapping[str, Measure]) -> list[str]:
    """The columns' values; a thing not seen is a dash."""
    shown = []
    for name, (_, decimals) in COLUMNS.items():
        measure = measures.get(name)
        shown.append("-" if measure is None or measure.value is None else f"{measure.value:.{decimals}f}")
    return shown


def faults(found: Sequence[Fault], unsure: Sequence[str] = ()) -> str:
    """Faults in words; none is said too, and what could not be judged is never passed off as none."""
    said = [", ".join(words(fault.name) for fault in found)] if found else []
    if unsure:
        said.append(f"not sure: {', '.join(words(name) for name in unsure)}")
    return "; ".join(said) if said else "none"


def words(name: str) -> str:
    """A fault's name as it is read."""
    return name.replace("_", " ")
