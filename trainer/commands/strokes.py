"""`strokes`: the most recent strokes as a table, and the table that ends a demo or a practice."""

from __future__ import annotations

from pathlib import Path
from typing import Mapping, Sequence

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
    console.print(table(lines, with_when=True))
    return 0


def table(lines: Sequence[StrokeLine], with_when: bool) -> Table:
    """One row a stroke, newest first as given."""
    out = Table()
    if with_when:
        out.add_column("when", no_wrap=True)
        out.add_column("player")
        out.add_column("from", overflow="ellipsis", max_width=18)
    out.add_column("stroke", justify="right")
    out.add_column("kind")
    for heading in COLUMNS.values():
        out.add_column(heading, justify="right")
    out.add_column("faults", min_width=10)
    for line in lines:
        when = [line.kept_at.astimezone().strftime("%Y-%m-%d %H:%M"), line.player, line.source] if with_when else []
        row = [*when, str(line.number), line.kind, *values(line.measures), faults(line.faults)]
        out.add_row(*row)
    return out


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
