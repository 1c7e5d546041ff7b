"""What a coach does at the start window: the round, limits, a baseline, export and import, erasing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trainer.coaching.baseline import STROKES
from trainer.domain.printable import printable
from trainer.domain.units import unit_words
from trainer.domain.verdict import fault_words
from trainer.texts import join, tr
from trainer.ui.start import texts
from trainer.ui.start.desk import StartDesk
from trainer.ui.start.file_pages import file_page
from trainer.ui.start.page import Button, Buttons, Element, Field, Goes, Next, Opens, Page, Table, Words
from trainer.ui.start.practice_pages import drill_request, practise, practise_drill

ANNOUNCED_S = 4.0  # the next student's name stands so long
LOOK_S = 0.1  # the window looks at its keys so often


def round_page(desk: StartDesk) -> Page:
    """Who has had how many strokes today; one press, or the number's key, and the next one putts."""
    from trainer.app.start.home import coach_round

    found = coach_round(desk.context(None))

    def row(number: int, line: Any) -> Button:
        def act(_: Any) -> Next:
            desk.choose(line.name)
            return practise_drill(desk, line.due.drill, lambda: Goes("stay"))

        words = tr("{number}  {name}", number=number, name=printable(line.name))
        note = texts.ROUND_NOTE.format(strokes=texts.strokes(line.strokes), what=line.due.what)
        return Button(words, act, note, look="row", chosen=line.name == desk.student)

    by_arms = Button(texts.ROUND_BY_ARMS, lambda _: round_by_arms(desk, [line.name for line in found.lines]))
    rows = tuple(row(number, line) for number, line in enumerate(found.lines, 1))
    return Page(
        texts.ROUND_TITLE,
        (
            Words(texts.ROUND_WORDS, "soft"),
            Buttons(rows, columns=1),
            *((Words(texts.ROUND_ARMS_WORDS, "soft"), Buttons((by_arms,), columns=2)) if len(rows) > 1 else ()),
            *(Words(line, "soft") for line in found.faults),
        ),
    )


def round_by_arms(desk: StartDesk, names: list[str]) -> Next:
    """Everybody once, the one chosen first: both hands up ends a turn and makes way for the next; a key ends the round."""
    from trainer.app.start.home import home

    start = names.index(desk.student) if desk.student in names else 0
    for name in (*names[start:], *names[:start]):
        desk.choose(name)
        due = home(desk.own(), name).due
        if not _announced(desk, printable(name), due.what):
            break
        outcome = practise(desk, drill_request(desk, due.drill))
        desk.reporter.take()
        if outcome.failure is not None:
            raise outcome.failure
        if desk.lent.quit:
            break
    return Goes("stay")


def _announced(desk: StartDesk, name: str, what: str) -> bool:
    """In letters for the green. False: it was ended by hand."""
    from trainer.ui.start.task_window import BigWords

    window = desk.display(BigWords(desk.view.theme))
    begun_s = desk.clock.now()
    while desk.clock.now() - begun_s < ANNOUNCED_S and not window.quit:
        window.show((name, what))
        window.poll()
        desk.clock.sleep(LOOK_S)
    return not window.quit


def limits(desk: StartDesk) -> Next:
    """Limits tried on the strokes on record."""
    from trainer.app.limits import LimitsDesk, LimitsRequest
    from trainer.ui.limits.limits_page import limits_page
    from trainer.ui.limits.limits_state import LimitsState
    from trainer.ui.start.stroke_pages import review_record

    at = LimitsDesk(desk.own(), LimitsRequest(desk.whose()), desk.outside.start)
    state = desk.run(texts.OPENING_STROKES, lambda _: LimitsState(at))

    def plays(of: LimitsState) -> Next:
        return review_record(desk, of.strokes[of.chosen].which) if of.chosen is not None else Goes("stay")

    return Opens(lambda: limits_page(state, plays))


def baseline_page(desk: StartDesk) -> Page:
    """Strokes without a ball, then what they propose."""
    whose = desk.whose()

    def make(_: Any) -> Next:
        from trainer.app.baseline import student_with_id
        from trainer.app.clock import now
        from trainer.app.practice.practice import PracticeRequest

        student_with_id(desk.own(), whose)
        begun = now()
        outcome = practise(desk, PracticeRequest(recorded="rehearsal"), feedback__schedule="silent")
        desk.reporter.take()
        if outcome.failure is not None:
            raise outcome.failure
        return Opens(lambda: proposals_page(desk, begun))

    buttons = (
        Button(texts.BASELINE_MAKE, make, look="large"),
        Button(texts.BASELINE_LAST, lambda _: Opens(lambda: proposals_page(desk, None))),
    )
    words = texts.BASELINE_WORDS.format(count=STROKES)
    return Page(
        tr("{whose}: {lower}", whose=printable(whose), lower=texts.BASELINE.lower()),
        (Words(words), Buttons(buttons, columns=2)),
    )


def proposals_page(desk: StartDesk, since: Any) -> Page:
    """since: of strokes made from then on, None: of all on record."""
    from trainer.app.baseline import EVER, BaselineRequest, baseline

    whose, from_then = desk.whose(), since or EVER
    found = baseline(desk.own(), BaselineRequest(whose, STROKES, from_then))

    def accept(values: Any) -> Next:
        request = BaselineRequest(whose, STROKES, from_then, True, values["who"].strip())
        return Goes("home", texts.LIMITS_SET if baseline(desk.own(), request).accepted else texts.NOTHING_TO_CHANGE)

    rows = []
    for p in found.proposals:
        usual = (
            (tr("{typical:.1f}", typical=p.spread.typical), tr("{sd:.1f}", sd=p.spread.sd)) if p.spread else ("-", "-")
        )
        rows.append(
            (
                fault_words(p.fault),
                *usual,
                tr("{value:g}", value=p.now.value),
                tr("{value:g}", value=p.value),
                unit_words(p.now.unit),
                p.why,
            )
        )
    body: list[Element] = [
        Words(texts.BASELINE_FROM.format(strokes=found.strokes)),
        Table(texts.BASELINE_HEADS, tuple(rows), right=frozenset({1, 2, 3, 4})),
        Words(texts.NOTHING_TO_CHANGE) if not found.changes else Field("who", texts.BY, most=60),
    ]
    if found.changes:
        body.append(Buttons((Button(texts.BASELINE_ACCEPT, accept, look="large"),), columns=1))
    return Page(texts.BASELINE, tuple(body))


def transfer_page(desk: StartDesk) -> Page:
    """Export of whoever is chosen; import of any file."""

    def export(profile_only: bool) -> Any:
        def act(_: Any) -> Next:
            from trainer.app.student_export import ExportRequest, export_student
            from trainer.app.student_words import exported_lines

            context = desk.own()
            request = ExportRequest(desk.whose(), None, profile_only, desk.saving)
            done = desk.run(texts.EXPORTING, lambda _: export_student(context, request))
            return Goes("stay", join("; ", exported_lines(done)))

        return act

    buttons = (
        Button(texts.EXPORT, export(False), look="large"),
        Button(texts.EXPORT_PROFILE, export(True)),
        Button(texts.IMPORT, lambda _: Opens(lambda: import_page(desk))),
    )
    body = (Words(texts.TRANSFER_WORDS), Buttons(buttons, columns=3))
    title = texts.TRANSFER_TITLE.format(name=printable(desk.student)) if desk.student is not None else texts.TRANSFER
    return Page(title, body, on_drop=lambda path: take_in(desk, Path(path)))


def import_page(desk: StartDesk, folder: Path | None = None) -> Page:
    from trainer.app.transfer import SUFFIX

    return file_page(desk, texts.PICK_EXPORT, (SUFFIX,), lambda path: take_in(desk, path), folder)


def take_in(desk: StartDesk, path: Path) -> Next:
    """An export file. Whoever is in it is chosen then."""
    from trainer.app.student_words import imported_lines
    from trainer.app.transfer import ImportRequest, import_student

    context = desk.context(None)
    done = desk.run(texts.IMPORTING, lambda _: import_student(context, ImportRequest(path)))
    desk.choose(done.name)
    return Goes("home", join("; ", imported_lines(done)))


def erase_page(desk: StartDesk) -> Page:
    """The first question, with what is in no export file."""
    from trainer.app.student_words import missing_lines
    from trainer.app.students import student_to_erase, what_is_in_no_export

    context, whose = desk.own(), desk.whose()
    missing = what_is_in_no_export(context, student_to_erase(context, whose))
    name = printable(whose)
    buttons = (
        Button(texts.CANCEL, lambda _: Goes("home"), look="large"),
        Button(texts.EXPORT, lambda _: Opens(lambda: transfer_page(desk))),
        Button(texts.ERASE_FIRST, lambda _: Opens(lambda: erase_surely_page(desk)), look="danger"),
    )
    body = (Words(texts.ERASE_WORDS.format(name=name)), *map(Words, missing_lines(missing)))
    return Page(texts.ERASE_TITLE.format(name=name), (*body, Buttons(buttons, columns=3)))


def erase_surely_page(desk: StartDesk) -> Page:
    """The second one."""
    whose = desk.whose()

    def act(_: Any) -> Next:
        from trainer.app.student_words import erased_lines
        from trainer.app.students import erase_student, student_to_erase

        context = desk.own()
        student = student_to_erase(context, whose)
        gone = erase_student(context, student)
        desk.choose(None)
        return Goes("home", join("; ", erased_lines(student, gone)))

    buttons = (
        Button(texts.CANCEL, lambda _: Goes("home"), look="large"),
        Button(texts.ERASE_NOW, act, look="danger"),
    )
    title = texts.ERASE_SURE.format(name=printable(whose))
    return Page(title, (Words(texts.ERASE_SURE_WORDS), Buttons(buttons, columns=2)))
