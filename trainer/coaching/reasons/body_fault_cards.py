"""A card for each fault of head and back that moves."""

from __future__ import annotations

from trainer.coaching.reasons import sources as src
from trainer.coaching.reasons.card import REST, Card, Claim
from trainer.coaching.reasons.figure import FINISH, Pose, arrow, face_on, side_on
from trainer.domain.verdict import FaultName
from trainer.texts import tr

BODY_CARDS: dict[FaultName, Card] = {
    "lift": Card(
        "lift",
        "fault",
        tr("The head rose"),
        Claim(tr("Before the putter came to rest the head came up from where it was at address.")),
        (
            Claim(
                tr(
                    "The shoulders hang from the same spine: when the head rises the putter rises with it "
                    "and meets the ball lower on its face."
                )
            ),
            Claim(tr("Rising is most often the start of the look.")),
        ),
        Claim(tr("As a straightening of knees or back at the ball, as if to see over a fence.")),
        (
            Claim(tr("Feel the chin as far from the chest at the finish as at address.")),
            Claim(tr("Let the lead shoulder go up and the trail one down: rock, do not rise.")),
            Claim(tr("Stay bent until the putter lies still, and a breath more.")),
        ),
        Claim(tr("Do not press the head down or bend further than is easy.")),
        Claim(tr("When it stays inside your limit in strokes without feedback. ") + REST),
        (
            face_on(
                tr("up with the stroke"),
                tr("The head has risen while the putter still moves."),
                Pose(arm_deg=16, head_up=0.08),
                Pose(ink="ghost"),
                False,
                (arrow((0.68, 0.70), (0.68, 0.86)),),
                None,
            ),
            face_on(tr("down until it rests"), tr("The head is as high as at address."), FINISH, None, True, (), None),
        ),
    ),
    "posture_change": Card(
        "posture_change",
        "fault",
        tr("The back did not keep its tilt"),
        Claim(tr("Seen from behind the line: the back straightened between the start of the stroke and the look.")),
        (
            Claim(tr("The arms hang from the back: as it straightens their plane moves, and the putter's with it.")),
            Claim(
                tr("There is no agreed number for the tilt itself; what counts is that yours stays."), (src.NO_NORM,)
            ),
        ),
        Claim(tr("As if the hips slid toward the ball, or the chest lifted.")),
        (
            Claim(tr("Bend from the hips, only as far as is easy, and let the arms hang before you take the grip.")),
            Claim(tr("Stand with the seat against a wall and make strokes without leaving it.")),
            Claim(tr("Keep the buttons of the shirt facing the ball until the putter rests.")),
        ),
        Claim(tr("Do not bend more to be able to keep more; a tilt that is easy is the one that stays.")),
        Claim(tr("When it stays inside your limit in strokes without feedback. ") + REST),
        (
            side_on(tr("the back straightens"), tr("The back is more upright than at address."), 18, 38, False),
            side_on(tr("the tilt stays"), tr("The back is tilted as at address."), 38, None, True),
        ),
    ),
}
