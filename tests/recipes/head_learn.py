"""Learns the head's turn from pairs of pictures: the head at rest and now. Nothing of the sets that are only reported on.

    python -m tests.recipes.head_learn OUT.npz --crops FOLDER ... [--clips FOLDER ...] [--points FOLDER]
        [--nets N] [--steps N] [--held-out N]

In the trainer's environment with torch besides. Several nets are taught apart, each from its own start and its own draw of
pairs: their mean is better than each, and where they differ none knows. They are small enough for plain numpy at run time
(trainer/vision/head/witness.py). What they reached is told in trainer/vision/head/STUDY.md.
"""

import argparse
from pathlib import Path

import numpy as np
import torch

from tests.recipes.head_looks import STEPS, of_clips, of_crops
from tests.recipes.small_net import SmallNet
from trainer.vision.head.look import CHANNELS, HEIGHT, WIDTH
from trainer.vision.head.witness import LOG_SPREAD, UNIT_DEG

WIDTHS, HIDDEN = (32, 64, 96), 64
REST_DEG = 20.0  # a head turned less than this may stand for the one at rest
ANY = 0.3  # of pairs: any picture stands for the one at rest, so that turning is learned and not the look of rest
BATCH, OF_CLIPS = 64, 16  # pairs a step, and how many of them are of clips
FARTHEST_DEG, NEAREST = 70.0, 6  # a clip's picture: one of so many nearest to a turn drawn evenly
DROPPED, DECAY, SHAKEN, RATE, WARM = 0.3, 0.03, 0.1, 2e-3, 200
HIDDEN_SHARE = 0.3  # of pairs in which something hides a part of one picture or both


def _reference(head, rng, at_rest):
    """A picture at rest, or now and then one that is turned, nods or leans: a little, or as any picture does."""
    if rng.random() < ANY:
        return int(rng.integers(len(head.turn_deg)))
    near = (
        head.rest
        if rng.random() < at_rest
        else np.flatnonzero(np.abs(head.turn_deg - head.turn_deg[head.rest[0]]) < REST_DEG)
    )
    return rng.choice(near)


def crop_pair(head, rng):
    return _reference(head, rng, 0.7), int(rng.integers(len(head.turn_deg)))


def clip_pair(clip, rng):
    i = _reference(clip, rng, 0.8)
    if rng.random() < 0.25:
        return i, int(rng.integers(len(clip.turn_deg)))
    wanted = rng.uniform(-FARTHEST_DEG, FARTHEST_DEG)
    return i, rng.choice(np.argsort(np.abs(clip.turn_deg - wanted))[:NEAREST])


def drawn(crops, clips, rng):
    """A batch: (n, 2 * CHANNELS, h, w) and turns in units, half of them turned over."""
    many = OF_CLIPS if clips else 0
    x, y = [], []
    for heads, n, pair in ((crops, BATCH - many, crop_pair), (clips, many, clip_pair)):
        for _ in range(n):
            head = heads[rng.integers(len(heads))]
            i, j = pair(head, rng)
            a, b = rng.integers(head.look.shape[1], size=2)
            x.append(np.concatenate([head.look[i, a], head.look[j, b]], axis=2))
            y.append((head.turn_deg[j] - head.turn_deg[i]) / UNIT_DEG)
    x, y = (
        torch.from_numpy(np.array(x)).permute(0, 3, 1, 2).float().contiguous() / STEPS,
        torch.tensor(np.array(y, np.float32)),
    )
    over = torch.rand(len(x)) < 0.5
    x[over], y[over] = x[over].flip(3), -y[over]
    x = disturbed(x, rng)
    return x + SHAKEN * torch.randn_like(x), y


def disturbed(x, rng):
    """Other colours, the same in both pictures; light that differs between them; something before a part of the head."""
    n, _, h, w = x.shape
    mixed = torch.eye(3).repeat(n, 1, 1)
    swapped = torch.rand(n) < 0.5
    mixed[swapped] = torch.eye(3)[torch.stack([torch.randperm(3) for _ in range(n)])[swapped]]
    mixed = mixed + 0.15 * torch.randn(n, 3, 3)
    for first in (0, CHANNELS):
        x[:, first : first + 3] = torch.einsum("nij,njhw->nihw", mixed, x[:, first : first + 3])
    negative = torch.rand(n) < 0.1
    x[negative] = -x[negative]
    across, down = torch.linspace(-1, 1, w)[None, None, None], torch.linspace(-1, 1, h)[None, None, :, None]

    def some(size, share=1.0):
        return size * torch.randn(n, 1, 1, 1) * (torch.rand(n, 1, 1, 1) < share)

    for first in (0, CHANNELS):
        slope = some(0.25, 0.5) * across + some(0.25, 0.5) * down
        x[:, first : first + 3] = x[:, first : first + 3] * (1 + some(0.1)) + slope + some(0.1)
        x[:, first + 3] = x[:, first + 3] * (1 + some(0.15)[:, 0])
    for k in np.flatnonzero(rng.random(n) < HIDDEN_SHARE):
        of = (slice(0, 2 * CHANNELS), slice(0, CHANNELS), slice(CHANNELS, None))[rng.choice(3, p=(0.4, 0.3, 0.3))]
        high, wide = rng.integers(h // 6, int(h / 2.5)), rng.integers(w // 6, int(w / 2.5))
        top, left = rng.integers(0, h - high), rng.integers(0, w - wide)
        x[k, of, top : top + high, left : left + wide] = 0.7 * torch.randn(())
    return x.clamp(-3.2, 3.2)


def learned(crops, clips, steps, seed):
    """One net."""
    torch.manual_seed(seed)
    rng, net = np.random.default_rng(seed), SmallNet((2 * CHANNELS, HEIGHT, WIDTH), WIDTHS, HIDDEN, DROPPED)
    how = torch.optim.AdamW(net.parameters(), weight_decay=DECAY)
    for t in range(1, steps + 1):
        for group in how.param_groups:
            group["lr"] = RATE / 2 * min(1, t / WARM) * (1 + np.cos(np.pi * t / (steps + 1)))
        x, y = drawn(crops, clips, rng)
        turn, log_spread = net(x).T
        log_spread = log_spread.clamp(*LOG_SPREAD)
        loss = (torch.abs(turn - y) * torch.exp(-log_spread) + log_spread).mean()
        how.zero_grad()
        loss.backward()
        how.step()
        if t % 500 == 0:
            print(f"net {seed}, step {t}: {loss.item():.2f}", flush=True)
    return net.eval()


@torch.no_grad()
def asked(nets, head):
    """(n,) turns of a head against its first picture at rest, as the witness answers: the mean of the nets, asked twice."""
    looks, rest = head.look[:, 0], head.look[head.rest[0], 0]
    x = np.concatenate([np.broadcast_to(rest, looks.shape), looks], axis=3)
    x = torch.from_numpy(x).permute(0, 3, 1, 2).float().contiguous() / STEPS
    return np.mean([(n(x)[:, 0] - n(x.flip(3))[:, 0]).numpy() / 2 * UNIT_DEG for n in nets], axis=0)


def told(nets, heads, what):
    if not heads:
        return
    error = np.concatenate([asked(nets, h) - (h.turn_deg - h.turn_deg[h.rest[0]]) for h in heads])
    turn = np.concatenate([np.abs(h.turn_deg - h.turn_deg[h.rest[0]]) for h in heads])
    near, far = (turn > 4) & (turn < 40), turn >= 40
    rmse = [np.sqrt(np.mean(error[k] ** 2)) for k in (near, far)]
    print(f"{what} held out, {len(heads)}: RMSE {rmse[0]:.1f} between 4 and 40 degrees, {rmse[1]:.1f} over", flush=True)


def parted(heads, every):
    """(to learn from, held out): one name in so many is held out; 0: none."""
    names = sorted({h.name for h in heads})
    out = set(names[::every]) if every else set()
    return [h for h in heads if h.name not in out], [h for h in heads if h.name in out]


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("--crops", type=Path, nargs="+", required=True)
    parser.add_argument("--clips", type=Path, nargs="*", default=[])
    parser.add_argument("--points", type=Path, help="pose points of the clips, kept by tests.bench.heads")
    parser.add_argument("--nets", type=int, default=3)
    parser.add_argument("--steps", type=int, default=20000)
    parser.add_argument(
        "--held-out", type=int, default=0, help="one head and one clip in so many is only tested on; 0: none"
    )
    args = parser.parse_args()
    crops, other_crops = parted([h for f in args.crops for h in of_crops(f)], args.held_out)
    clips, other_clips = parted(of_clips(args.clips, args.points), args.held_out)
    print(len({h.name for h in crops}), "heads and", len(clips), "clips to learn from", flush=True)
    nets = [learned(crops, clips, args.steps, seed) for seed in range(args.nets)]
    told(nets, other_crops, "heads")
    told(nets, other_clips, "clips")
    arrays = [n.arrays() for n in nets]
    np.savez_compressed(args.out, **{k: np.stack([a[k] for a in arrays]) for k in arrays[0]})


if __name__ == "__main__":
    main()
