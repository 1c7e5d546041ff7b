"""Learns the head's turn from pairs of pictures: the head at rest and now. Only heads of the set `develop`.

    python -m tests.recipes.head_learn CROPS OUT.npz [--clips FOLDER ...] [--points FOLDER] [--steps N] [--held-out N]

In the trainer's own environment (jax comes with the pose model). CROPS: what head_crops.py rendered; --clips: rendered clips,
whose pictures are compressed and whose heads are found by the tracker itself. The net is small enough for plain numpy at run
time: trainer/vision/head/witness.py. What it reached is told in trainer/vision/head/STUDY.md.
"""

import argparse
from pathlib import Path

import cv2
import jax
import jax.numpy as jnp
import numpy as np

from tests.bench.heads import REST_S, frames_of
from tests.support.truth import read_truth
from trainer.vision.head.look import CHANNELS, HEIGHT, WIDTH, head_look
from trainer.vision.head.outline import place_head
from trainer.vision.head.tracker import HeadTracker
from trainer.vision.observer import MIN_VISIBILITY

WIDTHS = (24, 48, 64)
HIDDEN = 64
UNIT_DEG = 30.0
REST_DEG = 10.0  # a head turned less than this may stand for the one at rest
BATCH, OF_CLIPS = 64, 20  # pairs a step, and how many of them are of clips
VARIANTS, CLIP_VARIANTS = 8, 6  # of each picture, shaken differently
MOVED_DEG = 0.7  # a clip's next picture is taken when the head has turned so much
DROPPED, DECAY, SHAKEN, RATE = 0.4, 4e-4, 0.1, 1e-3
GRAIN = np.random.default_rng(2).normal(0, 1, 2_000_000).astype(np.float32)
LEVELS = np.linspace(0, 1, 256).reshape(256, 1, 1)


def heads(folder):
    """Every head as (pictures, turn_deg, centre, half) with the outline placed as the tracker places it."""
    rng = np.random.default_rng(3)
    found = []
    for path in sorted(folder.glob("*.npz")):
        d = np.load(path)
        x, y, half = d["expected"]
        pictures, turn, centre = d["picture"], d["turn_deg"], d["centre"]
        soft = cv2.GaussianBlur(pictures[0], (0, 0), 0.6)
        at = np.array([x, y]) + rng.normal(0, 0.12 * half, 2)
        ellipse = place_head(soft, at[0], at[1], half * rng.uniform(0.93, 1.07))
        if ellipse is None:
            continue
        moved = centre - centre[0] + [ellipse.x, ellipse.y]
        found.append((pictures, turn, moved, ellipse.half_width, path.stem))
    return found


def filmed(picture, rng, soft, noise, curves):
    """As a camera gives it: soft, noisy, compressed. curves: (256, 1, 3) uint8, brightness and colour of the light."""
    p = cv2.GaussianBlur(cv2.LUT(picture, curves), (0, 0), soft)
    if rng.random() < 0.3:
        p = cv2.blur(p, (int(rng.integers(2, 5)), 1))
    at = int(rng.integers(0, GRAIN.size - p.size))
    p = cv2.add(p, GRAIN[at : at + p.size].reshape(p.shape) * np.float32(noise), dtype=cv2.CV_8U)
    if rng.random() < 0.7:
        _, code = cv2.imencode(".jpg", p, [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(45, 95))])
        p = cv2.imdecode(code, cv2.IMREAD_COLOR)
    return p


def pair(head, j, rng):
    """(look at rest and now stacked, turn in units) with everything shaken that does not matter."""
    pictures, turn, centre, half, _ = head
    rest = np.flatnonzero(np.abs(turn) < REST_DEG)
    i = int(rng.integers(2)) if rng.random() < 0.75 else int(rng.choice(rest))
    soft, noise = rng.uniform(0.4, 0.9), rng.uniform(0.5, 7)
    gain, gamma = rng.uniform(0.7, 1.3) * rng.uniform(0.85, 1.15, 3), rng.uniform(0.75, 1.3)
    curves = np.clip(255 * LEVELS**gamma * gain, 0, 255).astype(np.uint8)
    shift, size = rng.normal(0, 0.07 * half, 2), half * rng.uniform(0.93, 1.07)
    flip = rng.random() < 0.5
    looks = []
    for k, loose in ((i, 0.0), (j, 1.0)):
        at = centre[k] + shift + loose * rng.normal(0, 0.09 * half, 2)
        scale = size * (1 + loose * rng.normal(0, 0.025))
        looks.append(head_look(filmed(pictures[k], rng, soft, noise, curves), tuple(at), scale, mirrored=flip))
    change = (turn[j] - turn[i]) / UNIT_DEG
    return np.concatenate(looks, axis=2), -change if flip else change


def crop_pairs(found):
    """Looks (n, h, w, c), turns in units, and each one's head."""
    rng = np.random.default_rng(5)
    rows = [
        (*pair(head, j, rng), h)
        for h, head in enumerate(found)
        for j in range(len(head[1]))
        for _ in range(VARIANTS if j > 1 else 2)
    ]
    x, y, which = zip(*rows)
    return np.array(x, np.float16), np.array(y, np.float32), np.array(which)


def clip_pairs(path, points, rng):
    """The same from one clip, the heads where the tracker finds them."""
    truth = read_truth(path.with_suffix(".json"))
    mirrored = truth.handedness == "left"
    tracker, rest, looks, turns, last = HeadTracker(mirrored=mirrored), None, [], [], np.inf
    zero = np.median(truth.turn_deg[truth.t < REST_S])
    for k, (time_s, image, found) in enumerate(frames_of(path, mirrored, points)):
        body = {n: p for n, p in found.items() if p[2] >= MIN_VISIBILITY} if found else None
        reading = tracker.update(image, time_s, body)
        if reading is None:
            continue
        if rest is None:
            rest = (image, reading)
        turn = truth.turn_deg[k] - zero
        if abs(turn - last) < MOVED_DEG:
            continue
        last = turn
        for _ in range(CLIP_VARIANTS):
            shift = rng.integers(-1, 2, 2)
            both = [
                head_look(i, (r.x + s[0], r.y + s[1]), r.half_width, mirrored=mirrored)
                for (i, r), s in ((rest, shift), ((image, reading), shift + rng.integers(-1, 2, 2)))
            ]
            looks.append(np.concatenate(both, axis=2))
            turns.append(turn / UNIT_DEG)
    return looks, turns


def start(seed):
    rng = np.random.default_rng(seed)
    sizes, before = {}, 2 * CHANNELS
    for k, n in enumerate(WIDTHS):
        sizes[f"w{k}"] = rng.normal(0, np.sqrt(2 / (9 * before)), (3, 3, before, n))
        sizes[f"b{k}"] = np.zeros(n)
        before = n
    h, w = HEIGHT, WIDTH
    for _ in WIDTHS:
        h, w = (h + 1) // 2, (w + 1) // 2
    flat = h * w * before
    sizes |= {"w_hidden": rng.normal(0, np.sqrt(2 / flat), (flat, HIDDEN)), "b_hidden": np.zeros(HIDDEN)}
    sizes |= {"w_out": rng.normal(0, 0.02, (HIDDEN, 2)), "b_out": np.array([0.0, -1.0])}
    return {k: jnp.asarray(v, jnp.float32) for k, v in sizes.items()}


def net(p, x, key=None):
    for k in range(len(WIDTHS)):
        x = jax.lax.conv_general_dilated(
            x, p[f"w{k}"], (2, 2), [(1, 1), (1, 1)], dimension_numbers=("NHWC", "HWIO", "NHWC")
        )
        x = jax.nn.relu(x + p[f"b{k}"])
    x = x.reshape(len(x), -1)
    if key is not None:
        x = x * jax.random.bernoulli(key, 1 - DROPPED, x.shape) / (1 - DROPPED)
    x = jax.nn.relu(x @ p["w_hidden"] + p["b_hidden"])
    return x @ p["w_out"] + p["b_out"]


def loss(p, x, y, key):
    out = net(p, x, key)
    log_sd = jnp.clip(out[:, 1], -4, 2)
    return jnp.mean(jnp.abs(out[:, 0] - y) * jnp.exp(-log_sd) + log_sd) + DECAY * sum(
        jnp.sum(v**2) for k, v in p.items() if k.startswith("w")
    )


@jax.jit
def step(p, moments, t, x, y, key, rate):
    m, v = moments
    g = jax.grad(loss)(p, x, y, key)
    m = jax.tree.map(lambda a, b: 0.9 * a + 0.1 * b, m, g)
    v = jax.tree.map(lambda a, b: 0.999 * a + 0.001 * b * b, v, g)
    new = jax.tree.map(lambda a, b, c: a - rate * (b / (1 - 0.9**t)) / (jnp.sqrt(c / (1 - 0.999**t)) + 1e-8), p, m, v)
    return new, (m, v)


def learn(crops, clips, steps, test):
    """crops, clips: (looks, turns) to learn from; test: to be told about on the way, or None."""
    rng, p = np.random.default_rng(0), start(0)
    moments = (jax.tree.map(jnp.zeros_like, p), jax.tree.map(jnp.zeros_like, p))
    for t in range(1, steps + 1):
        x, y = [], []
        for (looks, turns), many in [(crops, BATCH - OF_CLIPS), (clips, OF_CLIPS)] if clips else [(crops, BATCH)]:
            i = rng.integers(0, len(looks), many)
            x.append(looks[i].astype(np.float32))
            y.append(turns[i])
        x, y = np.concatenate(x), np.concatenate(y)
        over = rng.random(len(x)) < 0.5
        x[over], y[over] = x[over][:, :, ::-1], -y[over]
        x += rng.normal(0, SHAKEN, x.shape).astype(np.float32)
        rate = RATE * min(1, t / 100) * (1 + np.cos(np.pi * t / (steps + 1)))
        p, moments = step(p, moments, t, x, y, jax.random.PRNGKey(t), rate)
        if test is not None and (t % 500 == 0 or t == steps):
            told(p, *test, t)
    return {k: np.asarray(a) for k, a in p.items()}


def told(p, looks, turns, t):
    out = np.concatenate([net(p, looks[a : a + 256].astype(np.float32)) for a in range(0, len(looks), 256)])
    e, near = (out[:, 0] - turns) * UNIT_DEG, np.abs(turns) * UNIT_DEG < 40
    rmse = [np.sqrt(np.mean(e[k] ** 2)) for k in (near, ~near)]
    print(f"step {t}: heads held out, RMSE {rmse[0]:.1f} under 40 deg, {rmse[1]:.1f} over", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("crops", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--clips", type=Path, nargs="*", default=[])
    parser.add_argument("--points", type=Path)
    parser.add_argument("--steps", type=int, default=2600)
    parser.add_argument("--held-out", type=int, default=0, help="one head in so many is only tested on; 0: none")
    args = parser.parse_args()
    looks, turns, which = crop_pairs(heads(args.crops))
    kept = which % args.held_out != 0 if args.held_out else np.ones(len(looks), bool)
    rng = np.random.default_rng(0)
    paths = [
        p for f in args.clips for p in sorted(f.glob("*.mp4")) if read_truth(p.with_suffix(".json")).view == "face-on"
    ]
    rows = [clip_pairs(p, args.points, rng) for p in paths]
    clips = (np.concatenate([r[0] for r in rows]), np.concatenate([r[1] for r in rows])) if rows else None
    print(len(np.unique(which[kept])), "heads and", len(paths), "clips to learn from", flush=True)
    test = None if kept.all() else (looks[~kept], turns[~kept])
    p = learn((looks[kept], turns[kept]), clips, args.steps, test)
    np.savez_compressed(args.out, **{k: v.astype(np.float16) for k, v in p.items()})


if __name__ == "__main__":
    main()
