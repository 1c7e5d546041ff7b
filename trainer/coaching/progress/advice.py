"""The job of the week in one sentence, why, and which drill serves it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.coaching.progress.compare import ByFeedback
from trainer.coaching.progress.facts import StrokeFacts, with_fault, without_fault
from trainer.domain.verdict import FAULT_NAMES, FaultName
from trainer.texts import tr

RECENT = 50  # ball strokes that advice rests on
MIN_STROKES = 10
MIN_PROPORTION = 0.15  # a fault in fewer strokes than this is no week's job


@dataclass(frozen=True, slots=True)
class Job:
    """sentence: for the student; why: the numbers behind it; drill: id of the drill for it, or None; fault: what it is about,
    None: no single one.
    """

    sentence: str
    why: str
    drill: str | None
    fault: FaultName | None = None


JOBS = {
    "early_look": (tr("Wait for the putter: look only after it has come to rest."), "hold-then-look"),
    "short_hold": (tr("Hold a little longer before you look."), "hold-then-look"),
    "hand_stall": (tr("Keep the hands going until the putter head stops."), "hands-carry-on"),
    "recoil": (tr("Let the putter rest where it finishes; do not pull it back."), "hands-carry-on"),
    "sway": (tr("Look closely at the ball's spot; let the putter go without the head."), "still-head"),
    "lift": (tr("Stay down until the putter is still."), "posture-hold"),
    "posture_change": (tr("Keep the back as it was at address until you look."), "posture-hold"),
}
FAULT_PHRASES = {
    "early_look": tr("the look came early"),
    "short_hold": tr("the hold was short"),
    "hand_stall": tr("the hands stopped"),
    "recoil": tr("the putter came back"),
    "sway": tr("the head went along with the putter"),
    "lift": tr("the head rose"),
    "posture_change": tr("the back did not keep its tilt"),
}


def job(strokes: Sequence[StrokeFacts], feedback: ByFeedback) -> Job:
    """From the last 50 ball strokes: the commonest fault; else doing it without feedback; else going on."""
    recent = [s for s in strokes if s.kind == "ball"][-RECENT:]
    if len(recent) < MIN_STROKES:
        return Job(
            tr("Make a few more strokes; then there is something to say."),
            tr("{number} ball strokes so far, {min_strokes} are needed.", number=len(recent), min_strokes=MIN_STROKES),
            None,
        )
    numbers = {name: found for name in FAULT_NAMES if (found := with_fault(recent, name)) is not None}
    if not numbers:
        return Job(
            tr("Set up the camera so that more is seen."), tr("No fault could be judged in the last strokes."), None
        )
    worst: FaultName = max(numbers, key=lambda name: numbers[name].good)
    commonest = numbers[worst]
    if commonest.value >= MIN_PROPORTION:
        sentence, drill = JOBS[worst]
        last = tr("{good} of the last {total} ball strokes", good=commonest.good, total=commonest.total)
        why = tr(
            "In {last} {fault_phrases}: {words}.",
            last=last,
            fault_phrases=FAULT_PHRASES[worst],
            words=commonest.words(),
        )
        return Job(sentence, why, drill, worst)
    given, withheld = feedback.with_feedback, feedback.without_feedback
    if feedback.difference is not None and feedback.difference.low > 0 and given and withheld:
        why = tr(
            "Without fault: {words} with feedback, {words2} without.", words=given.words(), words2=withheld.words()
        )
        return Job(tr("Make it yours: practise without feedback."), why, "silent-test")
    good = without_fault(recent)
    why = (
        tr("Without fault lately: {words}.", words=good.words())
        if good is not None
        else tr("No stroke lately could be judged of all of them.")
    )
    return Job(tr("Keep it up, and try longer strokes."), why, "ladder")
