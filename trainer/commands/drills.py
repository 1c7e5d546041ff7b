"""`drills`: which there are, and one of them in words."""

from __future__ import annotations

from pathlib import Path

from rich import box
from rich.markup import escape
from rich.table import Table

from trainer.app.context import load_context, warn
from trainer.commands.strokes import console
from trainer.commands.students import drill_folders
from trainer.errors import SettingsError
from trainer.settings.drill_file import Drill, known_drills, load_drill


def run_list(data_folder: Path | None) -> int:
    """A table; drills with faults are told on stderr. Exit code 2 then."""
    folders = drill_folders(load_context(data_folder).base)
    table = Table(box=box.SIMPLE_HEAD)
    for heading in ("drill", "what to do", "strokes", "told", "passed with"):
        table.add_column(heading, overflow="fold")
    bad = 0
    for drill_id in known_drills(folders):
        try:
            drill = load_drill(drill_id, folders)
        except SettingsError as error:
            warn(error.line())
            bad += 1
            continue
        rule, block = drill.rule, drill.block
        table.add_row(
            escape(drill_id),
            escape(drill.head.instruction),
            f"{block.strokes} + {block.silent_strokes} in silence",
            drill.feedback.schedule,
            f"{rule.good} of {rule.of}",
        )
    console().print(table)
    return 2 if bad else 0


def run_show(data_folder: Path | None, drill_id: str) -> int:
    """One drill, line by line."""
    drill = load_drill(drill_id, drill_folders(load_context(data_folder).base))
    out = console()
    for line in words(drill):
        out.print(line, markup=False, soft_wrap=True)
    return 0


def words(drill: Drill) -> list[str]:
    """What the drill asks, in sentences."""
    block, rule = drill.block, drill.rule
    out = [
        f"{drill.head.name}: {drill.head.instruction}.",
        f"{block.strokes} strokes ({block.kind}), then {block.silent_strokes} in silence; told: {drill.feedback.schedule}.",
        f"Shown: {', '.join(drill.head.measures)}. Cue: {drill.head.cue}.",
    ]
    wants = [f"no {fault.replace('_', ' ')}" for fault in rule.faults]
    for goal in drill.goals:
        bounds = [f"at least {goal.at_least:g}"] if goal.at_least is not None else []
        bounds += [f"at most {goal.at_most:g}"] if goal.at_most is not None else []
        wants.append(f"{goal.measure} {' and '.join(bounds)}")
    if drill.ladder.back_cm:
        steps = ", ".join(f"{step:g}" for step in drill.ladder.back_cm)
        wants.append(f"backstroke {steps} cm in turn, within {drill.ladder.within_cm:g} cm")
    if drill.ladder.distances_m:
        far = ", ".join(f"{one:g}" for one in drill.ladder.distances_m)
        slope = f", {drill.ladder.slope_pct:+g} %" if drill.ladder.slope_pct else ""
        how = "at random, none twice running" if drill.ladder.order == "random" else "one after the other, in blocks"
        wants.append(f"a ball that stops in the window about {far} m{slope} ({how})")
    out.append(f"A good stroke: {', '.join(wants) or 'any'}. Passed with {rule.good} of the last {rule.of}.")
    if drill.head.cue == "rhythm":
        out.append(f"Rhythm {drill.rhythm.ratio:g}:1, backstroke {drill.rhythm.backstroke_s:g} s.")
    if drill.head.next:
        out.append(f"Then: {drill.head.next}.")
    return out
