"""The job of the week in one sentence, why, and which drill serves it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.coaching.progress.compare import ByFeedback
from trainer.coaching.progress.facts import StrokeFacts, with_fault, without_fault
from trainer.domain.verdict import FAULT_NAMES, FaultName

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


_JOBS = {
    "early_look": ("Wait for the putter: look only after it has come to rest.", "hold-then-look"),
    "short_hold": ("Hold a little longer before you look.", "hold-then-look"),
    "hand_stall": ("Keep the hands going until the putter head stops.", "hands-carry-on"),
    "recoil": ("Let the putter rest where it finishes; do not pull it back.", "hands-carry-on"),
    "sway": ("Look closely at the ball's spot; let the putter go without the head.", "still-head"),
    "lift": ("Stay down until the putter is still.", "posture-hold"),
    "posture_change": ("Keep the back as it was at address until you look.", "posture-hold"),
}
FAULT_PHRASES = {
    "early_look": "the look came early",
    "short_hold": "the hold was short",
    "hand_stall": "the hands stopped",
    "recoil": "the putter came back",
    "sway": "the head went along with the putter",
    "lift": "the head rose",
    "posture_change": "the back did not keep its tilt",
}


def job(strokes: Sequence[StrokeFacts], feedback: ByFeedback) -> Job:
    """From the last 50 ball strokes: the commonest fault; else doing it without feedback; else going on."""
    recent = [s for s in strokes if s.kind == "ball"][-RECENT:]
    if len(recent) < MIN_STROKES:
        return Job(
            "Make a few more strokes; then there is something to say.",
            f"{len(recent)} ball strokes so far, {MIN_STROKES} are needed.",
            None,
        )
    numbers = {name: found for name in FAULT_NAMES if (found := with_fault(recent, name)) is not None}
    if not numbers:
        return Job("Set up the camera so that more is seen.", "No fault could be judged in the last strokes.", None)
    worst: FaultName = max(numbers, key=lambda name: numbers[name].good)
    commonest = numbers[worst]
    if commonest.value >= MIN_PROPORTION:
        sentence, drill = _JOBS[worst]
        last = f"{commonest.good} of the last {commonest.total} ball strokes"
        why = f"In {last} {FAULT_PHRASES[worst]}: {commonest.words()}."
        return Job(sentence, why, drill, worst)
    given, withheld = feedback.with_feedback, feedback.without_feedback
    if feedback.difference is not None and feedback.difference.low > 0 and given and withheld:
        why = f"Without fault: {given.words()} with feedback, {withheld.words()} without."
        return Job("Make it yours: practise without feedback.", why, "silent-test")
    good = without_fault(recent)
    why = (
        f"Without fault lately: {good.words()}."
        if good is not None
        else "No stroke lately could be judged of all of them."
    )
    return Job("Keep it up, and try longer strokes.", why, "ladder")
