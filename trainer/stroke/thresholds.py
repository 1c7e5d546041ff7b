"""Thresholds of the live tracker and the definitions of its events, each beside its reason."""

from __future__ import annotations

LOST_S = 0.6  # nobody seen for this long: away
HANDS_CARRY_S = 0.12  # the putter unseen for longer than this (s): its place goes on by the hands' motion
PUTTER_PER_HANDS = 2.3  # the putter head goes about so much farther than the hands (grip and shaft as one pendulum)
STILL_S = 0.30  # the putter head stays within STILL_CM for this long: address
STILL_CM = 0.8
# Who waggles and goes never is that long at rest; right behind a ball this much is an address too. Waggles turn farther off.
PAUSE_S = 0.13
BEHIND_BALL_CM = 6.0
BACK_SHARE = 0.1  # of the way back: a putter that pauses so near its address place has been brought back to it
# Still this long behind the address place: a new address, not a long dwell at the top (0.15 s; 0.44 s for a tap-in within
# half a centimetre).
RESTART_STILL_S = 0.55
LONGEST_DWELL_S = 1.0  # the same where a ball waits before it: some pause at the top
RESTART_STILL_CM = 0.5
JUMP_CM = 5.0  # at address from one frame to the next: the putter head's place was found anew, it did not move
JUMP_S = 0.1
RESTLESS_S = 1.0  # not still for this long: no address any more
AROUND_S = 0.12  # places of the body are medians over this much before and after
# The hips move more than this, and more than CARRIED_SHARE of the putter's way: the player sways or walks.
CARRIED_CM = 1.0
CARRIED_SHARE = 0.5
TAKEAWAY_CM = 0.5  # takeaway: the putter head this far from its address place, going on back
FORWARD_OFF_CM = 2.0  # the putter has been moved forward from its address place by this: no address any more
BACKSTROKE_CM = 1.5  # less is a twitch
TURN_CM = 0.5  # coming forward again by this much, or TURN_SHARE of the way back: the top is past
TURN_SHARE = 0.12
MIN_BACK_S = 0.19  # takeaway to top; half a waggle's cycle is shorter
MIN_TO_IMPACT_S = 0.32
MAX_BACK_S = 3.0
MAX_FORWARD_S = 1.6  # top to impact; a very slow stroke takes 0.9
THROUGH_CM = 1.0  # the putter head goes on past the address place by this, or THROUGH_SHARE of the way back: a stroke
THROUGH_SHARE = 0.2
THROUGH_S = 0.6
SETTLE_CM_S = 5.0  # settle: after the finish the putter head slower than this for SETTLE_S
# Where the hands stand in: they go about 0.4 of the putter head's way; less would be the landmarks' noise.
HANDS_SETTLE_CM_S = 3.0
SETTLE_S = 0.12
NEVER_SETTLES_S = 4.0  # after impact
AFTERMATH_S = 0.6  # kept after the last event
HELD_OUT_CM = 3.0  # nearer than this to where the last stroke came to rest, the putter is still held out
MAX_HOLD_S = 6.0  # a hold longer than this is not waited for
MOVED_OFF_CM = 6.0  # the settled putter is taken up again
MOVED_OFF_S = 0.15
MIN_HOLD_S = 0.4  # so soon after settling it is recoil, not taken up again
# A putter that has come back by this within MIN_HOLD_S recoils, and is followed for RECOIL_S; one that sets off later is
# brought back on purpose.
RECOIL_BEGUN_CM = 0.6
RECOIL_S = 0.8
KEPT_BEFORE_S = 1.6  # kept before takeaway
ADDRESS_S = (0.6, 0.1)  # the stretch before takeaway that counts as address for turn, hinge and head place
LOOK_DEG = 12.0
LOOK_STAYS_S = 0.1
