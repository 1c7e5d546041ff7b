"""What a head may wear or grow, modelled on the generator's body: hats, spectacles, beards, hair that hangs.

Body frame: x toward the player's left, -y where the face looks, z up, metres; all of it moves with the head's bone.
"""

import math

import bpy
import numpy as np
from body import NB
from scene import mat, mesh_obj

# Rings of a hat from the brim's edge to the top: share of the skull's half-axes, height above the band (m).
RINGS = {
    "peak": ((1.0, 0.0), (0.99, 0.03), (0.92, 0.06), (0.74, 0.09), (0.4, 0.108), (0.0, 0.113)),
    "beanie": ((1.0, -0.012), (1.04, 0.0), (1.03, 0.03), (0.98, 0.07), (0.8, 0.11), (0.45, 0.135), (0.0, 0.14)),
    "bucket": ((1.45, -0.045), (1.2, -0.015), (1.0, 0.0), (0.97, 0.05), (0.9, 0.085), (0.5, 0.1), (0.0, 0.102)),
    "straw": ((1.75, -0.02), (1.4, -0.006), (1.0, 0.0), (0.95, 0.06), (0.9, 0.09), (0.6, 0.11), (0.0, 0.105)),
    "visor": ((1.0, 0.0), (1.02, 0.036)),
    "flat": ((1.03, 0.0), (1.1, 0.025), (1.0, 0.055), (0.7, 0.08), (0.0, 0.088)),
    "bandana": ((1.0, -0.012), (1.0, 0.04), (0.86, 0.08), (0.5, 0.1), (0.0, 0.106)),
}
# Reach of the peak beyond the skull (m); backwards where negative.
PEAKS = {"peak": 0.07, "visor": 0.075, "flat": 0.035, "back": -0.07}
AROUND = 40


class Skull:
    """Where a body's skull is: centre (x, y) of the band, its half-axes, heights of eyes, top and band."""

    def __init__(self, scene):
        b = self.body = scene.body
        self.scene = scene
        on_head = b.w[:NB, b.bi["head"]] > 0.9
        v = b.v[:NB][on_head]
        self.eye = b.cube["joint-l-eye"]
        self.eye_z, self.top = self.eye[2], v[:, 2].max()
        self.band_z = self.eye_z + 0.045
        band = v[v[:, 2] > self.band_z]
        self.centre_y = (band[:, 1].min() + band[:, 1].max()) / 2
        self.rx, self.ry = band[:, 0].max(), (band[:, 1].max() - band[:, 1].min()) / 2
        self.front_y = band[:, 1].min()

    def add(self, name, points, faces, *materials, second=()):
        """A part that moves with the head; faces whose index is in ``second`` have the second material."""
        points = np.asarray(points, float)
        o = mesh_obj(name, points, faces, material=materials[0])
        for m in materials[1:]:
            o.data.materials.append(m)
        for k in second:
            o.data.polygons[k].material_index = 1
        w = np.zeros((len(points), self.body.w.shape[1]))
        w[:, self.body.bi["head"]] = 1
        self.scene.parts.append((o, points, w))
        return o

    def around(self, azimuth, share, z):
        """Point of the widened skull at an azimuth (0: the face's side)."""
        x = (self.rx + 0.012) * share * math.sin(azimuth)
        return [x, self.centre_y - (self.ry + 0.012) * share * math.cos(azimuth), z]


def strands(name, colour):
    """Hair seen from afar: dark and pale strands along the head's height."""
    m = mat(name, noise=(1, tuple(c * 0.55 for c in colour), tuple(min(c * 1.35, 1) for c in colour)), rough=0.6)
    nt = m.node_tree
    noise = next(n for n in nt.nodes if n.type == "TEX_NOISE")
    source = noise.inputs["Vector"].links[0].from_socket
    squeeze = nt.nodes.new("ShaderNodeMapping")
    squeeze.inputs["Scale"].default_value = (70, 70, 9)
    nt.links.new(source, squeeze.inputs["Vector"])
    nt.links.new(squeeze.outputs["Vector"], noise.inputs["Vector"])
    return m


def _grid(rows, columns, closed):
    last = columns if closed else columns - 1
    return [
        [j * columns + i, j * columns + (i + 1) % columns, (j + 1) * columns + (i + 1) % columns, (j + 1) * columns + i]
        for j in range(rows - 1)
        for i in range(last)
    ]


def hat(skull, kind, colour, panels=None):
    """kind: a key of RINGS or "back" (a peaked cap turned round). panels: (second colour, how many round the hat)."""
    rings = RINGS["peak" if kind == "back" else kind]
    points = [skull.around(2 * math.pi * i / AROUND, s, skull.band_z + z) for s, z in rings for i in range(AROUND)]
    faces = _grid(len(rings), AROUND, True)
    second = []
    if panels:
        second = [k for k in range(len(faces)) if (k % AROUND) * panels[1] // AROUND % 2]
    cloth = [mat("hat", color=colour, rough=0.9)] + ([mat("hat2", color=panels[0], rough=0.9)] if panels else [])
    skull.add("hat", points, faces, *cloth, second=second).modifiers.new("t", "SOLIDIFY").thickness = 0.003
    reach = PEAKS.get(kind)
    if reach:
        out = [(j, i) for j in range(4) for i in range(15)]
        peak = []
        for j, i in out:
            a = (i - 7) / 7
            p = np.array(skull.around(a * 1.0 + (math.pi if reach < 0 else 0), 1.0, skull.band_z))
            p[1] -= reach * j / 3 * math.sqrt(max(1 - a * a, 0))
            p[2] += 0.004 - 0.006 * j + 0.012 * j / 3 * (1 - a * a)
            peak.append(p)
        o = skull.add("peak", peak, _grid(4, 15, False), cloth[-1])
        o.modifiers.new("t", "SOLIDIFY").thickness = 0.003


def _tube(skull, name, way, radius, material):
    way = np.asarray(way, float)
    along = np.gradient(way, axis=0)
    points = []
    for p, d, r in zip(way, along, np.broadcast_to(radius, len(way))):
        d = d / np.linalg.norm(d)
        a = np.cross(d, [0.3, 0.2, 0.93])
        a /= np.linalg.norm(a)
        b = np.cross(d, a)
        points += [p + r * (math.cos(q) * a + math.sin(q) * b) for q in np.linspace(0, 2 * math.pi, 8)[:-1]]
    skull.add(name, points, _grid(len(way), 7, True), material)


def spectacles(skull, colour, dark=False):
    """Round glasses; dark: black lenses."""
    frame = mat("frame", color=colour, rough=0.4)
    glass = mat("glass", color=(0.01, 0.01, 0.012), rough=0.1)
    turn = np.linspace(0, 2 * math.pi, 25)
    y = skull.eye[1] - 0.024
    for side in (-1, 1):
        at = np.array([side * abs(skull.eye[0]), y, skull.eye_z])
        rim = at + np.stack([0.025 * np.cos(turn), 0.004 * np.cos(turn) * side, 0.021 * np.sin(turn)], axis=1)
        _tube(skull, "rim", rim, 0.0022, frame)
        if dark:
            skull.add("lens", rim[:-1], [list(range(24))], glass)
        ear = [side * (skull.rx + 0.004), skull.centre_y + 0.012, skull.eye_z + 0.004]
        _tube(skull, "temple", np.linspace(at + np.array([side * 0.025, 0.004, 0.005]), ear, 6), 0.0018, frame)
    _tube(skull, "bridge", [[x, y - 0.002, skull.eye_z + 0.004] for x in np.linspace(-0.011, 0.011, 4)], 0.0018, frame)


def _shell(skull, name, keep, thickness, material, rough=0.0):
    """The body's own head faces whose vertices all satisfy ``keep``, moved outward by ``thickness``: m, or
    a function of the places."""
    b = skull.body
    v = b.v[:NB]
    on_head = b.w[:NB, b.bi["head"]] > 0.5
    ok = on_head & keep(v)
    faces = [f for f in b.faces if all(i < NB and ok[i] for i in f)]
    ids = sorted({i for f in faces for i in f})
    index = {i: k for k, i in enumerate(ids)}
    normal = np.zeros((NB, 3))
    for f in faces:
        normal[f] += np.cross(v[f[1]] - v[f[0]], v[f[2]] - v[f[1]])
    normal = normal[ids] / np.maximum(np.linalg.norm(normal[ids], axis=1, keepdims=True), 1e-12)
    rng = np.random.default_rng(11)
    lump = 1 + rough * rng.uniform(-1, 1, (len(ids), 1))
    out = thickness(v[ids])[:, None] if callable(thickness) else thickness
    skull.add(name, v[ids] + normal * out * lump, [[index[i] for i in f] for f in faces], material)


def _hairline(skull, v):
    """Height of the hairline at each vertex: high over the face, at the ears' top beside, in the neck behind."""
    azimuth = np.abs(np.arctan2(v[:, 0], skull.centre_y - v[:, 1]))
    return skull.eye_z + np.interp(azimuth, [0, 0.8, 1.3, 2.0, math.pi], [0.062, 0.05, 0.022, -0.02, -0.07])


def _beside_ears(skull, v):
    ears = [v[skull.body.ear[s]].mean(0) for s in "lr"]
    return np.min([np.linalg.norm(v - e, axis=1) for e in ears], axis=0) > 0.03


def scalp(skull, colour, thickness=0.006, rough=0.3):
    """Hair all over the skull: shaved close at 3 mm, a full head of curls at 45."""
    m = strands("scalp", colour)
    _shell(skull, "scalp", lambda v: (v[:, 2] > _hairline(skull, v)) & _beside_ears(skull, v), thickness, m, rough)


def ring(skull, colour, thickness=0.008):
    """Hair at the sides and behind only: a bald crown, or what a hat leaves free."""
    m = strands("ring", colour)

    def keep(v):
        azimuth = np.abs(np.arctan2(v[:, 0], skull.centre_y - v[:, 1]))
        side = (azimuth > 1.15) & (v[:, 2] < skull.band_z + 0.015)
        return side & (v[:, 2] > _hairline(skull, v)) & _beside_ears(skull, v)

    _shell(skull, "ring", keep, thickness, m, 0.3)


def beard(skull, colour, thickness=0.012):
    """Cheeks, chin and upper lip."""
    m = strands("beard", colour)

    def keep(v):
        below = v[:, 2] < skull.eye_z - 0.05 - 0.25 * np.abs(v[:, 0])
        mouth = (np.abs(v[:, 0]) < 0.026) & (np.abs(v[:, 2] - skull.eye_z + 0.073) < 0.007)
        nose = (np.abs(v[:, 0]) < 0.02) & (v[:, 2] > skull.eye_z - 0.055)
        return below & (v[:, 1] < skull.centre_y + 0.01) & ~mouth & ~nose

    _shell(skull, "beard", keep, thickness, m, 0.35)


def hanging(skull, colour, gap_deg=35.0, length=0.2, fringe=0.0):
    """Long hair from the crown down, open over the face by gap_deg either side; fringe: how far it hangs there (m)."""
    m = strands("hanging", colour)
    rng = np.random.default_rng(5)
    columns = 72
    azimuths = np.linspace(-math.pi, math.pi, columns)
    top = skull.top - skull.band_z
    high = [0.018 + top * math.cos(q) for q in np.linspace(0, math.pi / 2, 6)]
    share = [math.sin(q) * 1.07 for q in np.linspace(0, math.pi / 2, 6)]
    points = [skull.around(a, s, skull.band_z + z) for s, z in zip(share, high) for a in azimuths]
    lock = np.convolve(rng.uniform(-1, 1, columns + 4), np.ones(5) / 5, "valid")
    for k in range(1, 7):
        for a, q in zip(azimuths, lock):
            hangs = length if abs(math.degrees(a)) > gap_deg else fringe
            z = skull.band_z + 0.018 - (hangs + 0.02 * q * (hangs > 0)) * k / 6
            points.append(skull.around(a, 1.07 + 0.05 * q + 0.04 * k / 6, z))
    o = skull.add("hanging", points, _grid(12, columns, False), m)
    o.modifiers.new("t", "SOLIDIFY").thickness = 0.006


def _ball(skull, name, at, size, material):
    u, q = np.meshgrid(np.linspace(0, 2 * math.pi, 17)[:-1], np.linspace(0.05, math.pi - 0.05, 10))
    x = np.stack([np.sin(q) * np.cos(u), np.sin(q) * np.sin(u), np.cos(q)], axis=-1).reshape(-1, 3)
    skull.add(name, np.asarray(at) + x * np.asarray(size), _grid(10, 16, True), material)


def bun(skull, colour):
    """A knot on the back of the crown over close hair."""
    scalp(skull, colour, 0.009, 0.1)
    back = skull.centre_y + skull.ry
    _ball(skull, "bun", (0, back - 0.01, skull.top - 0.025), (0.045, 0.045, 0.04), bpy.data.materials["scalp"])


def tails(skull, colour):
    """Two tails hanging beside the neck over close hair."""
    scalp(skull, colour, 0.009, 0.1)
    for side in (-1, 1):
        at = (side * (skull.rx + 0.022), skull.centre_y + 0.03, skull.eye_z - 0.08)
        _ball(skull, "tail", at, (0.022, 0.024, 0.095), bpy.data.materials["scalp"])


WEAR = {f.__name__: f for f in (hat, spectacles, scalp, ring, beard, hanging, bun, tails)}
