"""Hats and hair of any shape and colour, drawn at random, for heads to learn from (head_points.py).

Nothing is modelled after what heads_fresh.py names: brims, peaks, scarves, tails and fringes are whatever numbers come. Body
frame and helpers as in head_wear.py.
"""

import math

import numpy as np
from head_wear import AROUND, _ball, _beside_ears, _grid, _hairline, _shell, _tube
from scene import mat

COLOURS = np.array([(0.02, 0.017, 0.015), (0.10, 0.05, 0.025), (0.5, 0.36, 0.17), (0.3, 0.3, 0.31), (0.75, 0.74, 0.71)])
_LATTICE = np.random.default_rng(4).random((32, 32, 32))


def grain(x):
    """Smooth noise 0..1 at places x (n, 3)."""
    at = np.floor(x).astype(int)
    f = x - at
    f = f * f * (3 - 2 * f)
    out = 0.0
    for k in range(8):
        c = np.array([k & 1, k >> 1 & 1, k >> 2 & 1])
        i, j, m = ((at + c) % 32).T
        out = out + _LATTICE[i, j, m] * np.prod(np.where(c, f, 1 - f), axis=1)
    return out


def hair_colour(rng, spread=0.4):
    return tuple(np.clip(COLOURS[rng.integers(5)] * rng.uniform(1 - spread, 1 + spread, 3), 0.01, 0.9))


def cloth_colour(rng):
    kind = rng.random()
    if kind < 0.25:
        return tuple(np.clip(rng.uniform(0.55, 0.9) * rng.uniform(0.85, 1.0, 3), 0.01, 0.9))  # whites and creams
    if kind < 0.5:
        return tuple(rng.uniform(0.01, 0.08) * rng.uniform(0.7, 1.3, 3))  # black, navy
    return tuple(np.clip(rng.uniform(0.05, 0.9) * rng.uniform(0.15, 1.0, 3), 0.01, 0.9))


def _mixed(one, other, share):
    return np.array(one) * (1 - share[:, None]) + np.array(other) * share[:, None]


def strands(name, rng, colour=None):
    """Hair: strands along some direction, perhaps with grey in it, pale or dark ends, or a parting."""
    colour = np.array(hair_colour(rng) if colour is None else colour)
    along = np.array([70, 70, 9]) * rng.uniform(0.4, 1.6) * (rng.uniform(0.6, 1.6, 3))
    if rng.random() < 0.25:  # curls: no direction
        along = np.full(3, rng.uniform(40, 160))
    deep, shift = rng.uniform(0.1, 0.7), rng.uniform(0, 20, 3)
    dark, pale = colour * (1 - deep), np.minimum(colour * (1 + deep), 1)
    other = np.array(hair_colour(rng))
    streaks = rng.uniform(0.3, 0.8) if rng.random() < 0.2 else 0.0
    ends, height = (rng.uniform(-0.6, 0.9), rng.uniform(0.03, 0.2)) if rng.random() < 0.3 else (0.0, 1.0)

    def paint(p, skull):
        x = p * along + shift
        g = np.clip((0.6 * grain(x) + 0.4 * grain(3.1 * x) - 0.3) / 0.4, 0, 1)
        tone = _mixed(dark, pale, g)
        if streaks:
            tone = np.where((grain(x * [0.5, 0.5, 0.3] + 7) > 1 - 0.5 * streaks)[:, None], other, tone)
        down = np.clip((skull.top - p[:, 2]) / height - 0.3, 0, 1)[:, None]
        return tone * (1 + ends * down)

    m = mat(name, color=tuple(colour))
    m.paint = paint
    return m


def cloth(name, rng, plain=0.4):
    """Plain, woven, striped, checked, dotted, in panels or blotched; perhaps a patch of another colour somewhere."""
    one, other = cloth_colour(rng), cloth_colour(rng)
    kind = 0 if rng.random() < plain else int(rng.choice(6, p=(0.15, 0.1, 0.1, 0.4, 0.15, 0.1))) + 1
    size, way, shift = rng.uniform(0.008, 0.05), rng.normal(0, 1, (3, 3)), rng.uniform(0, 20, 3)
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    many, turned, soft = int(rng.integers(3, 14)), rng.uniform(0, 6.28), rng.uniform(0.02, 0.15)
    patch = None
    if rng.random() < 0.45:  # a badge, a front of another colour
        middle = rng.normal(0, 0.4) if rng.random() < 0.7 else rng.uniform(-3.1, 3.1)
        patch = (middle, rng.uniform(0.08, 0.9), rng.uniform(0, 0.07), rng.uniform(0.008, 0.06), cloth_colour(rng))
    weave = rng.uniform(0.1, 0.6) if rng.random() < 0.3 else 0.0
    period = rng.uniform(0.003, 0.009)

    def paint(p, skull):
        azimuth = np.arctan2(p[:, 0], skull.centre_y - p[:, 1])
        u = p @ way.T / size
        share = [
            lambda: np.zeros(len(p)),
            lambda: np.floor(u[:, 0]) % 2,
            lambda: (np.floor(u[:, 0]) + np.floor(u[:, 1]) + np.floor(u[:, 2])) % 2,
            lambda: (np.linalg.norm(u % 1 - 0.5, axis=1) < 0.4).astype(float),
            lambda: np.floor((azimuth + turned) / (2 * math.pi) * many) % 2,
            lambda: (grain(u * 0.5 + shift) > 0.5).astype(float),
            lambda: np.clip((p[:, 2] - skull.band_z) / 0.08 + 0.3 * np.sin(turned), 0, 1),
        ][kind]()
        tone = _mixed(one, other, share)
        if patch:
            middle, wide, z, high, colour = patch
            off = (azimuth - middle + math.pi) % (2 * math.pi) - math.pi
            on = (np.abs(off) < wide) & (np.abs(p[:, 2] - skull.band_z - z) < high)
            tone = np.where(on[:, None], colour, tone)
        light = 1 + soft * (2 * grain(p * 300) - 1)
        if weave:
            r = np.hypot(p[:, 0], p[:, 1] - skull.centre_y) + p[:, 2]
            light *= 1 + weave * np.sign(np.sin(r * math.pi / period) * np.sin(azimuth * 0.1 * math.pi / period))
        return tone * light[:, None]

    m = mat(name, color=tuple(one))
    m.paint = paint
    return m


def _tilted(points, skull, rng_tilt):
    pitch, roll, up = rng_tilt
    middle = np.array([0, skull.centre_y, skull.band_z])
    c, s, d, e = math.cos(pitch), math.sin(pitch), math.cos(roll), math.sin(roll)
    turn = np.array([[d, 0, e], [0, 1, 0], [-e, 0, d]]) @ np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    return (np.asarray(points) - middle) @ turn.T + middle + [0, 0, up]


def any_hat(skull, rng):
    """Returns whether hair may show on top (a visor, a band)."""
    tilt = rng.normal(0, 0.1), rng.normal(0, 0.06), rng.uniform(-0.012, 0.02)
    brim = ("none", "peak", "round")[rng.choice(3, p=(0.25, 0.42, 0.33))]
    opened = brim != "round" and rng.random() < 0.15
    high, taper = rng.uniform(0.06, 0.15), rng.uniform(0.7, 1.05)
    bulge = rng.uniform(-0.04, 0.12)
    rings = [(1 + bulge * math.sin(math.pi * k / 4) + (taper - 1) * k / 4, high * 0.8 * k / 4) for k in range(5)]
    if opened:
        rings = [(1.0, 0.0), (1.02, rng.uniform(0.02, 0.045))]
    else:
        rings += [(taper * 0.8, high * 0.93), (taper * 0.45, high), (0.0, high * rng.uniform(0.8, 1.02))]
    main = cloth("crown", rng)
    _rings(skull, "crown", rings, main, tilt, lambda a, s: rng_wave(a, s, 0.0, ()))
    second = main if rng.random() < 0.55 else cloth("brim", rng, 0.7)
    if brim == "round":
        reach, droop = rng.uniform(1.1, 2.05), rng.uniform(-0.02, 0.07)
        wave, phases = rng.uniform(0, 0.03) * (rng.random() < 0.5), rng.uniform(0, 6.28, 3)
        out = [(1 + (reach - 1) * k / 4, -droop * (k / 4) ** rng.choice([1, 2])) for k in range(4, -1, -1)]
        _rings(skull, "brim", out, second, tilt, lambda a, s: rng_wave(a, s, wave, phases))
    elif brim == "peak":
        _peak(skull, rng, second, tilt)
    if not opened and rng.random() < 0.35:
        wide, at = rng.uniform(0.008, 0.035), rng.uniform(0, 0.01)
        _rings(skull, "hatband", [(1.03, at), (1.03, at + wide)], cloth("hatband", rng, 0.8), tilt, lambda a, s: 0.0)
    if not opened and rng.random() < 0.2:
        size = rng.uniform(0.005, 0.03)
        at = _tilted([[0, skull.centre_y, skull.band_z + high]], skull, tilt)[0]
        _ball(skull, "button", at, (size,) * 3, cloth("button", rng, 0.9))
    return opened


def rng_wave(a, share, wave, phases):
    return wave * max(share - 1, 0) * sum(math.sin(k * a + p) for k, p in zip((2, 3, 5), phases))


def _rings(skull, name, rings, material, tilt, wave):
    turns = [2 * math.pi * i / AROUND for i in range(AROUND)]
    points = [skull.around(a, s, skull.band_z + z + wave(a, s)) for s, z in rings for a in turns]
    skull.add(name, _tilted(points, skull, tilt), _grid(len(rings), AROUND, True), material)


def _peak(skull, rng, material, tilt):
    reach, wide, droop = rng.uniform(0.03, 0.1), rng.uniform(0.7, 1.25), rng.uniform(-0.005, 0.03)
    front = rng.random()
    turned = 0.0 if front < 0.7 else math.pi if front < 0.85 else rng.uniform(-math.pi, math.pi)
    way = np.array([math.sin(turned), -math.cos(turned)])
    points = []
    for j in range(4):
        for i in range(15):
            a = (i - 7) / 7
            p = np.array(skull.around(a * wide + turned, 1.0, skull.band_z))
            p[:2] += way * reach * j / 3 * math.sqrt(max(1 - a * a, 0))
            p[2] += 0.004 - droop * j / 3 + 0.012 * j / 3 * (1 - a * a)
            points.append(p)
    skull.add("peak", _tilted(points, skull, tilt), _grid(4, 15, False), material)


def any_scarf(skull, rng):
    """Cloth close to the skull, round the neck or not, perhaps with a knot and ends."""
    face, brow, neck = rng.uniform(0.55, 1.6), rng.uniform(0.03, 0.075), rng.uniform(-0.2, 0.0)
    m = cloth("scarf", rng, 0.3)

    def keep(v):
        azimuth = np.abs(np.arctan2(v[:, 0], skull.centre_y - v[:, 1]))
        return ((azimuth > face) & (v[:, 2] > skull.eye_z + neck)) | (v[:, 2] > skull.eye_z + brow)

    _shell(skull, "scarf", keep, _lumps(rng, rng.uniform(0.005, 0.02)), m, 0.1)
    if rng.random() < 0.4:
        a = rng.choice([-1, 1]) * rng.uniform(1.3, 3.1)
        at = np.array(skull.around(a, 1.05, skull.eye_z + rng.uniform(-0.05, 0.05)))
        _ball(skull, "tie", at, rng.uniform(0.012, 0.03, 3), m)
        for _ in range(2):
            end = at + np.array([rng.normal(0, 0.03), rng.normal(0, 0.03), -rng.uniform(0.03, 0.14)])
            _tube(skull, "end", np.linspace(at, end, 5), rng.uniform(0.006, 0.016), m)


def any_band(skull, rng):
    low, wide = rng.uniform(-0.02, 0.03), rng.uniform(0.015, 0.06)
    tilt = rng.normal(0, 0.12), rng.normal(0, 0.04), 0.0
    _rings(skull, "band", [(1.0, low), (1.01, low + wide)], cloth("band", rng), tilt, lambda a, s: 0.0)


def _lumps(rng, thickness):
    """Thickness (m) that swells here and there."""
    scale, deep, shift = rng.uniform(12, 60), rng.uniform(0, 0.8), rng.uniform(0, 20, 3)
    top = rng.uniform(0.6, 1.6)

    def at(v):
        high = np.clip((v[:, 2] - v[:, 2].min()) / (np.ptp(v[:, 2]) + 1e-6), 0, 1)
        return thickness * (1 + deep * (2 * grain(v * scale + shift) - 1)) * (1 + (top - 1) * high)

    return at


def any_scalp(skull, rng, colour=None, thickness=None):
    """Hair all over the skull, or what a receding hairline leaves."""
    back, side, shift = rng.uniform(-0.015, 0.05), rng.uniform(-0.02, 0.02), rng.uniform(0, 20, 3)
    uneven, ears = rng.uniform(0, 0.02), rng.random() < 0.7
    crown = rng.uniform(0.02, 0.07) if rng.random() < 0.12 else 0.0

    def keep(v):
        azimuth = np.arctan2(v[:, 0], skull.centre_y - v[:, 1])
        line = _hairline(skull, v) + back * np.exp(-((azimuth / 0.7) ** 2)) + side * np.sin(azimuth)
        line += uneven * (grain(v * 50 + shift) - 0.5)
        bare = np.linalg.norm(v - [0, skull.centre_y + 0.03, skull.top], axis=1) < crown
        return (v[:, 2] > line) & ~bare & (_beside_ears(skull, v) if ears else True)

    thickness = thickness or np.exp(rng.uniform(math.log(0.001), math.log(0.05)))
    _shell(skull, "scalp", keep, _lumps(rng, thickness), strands("scalp", rng, colour), rng.uniform(0, 0.5))


def any_hanging(skull, rng, colour=None, least_gap=0.0):
    """Hair from the crown down that is longer here and shorter there, open over some part of the face or none."""
    m = strands("hanging", rng, colour)
    columns = 72
    azimuths = np.linspace(-math.pi, math.pi, columns)
    middle, gap = rng.normal(0, 18), max(rng.uniform(0, 75), least_gap)
    length, shorter = rng.uniform(0.05, 0.27), rng.uniform(0, 0.6)
    fringe = rng.uniform(0.0, 0.07) if rng.random() < 0.5 else 0.0
    phases, curls = rng.uniform(0, 6.28, 3), rng.uniform(0, 0.12)
    lock = np.convolve(rng.uniform(-1, 1, columns + 4), np.ones(5) / 5, "valid")
    wide, flare, thick = rng.uniform(1.02, 1.16), rng.uniform(-0.05, 0.2), rng.uniform(0.008, 0.035)
    top = skull.top - skull.band_z
    steps = np.linspace(0, math.pi / 2, 6)
    points = [
        skull.around(a, math.sin(q) * wide, skull.band_z + thick + top * math.cos(q)) for q in steps for a in azimuths
    ]
    off = np.abs(np.degrees(azimuths) - middle)
    uneven = 1 - shorter * (0.5 + 0.5 * np.sin(azimuths + phases[0])) * (0.5 + 0.5 * np.cos(2 * azimuths + phases[1]))
    ramp = np.clip((off - gap) / rng.uniform(3, 30), 0, 1)
    hangs = fringe + (length * uneven - fringe) * ramp
    for k in range(1, 7):
        for a, q, h in zip(azimuths, lock, hangs):
            z = skull.band_z + thick - (h + 0.02 * q * (h > 0.02)) * k / 6
            swing = curls * math.sin(phases[2] + 2.2 * k) * q
            points.append(skull.around(a, wide + 0.05 * q + flare * k / 6 + swing, z))
    skull.add("hanging", points, _grid(12, columns, False), m)


def any_tails(skull, rng, colour=None):
    """Knots, tails, braids and cords: few or many, from anywhere behind the brow, hanging or sticking out."""
    colour = hair_colour(rng) if colour is None else colour
    any_scalp(skull, rng, colour, rng.uniform(0.004, 0.014))
    m = strands("tail", rng, colour)
    many = int(rng.choice([1, 2, rng.integers(10, 34)], p=(0.45, 0.3, 0.25)))
    round_head, start, length = rng.uniform(0.9, 3.0), 0.0, 0.0
    for k in range(many):
        side = 1 if many == 1 else (-1) ** k
        a = rng.uniform(-3.1, 3.1) if many > 2 else side * round_head + rng.normal(0, 0.05)
        if many > 2 or k == 0:  # two are alike
            start, length = rng.uniform(0.2, 1.5), rng.uniform(0.0, 0.24)
        if many > 2 and abs(a) < 0.7:
            length = min(length, 0.06)
        _tail(skull, rng, m, (a, start, length), slim=many > 2)


def _tail(skull, rng, m, root, slim):
    a, start, length = root
    top = skull.top - skull.band_z
    thick = rng.uniform(0.005, 0.011) if slim else rng.uniform(0.014, 0.034)
    q = np.array([start, *np.linspace(start, math.pi / 2, 4)[1:]]) if slim else np.array([start])
    way = [skull.around(a, math.sin(t) * 1.04 + thick * 6, skull.band_z + 0.01 + thick + top * math.cos(t)) for t in q]
    if length < 0.03 and not slim:
        _ball(skull, "knot", way[-1], thick * rng.uniform(1.0, 1.7, 3), m)
        return
    drift = rng.normal(0, 0.012, 2) if slim else np.array([math.sin(a), -math.cos(a)]) * rng.uniform(0, 0.02)
    last = np.array(way[-1])
    way += [last + np.append(drift * k, -length * k / 6) for k in range(1, 7)]
    lumps = 1 + rng.uniform(0, 0.4) * np.sin(np.arange(len(way)) * 2.4)
    _tube(skull, "tail", way, thick * lumps, m)
