"""Learns a ball's diameter from ray-traced balls (ball_traced.py), filmed in many ways.

    python -m tests.recipes.ball_learn OUT.npz --balls FOLDER [--steps N] [--held-out N]

In the trainer's environment with torch besides, five minutes of one core; the net is small enough for plain numpy at run time
(trainer/vision/ball/learned_diameter.py). --held-out N leaves every N-th scene out and tells how well it is read.
"""

import argparse
from pathlib import Path

import cv2
import numpy as np
import torch

from tests.recipes.small_net import SmallNet
from trainer.vision.ball.circle_fit import fit_circle, luminance
from trainer.vision.ball.learned_diameter import SIZE, UNIT, ball_look

WIDTHS, HIDDEN = (16, 24, 32), 32
FILMS = 3  # of each picture
LEAST_QUALITY, COLOURED = 0.4, 2.0  # of a fit; of the red's contrast over the grey's, to be fitted there
FIT_OFF = (0.7, 1.4)  # fits beyond are of something else
BATCH, RATE, DECAY, WARM, DROPPED = 128, 3e-3, 0.02, 200, 0.05
LOG_ERROR = (-4.0, 2.0)
BETA = 0.5  # hard balls weigh as this power of their expected error, or they would hardly be learned at all
LEVELS = np.linspace(0, 1, 256)[:, None]


def filmed(picture, rng):
    """As some camera shows it: exposure, colour, softness, noise, compression with colours at half size."""
    gain = np.exp(rng.normal(0, 0.35)) * rng.uniform(0.9, 1.1, 3)
    if rng.random() < 0.12:
        gain *= rng.uniform(1.2, 1.7)
    curve = np.clip(255 * LEVELS ** rng.uniform(0.75, 1.35) * gain, 0, 255).astype(np.uint8).reshape(256, 1, 3)
    soft = rng.uniform(0.3, 1.0) if rng.random() < 0.85 else rng.uniform(1, 1.6)
    p = cv2.GaussianBlur(cv2.LUT(picture, curve), (0, 0), soft)
    p = np.clip(p + rng.normal(0, rng.uniform(0.5, 7), p.shape), 0, 255).astype(np.uint8)
    if rng.random() < 0.85:
        half = [cv2.IMWRITE_JPEG_SAMPLING_FACTOR, cv2.IMWRITE_JPEG_SAMPLING_FACTOR_420]
        _, code = cv2.imencode(".jpg", p, [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(35, 96)), *half])
        p = cv2.imdecode(code, cv2.IMREAD_COLOR)
    return p


def fitted(picture, x, y, diameter):
    """The circle that the trainer would start from."""
    grey = fit_circle(luminance(picture), x, y, diameter)
    red = fit_circle(picture[..., 2].astype(np.float32), x, y, diameter)
    grey, red = (f if f is not None and f.quality > LEAST_QUALITY else None for f in (grey, red))
    return red if red is not None and (grey is None or red.contrast > COLOURED * grey.contrast) else grey


def looks_of(folder):
    """looks (n, SIZE, SIZE, 3), logarithms of true over given diameter (n,), whether given as fitted (n,), scenes (n,)."""
    looks, wanted, as_fitted, scenes = [], [], [], []
    for path in sorted(folder.glob("*.npz"), key=lambda p: int(p.stem)):
        d, rng = np.load(path), np.random.default_rng(int(path.stem) + 5)
        for picture, (x, y), true in zip(d["picture"], d["centre"], d["diameter"]):
            for _ in range(FILMS):
                p, (dx, dy) = filmed(picture, rng), rng.normal(0, 0.06 * true, 2)
                f = fitted(p, x + dx, y + dy, true * np.exp(rng.normal(0, 0.08)))
                off = f is not None and np.hypot(f.x - x, f.y - y) > 0.35 * true
                if f is None or off or not FIT_OFF[0] < f.diameter_px / true < FIT_OFF[1]:
                    continue
                for shaken in (0, 1):
                    given = f.diameter_px * np.exp(shaken * rng.normal(0, 0.05))
                    aside = shaken * rng.normal(0, 0.03 * true, 2)
                    look = ball_look(p, f.x + aside[0], f.y + aside[1], given)
                    if look is not None:
                        looks.append(look.astype(np.float16))
                        wanted.append(np.log(true / given))
                        as_fitted.append(shaken == 0)
                        scenes.append(int(path.stem))
    return np.array(looks), np.array(wanted, np.float32), np.array(as_fitted), np.array(scenes)


def learned(looks, wanted, steps, seed=2):
    torch.manual_seed(seed)
    rng, net = np.random.default_rng(seed), SmallNet((3, SIZE, SIZE), WIDTHS, HIDDEN, DROPPED)
    how = torch.optim.AdamW(net.parameters(), weight_decay=DECAY)
    for t in range(1, steps + 1):
        for group in how.param_groups:
            group["lr"] = RATE / 2 * min(1, t / WARM) * (1 + np.cos(np.pi * t / (steps + 1)))
        some = rng.choice(len(looks), BATCH)
        x, y = shown(looks[some]), torch.from_numpy(wanted[some]) / UNIT
        over = torch.rand(BATCH) < 0.5
        x[over] = x[over].flip(3)
        x = x * (1 + 0.08 * torch.randn(BATCH, 1, 1, 1)) + 0.06 * torch.randn_like(x) * torch.rand(BATCH, 1, 1, 1)
        off, spread = net(x).T
        spread = spread.clamp(*LOG_ERROR)
        loss = ((torch.abs(off - y) * torch.exp(-spread) + spread) * torch.exp(BETA * spread.detach())).mean()
        how.zero_grad()
        loss.backward()
        how.step()
    return net.eval()


def shown(looks):
    return torch.from_numpy(looks.astype(np.float32)).permute(0, 3, 1, 2).contiguous()


def main():
    parser = argparse.ArgumentParser(prog="python -m tests.recipes.ball_learn")
    parser.add_argument("out", type=Path)
    parser.add_argument("--balls", type=Path, required=True)
    parser.add_argument("--steps", type=int, default=20000)
    parser.add_argument("--held-out", type=int, default=0)
    args = parser.parse_args()
    looks, wanted, as_fitted, scenes = looks_of(args.balls)
    out = scenes % args.held_out == 0 if args.held_out else np.zeros(len(scenes), bool)
    net = learned(looks[~out], wanted[~out], args.steps)
    np.savez_compressed(args.out, **net.arrays())
    if out.any():
        some = out & as_fitted
        with torch.no_grad():
            x = shown(looks[some])
            read = UNIT * (net(x)[:, 0] + net(x.flip(3))[:, 0]).numpy() / 2
        for what, off in (("fitted", wanted[some]), ("read", wanted[some] - read)):
            rms, over = 100 * np.sqrt(np.mean(off**2)), 100 * np.mean(np.abs(off) > 0.06)
            print(f"{what}: {len(off)} balls, RMS {rms:.1f} %, {over:.0f} % of them off by more than 6 %")


if __name__ == "__main__":
    main()
