"""Stills of a person facing the camera with the arms in plain positions.

Usage, beside the generator's own files: arms.py OUT_DIR man|woman [POSE,POSE,...]
"""

import math
import sys

import numpy as np
import scenarios_more
from putt import arc
from scene import Scene

LOOKS = {
    "man": dict(scenarios_more.MAN, suit="male_casualsuit05", shoes="shoes05"),
    "woman": dict(scenarios_more.WOMAN, hair="bob02"),
}
# Lead and trail arm: upper arm and forearm, degrees outward from straight down, and how far each reaches forward.
DOWN = (8, 5, 0, 0)
POSES = {
    "down": (DOWN, DOWN),
    "arms_out": ((90, 92, 0, 0), (88, 90, 0, 0)),
    "lead_up": ((95, 178, 0, 0), DOWN),
    "trail_up": (DOWN, (92, 176, 0, 0)),
    "both_up": ((100, 176, 0, 0), (98, 182, 0, 0)),
    "trail_straight_up": (DOWN, (165, 168, 0, 0)),
    "both_straight_up": ((165, 168, 0, 0), (165, 168, 0, 0)),
    "pointing": ((88, 90, 0, 0), DOWN),
    "shade": (DOWN, (75, 235, 0.5, 0.3)),
    "cap_both": ((80, 232, 0.5, 0.3), (80, 232, 0.5, 0.3)),
    "hips": ((40, -60, 0, 0), (40, -60, 0, 0)),
    "folded": ((15, -95, 0.3, 0.4), (15, -95, 0.3, 0.4)),
}


def toward(deg, side, forward):
    a = math.radians(deg)
    v = np.array([side * math.sin(a), -forward, -math.cos(a)])
    return v / np.linalg.norm(v)


def posed(b, arms):
    g, p, want = np.tile(np.eye(3), (len(b.bones), 1, 1)), b.head.copy(), {}
    for s, side, (upper, fore, reach_upper, reach_fore) in (("l", 1, arms[0]), ("r", -1, arms[1])):
        shoulder, elbow, hand = (b.head[b.bi[f"{n}_{s}"]] for n in ("upperarm", "lowerarm", "hand"))
        for name, rest, at in (
            ("upperarm_", elbow - shoulder, toward(upper, side, reach_upper)),
            ("lowerarm_", hand - elbow, toward(fore, side, reach_fore)),
        ):
            want[name + s] = arc(rest / np.linalg.norm(rest), at)
    for i, name in enumerate(b.bones):
        j = b.parent[i]
        g[i] = want.get(name, g[j] if j >= 0 else np.eye(3))
        if j >= 0:
            p[i] = p[j] + g[j] @ (b.head[i] - b.head[j])
    return g, p


def main():
    out, who, *names = sys.argv[1:]
    made = Scene(640, 480, "CYCLES", 6, **LOOKS[who])
    made.camera((-0.1, -3.0, 0.55), (0, 0, 0.90), 52.0)
    for part in (made.shaft, made.grip, made.phead, made.ball):
        part.hide_render = True
    for name in names[0].split(",") if names else POSES:
        g, p = posed(made.body, POSES[name])
        for o, v, w in made.parts:
            o.data.vertices.foreach_set("co", made.body.skin(v, w, g, p).astype(np.float32).ravel())
            o.data.update()
        made.render(f"{out}/{who}_{name}.png")


if __name__ == "__main__":
    main()
