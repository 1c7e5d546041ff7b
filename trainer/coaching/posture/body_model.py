"""Shares of the body and what the pose model's points are off by, in body heights. The one place for such numbers.

Shares named "rendered" are means over rendered players of both sexes, five builds and 148 to 200 cm (their skeletons' joint
centres); the table of Drillis and Contini (1966, as in Winter; from memory) is beside them where it has the same share.
Corrections are mean differences of the pose model's points from those joint centres over a set of rendered players made for this
and for nothing else: the same for everybody, and small against the limits they serve.
"""

from __future__ import annotations

from trainer.domain.ball import BALL_CM as BALL_CM

BALL_RADIUS_CM = BALL_CM / 2
USUAL_HEIGHT_CM = (
    170.0  # where neither ball nor profile gives a scale reference; adults are within a tenth of it (common knowledge)
)

# Chain ankle - knee - hip (of the near leg) + hip centre - shoulder centre, as the pose model marks it side-on, over standing
# height: rendered 0.741 +- 1.7 % (true joint centres 0.754 +- 1.0 %; Drillis and Contini 0.491 + 0.288 = 0.779 to the
# shoulder's rim).
CHAIN_PER_HEIGHT = 0.741
# Hip - knee - ankle as marked and seen face-on (the bend of the knees shortens it) over height: rendered 0.454 +- 2.9 % (true
# joint centres, unbent: 0.485 +- 2.4 %, Drillis and Contini 0.491).
FACE_ON_LEG_PER_HEIGHT = 0.454

# How far from the middle of the body along the target line a mark lies at address, in heights: of the near (trail) side
# toward the camera, of the far (lead) side away from it. Rendered joint centres; but where the far side is hidden the model
# marks it on what it sees: the eye on the near side of the head (half a head's width before its middle), the far shoulder
# on the chest, the hands on the near hand's skin (told by how the marks shift as the camera moves off the line).
NEAR_SIDE = {
    "shoulder": 0.100, "hip": 0.062, "knee": 0.088, "ankle": 0.105, "elbow": 0.068, "wrist": 0.041, "eye": 0.045, "ear": 0.042,
}  # fmt: skip
FAR_SIDE = NEAR_SIDE | {"shoulder": 0.043, "wrist": 0.004}

# Down-the-line: what is added to what the marks give, the mean over 60 rendered players; beside it the error left over (one
# standard deviation, largest).
NECK_TOWARD_EARS = 0.5  # the neck's foot lies half way from the shoulders' middle to the ears' (rendered joints: 0.43)
# The near hip's mark is drawn about by folds of the clothes; the far one, which the model can only infer from trunk and legs, is
# the steadier of the two: the spine starts this far from the near to the far mark (0.5 left over 2.0 deg, 4.6 largest).
HIPS_TOWARD_FAR = 0.75
SPINE_TILT_OFF_DEG = -1.2  # the hips are marked at the fold of the bent body, before the joints; 1.8 deg, 3.6
# The eye line needs nothing added: 1.1 cm, 2.8.
HANDS_PLUMB_OFF = -0.0094  # heights: the wrists are marked on the hand's side; 1.0 cm, 2.8
KNEE_FLEX_OFF_DEG = 3.2  # 2.5 deg, 4.9, with the next:
KNEE_FLEX_PER_DEG = 0.2  # per degree that the near knee is seen from behind the player rather than from before
ELBOW_OFF_DEG = 6.4  # 6.4 deg, 15: no more than a hint
ELBOW_PLUMB_OFF = 0.0083  # heights; 1.4 cm, 2.8
HIPS_BACK_OFF = 0.0122  # heights; 1.2 cm, 2.5
