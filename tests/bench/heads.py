"""Head turn alone, on short clips of many heads: pose model and head tracker over every frame, against the exact turn.

    python -m tests.bench.heads FOLDER [--only TEXT] [--points FOLDER] [--plots FOLDER] [--per-clip] [--later FRAMES]
        [--every N] [--bands EDGE...]

FOLDER: NAME.mp4 with NAME.json (tests/recipes/README.md, "Heads"). --points keeps the pose model's points there and reads them
again: the model is most of the time. --plots draws turn over time, a page of clips each. --later gives the tracker so many frames
less at the start, so that the reference is another picture of the same rest: what differs then is chance. --every: one frame of
so many is shown, as by a slower camera. --bands: edges of confidence, falling, for which the share of right frames is told.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any, Iterator, Mapping, Sequence

import numpy as np
import numpy.typing as npt

from tests.support.truth import Truth, read_truth
from trainer.domain.measures import MIN_CONFIDENCE
from trainer.vision.body.points import MIN_VISIBILITY
from trainer.vision.body.pose import PoseBody
from trainer.vision.head.tracker import HeadTracker
from trainer.vision.sources.clip import Clip

Floats = npt.NDArray[np.float64]
Points = dict[str, npt.NDArray[Any]] | None

REST_S = 0.6  # of every clip's start, at rest: the turn is told against it
LOW_DEG, HIGH_DEG = 4.0, 40.0
BAR_RMSE_DEG, BAR_CLIP_DEG, BAR_FAR_DEG = 4.0, 6.0, 10.0
SURE = 0.8  # a confidence over this says that the turn is right within TOLERANCE
TOLERANCE_DEG, TOLERANCE_SHARE = 6.0, 0.15  # right: within so many degrees or this share of the turn, whichever is more
BANDS = (SURE, 0.5, MIN_CONFIDENCE)  # of confidence, for which the share that is right is told
REST_DEG = 2.0  # a head that turns by no more is at rest
RESAMPLES = 2000


@dataclass(frozen=True)
class HeadRun:
    """One clip: true and found turn from rest (NaN: not seen) and confidence, a value a frame."""

    name: str
    note: str
    time_s: Floats
    true_deg: Floats
    found_deg: Floats
    confidence: Floats

    @property
    def error_deg(self) -> Floats:
        return self.found_deg - self.true_deg

    @property
    def turning(self) -> npt.NDArray[np.bool_]:
        """Frames between 4 and 40 degrees."""
        return (np.abs(self.true_deg) > LOW_DEG) & (np.abs(self.true_deg) < HIGH_DEG)

    @property
    def far(self) -> npt.NDArray[np.bool_]:
        return np.abs(self.true_deg) >= HIGH_DEG

    def rmse(self, frames: npt.NDArray[np.bool_]) -> float:
        """Over the frames that were seen; NaN without any."""
        e = self.error_deg[frames]
        e = e[np.isfinite(e)]
        return float(np.sqrt(np.mean(e**2))) if len(e) else float("nan")

    def at_rest(self) -> float:
        """Largest error while the head does not turn."""
        e = np.abs(self.error_deg[np.abs(self.true_deg) <= REST_DEG])
        return float(np.nanmax(e)) if np.isfinite(e).any() else float("nan")

    def sure_before(self) -> float:
        """Median confidence in the second half of the rest, before anything happens."""
        c = self.confidence[(self.time_s > REST_S / 2) & (self.time_s < REST_S)]
        return float(np.nanmedian(c)) if np.isfinite(c).any() else 0.0

    def right(self) -> npt.NDArray[np.bool_]:
        """Frames whose turn is within tolerance."""
        return np.abs(self.error_deg) <= np.maximum(TOLERANCE_DEG, TOLERANCE_SHARE * np.abs(self.true_deg))


def frames_of(path: Path, mirrored: bool, keep: Path | None = None) -> Iterator[tuple[float, npt.NDArray[Any], Points]]:
    """(time, picture, pose points) of every frame. keep: folder of points found before."""
    kept = keep / f"{path.stem}.npy" if keep else None
    known: list[Points] | None = None
    if kept is not None and kept.exists():
        known = list(np.load(kept, allow_pickle=True))
    model = PoseBody(mirrored=mirrored) if known is None else None
    source, found = Clip(path), []
    try:
        while (frame := source.read()) is not None:
            points = model.find(frame.image) if model else (known or [])[len(found)]
            found.append(points)
            yield frame.time_s, frame.image, points
    finally:
        source.close()
        if model:
            model.close()
    if kept is not None and known is None:
        kept.parent.mkdir(parents=True, exist_ok=True)
        np.save(kept, np.array(found, dtype=object), allow_pickle=True)


def run(
    path: Path, keep: Path | None = None, tracker: HeadTracker | None = None, later: int = 0, every: int = 1
) -> HeadRun:
    """The head tracker over one clip as the observer runs it. later: first frame that it gets; every: from that to the next."""
    truth: Truth = read_truth(path.with_suffix(".json"))
    mirrored = truth.handedness == "left"
    head = tracker or HeadTracker(mirrored=mirrored)
    rows = []
    for k, (time_s, image, found) in enumerate(frames_of(path, mirrored, keep)):
        if k % every:
            continue
        body = {n: p for n, p in found.items() if p[2] >= MIN_VISIBILITY} if found else None
        r = head.update(image, time_s, body) if k >= later else None
        rows.append((time_s, r.turn_deg, r.confidence) if r else (time_s, np.nan, 0.0))
    t, turn, sure = np.array(rows).T
    true = truth.turn_deg[::every][: len(t)]
    rest = t < REST_S
    zero = np.nanmedian(turn[rest]) if np.isfinite(turn[rest]).any() else 0.0
    return HeadRun(truth.name, truth.note, t, true - np.median(true[rest]), turn - zero, sure)


def over_clips(runs: Sequence[HeadRun], attribute: str) -> tuple[float, float, float]:
    """RMSE over all frames of the kind, with its 95 % interval from resampling whole clips (frames of one are alike)."""
    sums = []
    for r in runs:
        e = r.error_deg[getattr(r, attribute)]
        e = e[np.isfinite(e)]
        sums.append((float(np.sum(e**2)), len(e)))
    s = np.array(sums)
    picks = np.random.default_rng(1).integers(0, len(s), (RESAMPLES, len(s)))
    again = np.sqrt(s[picks, 0].sum(1) / np.maximum(s[picks, 1].sum(1), 1))
    low, high = np.percentile(again, [2.5, 97.5])
    return float(np.sqrt(s[:, 0].sum() / max(s[:, 1].sum(), 1))), float(low), float(high)


def calibration(runs: Sequence[HeadRun], bands: Sequence[float] = BANDS) -> Mapping[str, tuple[float, int, int]]:
    """(share of frames within tolerance, how many frames, of how many clips) by what the confidence said; while the head turns.

    bands: their edges, falling.
    """
    turned = [r.turning | r.far for r in runs]
    right = np.concatenate([r.right()[t] for r, t in zip(runs, turned, strict=True)])
    sure = np.concatenate([r.confidence[t] for r, t in zip(runs, turned, strict=True)])
    clip = np.concatenate([np.full(int(t.sum()), number) for number, t in enumerate(turned)])
    names = [f"over {bands[0]:g}", *(f"{low:g} to {high:g}" for high, low in pairwise(bands)), f"{bands[-1]:g} or less"]
    out = {}
    for name, (high, low) in zip(names, pairwise((1.0, *bands, -1.0)), strict=True):
        inside = (sure > low) & (sure <= high)
        share = float(right[inside].mean()) if inside.any() else float("nan")
        out[name] = share, int(inside.sum()), len(np.unique(clip[inside]))
    return out


def rest_confidence(runs: Sequence[HeadRun]) -> str:
    """Below what the confidence of the least sure frames lies while the head is seen at rest."""
    shares = (1, 5, 10, 25, 50)
    sure = np.concatenate([r.confidence[(np.abs(r.true_deg) <= REST_DEG) & np.isfinite(r.found_deg)] for r in runs])
    found = ", ".join(f"{value:.2f}" for value in np.percentile(sure, shares))
    return (
        f"confidence at rest (within {REST_DEG:g} degrees): {', '.join(map(str, shares))} of 100 frames below {found}"
    )


def report(runs: Sequence[HeadRun], per_clip: bool = True, bands: Sequence[float] = BANDS) -> str:
    """Markdown. bands: as in ``calibration``."""
    lines = []
    if per_clip:
        lines += [
            "| clip | 4 to 40 deg, RMSE | over 40 | at rest, worst | sure before | not seen | what |",
            "|---|---|---|---|---|---|---|",
        ]
        for r in runs:
            unseen = float(np.mean(~np.isfinite(r.found_deg[r.time_s > REST_S])))
            cells = (r.rmse(r.turning), r.rmse(r.far), r.at_rest())
            text = " | ".join("-" if np.isnan(c) else f"{c:.1f}" for c in cells)
            lines.append(f"| {r.name} | {text} | {r.sure_before():.2f} | {unseen:.0%} | {r.note} |")
        lines.append("")
    for label, attribute in (("4 to 40 degrees", "turning"), ("over 40 degrees", "far")):
        value, low, high = over_clips(runs, attribute)
        clips = [(r.rmse(getattr(r, attribute)), r.name) for r in runs]
        clips = [c for c in clips if not np.isnan(c[0])]
        worst = max(clips, default=(float("nan"), "-"))
        bar = BAR_CLIP_DEG if attribute == "turning" else BAR_FAR_DEG
        many = sum(c[0] > bar for c in clips)
        lines.append(
            f"{label}: RMSE {value:.1f} (95 % interval {low:.1f} to {high:.1f}), {many} of {len(clips)} clips over {bar:.0f}, "
            f"worst {worst[0]:.1f} ({worst[1]})"
        )
    rest = np.array([r.at_rest() for r in runs])
    lines.append(f"at rest: worst {np.nanmax(rest):.1f}, {int(np.sum(rest > 3))} of {len(runs)} clips over 3")
    for band, (share, n, clips_in) in calibration(runs, bands).items():
        lines.append(f"confidence {band}: {share:.0%} of {n} turned frames right, {clips_in} clips")
    lines.append(rest_confidence(runs))
    return "\n".join(lines) + "\n"


def plots(runs: Sequence[HeadRun], folder: Path, a_page: int = 20) -> None:
    """True and found turn over time, with the confidence below."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    folder.mkdir(parents=True, exist_ok=True)
    for page in range(0, len(runs), a_page):
        figure, axes = plt.subplots(5, 4, figsize=(16, 14), layout="constrained")
        for axis, r in zip(axes.ravel(), runs[page : page + a_page]):
            axis.plot(r.time_s, r.true_deg, color="0.4")
            axis.plot(r.time_s, r.found_deg, color="#0072B2")
            axis.plot(r.time_s, 20 * r.confidence - 60, color="#D55E00", linewidth=0.8)
            axis.set_title(f"{r.name} {r.rmse(r.turning):.1f}", fontsize=7)
            axis.set_ylim(-60, 75)
        figure.savefig(folder / f"heads_{page // a_page + 1}.png", dpi=70)
        plt.close(figure)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.heads", description="Head turn on many heads.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--only", default="")
    parser.add_argument("--points", type=Path)
    parser.add_argument("--plots", type=Path)
    parser.add_argument("--per-clip", action="store_true")
    parser.add_argument("--later", type=int, default=0)
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--bands", type=float, nargs="+", default=BANDS)
    args = parser.parse_args()
    clips = [p for p in sorted(args.folder.glob("*.mp4")) if p.with_suffix(".json").exists() and args.only in p.name]
    clips = [p for p in clips if read_truth(p.with_suffix(".json")).view == "face-on"]
    runs = [run(p, args.points, later=args.later, every=args.every) for p in clips]
    print(report(runs, args.per_clip, args.bands))
    if args.plots:
        plots(runs, args.plots)


if __name__ == "__main__":
    main()
