"""Short clips with little but a head turn in them: the figure is rendered once, then only the box around its head.

Frames in which the head hardly moves repeat the last one rendered; their truth is that frame's.
"""

import math
import os
import shutil
import sys
import tempfile
import time

import bpy
import clip
import numpy as np
import scene
from extras import MoreClip
from head_wear import WEAR, Skull
from mathutils import Vector
from rooms import HardRoom
from scene import mat, prim
from timeline import Stroke
from timelines import Gait

MOVED_M = 0.0008  # of any point of the head since the last frame rendered: a frame is rendered anew
HEAD_REACH_M = 0.12  # from the head's bone
PIXELS_ROUND_HEAD = 7


class HeadMoves(Gait):
    """No stroke: the head turns (`heads`), lifts (`lifts`), nods, the player sways: lists of (start_s, duration_s, to)."""

    def __init__(self, heads=(), lifts=(), nods=(), sways=()):
        super().__init__([Stroke(1000.0)], heads=heads, nods=nods)
        self.lifts, self.sways = lifts, sways

    def lookup(self, t):
        return super().lookup(t) + self._track(self.lifts, t)

    def body(self, t):
        return self._track(self.sways, t), 0.0, 0.0


class HeadRoom(HardRoom):
    """HardRoom with a lamp, a bright window behind the player, and things modelled on the head."""

    def __init__(self, *a, lamp=None, window=None, wear=(), skin_tint=None, **kw):
        super().__init__(*a, **kw)
        if skin_tint:
            self._tint(bpy.data.materials["skin"], skin_tint)
        skull = Skull(self)
        for kind, *how in wear:
            WEAR[kind](skull, *how)
        if lamp:
            *at, energy, size = lamp
            light = bpy.data.lights.new("lamp", "AREA")
            light.energy, light.size = energy, size
            o = bpy.data.objects.new("lamp", light)
            o.location = at
            o.rotation_euler = (Vector((0, -0.3, 1.2)) - Vector(at)).to_track_quat("-Z", "Y").to_euler()
            self.s.collection.objects.link(o)
        if window:
            x, z, width, height, strength = window
            bright = mat("daylight", color=(0, 0, 0))
            bsdf = bright.node_tree.nodes["Principled BSDF"]
            bsdf.inputs["Emission Color"].default_value = (0.9, 0.95, 1, 1)
            bsdf.inputs["Emission Strength"].default_value = strength
            pane = prim(bpy.ops.mesh.primitive_plane_add, "window", bright, size=1, location=(x, 2.55, z))
            pane.rotation_euler, pane.scale = (math.pi / 2, 0, 0), (width, height, 1)


class HeadClip(MoreClip):
    """Renders the whole figure once and the head's box in every frame in which it moves; `whole`: the figure's box."""

    def __init__(self, name, whole=False, **kw):
        self.whole = whole
        super().__init__(name, setup_at=0.3, spp=3, **kw)

    def truth(self):
        frames = super().truth()
        head, last = self.S.body.bi["head"], None
        self.shown = []  # frame whose picture each frame shows
        for i, f in enumerate(frames):
            q = self.state(f["t"])[0]
            g, p = q["G"][head], q["P"][head]
            if last is None or np.abs(g - last[0]).max() * HEAD_REACH_M + np.abs(p - last[1]).max() > MOVED_M:
                last, k = (g, p), i
            self.shown.append(k)
        return [dict(frames[k], t=f["t"]) for f, k in zip(frames, self.shown)]

    def _box(self, frames):
        if self.whole:
            return self._window(frames)
        b, box = self.S.body, []
        bones = [b.bi["head"], b.bi["neck_01"]]
        for i in sorted(set(self.shown)):
            q = self.state(frames[i]["t"])[0]
            for _, v, w in self.S.parts:
                on = w[:, bones].sum(1) > 0.02
                if on.any():
                    xy = self.S.project(b.skin(v[on], w[on], q["G"], q["P"]))[:, :2]
                    box.append(np.concatenate([xy.min(0), -xy.max(0)]))
        x0, y0, x1, y1 = np.abs(np.min(box, axis=0)) + np.array([-1, -1, 1, 1]) * PIXELS_ROUND_HEAD
        return max(int(x0), 0), max(int(y0), 0), min(int(x1), self.w), min(int(y1), self.h)

    def render(self, out):
        frames, began = self.truth(), time.time()
        folder = tempfile.mkdtemp()
        tmp, part = os.path.join(folder, "f.png"), os.path.join(folder, "part.mp4")
        self.S.set_pose(self.state(0)[0])
        ground = self._shot(tmp, 0, 3)
        x0, y0, x1, y1 = box = self._box(frames)
        self._look_at(box)
        writer, rng, self._gain = self._encoder(part), np.random.default_rng(self.seed + 99), 0.0
        for i, shown in enumerate(self.shown):
            if shown == i:
                t, seen = frames[i]["t"], 0.0
                k = 2 if self._fast(t) else 1
                for j in range(k):
                    shift = ((j + 0.5) / k - 0.5) * self.blur / self.fps
                    self.S.set_pose(self.state(t + shift)[0])
                    seen = seen + self._shot(tmp, i * 8 + j, self.spp).astype(np.float32) / k
            picture = ground.astype(np.float32)
            picture[y0:y1, x0:x1] = seen
            writer.send(self._as_filmed(picture, rng))
        writer.close()
        self.write_truth(out, frames)
        shutil.move(part, f"{out}/{self.name}.mp4")
        shutil.rmtree(folder)
        print(
            self.name, len(set(self.shown)), "of", len(frames), "frames,", round(time.time() - began), "s", flush=True
        )


def run_seeds(make, putter):
    """OUT_DIR FIRST_SEED HOW_MANY of the command line: make(seed, OUT_DIR) for each seed whose file is not there yet."""
    out, first, many = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    os.makedirs(out, exist_ok=True)
    clip.Scene, scene.Putter = HeadRoom, putter
    for seed in range(first, first + many):
        if not os.path.exists(f"{out}/{seed}.npz"):
            make(seed, out)
            print(seed, flush=True)
