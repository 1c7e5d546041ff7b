"""False alarms and misses per 1,000 invented strokes as curves over the limit, per frame rate.

    python -m tests.bench.rates [--strokes N] [--fps 15,30,60,120] [--jobs N] [--keep FILE] [--page FOLDER]

Strokes as a student makes them (``student``): good ones and every fault in every size, waggles, glances and rehearsals before,
the putter or the head out of sight for a moment, frames lost. A stroke's truth comes from its exact motion (``truth_of``). It
counts where its true value is away from the limit by the measure's own error: what 95 of 100 measured values lie within of
the truth, in this same study at this frame rate, or twice the standard deviation on rendered truth (``faults.DOUBT``) where
that is more; the table tells it. What lies nearer is told by its share.
--keep writes what was measured to FILE and goes on from it when it is there; --page writes error_rates.md and .png to FOLDER.
"""

from __future__ import annotations

import argparse
import json
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from rich.progress import Progress
from scipy.stats import binomtest

from tests.support.observations import watch
from tests.support.student import Truth, draw, truth_of
from trainer.coaching.faults import DOUBT, Basis, indeterminate, judge, verdict
from trainer.coaching.verdict import TOO_CLOSE_S
from trainer.domain.record import StrokeRecord
from trainer.settings.limits import Limits

GRIDS: dict[str, tuple[float, ...]] = {
    "early_look": (6, 8, 10, 12, 15, 20, 25, 30),
    "short_hold": (0.5, 0.7, 0.85, 1.0, 1.2, 1.5),
    "hand_stall": (6, 8, 10, 12, 14, 17, 20, 25),
    "recoil": (1, 1.5, 2, 3, 4, 5, 6),
    "sway": (1, 1.5, 2, 3, 4, 5, 6),
    "lift": (1, 1.5, 2, 2.5, 3, 4, 5),
}
UNITS = {"early_look": "deg", "short_hold": "s", "hand_stall": "deg", "recoil": "cm", "sway": "cm", "lift": "cm"}
ERROR_UNITS = {**UNITS, "early_look": "s"}
LIVE = ("early_look", "short_hold", "hand_stall", "recoil")
Sample = dict[str, Any]


def limited(name: str, value: float) -> Limits:
    """The default limits but for one."""
    return Limits().changed(name, value)


def found_values(record: StrokeRecord) -> dict[str, float | None]:
    """What was measured, in the truth's terms, at the default limits."""
    m, hold = record.measures, Basis(record).look(Limits()).after_s
    early = None if hold is None else -hold
    values = {n: m[k].value for n, k in (("hand_stall", "hinge_change_deg"), ("recoil", "recoil_cm"))}
    return {
        "early_look": early,
        "short_hold": hold,
        **values,
        "sway": m["head_with_putter_cm"].value,
        "lift": m["lift_cm"].value,
    }


def sample(number: int, fps: float) -> Sample:
    """One stroke drawn, watched and judged by every limit of the grids."""
    scene, frames, index = draw(number, fps)
    truth = truth_of(scene, index)
    seen = watch(frames)
    want = scene.known()[index].events.impact_s
    out: Sample = {"truth": truth.__dict__, "counted": len(seen.records), "kind": None}
    near = [k for k, r in enumerate(seen.records) if abs((r.events.impact_s or 99) - (want or 0)) < 0.2]
    if not near:
        return out
    record, cues = seen.records[near[0]], seen.cues[near[0]]
    out["kind"] = record.kind
    out["values"] = found_values(record)
    out["unsure"] = indeterminate(record, Limits())
    out["too_close"] = verdict(record, Limits()).too_close
    out["verdicts"] = {
        name: [name in {f.name for f in judge(record, limited(name, v))} for v in grid] for name, grid in GRIDS.items()
    }
    out["found"] = sorted(f.name for f in judge(record, Limits()))
    out["told"] = [[c.name, c.at_s] for c in cues]
    return out


def study(fps: float, numbers: range) -> list[Sample]:
    """A stretch of strokes at one frame rate."""
    return [sample(n, fps) for n in numbers]


# -- what came of it -----------------------------------------------------------------------------------------------------
def error_of(samples: list[Sample], name: str) -> float:
    """The measure's own error, see above."""
    off = []
    for s in samples:
        if s["kind"] is None or name in s["unsure"]:
            continue
        found = s["values"][name]
        true = Truth(**s["truth"]).value(name)
        if found is not None and true is not None:
            off.append(abs(found - true))
    return max(float(np.percentile(off, 95)) if off else 0.0, 2 * DOUBT.get(name, 0.0))


def rate(samples: list[Sample], name: str, k: int, error: float) -> tuple[int, int, int, int, int]:
    """(false alarms, of so many plainly without, misses, of so many plainly with the fault, too near to call)."""
    limit, alarms, fine, misses, faulty, near = GRIDS[name][k], 0, 0, 0, 0, 0
    for s in samples:
        if s["kind"] is None or name in s["unsure"]:
            continue
        plain = Truth(**s["truth"]).plainly(name, limit, error)
        called = s["verdicts"][name][k]
        if plain is None:
            near += 1
        elif plain:
            faulty, misses = faulty + 1, misses + (not called)
        else:
            fine, alarms = fine + 1, alarms + called
    return alarms, fine, misses, faulty, near


def _per_1000(k: int, n: int) -> str:
    """With Wilson's 95 % interval (1927, J. Am. Stat. Assoc. 22, 209-212)."""
    if n == 0:
        return "-"
    within = binomtest(k, n).proportion_ci(0.95, "wilson")
    return f"{1000 * k / n:.1f} ({1000 * within.low:.0f}-{1000 * within.high:.0f})"


def table(runs: dict[float, list[Sample]]) -> str:
    """Markdown: the rates at every limit; the default's row is marked."""
    lines = []
    for name, grid in GRIDS.items():
        default = getattr(Limits(), name).value
        errors = {fps: error_of(samples, name) for fps, samples in runs.items()}
        unit = ERROR_UNITS[name]
        told = ", ".join(f"{fps:g} fps {e:.3f}" if unit == "s" else f"{fps:g} fps {e:.1f}" for fps, e in errors.items())
        lines += [f"**`{name}`** - the measure's own error ({unit}): {told}", ""]
        lines += [
            f"| limit, {UNITS[name]} | " + " | ".join(f"{fps:g} fps: false | missed | near" for fps in runs) + " |",
            "|---" * (1 + 3 * len(runs)) + "|",
        ]
        for k, limit in enumerate(grid):
            cells = []
            for fps, samples in runs.items():
                alarms, fine, misses, faulty, near = rate(samples, name, k, errors[fps])
                share = f"{near / max(near + fine + faulty, 1):.0%}"
                cells += [_per_1000(alarms, fine), _per_1000(misses, faulty), share]
            mark = "**" if limit == default else ""
            lines.append(f"| {mark}{limit:g}{mark} | " + " | ".join(cells) + " |")
        lines.append("")
    return "\n".join(lines + counts(runs)) + "\n"


def counts(runs: dict[float, list[Sample]]) -> list[str]:
    """Strokes counted rightly, not sure, live against verdict, the cues' delay."""
    lines = [
        "| | " + " | ".join(f"{fps:g} fps" for fps in runs) + " |",
        "|---" * (1 + len(runs)) + "|",
    ]
    rows: dict[str, list[str]] = {}
    for samples in runs.values():
        n = len(samples)
        judged = [s for s in samples if s["kind"] is not None]
        rows.setdefault("strokes", []).append(str(n))
        rows.setdefault("not found, per 1,000", []).append(_per_1000(n - len(judged), n))
        wrong = sum(s["kind"] != "ball" for s in judged)
        rows.setdefault("taken for a rehearsal, per 1,000", []).append(_per_1000(wrong, len(judged)))
        not_sure = sum(bool(s["unsure"]) for s in judged)
        rows.setdefault("not sure of a fault, per 1,000", []).append(_per_1000(not_sure, len(judged)))
        near, wrong_way = too_close(judged)
        rows.setdefault("look too close to call, per 1,000", []).append(_per_1000(near, len(judged)))
        rows.setdefault(f"look called the wrong way, {TOO_CLOSE_S:g} s or more from rest, per 1,000", []).append(
            _per_1000(*wrong_way)
        )
        differ = sum(differs(s) for s in judged)
        rows.setdefault("live cue and verdict differ, per 1,000", []).append(_per_1000(differ, len(judged)))
        for name in ("early_look", "hand_stall"):
            ms = 1000 * np.array(delays(judged, name))
            text = f"{np.median(ms):.0f}, {np.percentile(ms, 95):.0f}, {ms.max():.0f}" if len(ms) else "-"
            rows.setdefault(f"cue `{name}` after the limit was passed, ms: middle, 95 %, worst", []).append(text)
    return lines + [f"| {name} | " + " | ".join(cells) + " |" for name, cells in rows.items()]


def too_close(judged: list[Sample]) -> tuple[int, tuple[int, int]]:
    """How many looks were too close to call; (called early or held the other way round, of so many truly farther from rest)."""
    near = sum(s["too_close"] for s in judged)
    clear = [(s, true) for s in judged if (true := Truth(**s["truth"]).value("early_look")) is not None]
    clear = [(s, true) for s, true in clear if abs(true) > TOO_CLOSE_S and "early_look" not in s["unsure"]]
    wrong = sum(("early_look" in s["found"]) != (true > 0) and not s["too_close"] for s, true in clear)
    return near, (wrong, len(clear))


def differs(s: Sample) -> bool:
    """Whether what was told live is not what the verdict says: a cue without its fault, or a fault and no cue at all."""
    told, found = {name for name, _ in s["told"]} & set(LIVE), set(s["found"]) & set(LIVE)
    return not told <= found or bool(told) != bool(found)


def delays(samples: list[Sample], name: str) -> list[float]:
    """Of right cues, since the limit was truly passed (s)."""
    out = []
    for s in samples:
        passed = s["truth"]["passed_s"].get(name)
        out += [at - passed for cue, at in s["told"] if cue == name and passed is not None and name in s["found"]]
    return out


PAGE = """\
# Error rates over the limits

Written by `python -m tests.bench.rates --page tests/bench`: invented strokes with noise as vision showed it, everything a
student does (`tests/support/student.py`), judged by every limit of each fault. Rates are per 1,000 strokes, in brackets Wilson's
95 % interval:
false alarms of the strokes plainly without the fault, misses of those plainly with it. Plainly: the true value is away from
the limit by the measure's own error, which is what 95 of 100 measured values lie within of the truth in this study, or twice
the standard deviation on rendered clips where that is more. The share of strokes nearer than that stands under "near"; the
pale curves count them too. `early_look`'s limit is a head turn, its error that of the time from the look to rest; a look within
0.06 s of rest is called neither early nor held, so plainly early is one that comes earlier than that and the error together;
`hand_stall` is told by the angle alone, by four fifths of it where the hands stop while the putter goes on, and by
half as much again where they plainly go on. Bold: the default.
`posture_change` is seen down-the-line, for which no strokes are invented.

![false alarms and misses over the limit](error_rates.png)

"""


def plot(runs: dict[float, list[Sample]], path: Path) -> None:
    """Six panels: false alarms (full) and misses (dashed) over the limit; thin and pale: with what is near the limit counted
    too. Colours of Okabe and Ito, and markers."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot as plt
    from PIL import Image

    figure, axes = plt.subplots(2, 3, figsize=(11, 6.4), layout="constrained")
    looks = list(zip(("#D55E00", "#0072B2", "#009E73", "#CC79A7"), "os^v"))
    for axis, (name, grid) in zip(axes.flat, GRIDS.items(), strict=True):
        for (colour, marker), (fps, samples) in zip(looks, runs.items()):
            for error, width, alpha in ((error_of(samples, name), 1.4, 1.0), (0.0, 0.7, 0.5)):
                counted = [rate(samples, name, k, error) for k in range(len(grid))]
                for part, style, label in ((0, "-", f"{fps:g} fps false"), (2, "--", f"{fps:g} fps missed")):
                    y = [1000 * r[part] / r[part + 1] if r[part + 1] >= 50 else np.nan for r in counted]
                    axis.plot(
                        grid, y, style, color=colour, marker=marker, markersize=3 * width, linewidth=width, alpha=alpha,
                        label=label if error else None,
                    )  # fmt: skip
        axis.axvline(getattr(Limits(), name).value, color="0.6", linewidth=0.8)
        axis.set_yscale("symlog", linthresh=10)
        axis.set_ylim(-0.5, 400)
        axis.set_yticks([0, 5, 10, 30, 100, 300], ["0", "5", "10", "30", "100", "300"])
        axis.minorticks_off()
        axis.set_title(name, fontsize=10)
        axis.set_xlabel(f"limit, {UNITS[name]}", fontsize=8)
        axis.tick_params(labelsize=8)
    for axis in axes[:, 0]:
        axis.set_ylabel("per 1,000 strokes", fontsize=8)
    figure.legend(*axes[0, 0].get_legend_handles_labels(), loc="outside lower center", ncol=2 * len(runs), fontsize=7)
    figure.savefig(path, dpi=80)
    with Image.open(path) as picture:
        picture.convert("RGB").quantize(64).save(path, optimize=True)
    plt.close(figure)


def run(rates: list[float], strokes: int, jobs: int, keep: Path | None) -> dict[float, list[Sample]]:
    """All samples by frame rate; what ``keep`` already holds is not drawn again."""
    kept = json.loads(keep.read_text()) if keep is not None and keep.is_file() else {}
    runs: dict[float, list[Sample]] = {}
    with ProcessPoolExecutor(jobs) as pool, Progress(transient=True) as progress:
        for fps in rates:
            have: list[Sample] = kept.get(f"{fps:g}", [])[:strokes]
            steps = [range(a, min(a + 50, strokes)) for a in range(len(have), strokes, 50)]
            for part in progress.track(pool.map(partial(study, fps), steps), len(steps), description=f"{fps:g} fps"):
                have += part
                if keep is not None:
                    keep.write_text(json.dumps({**kept, f"{fps:g}": have}))
            kept[f"{fps:g}"] = runs[fps] = have
    return runs


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.rates", description="Error rates over the limit.")
    parser.add_argument("--strokes", type=int, default=1000, help="at each frame rate")
    parser.add_argument("--fps", default="15,30,60,120", help="frame rates, by commas")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    parser.add_argument("--keep", type=Path, help="file that holds what was measured so far")
    parser.add_argument("--page", type=Path, help="write page and picture to this folder")
    args = parser.parse_args()
    runs = run([float(v) for v in args.fps.split(",")], args.strokes, args.jobs, args.keep)
    text = table(runs)
    print(text)
    if args.page:
        args.page.mkdir(parents=True, exist_ok=True)
        (args.page / "error_rates.md").write_text(PAGE + text)
        plot(runs, args.page / "error_rates.png")


if __name__ == "__main__":
    main()
