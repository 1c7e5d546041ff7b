"""What only the heads of the third set wear (heads_fresh.py): nothing of this is on a head that is learned from."""

import math

import bpy
import numpy as np
from head_wear import AROUND, RINGS, WEAR, _ball, _grid, _shell, _tube, hat, scalp, strands
from scene import mat

RINGS["trilby"] = ((1.45, -0.018), (1.25, -0.012), (1.0, 0.0), (0.99, 0.03), (0.94, 0.075), (0.7, 0.105), (0.0, 0.09))
FLOPPY = ((1.8, -0.05), (1.5, -0.025), (1.2, -0.008), (1.0, 0.0), (0.97, 0.05), (0.8, 0.095), (0.0, 0.115))


def trilby(skull, colour, band):
    """A hat of middling brim, its crown dented, with a band."""
    hat(skull, "trilby", colour)
    points = [
        skull.around(2 * math.pi * i / AROUND, 1.02, skull.band_z + z) for z in (0.004, 0.026) for i in range(AROUND)
    ]
    skull.add("hatband", points, _grid(2, AROUND, True), mat("hatband", color=band, rough=0.9))


def floppy(skull, colour):
    """A wide soft brim that waves up and down."""
    rng = np.random.default_rng(8)
    phase = rng.uniform(0, 6.28, 3)
    points = []
    for share, z in FLOPPY:
        for i in range(AROUND):
            a = 2 * math.pi * i / AROUND
            wave = 0.022 * max(share - 1, 0) * sum(math.sin(k * a + p) for k, p in zip((2, 3, 5), phase))
            points.append(skull.around(a, share * (1 + wave), skull.band_z + z + 1.2 * wave))
    cloth = mat("floppy", color=colour, rough=0.9)
    skull.add("floppy", points, _grid(len(FLOPPY), AROUND, True), cloth).modifiers.new(
        "t", "SOLIDIFY"
    ).thickness = 0.003


def headscarf(skull, colour):
    """A scarf round head and neck that leaves the face free."""

    def keep(v):
        azimuth = np.abs(np.arctan2(v[:, 0], skull.centre_y - v[:, 1]))
        return (azimuth > 0.75) | (v[:, 2] > skull.eye_z + 0.05)

    _shell(skull, "headscarf", keep, 0.014, mat("headscarf", color=colour, rough=0.9), 0.15)


def plait(skull, colour, side=1):
    """Close hair and a thick plait that lies over one shoulder."""
    scalp(skull, colour, 0.01, 0.15)
    for k in range(6):
        at = (side * (skull.rx + 0.012 + 0.006 * k), skull.centre_y - 0.012 * k, skull.eye_z - 0.05 - 0.03 * k)
        _ball(skull, "plait", at, (0.02, 0.022, 0.022), bpy.data.materials["scalp"])


def top_knot(skull, colour):
    """Long hair bound on top of the crown."""
    scalp(skull, colour, 0.008, 0.15)
    at = (0, skull.centre_y - 0.01, skull.top + 0.02)
    _ball(skull, "knot", at, (0.034, 0.034, 0.03), bpy.data.materials["scalp"])


def one_sided(skull, colour, side=1, length=0.17):
    """Hair combed to one side, where it hangs over half of the brow and cheek."""
    m = strands("one_sided", colour)
    columns = 64
    azimuths = np.linspace(-math.pi, math.pi, columns)
    steps = np.linspace(0, math.pi / 2, 6)
    top = skull.top - skull.band_z
    points = [
        skull.around(a, 1.06 * math.sin(q), skull.band_z + 0.016 + top * math.cos(q)) for q in steps for a in azimuths
    ]
    for k in range(1, 6):
        for a in azimuths:
            turned = math.degrees(a) * side
            hangs = length if turned > 8 or turned < -75 else 0.01
            points.append(skull.around(a, 1.06 + 0.008 * k, skull.band_z + 0.016 - hangs * k / 5))
    skull.add("one_sided", points, _grid(11, columns, False), m).modifiers.new("t", "SOLIDIFY").thickness = 0.006


def locks(skull, colour, gap_deg=42.0):
    """Many thick cords of hair hanging from the crown."""
    scalp(skull, colour, 0.009, 0.3)
    m, rng = strands("lock", colour), np.random.default_rng(21)
    for row, first in ((1.06, 0.3), (1.02, 0.75)):
        for a in np.arange(-math.pi, math.pi, 0.24):
            if abs(math.degrees(a)) < gap_deg and first > 0.5:
                continue
            a, end = a + rng.normal(0, 0.05), rng.uniform(0.10, 0.19)
            way = [
                skull.around(a, row * math.sin(q), skull.band_z + 0.01 + (skull.top - skull.band_z) * math.cos(q))
                for q in np.linspace(first, math.pi / 2, 5)
            ]
            if abs(math.degrees(a)) >= gap_deg:
                way += [skull.around(a + 0.03 * k, row + 0.03 * k, skull.band_z - end * k / 4) for k in range(1, 5)]
            _tube(skull, "lock", way, 0.008, m)


def headphones(skull, colour):
    """A bow over the crown, a shell on each ear."""
    m = mat("headphones", color=colour, rough=0.5)
    way = [
        [
            math.sin(q) * (skull.rx + 0.02),
            skull.centre_y + 0.005,
            skull.eye_z + math.cos(q) * (skull.top + 0.022 - skull.eye_z),
        ]
        for q in np.linspace(-math.pi / 2, math.pi / 2, 15)
    ]
    _tube(skull, "bow", way, 0.009, m)
    for side in (-1, 1):
        _ball(
            skull,
            "shell",
            (side * (skull.rx + 0.02), skull.centre_y + 0.005, skull.eye_z - 0.005),
            (0.02, 0.036, 0.042),
            m,
        )


def headband(skull, colour):
    """A band of cloth round the brow."""
    points = [
        skull.around(2 * math.pi * i / AROUND, 1.0, skull.band_z + z) for z in (-0.012, 0.026) for i in range(AROUND)
    ]
    skull.add("headband", points, _grid(2, AROUND, True), mat("headband", color=colour, rough=0.9))


def front_panel(skull, colour, front):
    """A peaked cap whose front is of another colour."""
    hat(skull, "peak", colour)
    rings = RINGS["peak"][:5]
    across = np.linspace(-0.75, 0.75, 9)
    points = [skull.around(a, s * 1.02, skull.band_z + z * 1.01) for s, z in rings for a in across]
    skull.add("front", points, _grid(len(rings), 9, False), mat("front", color=front, rough=0.9))


def moustache(skull, colour):
    """Over the upper lip only."""
    at = (0, skull.front_y - 0.008, skull.eye_z - 0.062)
    _ball(skull, "moustache", at, (0.028, 0.012, 0.007), strands("moustache", colour))


WEAR |= {
    f.__name__: f
    for f in (
        trilby,
        floppy,
        headscarf,
        plait,
        top_knot,
        one_sided,
        locks,
        headphones,
        headband,
        front_panel,
        moustache,
    )
}
