"""A card for each bundled drill that asks whether the habit stands when something else is asked too."""

from __future__ import annotations

from trainer.coaching.reasons import sources as src
from trainer.coaching.reasons.card import REST, Card, Claim
from trainer.coaching.reasons.figure import Pose, face_on, row
from trainer.texts import tr

CARDS = (
    Card(
        "one-ball",
        "drill",
        tr("One ball"),
        Claim(tr("One ball, the whole routine, another target each time; nothing is told until the end.")),
        (
            Claim(
                tr("Practice in changing order carried over better in the laboratory, less surely on the field."),
                (src.CZYZ_2024,),
            ),
            Claim(tr("On the course no putt comes twice.")),
        ),
        Claim(tr("Slow: most of the time you walk, look and set up.")),
        (
            Claim(tr("Go through the routine as if the putt counted.")),
            Claim(tr("Step off and begin again when something disturbs you.")),
            Claim(tr("Say short, right or long before you look."), (src.ESTIMATE,)),
        ),
        Claim(tr("Do not hurry to the next ball.")),
        Claim(tr("When it is passed in silence on two days. ") + REST),
        (
            face_on(
                tr("the same, wherever it goes"),
                tr("The putter rests, the head stays."),
                Pose(24, gaze="ball"),
                None,
                None,
                (),
                None,
            ),
        ),
    ),
    Card(
        "count-back",
        "drill",
        tr("Count back"),
        Claim(tr("You count back aloud by threes from the number shown, and putt as ever.")),
        (
            Claim(
                tr("Attention on how they moved, in mid-stroke, disturbed experts, and helped novices."),
                (src.BEILOCK_2012,),
            ),
            Claim(tr("Counting leaves little attention for it.")),
            Claim(tr("What stands while the head is busy is a habit.")),
        ),
        Claim(tr("Odd. The stroke happens beside the counting.")),
        (
            Claim(tr("Begin to count before you take your address, and do not stop until the putter lies still.")),
            Claim(tr("A wrong number does not matter; a pause in counting does.")),
            Claim(tr("Begin with 1 m.")),
        ),
        Claim(tr("Do not count so fast that you rush.")),
        Claim(tr("When it is passed in silence on two days; or at once where it makes you dizzy. ") + REST),
        (face_on("97, 94, 91", tr("The putter rests, the head stays."), Pose(24, gaze="ball"), None, None, (), None),),
    ),
    Card(
        "start-again",
        "drill",
        tr("Start again"),
        Claim(tr("Five held in a row from 1 to 2 m end it; a miss starts again.")),
        (
            Claim(tr("On short putts that count the wish to look is strongest.")),
            Claim(tr("A consequence that is small is still one: the fifth is not the first.")),
        ),
        Claim(tr("Easy at one and two, tight at four.")),
        (
            Claim(tr("Breathe out before each one.")),
            Claim(tr("Do the same routine at the fifth as at the first.")),
            Claim(tr("Watch the spot where the ball lay until the putter lies still, and a breath more.")),
        ),
        Claim(tr("Do not go on in anger; twenty strokes are the most.")),
        Claim(tr("At five in a row, or after twenty. ") + REST),
        (row(tr("five in a row, or again"), tr("Five rings in a row, none of them filled."), "....."),),
    ),
)
