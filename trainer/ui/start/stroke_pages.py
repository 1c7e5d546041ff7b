"""Strokes on record, one of them with its curves, and progress, as pages of the start window."""

from __future__ import annotations

from typing import Any

from trainer.domain.naming import kind_words
from trainer.domain.printable import printable
from trainer.texts import tr
from trainer.ui.start import texts
from trainer.ui.start.desk import StartDesk
from trainer.ui.start.page import LISTED, Button, Buttons, Element, Goes, Next, Opens, Page, Picture, Table, Words


def review_record(desk: StartDesk, stroke: str | None = None, against: Any = None) -> Next:
    """The review's own window on strokes of the record. stroke: as `strokes` numbers it, None: the last session."""
    from trainer.app.review import ReviewRequest
    from trainer.domain.naming import stroke_number

    chosen = stroke_number(stroke) if stroke is not None else None
    return review(desk, ReviewRequest(desk.own(), student=desk.student, stroke=chosen, against=against))


def review(desk: StartDesk, request: Any) -> Next:
    """Comes back to the page it was begun from."""
    from functools import partial

    from trainer.app.review import open_review
    from trainer.ui.review.window import review_in_window

    words = texts.READING_CLIP if request.clips else texts.OPENING_STROKES
    opens = partial(open_review, request, desk.reporter)
    review_in_window(desk.display(), desk.view.theme, words, opens, desk.saving, desk.view.scale)
    desk.reporter.take()
    return Goes("stay")


def strokes_page(desk: StartDesk) -> Page:
    """The newest strokes; a press shows one."""
    from trainer.app.strokes import StrokesRequest, line_words, recent_strokes

    found = recent_strokes(desk.own(), StrokesRequest(LISTED, desk.whose()))
    if not found.strokes:
        return Page(texts.STROKES_TITLE, (Words(texts.NO_STROKES),))

    def row(name: str, which: str, line: Any) -> Button:
        words = tr("{name}, {kind}: {words}", name=name, kind=kind_words(line.kind), words=line_words(line))
        return Button(words, lambda _: Opens(lambda: stroke_page(desk, name, which, line.stroke_id)), look="row")

    top = (
        Button(texts.SEE_LAST, lambda _: review_record(desk)),
        Button(texts.BEST_BESIDE, lambda _: review_record(desk, found.strokes[0][1], "best")),
    )
    return Page(texts.STROKES_TITLE, (Buttons(top), Buttons(tuple(row(*one) for one in found.strokes), columns=1)))


def stroke_page(desk: StartDesk, name: str, which: str, stroke_id: int) -> Page:
    """One stroke: verdict, curves, where the ball went."""
    from trainer.app.start.stroke import stroke_on_record
    from trainer.domain.outcome import WHERE, WHERE_WORDS
    from trainer.feedback.signs import result_sign
    from trainer.ui.limits.limits_drawing import turn_plot
    from trainer.ui.start.charts import putter_travel
    from trainer.ui.start.wrong_name_pages import wrong_name_page

    kept = stroke_on_record(desk.own(), stroke_id)
    sign = result_sign(kept.record, kept.faults, kept.too_close)
    limit_deg = desk.own().settings.limits.early_look.value
    body: list[Element] = [
        Words(tr("{word}: {detail}", word=sign.word, detail=sign.detail) if sign.detail else sign.word, "head"),
        Picture(lambda c, on, box, theme, scale: putter_travel(c, on, box, theme, scale, kept.record), 170),
        Picture(lambda c, on, box, theme, scale: turn_plot(c, on, box, kept.record, limit_deg, theme, scale), 170),
        Buttons(
            (
                Button(texts.SEE_IT, lambda _: review_record(desk, which)),
                Button(texts.SEE_BESIDE_BEST, lambda _: review_record(desk, which, "best")),
                Button(texts.WRONG_NAME, lambda _: Opens(lambda: wrong_name_page(desk, kept.session, stroke_id))),
            )
        ),
    ]
    if kept.record.kind == "ball":
        went = tuple(
            Button(WHERE_WORDS[where], _went(desk, which, where), chosen=where == kept.where) for where in WHERE
        )
        body += [Words(texts.WENT, "soft"), Buttons(went, columns=len(went))]
    return Page(name, tuple(body))


def _went(desk: StartDesk, which: str, where: Any) -> Any:
    def act(_: Any) -> Next:
        from trainer.app.outcome import OutcomeRequest, enter_outcome
        from trainer.domain.naming import stroke_number
        from trainer.domain.outcome import PuttOutcome

        chosen = stroke_number(which)
        return Goes("stay", enter_outcome(desk.own(), OutcomeRequest(desk.whose(), PuttOutcome(where), chosen)))

    return act


def progress_page(desk: StartDesk) -> Page:
    """The numbers as a picture and in sentences."""
    from trainer.app.progress import ProgressRequest, student_progress
    from trainer.ui.start.charts import Sessions, session_chart

    context, whose = desk.own(), desk.whose()
    found = desk.run(texts.READING_RECORD, lambda _: student_progress(context, ProgressRequest(whose)))
    scores = Sessions(
        [(s.day, score) for s in found.progress.sessions if (score := found.progress.score(s)) is not None], found.day
    )
    body: list[Element] = [
        Words(texts.WEEK.format(sentence=found.progress.job.sentence), "head"),
        Words(found.progress.job.why),
        Words(texts.CHART_TITLE.format(work=found.work_words), "soft"),
        Picture(lambda c, on, box, theme, scale: session_chart(c, on, box, theme, scale, scores), 210),
        Buttons((Button(texts.WRITE_PAGE, _write_report(desk)),)),
        *(
            Words(tr("{homework}: {task}; {done}.", homework=texts.HOMEWORK, task=line.task, done=line.done))
            for line in found.homework
        ),
        *(Words(line) for line in found.sentences),
        _session_table(found),
    ]
    return Page(texts.PROGRESS_TITLE.format(name=printable(found.student.name)), tuple(body))


def _session_table(found: Any) -> Table:
    from trainer.domain.naming import moment_words

    rows = []
    for session in reversed(found.progress.sessions):
        share, whole = found.progress.score(session), session.share
        known = (
            ("-", "")
            if share is None
            else (tr("{value:.0%}", value=share.value), tr("{low:.0%} to {high:.0%}", low=share.low, high=share.high))
        )
        beside = str(len(session.ball) - (share.total if share is not None else 0))
        at_all = tr("{value:.0%}", value=whole.value) if whole is not None else "-"
        rows.append((moment_words(session.began, found.day), str(len(session.ball)), *known, beside, at_all))
    heads = tuple(head.format(work=found.work_words) for head in texts.SESSION_HEADS)
    return Table(heads, tuple(rows), right=frozenset({1, 2, 3, 4, 5}))


def _write_report(desk: StartDesk) -> Any:
    def act(_: Any) -> Next:
        from trainer.app.report import ReportRequest, write_report

        context, request = desk.own(), ReportRequest(desk.whose(), folder=desk.saving)
        written = desk.run(texts.WRITE_PAGE, lambda _: write_report(context, request))
        desk.show(written)
        return Goes("stay", texts.WROTE.format(path=written))

    return act
