"""A student's progress in sentences, for terminal and page alike. Pure."""

from __future__ import annotations

from datetime import date

from trainer.coaching.progress.proportions import Proportion
from trainer.coaching.progress.self_assessment import SelfAssessment
from trainer.coaching.progress.summary import Progress
from trainer.domain.naming import day_words
from trainer.domain.verdict import fault_words
from trainer.texts import join, tr, tr_count

HOLD = {"early_look", "short_hold"}  # faults of the hold


def sentences(progress: Progress, today: date) -> list[str]:
    """What the numbers say, one line each; claims stay as small as the evidence."""
    return [
        *_score_lines(progress),
        *_feedback_lines(progress),
        *_rehearsal_lines(progress),
        change_words(progress, today),
        _curve_line(progress),
        *_due_lines(progress, today),
    ]


def _score_lines(progress: Progress) -> list[str]:
    """The score with and without feedback, and of what strokes it is."""
    feedback = progress.feedback
    given, withheld = _proportion_words(feedback.with_feedback), _proportion_words(feedback.without_feedback)
    out = [
        tr(
            "{score} ({asked}): with feedback {given}; without feedback {withheld}.",
            score=tr("Held") if about_the_hold(progress) else tr("Good"),
            asked=asked_words(progress),
            given=given,
            withheld=withheld,
        )
    ]
    if progress.unjudged:
        count = tr_count("{count} ball stroke", "{count} ball strokes", progress.unjudged)
        near = (
            tr(" ({too_close} of them: the look too close to call)", too_close=progress.too_close)
            if progress.too_close
            else ""
        )
        out.append(tr("Could not be judged, and left out above: {count}{near}.", count=count, near=near))
    if progress.work:
        all_ = _proportion_words(progress.without_fault)
        out.append(tr("No fault at all, of those that are judged: {all}.", all=all_))
    if progress.early is not None:
        out.append(progress.early.words)
    return out


def _feedback_lines(progress: Progress) -> list[str]:
    """What feedback makes of the score, and whether the player feels what is measured."""
    out = []
    d = progress.feedback.difference
    if d is not None:
        out.append(
            tr(
                "With minus without feedback: {value:+.0f} points (95 % interval {low:+.0f} to {high:+.0f})",
                value=100 * d.value,
                low=100 * d.low,
                high=100 * d.high,
            )
            + ("." if d.plain else tr(": no difference that can be told from chance."))
        )
    if progress.self_assessment is not None:
        out.append(self_assessment_words(progress.self_assessment))
    return out


def _rehearsal_lines(progress: Progress) -> list[str]:
    """Ball strokes against the rehearsals before them."""
    out = [
        tr(
            "With the ball, {words}: {value:+.2f} against the rehearsal (95 % interval {low:+.2f} to {high:+.2f}).",
            words=c.words,
            value=c.comparison.difference.value,
            low=c.comparison.difference.low,
            high=c.comparison.difference.high,
        )
        for c in progress.compared
        if c.comparison.changes
    ]
    if progress.pairs:
        apart = tr(
            "{lengths_apart} of {pairs} ball strokes", lengths_apart=progress.lengths_apart, pairs=progress.pairs
        )
        out.append(tr("Over 10 % longer or shorter than the rehearsal before it: {apart}.", apart=apart))
    return out


def _curve_line(progress: Progress) -> str:
    c = progress.curve
    if c is None:
        return tr("No learning curve: {curve_reason}.", curve_reason=progress.curve_reason)
    return tr(
        "Learning curve: heading for {end:+.2f} s after rest; half the way takes {half_after:.0f} sessions.",
        end=c.end,
        half_after=c.half_after,
    )


def _due_lines(progress: Progress, today: date) -> list[str]:
    """The silent test that is due, or else the next one that will be."""
    due = progress.due
    if due is not None:
        return [
            tr(
                "Due: a silent test, {after_days} days after the last practice (since {since}).",
                after_days=due.after_days,
                since=day_words(due.due, today),
            )
        ]
    coming = [r for r in progress.reminders if not r.done and r.due > today]
    return [tr("The next silent test is due on {day_words}.", day_words=day_words(r.due, today)) for r in coming[:1]]


def work_words(progress: Progress) -> str:
    """What the scores are of."""
    return join(tr(" or "), map(fault_words, progress.work)) or tr("fault")


def about_the_hold(progress: Progress) -> bool:
    """What is worked on is the hold and nothing else: a stroke without it is held."""
    return bool(progress.work) and set(progress.work) <= HOLD


def asked_words(progress: Progress) -> str:
    """What a stroke is to be without, as a good one is described."""
    return join(", ", (tr("no {fault}", fault=fault_words(name)) for name in progress.work)) or tr("no fault")


def _proportion_words(proportion: Proportion | None) -> str:
    if proportion is None:
        return tr("none yet")
    return tr_count(
        "{share:.0f} % of {count} stroke ({low:.0f} to {high:.0f} %)",
        "{share:.0f} % of {count} strokes ({low:.0f} to {high:.0f} %)",
        proportion.total,
        share=100 * proportion.value,
        low=100 * proportion.low,
        high=100 * proportion.high,
    )


def self_assessment_words(found: SelfAssessment) -> str:
    """Whether the player feels what is measured."""
    words = tr(
        "How it felt agreed with what was measured: {words} of {total} strokes.",
        words=found.agreed.words(),
        total=found.agreed.total,
    )
    for proportion, what in (
        (found.felt_good_was, tr("felt good, without fault")),
        (found.felt_bad_was, tr("felt not good, a fault")),
    ):
        if proportion is not None:
            words += tr(
                " Of those that {what}: {good} of {total}.", what=what, good=proportion.good, total=proportion.total
            )
    if found.beyond_chance is not None:
        words += tr(
            " Beyond chance (kappa): {beyond_chance:+.2f}, 0 is guessing, 1 is knowing.",
            beyond_chance=found.beyond_chance,
        )
    return words


def change_words(progress: Progress, today: date) -> str:
    """Whether the look comes later or earlier than in the first strokes, if that is real."""
    change = progress.change
    if change is None:
        return tr("No chart of change yet: {change_reason}.", change_reason=progress.change_reason)
    latest = change.latest
    if latest is None:
        return tr("When the look comes is within the usual ups and downs of the first 20 strokes.")
    up, since = latest
    way = tr("later") if up else tr("earlier")
    return tr(
        "A real change since about {day_words}: the look comes {way} than in the first 20 strokes.",
        day_words=day_words(since, today),
        way=way,
    )
