"""A card for each bundled drill that is about how the stroke is made."""

from __future__ import annotations

from trainer.coaching.reasons import sources as src
from trainer.coaching.reasons.card import REST, Card, Claim
from trainer.coaching.reasons.figure import FINISH, Pose, arc, face_on, side_on, upright
from trainer.texts import tr

CARDS = (
    Card(
        "hold-then-look",
        "drill",
        tr("Hold, then look"),
        Claim(tr("Let the putter come to rest, and only then turn the head.")),
        (
            Claim(
                tr("Eyes and head that stay through contact and a moment longer are what players are advised to do."),
                (src.VICKERS_2007,),
            ),
            Claim(
                tr(
                    "Feedback comes less and less: what is practised with feedback on half the strokes was "
                    "kept better than with feedback on all."
                ),
                (src.WINSTEIN_1990, src.AOYAGI_2019),
            ),
        ),
        Claim(tr("Slow at first, and a little boring. The stroke ends in quiet.")),
        (
            Claim(tr("Watch the spot where the ball lay until the putter lies still, and a breath more.")),
            Claim(tr("Begin with putts of 1 to 2 m: there the wish to look is strongest.")),
            Claim(tr("Say before you look whether it was short, right or long."), (src.ESTIMATE,)),
        ),
        Claim(tr("Do not stop the arms to hold still; the swing goes to its own end.")),
        Claim(tr("When it is passed in silence on two days. ") + REST),
        (
            face_on(
                tr("first the putter rests"),
                tr("The putter rests, the head stays."),
                Pose(24, gaze="ball"),
                None,
                None,
                (),
                None,
            ),
            face_on(
                tr("then you look"),
                tr("The head turns, the putter still rests."),
                Pose(24, gaze="hole"),
                None,
                None,
                (),
                None,
            ),
        ),
    ),
    Card(
        "hands-carry-on",
        "drill",
        tr("Hands carry on"),
        Claim(tr("Hands and putter head travel on together and come to rest together.")),
        (
            Claim(tr("Better players follow through longer than they go back."), (src.SIM_2010, src.DELAY_1997)),
            Claim(
                tr(
                    "You hear of a stroke only when it is outside your limit; silence means good. Told so, "
                    "learners kept more than when told of all."
                ),
                (src.CRUZ_2018,),
            ),
        ),
        Claim(tr("As if the hands carried the putter past the ball to a shelf and left it there.")),
        (
            Claim(tr("Lay the ball away and swing past its place until both feel like one piece.")),
            Claim(tr("Rest the trail hand on the grip with open fingers.")),
            Claim(tr("Finish with the grip pointing where it pointed at address: at the middle of your body.")),
        ),
        Claim(tr("Do not lock the wrists. The hands keep moving; they are not to be still.")),
        Claim(tr("When it is passed in silence on two days. ") + REST),
        (
            face_on(
                tr("hands and putter together"),
                tr("Arms and shaft make one line from the neck to the putter head, past the ball."),
                FINISH,
                Pose(ink="ghost"),
                None,
                (arc((0.5, 0.70), 0.24, 2, 22), arc((0.5, 0.70), 0.56, 2, 22)),
                None,
            ),
        ),
    ),
    Card(
        "hands-through",
        "drill",
        tr("Hands through"),
        Claim(tr("The hands go through as far as they went back, whatever the length of the stroke.")),
        (
            Claim(tr("Better players have longer follow-throughs than others."), (src.DELAY_1997, src.SIM_2010)),
            Claim(tr("A place to reach is easier to follow than an order not to stop. Your own backstroke sets it.")),
        ),
        Claim(tr("As if you handed the putter to someone standing on your lead side.")),
        (
            Claim(
                tr(
                    "Putt 2 to 5 m. Past the lead leg is for putts of some 15 m; on shorter ones hands need "
                    "not get there."
                )
            ),
            Claim(tr("See where the hands are at the top, and bring them as far past the ball.")),
            Claim(tr("Let the lead shoulder go up: that carries the hands.")),
        ),
        Claim(tr("Do not slide hips or head toward the hole to get the hands there.")),
        Claim(tr("When the hands go on by themselves; then putts of every length. ") + REST),
        (
            face_on(
                tr("as far through as back, then hold"),
                tr("The hands are as far past the ball as a faint figure's were behind it."),
                Pose(arm_deg=20),
                Pose(arm_deg=-20, ink="ghost"),
                None,
                (arc((0.5, 0.70), 0.40, -18, 18),),
                None,
            ),
        ),
    ),
    Card(
        "unhurried-backstroke",
        "drill",
        tr("Unhurried backstroke"),
        Claim(
            tr(
                "One tone hums, rises through the backstroke and falls to the ball, at your own pace "
                "once that is known: the backstroke takes its time."
            )
        ),
        (
            Claim(
                tr(
                    "Among 149 players the better ones differed in how long back and forward stroke take, "
                    "not in speed at the ball."
                ),
                (src.WU_2020,),
            ),
            Claim(tr("With a sound to go by, novices' timing varied less."), (src.OBRIEN_2020,)),
            Claim(tr("How each player scales a stroke is his own and stays so for months."), (src.MATHERS_2014,)),
        ),
        Claim(tr("As if there were more time at the top than you need.")),
        (
            Claim(tr("Breathe out while the putter goes back.")),
            Claim(tr("Hum the rhythm and make the stroke to it.")),
            Claim(tr("Take it back with shoulders and arms in one piece.")),
        ),
        Claim(tr("Do not slow the forward stroke; it gathers speed by itself.")),
        Claim(tr("When the pace is yours without the tone; then leave the sound off. ") + REST),
        (
            face_on(
                tr("back, in your own time"),
                tr("The putter is at the top of an unhurried backstroke."),
                Pose(arm_deg=-20),
                Pose(ink="ghost"),
                None,
                (arc((0.5, 0.70), 0.56, -2, -18),),
            ),
        ),
    ),
    Card(
        "still-head",
        "drill",
        tr("Still head"),
        Claim(tr("The head stays over its place until the putter rests.")),
        (
            Claim(
                tr(
                    "Less skilled players' heads go along with the putter, experts' against it; both move "
                    "about as much."
                ),
                (src.LEE_2008,),
            ),
            Claim(tr("Looking closely at the ball loosened head from putter."), (src.GONZALEZ_2012,)),
        ),
        Claim(tr("As if the stroke happened under you while you watch it.")),
        (
            Claim(tr("Choose a dimple or a letter on the ball and keep it sharp.")),
            Claim(tr("Feel both feet equally before you start.")),
            Claim(tr("Let the shoulders rock under the head.")),
        ),
        Claim(tr("Do not stiffen the neck: a head held by force moves the whole body.")),
        Claim(tr("When it is passed in silence on two days. ") + REST),
        (
            face_on(
                tr("shoulders rock under it"),
                tr("The head is on a dashed upright line while shoulders and putter swing."),
                Pose(arm_deg=20),
                Pose(arm_deg=-18, ink="ghost"),
                None,
                (upright(0.5, 0.70, 0.94),),
                None,
            ),
        ),
    ),
    Card(
        "posture-hold",
        "drill",
        tr("Posture hold"),
        Claim(tr("Stay bent as at address, count two, then rise.")),
        (
            Claim(tr("Arms hang from the back; where it stays, they return to the ball.")),
            Claim(tr("Counting gives the look something to wait for.")),
        ),
        Claim(tr("As if the stroke were over long before you rise.")),
        (
            Claim(tr("Bend from the hips, only as far as is easy.")),
            Claim(tr("Count one-and-two aloud at the finish.")),
            Claim(tr("Feel the seat as far back at the finish as at address.")),
        ),
        Claim(tr("Do not bend deeper for the drill; if the back tires, stand up between strokes.")),
        Claim(tr("When it is passed in silence on two days. ") + REST),
        (side_on(tr("one, and two, then rise"), tr("Seen from behind the line: the tilt is kept."), 38, None, None),),
    ),
)
