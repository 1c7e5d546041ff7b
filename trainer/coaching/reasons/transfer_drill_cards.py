"""A card for each bundled drill that asks whether the habit stands when something else is asked too."""

from __future__ import annotations

from trainer.coaching.reasons import sources as src
from trainer.coaching.reasons.card import REST, Card, Claim
from trainer.coaching.reasons.figure import Pose, face_on, row

CARDS = (
    Card(
        "one-ball",
        "drill",
        "One ball",
        Claim("One ball, the whole routine, another target each time; nothing is told until the end."),
        (
            Claim(
                "Practice in changing order carried over better in the laboratory, less surely on the field.",
                (src.CZYZ_2024,),
            ),
            Claim("On the course no putt comes twice."),
        ),
        Claim("Slow: most of the time you walk, look and set up."),
        (
            Claim("Go through the routine as if the putt counted."),
            Claim("Step off and begin again when something disturbs you."),
            Claim("Say short, right or long before you look.", (src.ESTIMATE,)),
        ),
        Claim("Do not hurry to the next ball."),
        Claim("When it is passed in silence on two days. " + REST),
        (
            face_on(
                "the same, wherever it goes",
                "The putter rests, the head stays.",
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
        "Count back",
        Claim("You count back aloud by threes from the number shown, and putt as ever."),
        (
            Claim(
                "Attention on how they moved, in mid-stroke, disturbed experts, and helped novices.",
                (src.BEILOCK_2012,),
            ),
            Claim("Counting leaves little attention for it."),
            Claim("What stands while the head is busy is a habit."),
        ),
        Claim("Odd. The stroke happens beside the counting."),
        (
            Claim("Begin to count before you take your address, and do not stop until the putter lies still."),
            Claim("A wrong number does not matter; a pause in counting does."),
            Claim("Begin with 1 m."),
        ),
        Claim("Do not count so fast that you rush."),
        Claim("When it is passed in silence on two days; or at once where it makes you dizzy. " + REST),
        (face_on("97, 94, 91", "The putter rests, the head stays.", Pose(24, gaze="ball"), None, None, (), None),),
    ),
    Card(
        "start-again",
        "drill",
        "Start again",
        Claim("Five held in a row from 1 to 2 m end it; a miss starts again."),
        (
            Claim("On short putts that count the wish to look is strongest."),
            Claim("A consequence that is small is still one: the fifth is not the first."),
        ),
        Claim("Easy at one and two, tight at four."),
        (
            Claim("Breathe out before each one."),
            Claim("Do the same routine at the fifth as at the first."),
            Claim("Watch the spot where the ball lay until the putter lies still, and a breath more."),
        ),
        Claim("Do not go on in anger; twenty strokes are the most."),
        Claim("At five in a row, or after twenty. " + REST),
        (row("five in a row, or again", "Five rings in a row, none of them filled.", "....."),),
    ),
)
