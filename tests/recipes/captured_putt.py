"""The one stroke of a real body: a motion-captured putt drives the figure, so that sway, lag and tremor are a living player's.

Usage, beside the generator's own files: captured_putt.py MOCAP_FOLDER OUT_DIR [--still | --truth]

MOCAP_FOLDER holds putt_a.npz (CMU Graphics Lab Motion Capture Database, subject 64, trial 13; mocap.cs.cmu.edu, created with
funding from NSF EIA-0196217). The figure's own address is the start; on it is put what the player's pelvis, chest, head and
wrists did from there. No putter was captured: arms and putter swing as one unit, the putter turns as the line from the
shoulders' middle to the hands does. The ball is hit where the putter head passes its place at address.
"""

import os
import sys

import numpy as np
from clip import Clip
from putt import Putter, arc, frame, rot, unit
from scenarios import LOW, ORANGE, B
from timeline import Stroke

TO_FIGURE = np.array(
    [[0, 0, -1.0], [-1.0, 0, 0], [0, 1.0, 0]]
)  # captured (y up, target -z, facing +x) -> figure (target +X, facing -Y, Z up)
ADDRESS_S = 0.7  # the player stands still so long
LEAD_IN_S = 0.8  # played backward before: the address is held longer, with the player's own tremor


def share(turn, part):
    """A rotation's part of itself, about its own axis."""
    w = np.array([turn[2, 1] - turn[1, 2], turn[0, 2] - turn[2, 0], turn[1, 0] - turn[0, 1]]) / 2
    size = np.linalg.norm(w)
    return np.eye(3) if size < 1e-9 else rot(w, part * np.arctan2(size, (np.trace(turn) - 1) / 2))


class Captured:
    """What the player did since address, at any time: cubic between the samples."""

    def __init__(self, path):
        data = np.load(path, allow_pickle=True)
        self.t = data["t"]
        names = [str(n) for n in data["names"]]
        still = self.t <= ADDRESS_S
        points = data["positions"] @ TO_FIGURE.T
        self.points = dict(zip(names, np.moveaxis(points - points[still].mean(0), 1, 0)))
        middle = {n: points[:, names.index(n)] for n in ("left_shoulder", "right_shoulder", "hands_mid")}
        arms = middle["hands_mid"] - (middle["left_shoulder"] + middle["right_shoulder"]) / 2
        first = arms[still].mean(0)
        turned = {"arms": np.array([arc(first, a) for a in arms])}
        for part in ("pelvis", "thorax", "head"):
            world = TO_FIGURE @ data[part + "_R"]
            u, _, v = np.linalg.svd(world[still].mean(0))
            turned[part] = world @ (u @ v).T
        self.turned = turned

    def _between(self, rows, t):
        """Cubic (Catmull and Rom's) between samples; before the first they are played backward."""
        t = abs(t - LEAD_IN_S) if t < LEAD_IN_S else t - LEAD_IN_S
        k = int(np.clip(np.searchsorted(self.t, t) - 1, 0, len(self.t) - 2))
        u = np.clip((t - self.t[k]) / (self.t[k + 1] - self.t[k]), 0, 1)
        a, b, c, d = (rows[min(max(k + j, 0), len(rows) - 1)] for j in (-1, 0, 1, 2))
        return b + 0.5 * u * (c - a + u * (2 * a - 5 * b + 4 * c - d + u * (3 * (b - c) + d - a)))

    def moved(self, name, t):
        return self._between(self.points[name], t)

    def turn(self, name, t):
        u, _, v = np.linalg.svd(self._between(self.turned[name], t))
        return u @ v

    @property
    def end_s(self):
        return self.t[-1] + LEAD_IN_S


class CapturedPutter(Putter):
    """The figure's address, moved as the player moved."""

    captured: Captured

    def at(self, t):
        c, b, index = self.captured, self.b, self.b.bi
        still, _ = self._torso()
        turns, places = still.copy(), b.head.copy()
        chest, pelvis, head = c.turn("thorax", t), c.turn("pelvis", t), c.turn("head", t)
        hips = (b.head[index["thigh_l"]] + b.head[index["thigh_r"]]) / 2
        turns[index["pelvis"]] = pelvis @ still[index["pelvis"]]
        places[index["pelvis"]] = (
            self.pelvis + c.moved("pelvis", t) + turns[index["pelvis"]] @ (b.head[index["pelvis"]] - hips)
        )
        for k, bone in enumerate(("spine_01", "spine_02", "spine_03")):
            part = share(chest @ pelvis.T, (k + 1) / 3) @ pelvis
            turns[index[bone]] = part @ still[index[bone]]
        turns[index["neck_01"]] = share(head @ chest.T, 0.4) @ chest @ still[index["neck_01"]]
        turns[index["head"]] = head @ still[index["head"]]
        for side in "lr":
            turns[index["clavicle_" + side]] = chest @ still[index["clavicle_" + side]]
        chain = [
            "spine_01",
            "spine_02",
            "spine_03",
            "neck_01",
            "head",
            "clavicle_l",
            "clavicle_r",
            "upperarm_l",
            "upperarm_r",
            "thigh_l",
            "thigh_r",
        ]
        for bone in chain:
            i = index[bone]
            p = b.parent[i]
            places[i] = places[p] + turns[p] @ (b.head[i] - b.head[p])
        return turns, places

    def captured_pose(self, t):
        c, b, index = self.captured, self.b, self.b.bi
        turns, places = self.at(t)
        swing = c.turn("arms", t)
        hands = c.moved("hands_mid", t)
        low = (hands + swing @ (self.sole - self.grip_mid) + self.grip_mid - self.sole)[2]
        if low < 0:  # what the player's wrists did to keep the putter off the floor was not captured: the hands ride up
            hands = hands - np.array([0, 0, low])

        def club(x):
            return self.grip_mid + hands + swing @ (x - self.grip_mid)

        for side, sign in (("l", 1), ("r", -1)):
            limb = ("thigh_" + side, "calf_" + side, "foot_" + side)
            self._limb(
                turns,
                places,
                limb,
                self.ank[side],
                np.array([sign * 0.15, -1.0, 0]),
                rot([0, 0, 1], sign * np.radians(8)),
            )
            i = index["ball_" + side]
            p = b.parent[i]
            turns[i], places[i] = turns[p], places[p] + turns[p] @ (b.head[i] - b.head[p])
            self._arm(turns, places, side, sign, club, swing)

        def at(height):
            return club(self.sole + self.u * height)

        return {
            "G": turns,
            "P": places,
            "shaft": (at(0.01), at(self.shaft_len)),
            "grip": (at(self.shaft_len - 0.27), at(self.shaft_len)),
            "tape": (at(0.095), at(0.145)),
            "head_pos": club(self.sole),
            "head_rot": swing,
            "ball": self.ball0,
        }

    def _arm(self, turns, places, side, sign, club, swing):
        b, index = self.b, self.b.bi
        d0, n0, ref = self.ref[side]
        hand = swing @ frame(self.d_hand, np.array([-sign, 0, 0.0])) @ ref.T
        limb = ("upperarm_" + side, "lowerarm_" + side, "hand_" + side)
        self._limb(turns, places, limb, club(self.wr0[side]), np.array([sign * 0.55, 0.75, -0.1]), hand)
        i, k = index["lowerarm_" + side], index["hand_" + side]
        turns[i] = (
            rot(unit(places[k] - places[i]), 0.5 * twist(turns[k] @ turns[i].T, unit(places[k] - places[i]))) @ turns[i]
        )
        curl = np.cross(d0, n0)
        for finger in ("index", "middle", "ring", "pinky", "thumb"):
            for knuckle, bend in zip((1, 2, 3), (30, 30, 25) if finger == "thumb" else (38, 62, 45)):
                j = index[f"{finger}_0{knuckle}_{side}"]
                p = b.parent[j]
                turns[j] = turns[p] @ rot(curl, np.radians(bend))
                places[j] = places[p] + turns[p] @ (b.head[j] - b.head[p])


def twist(turn, axis):
    """How far a rotation turns about an axis (rad)."""
    w = np.array([turn[2, 1] - turn[1, 2], turn[0, 2] - turn[2, 0], turn[1, 0] - turn[0, 1]])
    size = np.sqrt(max(1 + np.trace(turn), 1e-9))
    return 2 * np.arctan2((w @ axis) / (2 * size), size / 2)


class Looking:
    """In place of a timeline: the head's turn about its own long axis since address."""

    def __init__(self, putter):
        self.putter = putter
        self.strokes = [Stroke(LEAD_IN_S + ADDRESS_S)]  # when it begins is all that is asked of it

    def yaw(self, t):
        index = self.putter.b.bi["head"]
        still = self.putter._torso()[0][index]
        return float(np.degrees(twist(still.T @ self.putter.captured.turn("head", t) @ still, np.array([0, 0, 1.0]))))

    def lookup(self, t):
        index = self.putter.b.bi["head"]
        still = self.putter._torso()[0][index]
        crown = self.putter.captured.turn("head", t) @ still @ [0, 0, 1.0]
        return float(np.degrees(self.putter.hp) - np.degrees(np.arctan2(-crown[1], crown[2])))


class CapturedClip(Clip):
    def __init__(self, captured, name, **made):
        super().__init__(name, **made)
        self.S.putter.__class__ = CapturedPutter
        self.S.putter.captured = captured
        self.tl = Looking(self.S.putter)
        self.wob = lambda t: np.zeros(3)
        self.times = np.arange(0, self.dur, 0.002)
        path = np.array([self._head(t) for t in self.times])
        self.path = path - path[self.times < LEAD_IN_S + ADDRESS_S].mean(0)
        self.speed = np.linalg.norm(np.gradient(self.path, 0.002, axis=0), axis=1)
        along = self.path[:, 0]
        self.top = int(np.argmin(along))
        self.hit = self.top + int(np.argmax(along[self.top :] >= 0))

    def _head(self, t):
        return self.S.putter.captured_pose(t)["head_pos"]

    def state(self, t):
        pose = self.S.putter.captured_pose(t)
        since = max(0.0, t - self.times[self.hit])
        speed = self.speed[self.hit] * 1.25 * 5 / 7  # as in the clips' other strokes
        rolled = min(since, speed / 0.55)
        pose["ball"] = self.S.putter.ball0 + np.array([speed * rolled - 0.55 * rolled**2 / 2, 0, 0])
        return pose, 0.0, 0.0, True

    def events(self):
        along, times = self.path[:, 0], self.times
        takeaway = self.top - int(np.argmax(np.abs(along[self.top :: -1]) < 0.005))
        finish = self.hit + int(np.argmax(along[self.hit :]))
        quiet = int(0.12 / 0.002)
        settle = next(
            k
            for k in range(self.hit, len(times) - quiet)
            if (self.speed[k : k + quiet] <= 0.05).all() and along[k] > 0.02
        )
        near = np.flatnonzero(along <= along[self.top] + 0.001)
        head = np.array([self.S.putter.captured_pose(t)["P"][self.S.body.bi["head"]] for t in times[[0, self.hit]]])
        look = next(t for t in times[self.hit :] if abs(self.tl.yaw(t)) >= 2)

        def said(place):
            return round(float(times[place]), 3)

        event = {"kind": "ball", "motion_start_s": said(takeaway), "takeaway_s": said(takeaway)}
        event |= {
            "top_s": round(float(times[near].mean()), 3),
            "top_leave_s": said(near[-1]),
            "impact_s": said(self.hit),
        }
        event |= {
            "finish_s": said(finish),
            "settle_s": said(settle),
            "look_start_s": round(float(look), 3),
            "look_end_s": None,
        }
        event |= {"back_cm": round(-100 * along[self.top], 2), "through_cm": round(100 * along[finish], 2)}
        event |= {"recoil_cm": round(100 * (along[finish] - along[finish:].min()), 2), "stall": None}
        return [event | {"sway_cm": round(100 * (head[1] - head[0])[0], 1), "rise_deg": 0.0}]


def run():
    folder, out = sys.argv[1:3]
    os.makedirs(out, exist_ok=True)
    captured = Captured(os.path.join(folder, "putt_a.npz"))
    made = CapturedClip(
        captured, "captured_putt", dur=captured.end_s, seed=64, cam=LOW, scene=B | {"tape": ORANGE}, putter={"head_pitch": 60.0},
        sway_mm=0.0, head_wobble=0.0, intended=[["early_look", "sway"]],
        note="a motion-captured player's putt: looks early, drifts along",
    )  # fmt: skip
    if "--truth" in sys.argv:
        made.write_truth(out)
    else:
        made.render(out, "--still" in sys.argv)


if __name__ == "__main__":
    run()
