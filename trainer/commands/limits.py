"""`panel`: limits on trial against the strokes on record, in a window or as a table; and what was set when, by whom, why."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any, Callable, Mapping, Sequence

from rich import box
from rich.markup import escape
from rich.table import Table

from trainer.app.context import RunContext, load_context, report_line
from trainer.coaching.what_if import WhatIf, differences
from trainer.commands.strokes import console, faults, words
from trainer.commands.students import limit_values, parsed, set_values, student_key, with_id
from trainer.errors import UsageError
from trainer.settings.limits import FAULT_NAMES, Limits
from trainer.settings.load import load
from trainer.settings.model import limit_key
from trainer.store.history import limit_changes
from trainer.store.sessions import sessions
from trainer.store.store import Store
from trainer.store.students import StudentFile, Students, edited, shown
from trainer.store.what_if import WhatIfStroke, strokes_for_what_if

MANY = 1_000_000  # sessions: all of them


def run_panel(
    data_folder: Path | None,
    student: str,
    values: Sequence[str],
    last: str,
    keep: bool,
    who: str,
    why: str,
    history: bool,
    window: bool,
) -> int:
    """The window, or without one the same as a table."""
    context = load_context(data_folder)
    students = Students(context.base)
    person = with_id(students, students.find(student))
    count = None if last == "all" else int(last)
    limits = tried(person, values)
    if history:
        return _history(context, person)
    if keep and not window and not who:
        raise UsageError("say who decides it", "--by", "add --by WHO")
    with context.open_store() as store:
        if window and _window(context, store, person, limits, count):
            return 0
        table(person, limits, strokes_for_what_if(store, student_key(person), count))
    if keep:
        report_line(kept(context, person, limits, who, why))
    return 0


def tried(person: StudentFile, values: Sequence[str]) -> Limits:
    """The student's limits with these KEY=VALUE on trial, checked as a settings file is; ``limits.`` may be left out.

    Raises SettingsError, UsageError.
    """
    if not values:
        return person.settings.limits
    changes = parsed([v if v.startswith("limits.") else f"limits.{v}" for v in values])
    from trainer.settings.load import read_text

    text = edited(person.path.read_text(encoding="utf-8"), changes)
    return load([read_text(text, "the limits on trial")]).limits


def kept(context: RunContext, person: StudentFile, limits: Limits, who: str, why: str) -> str:
    """Writes the limits into the student's file, with who, when and why in the record; a line for the coach."""
    students = Students(context.base)
    person = students.find(person.name)  # as it is now: the file may have been edited meanwhile
    names = differences(person.settings.limits, limits)
    if not names:
        return "the limits are as they were; nothing to save"
    table: Mapping[str, Any] = limit_values(limits)
    changes = {f"limits.{name}.{key}": value for name in names for key, value in table[name].items()}
    set_values(context, students, person, changes, who, why)
    said = []
    for name in names:
        old, new = getattr(person.settings.limits, name), getattr(limits, name)
        if old.value != new.value:
            said.append(f"{words(name)} {old.value:g} to {new.value:g} {new.unit}")
        if old.on != new.on:
            said.append(f"{words(name)} {'on' if new.on else 'off'}")
    return f"saved for {shown(person.name)} by {who}: " + ", ".join(said)


def _window(context: RunContext, store: Store, person: StudentFile, limits: Limits, last: int | None) -> bool:
    """False: there is no display, said once."""
    import pygame

    from trainer.ui.limits.limits_state import Desk
    from trainer.ui.limits.limits_window import open_limits_window

    desk = Desk(
        shown(person.name),
        lambda count: strokes_for_what_if(store, student_key(person), count),
        lambda new, who, why: kept(context, person, new, who, why),
        replayer(context, store, person, _start),
    )
    try:
        open_limits_window(desk, person.settings.limits, limits, last, context.settings.window.theme)
    except pygame.error:
        pygame.display.quit()
        report_line("no display: the same as a table")
        return False
    return True


def replayer(
    context: RunContext, store: Store, person: StudentFile, start: Callable[[list[str]], object]
) -> Callable[[int], str]:
    """Plays a stroke of the record again, by `review` in a window of its own: the panel stays as it is."""

    def play(stroke_id: int) -> str:
        for back, session in enumerate(sessions(store, MANY, student_key(person)), 1):
            for row in session.strokes:
                if row.stroke_id == stroke_id:
                    which = f"{back}/{row.number}"
                    folder = ["--data-folder", str(context.base)] if context.folder == context.base else []
                    start([*folder, "review", "--student", person.name, "--stroke", which])
                    return f"review --stroke {which} opens in a window of its own"
        return "that stroke is not on record any more"

    return play


def _start(arguments: list[str]) -> object:
    return subprocess.Popen([sys.executable, "-m", "trainer", *arguments])


def table(person: StudentFile, limits: Limits, strokes: Sequence[WhatIfStroke]) -> None:
    """What each limit would have called, and which strokes."""
    out, saved = console(), person.settings.limits
    trial = WhatIf([s.record for s in strokes], limits)
    before = WhatIf([s.record for s in strokes], saved)
    grid = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    for heading in ("limit", "on", "value", "unit", "range", "would call", "saved", "calls", "of seen"):
        grid.add_column(heading, justify="left" if heading in ("limit", "on", "unit", "range") else "right")
    for name in FAULT_NAMES:
        limit, old = getattr(limits, name), getattr(saved, name)
        row, then = trial.row(name), before.row(name)
        grid.add_row(
            name,
            "on" if limit.on else "off",
            f"{limit.value:g}",
            limit.unit,
            f"{limit.low:g} to {limit.high:g}",
            str(len(row.called)) if limit.on else "-",
            f"{old.value:g}" if old.on else "off",
            str(len(then.called)) if old.on else "-",
            str(row.judged),
        )
    called = trial.called()
    who = escape(shown(person.name))
    out.print(f"[bold]{who}[/bold]: {len(called)} of {len(strokes)} strokes would be called", soft_wrap=True)
    out.print(grid)
    if not strokes:
        report_line(f"no strokes of {shown(person.name)} yet; `practice --student NAME` makes some")
        return
    lines = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    for heading in ("stroke", "when", "kind", "by these limits", "then, by the limits of then"):
        lines.add_column(heading)
    moved = bool(differences(saved, limits))
    for i in range(len(strokes) - 1, -1, -1):
        stroke = strokes[i]
        if i not in called and not (moved and stroke.then):
            continue
        lines.add_row(
            str(stroke.stroke_id),
            stroke.kept_at.astimezone().strftime("%y-%m-%d %H:%M"),
            stroke.record.kind,
            faults(trial.verdict(i), trial.unsure(i)),
            ", ".join(words(name) for name in stroke.then) or "none",
        )
    if lines.row_count:
        out.print(lines)


def _history(context: RunContext, person: StudentFile) -> int:
    """Every change of the limits: when, who, why, and what it was about."""
    with context.open_store() as store:
        changes = limit_changes(store, person.card.id)
    if not changes:
        report_line(f"the limits of {shown(person.name)} were never changed")
        return 0
    grid = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    for heading in ("when (UTC)", "who", "why", "what"):
        grid.add_column(heading, overflow="fold")
    before: Mapping[str, Any] = {}
    for change in changes:
        first = change.why == "before" and not change.who
        if not first:
            when = change.at[:16].replace("T", " ")
            what = _what(before, change.limits) if before else "all limits"
            grid.add_row(when, escape(change.who or "-"), escape(change.why or "-"), what)
        before = change.limits
    console().print(grid)
    return 0


def _what(before: Mapping[str, Any], after: Mapping[str, Any]) -> str:
    """The differences of two sets of limits as kept, in words."""
    said = []
    defaults = Limits()
    for name in FAULT_NAMES:
        old, new = before.get(name), after.get(name)
        if old == new or not isinstance(new, dict):
            continue
        key = limit_key(getattr(defaults, name))
        was = old.get(key) if isinstance(old, dict) else None
        unit = getattr(defaults, name).unit
        if was != new.get(key):
            said.append(f"{words(name)} {'?' if was is None else f'{was:g}'} to {new.get(key):g} {unit}")
        if isinstance(old, dict) and old.get("on") != new.get("on"):
            said.append(f"{words(name)} {'on' if new.get('on') else 'off'}")
    return ", ".join(said) or "nothing"
