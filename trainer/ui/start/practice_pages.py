"""Practising from the start window: drills, free practice, before play, and what came of it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Callable

from trainer.domain.naming import kind_words
from trainer.domain.printable import printable
from trainer.errors import TrainerError, UsageError
from trainer.texts import join, tr
from trainer.ui.start import texts
from trainer.ui.start.desk import StartDesk
from trainer.ui.start.page import Button, Buttons, Element, Field, Goes, Next, Opens, Page, Table, Words

if TYPE_CHECKING:
    from trainer.app.practice.practice import PracticeOutcome, PracticeRequest

COLUMNS = ("hold_s", "early_by_s")
FIRST_DRILL = "hold-then-look"  # before there is anything on record to go by


def number_in(text: str, label: str) -> float | None:
    """What was typed; None where nothing was. A comma may stand for the point. Raises UsageError."""
    if not text.strip():
        return None
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise UsageError(
            tr("{strip} {no_number}", strip=printable(text.strip()), no_number=texts.NO_NUMBER), label
        ) from None


def practise(desk: StartDesk, request: PracticeRequest, **options: object) -> PracticeOutcome:
    """A run as the command `practice` makes it. options: settings of this run only. Raises what keeps it from beginning."""
    from trainer.app.camera_setup import as_set_up
    from trainer.app.practice.practice import run_practice

    context = desk.own(**options)
    if request.clip is None:
        context = as_set_up(context, desk.reporter)
    return run_practice(context, request, desk.machine())


def drill_request(desk: StartDesk, drill: str | None) -> PracticeRequest:
    """drill: id, None: strokes as they come. Raises SettingsError."""
    from trainer.app.drills import drill_named
    from trainer.app.practice.practice import PracticeRequest

    return PracticeRequest(drill=drill_named(desk.own().base, drill) if drill is not None else None)


def practise_drill(desk: StartDesk, drill: str | None, after: Callable[[], Next] | None = None) -> Next:
    """drill: id, None: strokes as they come. after: where it leads, None: to what came of it."""
    outcome = practise(desk, drill_request(desk, drill))
    told = desk.reporter.take()
    if after is not None and outcome.failure is None:
        return after()
    return result_of(desk, outcome, told, lambda: practise_drill(desk, drill))


def result_of(
    desk: StartDesk, outcome: PracticeOutcome, told: tuple[str, ...], again: Callable[[], Next], who: str | None = None
) -> Next:
    """The page of a run that is over; the failure that ended it is a sentence on it. who: not the one who is chosen."""
    from trainer.app.practice.stroke_words import stroke_line

    failure = outcome.failure
    if failure is not None and not isinstance(failure, TrainerError):
        raise failure
    if not outcome.summary.strokes and failure is not None:
        raise failure
    in_table = {stroke_line(one) for one in outcome.summary.strokes}
    told = tuple(line for line in told if line not in in_table)
    lines = [*told, *outcome.result, *([failure.line()] if isinstance(failure, TrainerError) else [])]
    return Opens(lambda: _result_page(desk, outcome, lines, again, who))


def _result_page(
    desk: StartDesk, outcome: PracticeOutcome, lines: list[str], again: Callable[[], Next], who: str | None
) -> Page:
    from trainer.ui.start.stroke_pages import review_record
    from trainer.ui.start.wrong_name_pages import wrong_name_page

    strokes = outcome.summary.strokes
    body: list[Element] = []
    buttons = [
        Button(texts.HOME, lambda _: Goes("home"), look="large"),
        Button(texts.ONCE_MORE, lambda _: replace_page(again())),
    ]
    session = outcome.session
    if session is not None and who is None:
        buttons.append(Button(texts.SEE, lambda _: review_record(desk)))
        buttons.append(Button(texts.WRONG_NAME, lambda _: Opens(lambda: wrong_name_page(desk, session))))
    body.append(Buttons(tuple(buttons), columns=3))
    body.append(stroke_table(strokes) if strokes else Words(texts.NO_STROKES_MADE))
    body += [Words(line, "soft") for line in lines]
    who = who or (printable(desk.student) if desk.student is not None else texts.PRACTISED)
    return Page(texts.MADE.format(name=who, strokes=texts.strokes(len(strokes))), tuple(body))


def replace_page(step: Next) -> Next:
    """The same step, over this page."""
    return replace(step, over=1) if isinstance(step, Opens) else step


def stroke_table(strokes: Any) -> Table:
    """strokes: each with number, record and verdict."""
    from trainer.app.strokes import measure_cells, uncalled_lines, verdict_words
    from trainer.domain.record import doubt

    rows = []
    for n, one in enumerate(strokes, 1):
        number, verdict = getattr(one, "number", n), one.verdict
        words = verdict_words(verdict.faults, verdict.indeterminate, verdict.too_close)
        if why := doubt(one.record):
            words = join("; ", (words, why))
        rows.append((str(number), kind_words(one.record.kind), *measure_cells(one.record.measures, COLUMNS), words))
    rows += [("", "", "", "", line) for line in uncalled_lines([one.verdict for one in strokes])]
    return Table(texts.HEADS, tuple(rows), right=frozenset({0, 2, 3}))


def drills_page(desk: StartDesk) -> Page:
    """One press begins a drill."""
    from trainer.app.drills import list_drills
    from trainer.app.start.home import home

    found = list_drills(desk.own().base)
    due = home(desk.own(), desk.student).due.drill
    first = due or FIRST_DRILL

    def button(drill: Any) -> Button:
        dose = drill.block.strokes + drill.block.silent_strokes
        note = tr(
            "{instruction}; {dose} {stroke_first}",
            instruction=drill.head.instruction,
            dose=dose,
            stroke_first=texts.STROKE_FIRST,
        )
        chosen = drill.drill_id == due
        return Button(drill.head.name, lambda _: practise_drill(desk, drill.drill_id), note, chosen=chosen)

    drills = sorted(found.drills, key=lambda one: one.drill_id != first)
    faults = tuple(Words(line, "soft") for line in found.faults)
    return Page(texts.DRILLS_TITLE, (Buttons(tuple(map(button, drills)), columns=3), *faults))


def before_play_page(desk: StartDesk) -> Page:
    """With today's green, which may be left empty."""

    def begin(values: Any) -> Next:
        from trainer.app.distance.green import GreenRequest, set_green

        green_speed_ft = number_in(values["green"], texts.GREEN_TODAY)
        if green_speed_ft is not None:
            set_green(desk.own(), GreenRequest(green_speed_ft))
        return run()

    def run() -> Next:
        from trainer.app.practice.practice import PracticeRequest

        outcome = practise(desk, PracticeRequest(before_play=True))
        return result_of(desk, outcome, desk.reporter.take(), run)

    body = (
        Words(texts.BEFORE_PLAY_WORDS),
        Field("green", texts.GREEN_TODAY),
        Buttons((Button(texts.BEGIN, begin, look="large"),), columns=1),
    )
    return Page(texts.BEFORE_PLAY, body)


def demo(desk: StartDesk) -> Next:
    """The bundled clip with everything at work."""
    from trainer.app.practice.practice import demo_context, demo_request, run_practice

    outcome = run_practice(demo_context(desk.own()), demo_request(window=True), desk.machine())
    return result_of(desk, outcome, desk.reporter.take(), lambda: demo(desk), texts.DEMO)
