"""The figures of the further clips: a player who can stand up and stoop, and somebody walking past."""

import math
import os

import numpy as np
import scene
from body import MH, NB, Body, Cloth
from putt import D, Putter, Rx, Rz, rot
from scene import mat, mesh_obj


class FormPutter(Putter):
    """A putter and player who can also stand up (`upright` 0..1) or stoop to the ball (`stoop` 0..1)."""

    def _address(self):
        super()._address()
        _, p = self._torso()
        i = self.b.bi
        self._shoulders0 = (p[i["upperarm_l"]] + p[i["upperarm_r"]]) / 2
        self._pelvis0, self._form = self.pelvis, None

    def _pelvis_for(self, back, knee):
        b, i = self.b, self.b.bi
        leg = np.linalg.norm(b.head[i["calf_l"]] - b.head[i["thigh_l"]])
        leg += np.linalg.norm(b.head[i["foot_l"]] - b.head[i["calf_l"]])
        lo, hi = 0.2, 1.3
        for _ in range(40):
            z = (lo + hi) / 2
            pelvis = np.array([0, self.ank["l"][1] + back, z])
            _, p = self._torso(pelvis=pelvis)
            if np.linalg.norm(p[i["thigh_l"]] - self.ank["l"]) > knee * leg:
                hi = z
            else:
                lo = z
        return pelvis

    def formed(self, form, **kw):
        """Pose with form = (upright, stoop); plain pose when both are 0."""
        up, st = form or (0.0, 0.0)
        if up <= 0 and st <= 0:
            return self.pose(**kw)
        keep = (self.hinge, self.spine, self.hp)
        try:
            self.hinge = keep[0] * (1 - up) + 4 * D * up + 34 * D * st
            self.spine = keep[1] * (1 - 0.7 * up) + 26 * D * st
            self.hp = keep[2] * (1 - up) + 10 * D * up + 22 * D * st
            self.pelvis = self._pelvis_for(self.back * (1 - 0.8 * up) + 0.10 * st, self.knee * (1 - st) + 0.80 * st)
            _, p = self._torso()
            i = self.b.bi
            shoulders = (p[i["upperarm_l"]] + p[i["upperarm_r"]]) / 2
            self._form = (up, st, shoulders - self._shoulders0)
            return self.pose(**kw)
        finally:
            self.hinge, self.spine, self.hp = keep
            self.pelvis, self._form = self._pelvis0, None

    def _pose(self, phi_deg, yaw_deg, sway, ball_dx, shaft_deg):
        if self._form is None:
            return super()._pose(phi_deg, yaw_deg, sway, ball_dx, shaft_deg)
        up, st, moved = self._form
        keep = (self.u, self.sole, self.grip_mid, self.wr0, self.d_hand)
        turn = rot([0, 1, 0], -50 * D * st) @ Rx(-14 * D * up)
        shift = up * (moved + np.array([0, -0.17, 0.14])) + st * np.array([0.20, -0.02, -0.20])
        mid = keep[2]

        def carry(x):
            return mid + shift + turn @ (x - mid)

        try:
            self.u, self.sole, self.grip_mid = turn @ keep[0], carry(keep[1]), carry(mid)
            self.wr0 = {s: carry(x) for s, x in keep[3].items()}
            reach = self.ball0 + np.array([-0.06, 0.03, 0.16])
            self.wr0["r"] = self.wr0["r"] * (1 - st) + reach * st
            self.d_hand = turn @ keep[4]
            return super()._pose(phi_deg, yaw_deg, sway, ball_dx, shaft_deg)
        finally:
            self.u, self.sole, self.grip_mid, self.wr0, self.d_hand = keep


class Walker:
    """A second figure walking in a straight line behind the player: from x0 at t0 with speed_mps at depth y."""

    def __init__(self, x0=-2.6, speed_mps=1.0, y=1.3, t0=0.0, step_s=0.55, targets=None, **look):
        self.x0, self.speed, self.y, self.t0, self.step = x0, speed_mps, y, t0, step_s
        self.body = Body(targets or scene.DEFAULT_TARGETS)
        self.parts, hide = [], set()
        wear = (
            ("clothes", look.get("suit")),
            ("clothes", look.get("shoes", "shoes04")),
            ("hair", look.get("hair")),
            ("eyes", "low-poly"),
        )
        for kind, n in wear:
            if not n:
                continue
            c = Cloth(self.body, f"{MH}/{kind}/{n}/{n}.mhclo")
            hide |= c.delete if kind == "clothes" else set()
            tex = f"{MH}/eyes/materials/brown_eye.png" if kind == "eyes" else f"{MH}/{kind}/{n}/{n}_diffuse.png"
            m = mat("by_" + n, tex=tex, alpha=kind == "hair", rough=0.9)
            self.parts.append((mesh_obj("by_" + n, c.v, c.faces, c.uv, c.uvfaces, m), c.v, c.w))
        b = self.body
        fi = [i for i, f in enumerate(b.faces) if not any(v in hide for v in f)]
        folder = f"{MH}/skins/{look['skin']}"
        tex = next(os.path.join(folder, f) for f in os.listdir(folder) if f.endswith(".png"))
        m = mat("by_skin", tex=tex, rough=0.55)
        o = mesh_obj("by_body", b.v[:NB], [b.faces[i] for i in fi], b.uv, [b.uvfaces[i] for i in fi], m)
        self.parts.append((o, b.v[:NB], b.w[:NB]))

    def place(self, t):
        b = self.body
        face = Rz(math.copysign(90, self.speed) * D)
        swing = math.sin(math.pi * (t - self.t0) / self.step)
        local = {}
        for s, sg in (("l", 1), ("r", -1)):
            local["thigh_" + s] = Rx(-24 * D * swing * sg)
            local["calf_" + s] = Rx((12 + 26 * max(0.0, -swing * sg)) * D)
            local["upperarm_" + s] = Rx(20 * D * swing * sg) @ rot([0, 1, 0], sg * 42 * D)
            local["lowerarm_" + s] = Rx(-14 * D)
        g = np.tile(np.eye(3), (len(b.bones), 1, 1))
        p = b.head.copy()
        for i, name in enumerate(b.bones):
            j = b.parent[i]
            g[i] = (face if j < 0 else g[j]) @ local.get(name, np.eye(3))
            if j >= 0:
                p[i] = p[j] + g[j] @ (b.head[i] - b.head[j])
        p = p + np.array([self.x0 + self.speed * (t - self.t0), self.y, 0.02 * abs(swing) - 0.03])
        for o, v, w in self.parts:
            o.data.vertices.foreach_set("co", b.skin(v, w, g, p).astype(np.float32).ravel())
            o.data.update()
