"""Additions to the clip generator: rooms, a passer-by, camera roll, standing and stooping, no stroke at all.

Usage, beside the generator's own files: extras.py OUT_DIR NAME [--still T,T,... | --truth]
Everything here derives from the generator's classes, so the truth still comes from the exact motion.
"""

import math
import os
import shutil
import sys
import tempfile
import time

import bpy
import clip
import cv2
import imageio_ffmpeg
import numpy as np
import scene
from clip import POINTS, Clip
from figures import FormPutter, Walker
from mathutils import Matrix, Vector
from putt import D, Rz
from scene import Scene, mat, prim


def _pattern(material, kind, a, b, scale):
    """Replace a material's colour with a pattern of two colours: 'planks', 'checker', 'waves' or 'blobs'."""
    nt = material.node_tree
    bsdf = nt.nodes["Principled BSDF"]
    co = nt.nodes.new("ShaderNodeTexCoord")
    node = {"planks": "Brick", "checker": "Checker", "waves": "Wave", "blobs": "Voronoi"}[kind]
    n = nt.nodes.new(f"ShaderNodeTex{node}")
    n.inputs["Scale"].default_value = scale
    nt.links.new(co.outputs["Object"], n.inputs["Vector"])
    if kind in ("planks", "checker"):
        n.inputs["Color1"].default_value = (*a, 1)
        n.inputs["Color2"].default_value = (*b, 1)
        if kind == "planks":
            n.inputs["Mortar"].default_value = (*(c * 0.45 for c in a), 1)
            n.inputs["Mortar Size"].default_value = 0.006
            n.inputs["Brick Width"].default_value = 1.6
            n.inputs["Row Height"].default_value = 0.16
        nt.links.new(n.outputs["Color"], bsdf.inputs["Base Color"])
        return
    r = nt.nodes.new("ShaderNodeValToRGB")
    r.color_ramp.elements[0].color = (*a, 1)
    r.color_ramp.elements[1].color = (*b, 1)
    nt.links.new(n.outputs[0], r.inputs["Fac"])
    nt.links.new(r.outputs["Color"], bsdf.inputs["Base Color"])


class Room(Scene):
    """Scene with patterned surfaces, furniture, tinted hair, a passer-by and a camera that may be rolled."""

    def __init__(
        self, *a, hair_tint=None, shoe_tint=None, floor_pattern=None, wall_pattern=None, furniture=False, **kw
    ):
        walker = kw.pop("bystander", None)
        super().__init__(*a, **kw)
        for n, tint in ((kw.get("hair"), hair_tint), (kw.get("shoes"), shoe_tint)):
            if n and tint:
                self._tint(bpy.data.materials[n], tint)
        if floor_pattern:
            _pattern(bpy.data.materials["floor"], *floor_pattern)
        if wall_pattern:
            _pattern(bpy.data.materials["wall"], *wall_pattern)
        if furniture:
            self._furnish()
        self.walker = Walker(**walker) if walker else None

    @staticmethod
    def _tint(m, tint):
        nt = m.node_tree
        base = nt.nodes["Principled BSDF"].inputs["Base Color"]
        src = base.links[0].from_socket
        mx = nt.nodes.new("ShaderNodeMix")
        mx.data_type, mx.blend_type = "RGBA", "MULTIPLY"
        mx.inputs[0].default_value = 1
        mx.inputs[7].default_value = (*tint, 1)
        nt.links.new(src, mx.inputs[6])
        nt.links.new(mx.outputs[2], base)

    def _furnish(self):
        """A low sideboard, a lamp and a potted plant along the back wall; no writing anywhere."""
        wood = mat("wood", color=(0.33, 0.17, 0.08), rough=0.6)
        leg = mat("leg", color=(0.08, 0.06, 0.05), rough=0.6)
        cube, ball = bpy.ops.mesh.primitive_cube_add, bpy.ops.mesh.primitive_uv_sphere_add
        prim(cube, "board", wood, size=1, location=(1.35, 2.34, 0.42)).scale = (1.3, 0.38, 0.46)
        for x in (0.78, 1.92):
            prim(cube, "boardleg", leg, size=1, location=(x, 2.34, 0.09)).scale = (0.05, 0.3, 0.2)
        shade = mat("shade", color=(0.92, 0.83, 0.62), rough=0.9)
        cyl = bpy.ops.mesh.primitive_cylinder_add
        prim(cyl, "lampfoot", leg, radius=0.02, depth=0.3, location=(1.75, 2.34, 0.8))
        prim(
            bpy.ops.mesh.primitive_cone_add,
            "lampshade",
            shade,
            radius1=0.16,
            radius2=0.10,
            depth=0.24,
            location=(1.75, 2.34, 1.03),
        )
        clay = mat("clay", color=(0.55, 0.20, 0.10), rough=0.9)
        pot = prim(
            bpy.ops.mesh.primitive_cone_add,
            "pot",
            clay,
            radius1=0.13,
            radius2=0.19,
            depth=0.34,
            location=(-2.0, 2.2, 0.17),
        )
        pot.data.polygons.foreach_set("use_smooth", [False] * len(pot.data.polygons))
        green = mat("leaf", color=(0.06, 0.20, 0.05), rough=0.7)
        rng = np.random.default_rng(5)
        for _ in range(26):
            az, el, r = rng.uniform(0, 6.28), rng.uniform(0.5, 1.45), rng.uniform(0.25, 0.6)
            d = np.array([math.cos(az) * math.cos(el), math.sin(az) * math.cos(el), math.sin(el)])
            o = prim(
                ball, "leaf", green, radius=1, segments=10, ring_count=6, location=tuple([-2.0, 2.2, 0.36] + d * r)
            )
            o.scale = (0.035, 0.012, 0.16)
            o.rotation_euler = Vector(d).to_track_quat("Z", "Y").to_euler()

    def camera(self, eye, target, fov, roll_deg=0.0):
        super().camera(eye, target, fov)
        if roll_deg:
            r, e, f = self.proj
            r = r @ Rz(roll_deg * D)
            self.cam.rotation_euler = Matrix(r.tolist()).to_euler()
            self.proj = (r, e, f)

    def set_pose(self, q):
        super().set_pose(q)
        if self.walker:
            self.walker.place(q["t"])


class MoreClip(Clip):
    """Clip whose timeline may also stand, stoop, talk (`form`, `nod`), roll the ball in, or hold no stroke at all."""

    def __init__(self, name, setup_at=None, **kw):
        self.setup_at = setup_at
        super().__init__(name, **kw)

    def state(self, t):
        tl, s = self.tl, self.S.putter
        phi, shaft = tl.angles(t)
        sx, rise, dy = tl.body(t)
        ok, bx = tl.ball(t)
        form = tl.form(t) if hasattr(tl, "form") else None
        q = s.formed(
            form,
            phi_deg=phi + self.pnoise(t)[0],
            yaw_deg=tl.yaw(t) + self.wob(t)[0],
            sway=self.sway(t) + np.array([sx, 0, 0]),
            pitch_drop=tl.lookup(t),
            shaft_deg=shaft,
            rise_deg=rise,
            offset=np.array([0, -dy, 0.0]),
        )
        d = np.asarray(bx, float)
        q["ball"] = s.ball0 + (d if d.ndim else [bx, 0, 0]) if ok else np.array([0, 0, -5.0])
        q["t"] = t
        return q, phi, shaft, ok

    def truth(self):
        out = super().truth()
        if hasattr(self.tl, "form"):  # the head's real pitch while standing or stooping
            for f in out:
                up, st = self.tl.form(f["t"])
                if up or st:
                    hp = self.S.putter.hp / D
                    f["head_pitch_deg"] = round(hp * (1 - up) + 10 * up + 22 * st - float(self.tl.lookup(f["t"])), 2)
        return out

    def events(self):
        every = self.tl.strokes
        try:
            self.tl.strokes = [s for s in every if s.impact < self.dur]
            return super().events() if self.tl.strokes else []
        finally:
            self.tl.strokes = every

    def setup_truth(self):
        if self.setup_at is None:
            return super().setup_truth()
        s = self.tl.strokes[0]
        keep = s.at
        try:
            s.at = self.setup_at + 0.3
            return super().setup_truth()
        finally:
            s.at = keep

    def _window(self, frames):
        if self.S.walker:
            return 0, 0, self.w, self.h
        pts = np.array([f["k2"][k] for f in frames for k in POINTS if f["k2"][k] is not None])
        pts = pts[(pts[:, 0] > -20) & (pts[:, 0] < self.w + 20) & (pts[:, 1] < self.h + 30)]
        x0, y0 = np.floor(pts.min(0) - np.array([34, 52])).astype(int)
        x1, y1 = np.ceil(pts.max(0) + np.array([38, 28])).astype(int)
        return max(x0, 0), max(y0, 0), min(x1, self.w), min(y1, self.h)

    def _shot(self, path, seed, samples):
        self.S.s.cycles.seed, self.S.s.cycles.samples = seed, samples
        self.S.render(path)
        return cv2.imread(path)

    def stills(self, out, times):
        tmp = os.path.join(tempfile.mkdtemp(), "f.png")
        pictures = []
        for t in times:
            self.S.set_pose(self.state(t)[0])
            p = self._shot(tmp, 0, 8)
            pictures.append(p[:, ::-1] if self.handedness == "left" else p)
        cv2.imwrite(f"{out}/{self.name}.png", np.hstack(pictures))

    def _fast(self, t):
        a, b = self.state(t - 0.01)[0], self.state(t + 0.01)[0]
        head = self.S.body.bi["head"]
        pace = max(
            np.abs(b["head_pos"] - a["head_pos"]).max(),
            np.abs(b["G"][head] - a["G"][head]).max() * 0.3,
            np.abs(b["ball"] - a["ball"]).max() * 0.15,
        )
        return pace / 0.02 > 0.25

    def _encoder(self, path):
        wr = imageio_ffmpeg.write_frames(
            path,
            (self.w, self.h),
            pix_fmt_in="bgr24",
            pix_fmt_out="yuv420p",
            fps=self.fps,
            codec="libx264",
            quality=None,
            macro_block_size=1,
            output_params=["-crf", str(self.crf), "-preset", "slow", "-g", str(self.fps)],
        )
        wr.send(None)
        return wr

    def _as_filmed(self, im, rng):
        """A rendered picture as a sensor sees it: soft, flickering, noisy; mirrored for a left-hander."""
        w, h = self.w, self.h
        self._gain = 0.8 * self._gain + rng.normal(0, self.flicker)
        im = cv2.GaussianBlur(im, (0, 0), 0.6) * (1 + self._gain)
        if self.shake:
            m = np.float32([[1, 0, rng.normal(0, self.shake)], [0, 1, rng.normal(0, self.shake)]])
            im = cv2.warpAffine(im, m, (w, h), borderMode=cv2.BORDER_REPLICATE)
        im = np.clip(im + rng.normal(0, self.sensor, im.shape), 0, 255).astype(np.uint8)
        return np.ascontiguousarray(im[:, ::-1] if self.handedness == "left" else im)

    def _look_at(self, box):
        """Only this part of the picture (x0, y0, x1, y1) is rendered from now on."""
        x0, y0, x1, y1 = box
        r, w, h = self.S.s.render, self.w, self.h
        r.use_border = r.use_crop_to_border = True
        inside = 0.1  # px: an edge that falls on a pixel's may not be rounded to its neighbour
        r.border_min_x, r.border_max_x = (x0 + inside) / w, (x1 + inside) / w
        r.border_min_y, r.border_max_y = 1 - (y1 - inside) / h, 1 - (y0 - inside) / h

    def render(self, out):
        scene_, fps = self.S, self.fps
        frames = self.truth()
        tmp = os.path.join(tempfile.mkdtemp(), "f.png")
        part = os.path.join(os.path.dirname(tmp), "part.mp4")
        x0, y0, x1, y1 = self._window(frames)
        scene_.set_pose(self.state(0)[0])
        bg = self._shot(tmp, 0, 24)
        self._look_at((x0, y0, x1, y1))
        wr = self._encoder(part)
        rng, self._gain, began = np.random.default_rng(self.seed + 99), 0.0, time.time()
        for i, f in enumerate(frames):
            t, acc = f["t"], 0.0
            k = 3 if self._fast(t) else 1
            for j in range(k):
                scene_.set_pose(self.state(t + (((j + 0.5) / k - 0.5) * self.blur / fps if k > 1 else 0.0))[0])
                acc = acc + self._shot(tmp, i * 8 + j, self.spp).astype(np.float32)
            im, c = bg.astype(np.float32), acc / k
            im[y0 : y0 + c.shape[0], x0 : x0 + c.shape[1]] = c
            wr.send(self._as_filmed(im, rng))
        wr.close()
        self.write_truth(out, frames)
        shutil.move(part, f"{out}/{self.name}.mp4")
        print(self.name, len(frames), "frames", round(time.time() - began), "s", flush=True)

    def write_truth(self, out, fr=None):
        cam = self.cam
        self.cam = cam[:3]
        super().write_truth(out, fr)
        self.cam = cam


def run(scenarios, room, kind):
    """The command line: OUT_DIR NAME [--still T,T,... | --truth]. kind: from a scenario's keywords to the class of its clip."""
    out, name = sys.argv[1:3]
    os.makedirs(out, exist_ok=True)
    clip.Scene, scene.Putter = room, FormPutter
    wanted = scenarios[name]()
    c = kind(wanted)(name, **wanted)
    if "--truth" in sys.argv:
        c.write_truth(out)
    elif "--still" in sys.argv:
        c.stills(out, [float(x) for x in sys.argv[sys.argv.index("--still") + 1].split(",")])
    else:
        c.render(out)


if __name__ == "__main__":
    from scenarios_more import SCENARIOS

    run(SCENARIOS, Room, lambda wanted: MoreClip)
