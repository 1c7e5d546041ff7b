"""A student's progress in sentences, for terminal and page alike. Pure."""

from __future__ import annotations

from datetime import date

from trainer.coaching.progress.proportions import Proportion
from trainer.coaching.progress.self_assessment import SelfAssessment
from trainer.coaching.progress.summary import Progress
from trainer.domain.naming import day_words


def sentences(progress: Progress, today: date) -> list[str]:
    """What the numbers say, one line each; claims stay as small as the evidence."""
    feedback = progress.feedback
    given, withheld = _proportion_words(feedback.with_feedback), _proportion_words(feedback.without_feedback)
    out = [f"Without {work_words(progress)} with feedback: {given}. Without feedback: {withheld}."]
    if progress.unjudged:
        count = f"{progress.unjudged} ball stroke{'' if progress.unjudged == 1 else 's'}"
        near = f" ({progress.too_close} of them: the look too close to call)" if progress.too_close else ""
        out.append(f"Could not be judged, and left out above: {count}{near}.")
    if progress.work:
        all_ = _proportion_words(progress.without_fault)
        out.append(f"Without any of the faults that are judged, taken together: {all_}.")
    if progress.early is not None:
        out.append(progress.early.words)
    if feedback.difference is not None:
        d = feedback.difference
        out.append(
            f"With minus without feedback: {100 * d.value:+.0f} points (95 % interval {100 * d.low:+.0f} to {100 * d.high:+.0f})"
            + ("." if d.plain else ": no difference that can be told from chance.")
        )
    if progress.self_assessment is not None:
        out.append(self_assessment_words(progress.self_assessment))
    out += [
        f"With the ball, {c.words}: {c.comparison.difference.value:+.2f} against the rehearsal"
        f" (95 % interval {c.comparison.difference.low:+.2f} to {c.comparison.difference.high:+.2f})."
        for c in progress.compared
        if c.comparison.changes
    ]
    if progress.pairs:
        apart = f"{progress.lengths_apart} of {progress.pairs} ball strokes"
        out.append(f"Over 10 % longer or shorter than the rehearsal before it: {apart}.")
    out.append(change_words(progress, today))
    if progress.curve is not None:
        c = progress.curve
        out.append(
            f"Learning curve: heading for {c.end:+.2f} s after rest; half the way takes {c.half_after:.0f} sessions."
        )
    else:
        out.append(f"No learning curve: {progress.curve_reason}.")
    if progress.due is not None:
        since = day_words(progress.due.due, today)
        out.append(f"Due: a silent test, {progress.due.after_days} days after the last practice (since {since}).")
    else:
        coming = [r for r in progress.reminders if not r.done and r.due > today]
        if coming:
            out.append(f"Next silent test: {day_words(coming[0].due, today)}.")
    return out


def work_words(progress: Progress) -> str:
    """What the scores are of."""
    return " or ".join(name.replace("_", " ") for name in progress.work) or "fault"


def _proportion_words(proportion: Proportion | None) -> str:
    return f"{proportion.words()} of {proportion.total}" if proportion else "no such strokes yet"


def self_assessment_words(found: SelfAssessment) -> str:
    """Whether the player feels what is measured."""
    words = f"How it felt agreed with what was measured: {found.agreed.words()} of {found.agreed.total} strokes."
    for proportion, what in (
        (found.felt_good_was, "felt good, without fault"),
        (found.felt_bad_was, "felt not good, a fault"),
    ):
        if proportion is not None:
            words += f" Of those that {what}: {proportion.good} of {proportion.total}."
    if found.beyond_chance is not None:
        words += f" Beyond chance (kappa): {found.beyond_chance:+.2f}, 0 is guessing, 1 is knowing."
    return words


def change_words(progress: Progress, today: date) -> str:
    """Whether the look comes later or earlier than in the first strokes, if that is real."""
    change = progress.change
    if change is None:
        return f"No chart of change yet: {progress.change_reason}."
    latest = change.latest
    if latest is None:
        return "When the look comes is within the usual ups and downs of the first 20 strokes."
    up, since = latest
    way = "later" if up else "earlier"
    return f"A real change since about {day_words(since, today)}: the look comes {way} than in the first 20 strokes."
