"""A card for each bundled drill that is about length, the ball and doing it without feedback."""

from __future__ import annotations

from trainer.coaching.reasons import sources as src
from trainer.coaching.reasons.card import REST, Card, Claim
from trainer.coaching.reasons.figure import Path, Pose, arc, arrow, face_on, row
from trainer.texts import tr

_MARKS = (Path(((0.20, 0.08), (0.20, 0.16)), "mark"), Path(((0.36, 0.08), (0.36, 0.16)), "mark"))

CARDS = (
    Card(
        "rehearsal-then-ball",
        "drill",
        tr("Rehearsal, then ball"),
        Claim(tr("One stroke beside the ball, then the same one with it.")),
        (
            Claim(
                tr(
                    "A practice stroke of another size sent the real one off its speed; a matching one was "
                    "the most accurate."
                ),
                (src.REHEARSAL_2020,),
            ),
            Claim(tr("The ball is what changes a stroke; side by side you can tell how.")),
        ),
        Claim(tr("The rehearsal is easy. The ball makes you want to do more.")),
        (
            Claim(tr("Make the rehearsal for this putt, not for any putt: look at the hole while you swing.")),
            Claim(tr("Step in and go within a few seconds, while you still feel it.")),
            Claim(tr("Say what differed before you look at the numbers."), (src.ESTIMATE,)),
        ),
        Claim(tr("Do not rehearse five times; one that fits is enough.")),
        Claim(tr("When ball and rehearsal are within a tenth of each other. ") + REST),
        (
            face_on(tr("beside the ball"), tr("A stroke without a ball."), Pose(arm_deg=20), None, None, (), None),
            face_on(tr("the same with it"), tr("The same stroke with a ball."), Pose(arm_deg=20), None, None, (), 0.88),
        ),
    ),
    Card(
        "ladder",
        "drill",
        tr("Ladder"),
        Claim(tr("A longer backstroke each time, then shorter again, always at the same pace.")),
        (
            Claim(
                tr("Speed at the ball grows with the length of the backstroke when the time stays the same."),
                (src.GROBER_2009,),
            ),
            Claim(tr("Every player keeps to a way of his own of making it longer."), (src.MATHERS_2014,)),
            Claim(tr("Told together after eight strokes, not each time: that was kept better."), (src.SCHMIDT_1989,)),
        ),
        Claim(tr("Short ones feel slow, long ones feel wide; none of them hurried.")),
        (
            Claim(tr("Count the same beat for every length.")),
            Claim(tr("Look at where the putter turns back, then close your eyes and make it again.")),
            Claim(tr("Name the length you made before it is told."), (src.ESTIMATE,)),
        ),
        Claim(tr("Do not hit harder for the long ones; take it back further.")),
        Claim(tr("When most lengths are inside their window without looking. ") + REST),
        (
            face_on(
                tr("further back, same pace"),
                tr("Three lengths of backstroke, each further than the one before."),
                Pose(arm_deg=-24),
                Pose(arm_deg=-14, ink="ghost"),
                None,
                (arc((0.5, 0.70), 0.60, 0, -8), arc((0.5, 0.70), 0.54, 0, -15), arc((0.5, 0.70), 0.48, 0, -24)),
            ),
        ),
    ),
    Card(
        "choose-and-guess",
        "drill",
        tr("Choose and guess"),
        Claim(tr("Nobody tells how far back: you choose, you say where it stopped, and only then you are told.")),
        (
            Claim(tr("Those who guessed their error before they were told learned better."), (src.ESTIMATE,)),
            Claim(tr("On the course nobody stands beside you with a chart; here it comes after you have chosen.")),
        ),
        Claim(tr("Unsure at first. Then the feel of the strike says short or long before the ball does.")),
        (
            Claim(tr("Decide on a length, and keep to it; a doubt in mid-stroke is worse than a wrong choice.")),
            Claim(tr("Say it at once, with a hand up, before you look after the ball.")),
            Claim(tr("Where your guesses lean one way, ask what the strike felt like.")),
        ),
        Claim(tr("Do not copy the chart's length for the next putt: another distance comes.")),
        Claim(tr("After twelve putts, or when you guess without having felt the strike. ") + REST),
        (
            face_on(
                tr("your own length"),
                tr("A player between two marks, none of them the length to take."),
                Pose(arm_deg=-18),
                None,
                None,
                (*_MARKS, arrow((0.55, 0.14), (0.80, 0.14))),
            ),
        ),
    ),
    Card(
        "choose-up-and-down",
        "drill",
        tr("Up and down"),
        Claim(tr("The same distances from below and from above one place: choose, guess, be told.")),
        (
            Claim(tr("The same ball runs much further downhill and much shorter uphill."), (src.ROLL_MODEL,)),
            Claim(tr("Those who guessed their error before they were told learned better."), (src.ESTIMATE,)),
        ),
        Claim(tr("Uphill feels like a longer putt; downhill like hardly a stroke at all.")),
        (
            Claim(tr("Think of a level putt that is longer, or shorter, and make that one.")),
            Claim(tr("Keep the pace: uphill further back, not harder; downhill shorter, not slower.")),
            Claim(tr("Say short, right or long with a hand up before you are told.")),
        ),
        Claim(tr("Do not guide the ball downhill with stopping hands: a shorter stroke is enough.")),
        Claim(tr("After twelve putts. Downhill balls go far: mind who stands below. ") + REST),
        (
            face_on(
                tr("uphill further back"),
                tr("A long backstroke for the putt uphill."),
                Pose(arm_deg=-24),
                Pose(arm_deg=-8, ink="ghost"),
                None,
                (arrow((0.55, 0.10), (0.92, 0.20)),),
            ),
        ),
    ),
    Card(
        "distance-ladder",
        "drill",
        tr("Distance ladder"),
        Claim(tr("Putts to distances in mixed order, each with how far back it needs by your own scale.")),
        (
            Claim(
                tr("Good players miss the length of mixed putts by about a tenth, of one repeated putt by less."),
                (src.KARLSEN_2008,),
            ),
            Claim(
                tr(
                    "Mixed order makes practice harder; that it is kept better is plain in the laboratory "
                    "and small in sport."
                ),
                (src.CZYZ_2024,),
            ),
        ),
        Claim(tr("Every putt is a new one; no groove to fall into.")),
        (
            Claim(tr("Say short, right or long before you are told."), (src.ESTIMATE,)),
            Claim(tr("Make one rehearsal while looking at the target.")),
            Claim(tr("Choose the length yourself first, then look at the mark.")),
        ),
        Claim(tr("Do not chase the last miss: one putt tells little.")),
        Claim(tr("After sixteen putts, or when you no longer look at each target. ") + REST),
        (
            face_on(
                tr("another distance each time"),
                tr("Two marks on the ground behind the ball, for a short and for a long putt."),
                Pose(arm_deg=-16),
                None,
                None,
                (*_MARKS, arrow((0.55, 0.14), (0.92, 0.14))),
            ),
        ),
    ),
    Card(
        "silent-test",
        "drill",
        tr("Silent test"),
        Claim(tr("Fourteen strokes as on the course; nothing is told until the end.")),
        (
            Claim(
                tr("Feedback helps while it is there and hides what was learned; only strokes without it tell."),
                (src.SALMONI_1984, src.FEEDBACK_2021),
            ),
            Claim(tr("What stays shows a day, a week, two weeks later."), (src.AOYAGI_2019,)),
        ),
        Claim(tr("Lonely at first. You have to judge for yourself, as on the course.")),
        (
            Claim(tr("Use the whole routine for each stroke.")),
            Claim(tr("Change the target each time.")),
            Claim(tr("Guess at the end how many were good, then compare."), (src.ESTIMATE,)),
        ),
        Claim(tr("Do not repeat it until the number pleases; one test a day is enough.")),
        Claim(tr("After its strokes; it is passed on two days. ") + REST),
        (
            row(
                tr("fourteen strokes, nothing told"),
                tr("Fourteen rings in three rows, none of them filled."),
                "..............",
            ),
        ),
    ),
)
