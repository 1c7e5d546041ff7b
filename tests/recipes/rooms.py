"""Harder rooms for the further clips: a mirror, sun patches, a moving curtain, a green outdoors in the sun."""

import math

import bpy
import numpy as np
from extras import MoreClip, Room, run
from mathutils import Vector
from scene import mat, mesh_obj, prim


class HardRoom(Room):
    """Room with `mirror`, `sun` (patches through a window of bars), `curtain` (waving cloth) or `outdoors`."""

    def __init__(self, *a, mirror=False, sun=None, curtain=None, outdoors=False, **kw):
        super().__init__(*a, **kw)
        self.cloth = None
        cube = bpy.ops.mesh.primitive_cube_add
        if mirror:
            glass = mat("mirror", color=(0.92, 0.93, 0.93), rough=0.01, metal=1.0)
            m = prim(cube, "mirror", glass, size=1, location=(0.95, 2.3, 1.0))
            m.scale, m.rotation_euler = (1.3, 0.02, 1.9), (0, 0, math.radians(-13.5))  # shows the player's back
        if sun:
            strength, elevation_deg, azimuth_deg, bars = sun
            light = bpy.data.lights.new("sun", "SUN")
            light.energy, light.angle = strength, math.radians(0.53)
            o = bpy.data.objects.new("sun", light)
            el, az = math.radians(elevation_deg), math.radians(azimuth_deg)
            way = Vector((math.cos(el) * math.cos(az), math.cos(el) * math.sin(az), math.sin(el)))
            o.rotation_euler = way.to_track_quat("Z", "Y").to_euler()
            self.s.collection.objects.link(o)
            dark = mat("bar", color=(0.3, 0.3, 0.3))
            across = Vector((-math.sin(az), math.cos(az), 0))
            for k in range(bars):  # planks across the way of the light, out of the camera's sight
                at = Vector((0, -0.2, 0.7)) + way * 4.5 + across * (0.42 * (k - (bars - 1) / 2))
                b = prim(cube, "bar", dark, size=1, location=tuple(at))
                b.scale, b.rotation_euler = (0.20, 0.02, 5.0), (0, 0, az + math.pi / 2)
        if curtain:
            n = 80
            x = np.linspace(-2.1, -0.7, n)
            v = np.array([[xi, 2.3, z] for z in (0.05, 2.4) for xi in x])
            faces = [[i, i + 1, n + i + 1, n + i] for i in range(n - 1)]
            self.cloth = (mesh_obj("curtain", v, faces, material=mat("curtain", color=curtain, rough=0.95)), v, n)
        if outdoors:
            for n in ("wall1", "wall2", "skirting", "picture", "mat"):
                bpy.data.objects.remove(bpy.data.objects[n])
            for n in [o.name for o in bpy.data.objects if o.type == "LIGHT" and o.name.startswith("a")]:
                bpy.data.objects.remove(bpy.data.objects[n])
            nodes = self.s.world.node_tree.nodes["Background"].inputs
            nodes[0].default_value, nodes[1].default_value = (0.45, 0.62, 0.95, 1), 0.75
            floor = bpy.data.objects["floor"]
            floor.scale = (20, 20, 1)
            hedge = mat("hedge", noise=(9, (0.01, 0.05, 0.008), (0.06, 0.16, 0.03)), color=(0.03, 0.1, 0.02))
            prim(cube, "hedge", hedge, size=1, location=(0, 9.0, 0.8)).scale = (40, 1.0, 1.7)

    def set_pose(self, q):
        super().set_pose(q)
        if self.cloth:
            o, v, n = self.cloth
            w, t = v.copy(), q["t"]
            u = np.tile(np.linspace(0, 1, n), 2)
            swing = 0.4 + 0.6 * (v[:, 2] < 1)
            w[:, 1] += 0.05 * np.sin(2 * np.pi * (9 * u - 0.25 * t)) + 0.10 * swing * np.sin(
                2 * np.pi * (1.3 * u - 0.6 * t)
            )
            w[:, 0] += 0.10 * swing * np.sin(2 * np.pi * (0.4 * t + 0.3 * u))
            o.data.vertices.foreach_set("co", w.astype(np.float32).ravel())
            o.data.update()


class WholeClip(MoreClip):
    """A clip whose light or background moves, so the whole picture is rendered in every frame."""

    def _window(self, frames):
        return 0, 0, self.w, self.h


if __name__ == "__main__":
    from scenarios_hard import SCENARIOS

    run(SCENARIOS, HardRoom, lambda wanted: WholeClip if wanted.pop("whole", False) else MoreClip)
