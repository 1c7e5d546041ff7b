"""Where the shaft ends: the sole of the putter along the shaft's line, found at address."""

from __future__ import annotations

from collections import deque
from typing import Any

import cv2
import numpy as np

from trainer.vision.numeric import middle
from trainer.vision.putter.background_model import BackgroundModel
from trainer.vision.putter.shaft_evidence import Stretch, evidence
from trainer.vision.putter.shaft_geometry import XY, Ray, strip

# Where nothing else is said of a number here, no study of it is kept.
EDGE_ROW_PX = 1.5  # px along the shaft, of the rows in which the head's far edge is looked for
LEAST_PEAK = 4.0  # grey levels (rows' means) by which a head stands out at least where its edge is looked for
END_FROM, END_OVER = 0.72, 1.05  # leg lengths down the line: where its end is looked for from, and over how much
END_NEAREST = 0.8  # of the expected length: it does not end before
SMOOTH = np.ones(3) / 3  # rows' values are means over three
LOOKS_KEPT = 25  # at address, whose median is the length
STRANGE, STRANGE_LOOKS = 0.04, 8  # a length that differs by this share, without a ball, is believed after so many looks
GAIN_STEADY = 0.3  # share of the surprise that is followed where the length hardly changes, face-on
# Share of the way back to the length at address that is taken in a frame, face-on: always, and where no edge is found.
BACK_STEADY, BACK_UNSEEN = 0.05, 0.15
RATE_LEFT = 0.6  # of the length's rate, from frame to frame while the edge is not found
# Of the length down the line; BETA is the best for ALPHA (T. R. Benedict and G. W. Bordner, 1962: a^2 / (2 - a)). With 0.5 it
# lagged, and ran 2 px past a putter that stopped and came back, which was taken for a recoil: settle 95 ms late.
ALPHA, BETA = 0.7, 0.38
REACH_STEADY, REACH = 0.05, 0.075  # of the length, to each side
# More where it was not found; a putter that passes the camera changes it by 1.4 a second.
REACH_PER_S, FARTHEST_REACH = 1.0, 0.3
AHEAD_S = 0.06  # for longer its rate says nothing
STEADY = 0.035  # share by which the length may differ from that at address, seen face-on: wrists slip along the grip
# Shares of that at address that it never leaves, whatever the view: what says so is a bad track.
SHORTEST, LONGEST = 0.5, 1.6
END_ABOVE_NOISE = 2.5  # grey levels by which the putter stands out from the noise of the ground at least
END_ABOVE_NOISE_SHARE = 0.25  # of what it stands out on the whole
PLAIN = 2.0  # times as much stands out right before its end
CLEAR_LEVEL = 25.0  # grey levels of a head that stands out well; tape and glints are stronger
END_SHARE = 0.35  # of the head's own level, where its far edge is taken
# Beyond the shaft's end the head still shows: half its length from heel to toe, seen from a little above, in ball
# diameters (measured on rendered clips, face-on and down-the-line).
HEAD_BEYOND_END = 0.65
# The ball's measured centre lies above the height of the shaft's end by this much of its diameter (the end is taken
# 1.2 cm above the ground, in the middle of the head; the fitted centre is a little high because light comes from
# above).
BALL_TO_END = 0.28


class ShaftEndFinder:
    """Where thin things end along the shaft, for a putter at rest over ground not yet seen without it.

    Looks are averaged as pictures, so that the noise of a dark room goes down with their number.
    """

    def __init__(self) -> None:
        self.clear()

    def clear(self) -> None:
        self._strip: Any = None
        self._looks = 0

    def look(self, image: Any, ray: Ray, leg_px: float, line_px: float) -> None:
        """image: (h, w, 3) uint8 in whose coordinates the ray is given."""
        self._kernel = max(5, int(2.4 * line_px) | 1)
        self._first = END_FROM * leg_px
        colours = strip(image, ray, self._first, int(END_OVER * leg_px), 2 * self._kernel).astype(np.float32)
        if self._strip is None or self._strip.shape != colours.shape:
            self._strip, self._looks = colours, 1
            return
        self._looks += 1
        self._strip += (colours - self._strip) / min(self._looks, 10)

    def find(self, expected_px: float, ball_px: float, shortest_px: float = 0.0) -> float | None:
        """Distance along the ray (px) of the shaft's end; None when nothing ends where it could be.

        Of several ends beyond shortest_px the one nearest to expected_px counts.
        """
        if self._strip is None:
            return None
        background = cv2.medianBlur(self._strip.astype(np.uint8), self._kernel).astype(np.float32)
        thin = np.abs(self._strip - background).sum(axis=2) * 0.5
        half = max(2, int(0.25 * ball_px))
        middle = 2 * self._kernel
        core, left, right = (
            np.convolve(thin[:, at - half : at + half + 1].mean(axis=1), SMOOTH, mode="same")
            for at in (middle, half + 1, 2 * middle - half - 1)
        )
        # The ground beside the putter tells how much is noise; the ball may lie on one side.
        noise = float(np.percentile(np.minimum(left, right), 75))
        above = max(END_ABOVE_NOISE, END_ABOVE_NOISE_SHARE * (float(np.percentile(core, 60)) - noise))
        limit = noise + above
        low = core < limit
        best: float | None = None
        gap = max(3, round(0.7 * ball_px))
        for i in np.flatnonzero(low[1:] & ~low[:-1]) + 1:
            if not low[i : i + gap].all() or i + gap > len(low):
                continue
            if core[max(0, i - round(ball_px)) : i].max() < noise + PLAIN * above:
                continue  # a blotch of the ground
            end = self._first + float(i) + 0.5 - HEAD_BEYOND_END * ball_px
            if end < max(shortest_px, END_NEAREST * expected_px):
                continue
            if best is None or abs(end - expected_px) < abs(best - expected_px):
                best = end
        return best


def head_far_edge(
    image: Any, background: BackgroundModel, ray: Ray, expected_px: float, reach_px: float, half: int
) -> float | None:
    """Distance along the ray (px) of the head's far edge against the background without it; None when it does not show.

    expected_px: where it should be; reach_px: how far from there it may be. The head moves across the ray, so this edge
    stays sharp while the head smears. What shows up to the picture's end goes on
    outside of it: then nothing before it is the edge.
    """
    before = max(2.5 * reach_px, 14.0)
    start = expected_px - before
    where = Stretch(ray, start, before + 1.6 * reach_px, half, EDGE_ROW_PX)
    level = evidence(image, background, where, shade=False)
    profile = level.mean(axis=1)
    profile = np.convolve(profile, SMOOTH, mode="same")
    s = start + (np.arange(len(profile)) + 0.5) * EDGE_ROW_PX
    near = (s > expected_px - 1.3 * reach_px) & (s < expected_px + reach_px)
    if not near.any():
        return None
    peak = float(profile[near].max())
    if peak < LEAST_PEAK:
        return None
    limit = END_SHARE * min(peak, CLEAR_LEVEL)
    outside = np.flatnonzero(s > ray.leaves(image.shape[1], image.shape[0]))
    if outside.size and outside[0] > 0 and near[outside[0] - 1] and profile[outside[0] - 1] >= limit:
        return None
    above = np.flatnonzero(near & (profile >= limit))
    ends = above[np.append(np.diff(above) > 1, True)]  # beyond a gap may lie the head's shadow on the ground
    i = int(ends[np.argmin(np.abs(s[ends] - expected_px))])
    if i + 1 >= len(profile) or s[i] > expected_px + reach_px - 1.0 or profile[i + 1] >= limit:
        return None  # it goes on beyond what was looked at
    return float(s[i] + EDGE_ROW_PX * (profile[i] - limit) / (profile[i] - profile[i + 1]))


def end_by_ball(ray: Ray, ball: XY, ball_px: float) -> float | None:
    """Distance along the ray (px) at which it reaches the ground beside the ball; None when the ball lies elsewhere."""
    drop = ray.along[1]
    if drop < 0.5:
        return None
    s = (ball[1] + BALL_TO_END * ball_px - ray.y) / drop
    place = ray.place(s)
    return s if abs(place[0] - ball[0]) < 2.2 * ball_px else None


def best_length(
    by_ball: float | None, by_end: float | None, by_tape: float | None, ball_px: float, face_on: bool
) -> float | None:
    """The best of three ways to the distance (px) of the shaft's end; None without any.

    Face-on the ball tells the ground's height best, to a few mm, unless the putter plainly ends short of it: so it is
    in a rehearsal beside the ball, when the ball lies nearer to the camera than the putter. Down the line the ball
    lies beyond the putter, half hidden, and says little. by_tape: by the advised height of the tape.
    """
    others = [way for way in (by_end, by_tape) if way is not None]
    if by_ball is not None and face_on:
        short = (0.25 if len(others) == 2 else 0.55) * ball_px
        if not others or any(by_ball - way <= short for way in others):
            return by_ball
        return float(np.mean(others))
    if by_end is None or (by_tape is not None and abs(by_end - by_tape) > 0.5 * ball_px):
        return by_tape if by_tape is not None else by_ball
    return by_end


class ShaftLength:
    """Hands to the shaft's end (px): learned at address, then followed by the head's far edge.

    Seen face-on it hardly changes in a stroke; down the line it does, as the putter comes nearer and goes away.
    """

    def __init__(self) -> None:
        self._rest: deque[float] = deque(maxlen=LOOKS_KEPT)
        self._beyond: deque[float] = deque(maxlen=LOOKS_KEPT)
        self._strange = 0
        self.now_px: float | None = None
        self._rate = self._unseen_s = 0.0

    @property
    def learned(self) -> int:
        """How many looks at address there were."""
        return len(self._rest)

    @property
    def edge_beyond_px(self) -> float | None:
        """How far the head's far edge lies beyond the shaft's end; None before it was seen."""
        return middle(self._beyond) if self._beyond else None

    def learn(self, length_px: float, edge_px: float | None, by_ball: bool) -> bool:
        """One look at address: the end's distance and the far edge's; False when it is not believed.

        by_ball: the ball told the length. A look without one that differs from those before is believed when it stays
        so: a ball rolled up to the putter may look like a part of it for a while.
        """
        if self._rest and abs(length_px / middle(self._rest) - 1.0) > STRANGE:
            self._strange += 1
            if not by_ball and self._strange < STRANGE_LOOKS:
                return False
            self._rest.clear()  # another address: the player has moved
            self._beyond.clear()
        self._strange = 0
        self._rest.append(length_px)
        self.now_px, self._rate = middle(self._rest), 0.0
        if edge_px is not None:
            self._beyond.append(edge_px - self.now_px)
        return True

    def expected_px(self, dt_s: float) -> float:
        """dt_s after the last frame; 0 before anything is known."""
        return self._bounded((self.now_px or 0.0) + self._rate * min(dt_s, AHEAD_S))

    def _bounded(self, length_px: float) -> float:
        """Frames that come close upon each other make the rate whatever the noise is."""
        if not self._rest:
            return length_px
        rest = middle(self._rest)
        return min(max(length_px, SHORTEST * rest), LONGEST * rest)

    def reach_px(self, dt_s: float, steady: bool) -> float:
        """How far from where it is expected the far edge is looked for: farther the longer it was not found."""
        more = REACH_PER_S * max(self._unseen_s + dt_s - AHEAD_S, 0.0)
        return (REACH_STEADY if steady else min(REACH + more, FARTHEST_REACH)) * (self.now_px or 0.0)

    def set(self, length_px: float) -> None:
        """The distance is known by the tape."""
        self.now_px, self._rate = length_px, 0.0

    def follow(self, edge_px: float | None, dt_s: float, steady: bool) -> None:
        """One frame of an alpha-beta filter. steady: the view is one in which the length stays near that at address."""
        if self.now_px is None:
            return
        rest, beyond = middle(self._rest), self.edge_beyond_px
        expected = self.expected_px(dt_s)
        if edge_px is None or beyond is None:
            self._unseen_s += dt_s
            self._rate *= RATE_LEFT
            self.now_px = expected + (BACK_UNSEEN * (rest - expected) if steady else 0.0)
        else:
            self._unseen_s = 0.0
            surprise = edge_px - beyond - expected
            self.now_px = self._bounded(expected + (GAIN_STEADY if steady else ALPHA) * surprise)
            self._rate += BETA * surprise / dt_s
        if steady:
            self._rate = 0.0
            self.now_px = min(
                max(self.now_px + BACK_STEADY * (rest - self.now_px), (1 - STEADY) * rest), (1 + STEADY) * rest
            )
