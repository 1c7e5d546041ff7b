"""What else lies about where people practise, and putters that are not a dark blade: for the clips of strokes_drawn.py's set Z.

Everything stands still, so that the picture is rendered once where the player is not. Metres; the ball's place is the putter's.
"""

import bpy
import numpy as np
from extras import _pattern
from figures import Walker
from head_clip import HeadRoom
from mathutils import Vector
from scene import mat, prim

MAT_TOP_M = 0.003
BALL_M = 0.0213
MALLET_M = (0.085, 0.105, 0.026)  # along the target line, along the face, high
PAINT = {
    "white": (0.85, 0.85, 0.83),
    "red": (0.65, 0.03, 0.03),
    "yellow": (0.80, 0.62, 0.03),
    "black": (0.015, 0.015, 0.015),
    "blue": (0.03, 0.10, 0.55),
    "brown": (0.20, 0.10, 0.05),
}


def _box(name, paint, at, size):
    o = prim(bpy.ops.mesh.primitive_cube_add, name, mat(name, color=PAINT[paint]), size=1, location=at)
    o.scale = size
    return o


def spare_balls(room, rng):
    """Four to six balls where nobody swings: a row toward the camera, or strewn behind the feet and beside the mat."""
    y = room.putter.ball0[1]
    row = rng.random() < 0.5
    for k in range(rng.integers(4, 7)):
        if row:
            at = (-0.35 + 0.11 * k + rng.normal(0, 0.015), y - 0.27 + rng.normal(0, 0.015), BALL_M)
        else:
            at = (rng.uniform(-0.9, 0.9), y + (rng.uniform(-0.45, -0.2) if k % 2 else rng.uniform(0.6, 1.1)), BALL_M)
        ball = prim(
            bpy.ops.mesh.primitive_uv_sphere_add,
            "spare",
            bpy.data.materials["ball"],
            radius=BALL_M,
            segments=24,
            ring_count=16,
            location=at,
        )
        ball.data.polygons.foreach_set("use_smooth", [True] * len(ball.data.polygons))


def printed_mat(room, rng):
    """A mat with a line along the target, lines across it and two along its edges."""
    y, paint = room.putter.ball0[1], ["white", "yellow"][rng.integers(2)]
    _box("line", paint, (1.2, y, MAT_TOP_M), (5.0, 0.012, 0.0012))
    for edge in (-0.24, 0.24):
        _box("line", paint, (1.2, y + edge, MAT_TOP_M), (5.0, 0.02, 0.0012))
    for x in np.arange(-0.9, 1.6, rng.uniform(0.2, 0.32)):
        _box("line", paint, (x, y, MAT_TOP_M), (0.012, 0.3, 0.0012))


def sticks(room, rng):
    """Two rods along the target, on either side of the ball."""
    y, paint = room.putter.ball0[1], ["yellow", "white", "red", "blue"][rng.integers(4)]
    for aside in (-rng.uniform(0.13, 0.22), rng.uniform(0.10, 0.13)):
        rod = prim(
            bpy.ops.mesh.primitive_cylinder_add,
            "rod",
            mat("rod", color=PAINT[paint], rough=0.4),
            radius=0.005,
            depth=1.2,
            location=(rng.uniform(-0.2, 0.3), y + aside, MAT_TOP_M + 0.005),
        )
        rod.rotation_euler = (0, np.pi / 2, 0)


def gate(room, rng):
    """Two pegs the ball goes through, and a dark hole with a pole farther on."""
    y, x = room.putter.ball0[1], room.putter.ball0[0] + rng.uniform(0.25, 0.45)
    for aside in (-0.045, 0.045):
        peg = mat("peg", color=PAINT["white"])
        prim(bpy.ops.mesh.primitive_cylinder_add, "peg", peg, radius=0.0025, depth=0.06, location=(x, y + aside, 0.03))
    hole = mat("hole", color=PAINT["black"])
    prim(bpy.ops.mesh.primitive_cylinder_add, "hole", hole, radius=0.054, depth=0.002, location=(1.35, y, MAT_TOP_M))
    pole = mat("pole", color=PAINT["yellow"])
    prim(bpy.ops.mesh.primitive_cylinder_add, "pole", pole, radius=0.008, depth=1.6, location=(1.35, y, 0.8))


def clutter(room, rng):
    """A bag, a stool and a bucket behind the feet, where the putter passes before them."""
    y = room.putter.ball0[1]
    paints = rng.permutation(list(PAINT))
    bag = mat("bag", color=PAINT[paints[0]])
    body = prim(
        bpy.ops.mesh.primitive_cylinder_add,
        "bag",
        bag,
        radius=0.13,
        depth=0.9,
        location=(rng.uniform(-0.75, -0.55), y + 0.75, 0.45),
    )
    body.rotation_euler = (0, rng.uniform(-0.2, 0.2), 0)
    _box("stool", paints[1], (rng.uniform(0.55, 0.8), y + 0.8, 0.22), (0.36, 0.36, 0.44))
    prim(
        bpy.ops.mesh.primitive_cylinder_add,
        "bucket",
        mat("bucket", color=PAINT[paints[2]], rough=0.3),
        radius=0.12,
        depth=0.25,
        location=(rng.uniform(-0.35, -0.25), y + 0.65, 0.125),
    )


def ground_mirror(room, rng):
    """A mirror as long as a forearm under the ball, to see one's eyes in, with two lines painted on it."""
    x, y = room.putter.ball0[:2]
    glass = mat("ground mirror", color=(0.9, 0.92, 0.92), rough=0.02, metal=1.0)
    plate = prim(bpy.ops.mesh.primitive_cube_add, "mirror", glass, size=1, location=(x - 0.02, y, MAT_TOP_M + 0.001))
    plate.scale = (0.31, 0.15, 0.002)
    for aside in (-0.04, 0.04):
        _box("line", "red", (x - 0.02, y + aside, MAT_TOP_M + 0.0025), (0.3, 0.003, 0.0006))


def marked_ball(room, rng):
    """A broad dark line round the ball, as drawn with a pen, its plane as the ball was put down."""
    ball = room.ball
    ball.data.materials.append(mat("pen", color=PAINT[["black", "red", "blue"][rng.integers(3)]]))
    about = rng.normal(0, 0.3, 3) + np.array([0, 1, 0])
    about /= np.linalg.norm(about)
    for face in ball.data.polygons:
        if abs(np.dot(about, face.center)) < 0.2 * BALL_M:
            face.material_index = 1


ABOUT = {f.__name__: f for f in (spare_balls, printed_mat, sticks, gate, clutter, ground_mirror, marked_ball)}
ONLOOKER = {"skin": "young_asian_male", "suit": "male_casualsuit02", "hair": "short02"}


def _dress(name, tint, pattern, paints):
    """Stripes or checks over the material of that name."""
    a, b = (np.array(PAINT[p]) * tint for p in paints)
    _pattern(bpy.data.materials[name], pattern, tuple(a), tuple(b), 22.0)


class FullRoom(HeadRoom):
    """HeadRoom with things that lie about, somebody who looks on, other putters, patterned clothes.

    about: names of ABOUT; onlooker: (x, y) of who stands there and faces the player; head: (paint, is it a mallet?);
    shaft: paint; dress: (pattern, paint, paint); about_seed: for what is drawn of these.
    """

    def __init__(self, *a, about=(), onlooker=None, head=None, shaft=None, dress=None, about_seed=0, **kw):
        super().__init__(*a, **kw)
        rng, self.mallet = np.random.default_rng(about_seed), None
        for thing in about:
            ABOUT[thing](self, rng)
        if onlooker:
            x, y = onlooker
            Walker(x0=x, y=y, speed_mps=-1e-9 if x > 0 else 1e-9, step_s=1e9, **ONLOOKER).place(0.0)
        if head:
            paint, mallet = head
            material = mat("painted", color=PAINT[paint], rough=0.3)
            self.phead.data.materials[0] = material
            if mallet:
                self.mallet = prim(bpy.ops.mesh.primitive_cube_add, "mallet", material, size=1)
                self.mallet.dimensions = MALLET_M
                self.mallet.rotation_mode = "QUATERNION"
        if shaft:
            self.shaft.data.materials[0] = mat("painted shaft", color=PAINT[shaft], rough=0.35)
        if dress:
            pattern, *paints = dress
            _dress(kw["suit"], 1.0, pattern, paints)

    def set_pose(self, q):
        super().set_pose(q)
        if self.mallet:
            back = np.array(q["head_rot"]) @ [-(MALLET_M[0] - 0.024) / 2, 0, 0]
            self.mallet.location = Vector(tuple(np.array(q["head_pos"]) + back))
            self.mallet.rotation_quaternion = self.phead.rotation_quaternion
