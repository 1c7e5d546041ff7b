"""`progress` and `report`: a student's record worked out once, shown in the terminal or as a page."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import date, datetime, timezone
from pathlib import Path

from rich import box
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from trainer.app.context import RunContext, load_context, report_line
from trainer.coaching.progress.facts import MEASURES, StrokeFacts
from trainer.coaching.progress.self_assessment import SelfAssessment
from trainer.coaching.progress.summary import Progress, progress_of
from trainer.commands.strokes import console
from trainer.commands.students import limit_values, student_key
from trainer.errors import UsageError
from trainer.settings.limits import Limits
from trainer.store.history import judged_anew, practised
from trainer.store.store import Store
from trainer.store.students import StudentFile, Students, replace_file, shown

# A measure less sure than this is not judged; the same figure as in coaching.faults, whose import takes a second.
LEAST_CONFIDENCE = 0.35
BAR = 20


def facts_of(store: Store, student: StudentFile, as_judged: bool) -> list[StrokeFacts]:
    """The student's strokes in local time. Judged by today's limits where others were used, unless ``as_judged``."""
    rows = practised(store, student_key(student), MEASURES, LEAST_CONFIDENCE)
    now = json.dumps(limit_values(student.settings.limits), sort_keys=True)
    old = [] if as_judged else [facts.stroke_id for facts, limits in rows if limits != now]
    anew = judged_anew(store, student.settings.limits, only=old) if old else {}
    out = []
    for facts, _ in rows:
        faults = tuple(f.name for f in anew[facts.stroke_id]) if facts.stroke_id in anew else facts.faults
        out.append(replace(facts, at=facts.at.astimezone(), faults=faults))
    return out


def worked_out(context: RunContext, name: str, as_judged: bool, today: date) -> tuple[StudentFile, Progress]:
    """Raises UsageError when nothing is on record."""
    student = Students(context.base).find(name)
    with context.open_store() as store:
        facts = facts_of(store, student, as_judged)
    if not facts:
        raise UsageError(f"no strokes of {shown(student.name)} yet", "", "`practice --student NAME` makes some")
    limits = student.settings.limits
    return student, progress_of(facts, today, [f.name for f in fields(Limits) if getattr(limits, f.name).on])


def today() -> date:
    """In local time."""
    return datetime.now(timezone.utc).astimezone().date()


def run_progress(data_folder: Path | None, student: str, as_judged: bool) -> int:
    """The picture of progress in the terminal."""
    who, progress = worked_out(load_context(data_folder), student, as_judged, today())
    show(console(), who.name, progress)
    return 0


def show(out: Console, name: str, progress: Progress) -> None:
    """Prints it."""
    ball = progress.share.total if progress.share else 0
    out.print(
        f"[bold]{escape(shown(name))}[/bold]: {len(progress.sessions)} sessions, {ball} ball strokes", soft_wrap=True
    )
    out.print()
    out.print(f"[bold]This week:[/bold] {progress.job.sentence}", soft_wrap=True)
    drill = f" Drill: {progress.job.drill}." if progress.job.drill else ""
    out.print(f"{progress.job.why}{drill}", soft_wrap=True)
    out.print()
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    for heading in ("session", "ball\nstrokes", "without fault", "", "95 %\ninterval", "look after\nrest, s"):
        table.add_column(heading, justify="left" if heading in ("session", "") else "right", no_wrap=True)
    for session in progress.sessions[-12:]:
        share = session.share
        looks = sorted(session.values("look_after_s"))
        look = f"{looks[len(looks) // 2]:+.2f}" if looks else "-"
        if share is None:
            table.add_row(str(session.day), "0", "-", "", "", look)
            continue
        filled = round(BAR * share.value)
        table.add_row(
            str(session.day),
            str(share.total),
            f"{share.value:.0%}",
            "█" * filled + "·" * (BAR - filled),
            f"{100 * share.low:.0f}-{100 * share.high:.0f} %",
            look,
        )
    if len(progress.sessions) > 12:
        out.print(f"the last 12 of {len(progress.sessions)} sessions:")
    out.print(table)
    for line in sentences(progress):
        out.print(line, soft_wrap=True, markup=False)


def sentences(progress: Progress) -> list[str]:
    """What the numbers say, one line each; claims stay as small as the evidence."""
    told = progress.told
    out = []
    on = told.told.words() + f" of {told.told.total}" if told.told else "no such strokes yet"
    off = told.untold.words() + f" of {told.untold.total}" if told.untold else "no such strokes yet"
    out.append(f"Without fault when told: {on}. When not told: {off}.")
    if told.difference is not None:
        d = told.difference
        out.append(
            f"Told minus not told: {100 * d.value:+.0f} points (95 % interval {100 * d.low:+.0f} to {100 * d.high:+.0f})"
            + ("." if d.plain else ": no difference that can be told from chance.")
        )
    if progress.feel is not None:
        out.append(feel_words(progress.feel))
    out += [
        f"With the ball, {c.words}: {c.comparison.difference.value:+.2f} against the rehearsal"
        f" (95 % interval {c.comparison.difference.low:+.2f} to {c.comparison.difference.high:+.2f})."
        for c in progress.compared
        if c.comparison.changes
    ]
    if progress.pairs:
        apart = f"{progress.lengths_apart} of {progress.pairs} ball strokes"
        out.append(f"Over 10 % longer or shorter than the rehearsal before it: {apart}.")
    out.append(change_words(progress))
    if progress.curve is not None:
        c = progress.curve
        out.append(
            f"Learning curve: heading for {c.end:+.2f} s after rest; half the way takes {c.half_after:.0f} sessions."
        )
    else:
        out.append(f"No learning curve: {progress.curve_reason}.")
    if progress.due is not None:
        out.append(
            f"Due: a silent test, {progress.due.after_days} days after the last practice (since {progress.due.due})."
        )
    else:
        coming = [r for r in progress.reminders if not r.done and r.due > today()]
        if coming:
            out.append(f"Next silent test: {coming[0].due}.")
    return out


def feel_words(feel: SelfAssessment) -> str:
    """Whether the player feels what is measured."""
    said = f"How it felt agreed with what was measured: {feel.agreed.words()} of {feel.agreed.total} strokes."
    for share, what in (
        (feel.felt_good_was, "felt good, without fault"),
        (feel.felt_bad_was, "felt not good, a fault"),
    ):
        if share is not None:
            said += f" Of those that {what}: {share.good} of {share.total}."
    if feel.beyond_chance is not None:
        said += f" Beyond chance (kappa): {feel.beyond_chance:+.2f}, 0 is guessing, 1 is knowing."
    return said


def change_words(progress: Progress) -> str:
    """Whether the look comes later or earlier than in the first strokes, if that is real."""
    change = progress.change
    if change is None:
        return f"No chart of change yet: {progress.change_reason}."
    latest = change.latest
    if latest is None:
        return "When the look comes is within the usual ups and downs of the first 20 strokes."
    up, since = latest
    return f"A real change since about {since}: the look comes {'later' if up else 'earlier'} than in the first 20 strokes."


def run_report(data_folder: Path | None, student: str, out: Path | None, as_judged: bool) -> int:
    """One self-contained page."""
    from trainer.report.page import page
    from trainer.store.students import file_name

    context = load_context(data_folder)
    day = today()
    who, progress = worked_out(context, student, as_judged, day)
    pictures = _pictures(context, progress)
    text = page(shown(who.name), progress, who.settings.limits, pictures, sentences(progress), day)
    path = out or Path(file_name(who.name, who.card.id or "report").removesuffix(".toml") + f"-{day:%Y%m%d}.html")
    if path.is_dir():
        raise UsageError("is a folder", str(path), "give the page's name too")
    replace_file(path, text.encode("utf-8"))
    report_line(f"wrote {path}")
    return 0


def _pictures(context: RunContext, progress: Progress) -> list[tuple[str, object]]:
    """(what it is, record) of the best and of the typical ball stroke."""
    from trainer.coaching.progress.summary import best_and_typical
    from trainer.errors import StoreError

    out: list[tuple[str, object]] = []
    with context.open_store() as store:
        for words, stroke_id in best_and_typical(progress.strokes):
            try:
                out.append((words, store.stroke(stroke_id).record))
            except StoreError:  # damaged signals: the rest of the page is still good
                continue
    return out
