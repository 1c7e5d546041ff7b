"""A card for each fault."""

from __future__ import annotations

from trainer.coaching.reasons import sources as src
from trainer.coaching.reasons.body_fault_cards import BODY_CARDS
from trainer.coaching.reasons.card import REST, Card, Claim
from trainer.coaching.reasons.figure import FINISH, Pose, arc, arrow, face_on, upright
from trainer.domain.verdict import FaultName
from trainer.texts import tr

_HELD = Pose(arm_deg=24, gaze="ball")

FAULT_CARDS: dict[FaultName, Card] = {
    "early_look": Card(
        "early_look",
        "fault",
        tr("You looked before the putter was at rest"),
        Claim(tr("The head turns toward the hole while the putter head is still moving.")),
        (
            Claim(
                tr(
                    "The advice for players is to keep the eyes on the ball's place through contact and a "
                    "moment longer, and to look up only when the ball is some 3 m away."
                ),
                (src.VICKERS_2007,),
            ),
            Claim(
                tr("Good players who trained a long, quiet look at the ball used 1.9 fewer putts a round."),
                (src.VINE_2011,),
            ),
            Claim(
                tr(
                    "It is not settled how much the eyes themselves do: hiding all that could be seen cost "
                    "little in one study. The camera sees the head, not the eyes."
                ),
                (src.HARRIS_2023,),
            ),
        ),
        Claim(tr("You want to know where it goes. The look feels as if it came after the stroke; it comes inside it.")),
        (
            Claim(tr("Keep looking at the spot where the ball lay until the putter lies still, and a breath more.")),
            Claim(tr("Listen for the ball instead of looking for it.")),
            Claim(tr("Make five strokes from 1 to 2 m and say afterwards where the ball went before you look.")),
        ),
        Claim(tr("Do not freeze: shoulders and arms swing on freely; only the head stays.")),
        Claim(tr("When the look waits by itself in strokes without feedback, on another day too. ") + REST),
        (
            face_on(
                tr("the look comes first"),
                tr("The head has turned toward the hole while the putter still swings."),
                Pose(arm_deg=14, gaze="hole"),
                None,
                False,
                (arc((0.5, 0.70), 0.60, 16, 30),),
                None,
            ),
            face_on(
                tr("the putter rests, then look"),
                tr("The putter rests at its finish and the head still faces the ball's place."),
                _HELD,
                None,
                True,
                (),
                None,
            ),
        ),
    ),
    "short_hold": Card(
        "short_hold",
        "fault",
        tr("You held, but not for long"),
        Claim(tr("The putter came to rest first, but the head turned sooner after it than your limit asks.")),
        (
            Claim(
                tr(
                    "A ball putted 4 m on a medium green is 3 m away after about 1.9 s. A hold that lasts "
                    "until then leaves nothing to be seen early."
                ),
                (src.ROLL_MODEL,),
            ),
            Claim(tr("Holding the finish for 1 to 2 s shows whether the stroke was in balance.")),
        ),
        Claim(tr("As if you stood there far too long. One second seems like three.")),
        (
            Claim(tr("Count one-and-two at the finish before you look.")),
            Claim(tr("Breathe out slowly once while the putter rests.")),
            Claim(tr("Look at the putter head at rest first, then at the hole.")),
        ),
        Claim(tr("Do not squeeze the grip to hold still; a hold is quiet, not tight.")),
        Claim(tr("When the hold is long enough without counting, in strokes without feedback. ") + REST),
        (
            face_on(
                tr("up at once"),
                tr("The putter has just come to rest and the head turns already."),
                Pose(arm_deg=24, gaze="hole"),
                None,
                False,
                (),
                None,
            ),
            face_on(
                tr("rest, count, look"),
                tr("The putter rests and the head stays for a count of two."),
                _HELD,
                None,
                True,
                (),
                None,
            ),
        ),
    ),
    "hand_stall": Card(
        "hand_stall",
        "fault",
        tr("The hands stopped and the putter head went on"),
        Claim(
            tr("Soon after the ball the hands slow or stop while the putter head swings past them: the wrists give.")
        ),
        (
            Claim(
                tr("Better players follow through longer, and longer than they go back."),
                (src.SIM_2010, src.DELAY_1997),
            ),
            Claim(tr("A putter head that overtakes the hands turns and rises, so face and loft at the ball change.")),
            Claim(
                tr(
                    "There is no agreed number for how much the wrist may change. Your own limit comes from "
                    "your own quiet strokes."
                ),
                (src.NO_NORM,),
            ),
        ),
        Claim(tr("As a brake or a hit at the ball; the trail hand pushes, the lead wrist folds back.")),
        (
            Claim(tr("Let hands and putter head arrive together: the hands carry on to the end of the stroke.")),
            Claim(tr("Make strokes with the trail hand only resting on the grip.")),
            Claim(tr("Swing through to a finish twice as far past the ball as you think you need.")),
        ),
        Claim(tr("Do not lock the wrists or press the hands ahead of the putter; the grip stays light.")),
        Claim(tr("When the angle stays inside your limit in strokes without feedback. ") + REST),
        (
            face_on(
                tr("hands stop, putter goes on"),
                tr("The hands are level with the ball while the putter head has gone past them."),
                Pose(arm_deg=7, wrist_deg=26),
                None,
                False,
                (arc((0.5 + 0.03, 0.44), 0.36, 14, 33),),
                None,
            ),
            face_on(
                tr("they arrive together"),
                tr("Arms and shaft in one line, hands well past the ball."),
                FINISH,
                None,
                True,
                (),
                None,
            ),
        ),
    ),
    "recoil": Card(
        "recoil",
        "fault",
        tr("The putter came back"),
        Claim(tr("After its finish the putter head is drawn back toward the ball while it should rest.")),
        (
            Claim(
                tr(
                    "A putter that springs back was stopped by effort; what stops it is often at work before "
                    "the ball too."
                )
            ),
            Claim(tr("While it moves there is no finish to hold, and nothing to tell you how the stroke was.")),
        ),
        Claim(tr("As a small snatch after the ball, or as if the putter were on a rubber band.")),
        (
            Claim(tr("Let the putter swing out and rest where it stops by itself.")),
            Claim(tr("Loosen the grip a little and make the follow-through longer.")),
            Claim(tr("Finish with the putter head over a coin laid past the ball, and leave it there.")),
        ),
        Claim(tr("Do not press the putter into the ground to keep it still.")),
        Claim(tr("When it rests by itself in strokes without feedback. ") + REST),
        (
            face_on(
                tr("drawn back"),
                tr("The putter has been out and comes back toward the ball."),
                Pose(arm_deg=13),
                Pose(arm_deg=25, ink="ghost"),
                False,
                (arc((0.5, 0.70), 0.54, 25, 15),),
                None,
            ),
            face_on(tr("left where it stops"), tr("The putter rests where it stopped."), FINISH, None, True, (), None),
        ),
    ),
    "sway": Card(
        "sway",
        "fault",
        tr("The head went along with the putter"),
        Claim(tr("The head's middle moved along the line together with the putter, back or through.")),
        (
            Claim(
                tr(
                    "Experts move the head about as much as others. The difference seen is the direction: "
                    "theirs moves against the putter, that of others with it."
                ),
                (src.LEE_2008,),
            ),
            Claim(
                tr("So how far the head moves is shown as a number, and only going along with the putter is judged.")
            ),
            Claim(tr("Professionals shift their weight less during the stroke than amateurs."), (src.HURRION_2009,)),
        ),
        Claim(tr("As if you went along with the ball, or leaned on the lead foot through the stroke.")),
        (
            Claim(
                tr(
                    "Look closely at one spot on the ball: that loosens the head from the putter in less "
                    "skilled players."
                ),
                (src.GONZALEZ_2012,),
            ),
            Claim(tr("Stand a little wider and feel the weight in both feet before you start.")),
            Claim(tr("Make strokes with the top of the head lightly against a cushion on a wall.")),
        ),
        Claim(tr("Do not hold the breath or stiffen the neck to keep the head still; a little movement is no fault.")),
        Claim(tr("When it stays inside your limit in strokes without feedback. ") + REST),
        (
            face_on(
                tr("head goes with the putter"),
                tr("The head has moved toward the target together with the putter."),
                Pose(arm_deg=20, head_along=0.09),
                Pose(ink="ghost"),
                False,
                (arrow((0.50, 0.88), (0.62, 0.88)),),
                None,
            ),
            face_on(
                tr("head over its place"),
                tr("The putter has swung through under a head that stayed."),
                Pose(arm_deg=20),
                None,
                True,
                (upright(0.5, 0.72, 0.92),),
                None,
            ),
        ),
    ),
    **BODY_CARDS,
}
