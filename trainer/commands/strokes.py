"""`strokes`: the most recent strokes as a table, and the table that ends a demo or a practice."""

from __future__ import annotations

from pathlib import Path
from typing import Iterable, Mapping, Sequence

from rich.console import Console
from rich.table import Table

from trainer.coaching.verdict import Fault
from trainer.commands.wiring import setup
from trainer.store.store import StrokeLine
from trainer.stroke.record import Measure

# Measure -> heading; the columns of a stroke's row.
COLUMNS = {
    "hold_s": "hold s",
    "early_by_s": "early s",
    "head_turn_deg": "turn deg",
    "hinge_change_deg": "wrists deg",
    "tempo_ratio": "tempo",
    "back_cm": "back cm",
    "through_cm": "through cm",
    "recoil_cm": "recoil cm",
}


def run_strokes(data_folder: Path | None, count: int, player: str | None) -> int:
    """Prints the table; an empty record is said in words."""
    found = setup(data_folder)
    with found.open_store() as store:
        lines = store.recent(count, player)
    console = Console(highlight=False)
    if not lines:
        whose = f" of {player}" if player else ""
        console.print(f"no strokes{whose} on record yet in {found.folder}", soft_wrap=True)
        return 0
    console.print(table(lines))
    return 0


def table(lines: Sequence[StrokeLine]) -> Table:
    """Strokes of the record, one a row, with when and whose they are."""
    out = Table()
    out.add_column("when", no_wrap=True)
    out.add_column("player")
    out.add_column("from", overflow="ellipsis", max_width=18)
    _measure_columns(out)
    for line in lines:
        when = line.kept_at.astimezone().strftime("%Y-%m-%d %H:%M")
        who = (when, line.player, line.source)
        out.add_row(*who, str(line.number), line.kind, *values(line.measures), faults(line.faults))
    return out


def stroke_table(rows: Iterable[tuple[str, str, Mapping[str, Measure], Sequence[Fault]]]) -> Table:
    """rows: number, kind, measures, faults."""
    out = Table()
    _measure_columns(out)
    for number, kind, measures, found in rows:
        out.add_row(number, kind, *values(measures), faults(found))
    return out


def _measure_columns(out: Table) -> None:
    out.add_column("stroke", justify="right")
    out.add_column("kind")
    for heading in COLUMNS.values():
        out.add_column(heading, justify="right")
    out.add_column("faults", min_width=10)


def values(measures: Mapping[str, Measure]) -> list[str]:
    """The columns' values; a thing not seen is a dash."""
    shown = []
    for name in COLUMNS:
        measure = measures.get(name)
        shown.append("-" if measure is None or measure.value is None else f"{measure.value:.2f}")
    return shown


def faults(found: Sequence[Fault]) -> str:
    """Faults in words; none is said too."""
    return ", ".join(fault.name.replace("_", " ") for fault in found) or "none"
