"""Accuracy bench: every clip that has truth through the real pipeline, errors by measure as a Markdown table.

    python -m tests.bench.accuracy [FOLDER...] [--out FILE.md] [--readme] [--plots FOLDER] [--only TEXT] [--shaft-too]

FOLDER: holds NAME.mp4 with NAME.json (default: the shared clips). --readme puts the summary into README.md between its
markers; --plots draws the errors; --only takes the clips whose name holds TEXT; --shaft-too sees taped clips a second time by
the bare shaft, to compare.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from rich.progress import Progress

from tests.bench.agreement import Told, agreement_plot, agreement_table, confidence_table, told
from tests.support.paths import ROOT, shared_folder
from tests.support.truth import TrueStroke, Truth, read_truth
from trainer.app.build import observer, pipeline
from trainer.domain.observation import Observation
from trainer.domain.record import Events
from trainer.domain.verdict import Cue
from trainer.live.pipeline import Finished
from trainer.settings.load import from_options, load
from trainer.vision.sources.clip import Clip

JUDGED = ("early_look", "hand_stall", "recoil")
UNITS = {"s": ("ms", 1000.0), "deg": ("deg", 1.0), "cm": ("cm", 1.0), "1": ("", 1.0)}
BEGIN, END = "<!-- accuracy: begin -->", "<!-- accuracy: end -->"


@dataclass
class Row:
    """Errors of one measure over all strokes or frames; missing: times not seen though true."""

    unit: str
    errors: list[float] = field(default_factory=list)
    clips: list[str] = field(default_factory=list)
    missing: int = 0

    def add(self, clip: str, error: float | None) -> None:
        if error is None:
            self.missing += 1
        else:
            self.errors.append(error)
            self.clips.append(clip)


@dataclass
class Bench:
    """All that was found out."""

    rows: dict[str, Row] = field(default_factory=dict)
    hits: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    misses: list[str] = field(default_factory=list)
    alarms: list[str] = field(default_factory=list)
    disagree: list[str] = field(default_factory=list)
    wrong_count: list[str] = field(default_factory=list)
    strokes: int = 0
    clips: int = 0
    per_clip: list[str] = field(default_factory=list)
    pairs: dict[str, list[tuple[float, float]]] = field(default_factory=lambda: defaultdict(list))
    told: list[Told] = field(default_factory=list)

    def row(self, name: str, unit: str) -> Row:
        return self.rows.setdefault(name, Row(unit))


Run = tuple[list[Observation], list[Finished], list[Cue], list[Events]]


def watch_clip(path: Path, truth: Truth, **more: str) -> Run:
    """Everything the pipeline says of one clip: sightings, strokes, cues, and each stroke's events as told live."""
    options = {"player__handedness": truth.handedness, "camera__view": truth.view, **more}
    settings = load([from_options(**options)])
    sees = observer(settings)
    pipe = pipeline(settings, sees)
    source = Clip(path)
    observations, finished, cues, live = [], [], [], []
    events = Events()
    try:
        while (frame := source.read()) is not None:
            step = pipe.step(frame, pipe.find_body(frame))
            observations.append(step.observation)
            if step.cue is not None:
                cues.append(step.cue)
            if step.finished is not None:
                finished.append(step.finished)
                live.append(events)
            events = step.moment.events if any(step.moment.events) else events
        last = pipe.finish()
        if last is not None:
            finished.append(last)
            live.append(events)
    finally:
        source.close()
        sees.close()
    return observations, finished, cues, live


def run_clip(path: Path, truth: Truth) -> tuple[list[Observation], list[Finished], list[Cue]]:
    """The same without the live events."""
    return watch_clip(path, truth)[:3]


def compare(bench: Bench, truth: Truth, run: Run) -> None:
    """Adds one clip's errors."""
    observations, finished, cues, live = run
    bench.clips += 1
    name = truth.name
    if [f.record.kind for f in finished] != [s.kind for s in truth.strokes]:
        bench.wrong_count.append(
            f"{name}: found {[f.record.kind for f in finished]}, true {[s.kind for s in truth.strokes]}"
        )
        return
    if truth.view != "face-on":
        return
    rate = f"{truth.fps:.0f} fps"
    for done, true, events in zip(finished, truth.strokes, live):
        bench.strokes += 1
        _methods(bench, done, events)
        for event, at in true.events:
            found = done.record.events.named(event)
            error = None if found is None else found - at
            bench.row(f"{event[:-2]} ({rate})", "s").add(name, error)
        for measure, value in true.measures.items():
            if value is None:
                continue
            found = done.record.measures[measure].value
            unit = done.record.measures[measure].unit
            where = "" if measure != "hinge_change_deg" else " (tape)" if truth.tape else " (no tape)"
            bench.row(measure + where, unit).add(name, None if found is None else found - value)
            sure = told(measure, done.record.measures[measure], value)
            bench.told += [sure] if sure is not None else []
        _faults(bench, name, done, true)
        _cues(bench, name, done, true, cues)
    _frames(bench, truth, observations)


def _methods(bench: Bench, done: Finished, live: Events) -> None:
    """Adds what two methods say of the same: the ball's leaving and the path, live and afterwards."""
    record = done.record
    for event, after in record.events:
        at = live.named(event)
        if event != "finish_s" and at is not None:
            bench.pairs[f"{event[:-2]}: live, zero-lag"].append((at, after))
    later, impact = record.measures["impact_ball_later_s"].value, record.events.impact_s
    if later is not None and impact is not None:
        bench.pairs["impact: ball's leaving, putter's path"].append((impact + later, impact))


def by_shaft(bench: Bench, clip: Path, truth: Truth, taped: list[Finished]) -> None:
    """Sees a taped clip again by the bare shaft and adds what both say."""
    bare = watch_clip(clip, truth, vision__putter="shaft")[1]
    if len(bare) != len(taped):
        return
    for one, other in zip(taped, bare):
        for name in ("hinge_change_deg", "back_cm", "through_cm"):
            a, b = one.record.measures[name].value, other.record.measures[name].value
            if a is not None and b is not None:
                bench.pairs[f"{name}: tape, bare shaft"].append((a, b))
        a, b = one.record.events.settle_s, other.record.events.settle_s
        if a is not None and b is not None:
            bench.pairs["settle: tape, bare shaft"].append((a, b))


def pair_unit(name: str) -> tuple[str, float]:
    """Unit and factor of a pair of methods."""
    return ("deg", 1.0) if "_deg" in name else ("cm", 1.0) if "_cm" in name else ("ms", 1000.0)


def _faults(bench: Bench, name: str, done: Finished, true: TrueStroke) -> None:
    found = {f.name for f in done.verdict.faults} & set(JUDGED)
    for fault in JUDGED:
        if fault in found and fault in true.intended:
            bench.hits[fault] += 1
        elif fault in true.intended:
            bench.misses.append(f"{name}: {fault}")
        elif fault in found:
            bench.alarms.append(f"{name}: {fault}")


def _cues(bench: Bench, name: str, done: Finished, true: TrueStroke, cues: list[Cue]) -> None:
    start = done.record.events.takeaway_s or 0.0
    end = float(done.record.signals.time_s[-1]) + 0.5
    mine = [c for c in cues if start <= c.at_s <= end]
    said = {c.name for c in mine}
    faults = [f.name for f in done.verdict.faults if f.name in JUDGED]
    if bool(said & set(JUDGED)) != bool(faults):
        bench.disagree.append(f"{name}: live {sorted(said)}, verdict {faults}")
    for cue in mine:
        passed = true.events.look_s if cue.name == "early_look" else true.hinge_passes_s
        if cue.name in ("early_look", "hand_stall") and cue.name in true.intended and passed is not None:
            bench.row(f"live cue {cue.name} after the limit", "s").add(name, cue.at_s - passed)


def _frames(bench: Bench, truth: Truth, observations: list[Observation]) -> None:
    n = min(len(truth.t), len(observations))
    turn = np.array([s.head.turn_deg if s.head else np.nan for s in observations[:n]])
    address = np.zeros(n, bool)
    stroke = np.zeros(n, bool)
    for s in truth.strokes:
        take, settle = s.events.takeaway_s, s.events.settle_s
        assert take is not None
        address |= (truth.t[:n] > take - 0.6) & (truth.t[:n] < take - 0.1)
        stroke |= (truth.t[:n] >= take) & (truth.t[:n] <= (settle if settle is not None else take + 1.5))
    if not address.any():  # no stroke, so nothing to compare with
        return
    if not np.isfinite(turn[address]).any():
        bench.row("head turn at rest", "deg").missing += int(address.sum())
        return
    true = truth.turn_deg[:n] - np.median(truth.turn_deg[:n][address])
    error = turn - np.nanmedian(turn[address]) - true
    for label, use in (
        ("head turn while turning (4 to 40 deg)", (np.abs(true) > 4) & (np.abs(true) < 40)),
        ("head turn at rest", np.abs(true) <= 2),
        ("head turn during the stroke, not turning", (np.abs(true) <= 2) & stroke),
        ("head turn over 40 deg", np.abs(true) >= 40),
    ):
        row = bench.row(label, "deg")
        for e in error[use]:
            row.add(truth.name, float(e) if np.isfinite(e) else None)
    along = np.array([s.putter.head.along_px if s.putter else np.nan for s in observations[:n]])
    scales = [
        s.scale.ball_cm_per_px for s in observations if s.scale is not None and s.scale.ball_cm_per_px is not None
    ]
    scale = float(np.median(scales)) if scales else np.nan
    row = bench.row("putter head along the line" + (" (tape)" if truth.tape else " (no tape)"), "cm")
    off = along - truth.putter_px[:n, 0]
    at_rest = off[address] if np.isfinite(off[address]).any() else off
    for e in (off - np.nanmedian(at_rest)) * scale:
        row.add(truth.name, float(e) if np.isfinite(e) else None)
    moving = np.abs(true) > 4
    rms = float(np.sqrt(np.nanmean(error[moving & (np.abs(true) < 40)] ** 2))) if moving.any() else 0.0
    rest = np.abs(error[(np.abs(true) <= 2)])
    bench.per_clip.append(f"| {truth.name} | {rms:.1f} | {np.nanmax(rest):.1f} | {truth.note} |")


def table(bench: Bench) -> str:
    """The summary as Markdown."""
    lines = [
        "| measure | bias | spread (SD) | RMSE | 95 % within | worst | not seen | n |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for name, row in sorted(bench.rows.items()):
        unit, k = UNITS[row.unit]
        if not row.errors:
            lines.append(f"| {name} | - | - | - | - | - | {row.missing} | 0 |")
            continue
        e = np.array(row.errors) * k
        digits = 0 if unit == "ms" else 2
        worst = int(np.argmax(np.abs(e)))
        cells = (e.mean(), e.std(), np.sqrt(np.mean(e**2)), np.percentile(np.abs(e), 95), e[worst])
        text = " | ".join(f"{v:.{digits}f}" for v in cells)
        share = row.missing / (row.missing + len(e))
        lines.append(f"| {name}{', ' + unit if unit else ''} | {text} | {share:.0%} | {len(e)} |")
    wanted = sum(bench.hits.values()) + len(bench.misses)
    lines += [
        "",
        f"{bench.clips} clips, {bench.strokes} face-on strokes. Faults {', '.join(JUDGED)}: {sum(bench.hits.values())} of "
        f"{wanted} found, {len(bench.alarms)} false. Live cue and verdict disagree on {len(bench.disagree)} strokes; "
        f"stroke count or kind wrong in {len(bench.wrong_count)} clips.",
    ]
    for title, items in (
        ("Missed", bench.misses),
        ("False", bench.alarms),
        ("Disagree", bench.disagree),
        ("Count or kind", bench.wrong_count),
    ):
        lines += [f"- {title}: {i}" for i in items]
    return "\n".join(lines) + "\n"


def plots(bench: Bench, folder: Path) -> None:
    """One strip of errors a measure."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    folder.mkdir(parents=True, exist_ok=True)
    rows = [(n, r) for n, r in sorted(bench.rows.items()) if r.errors]
    figure, axes = plt.subplots(len(rows), 1, figsize=(8, 0.55 * len(rows) + 1), layout="constrained")
    for axis, (name, row) in zip(np.atleast_1d(axes), rows):
        unit, k = UNITS[row.unit]
        e = np.array(row.errors) * k
        axis.plot(e, np.zeros_like(e), "|", color="#0072B2", markersize=10)
        axis.axvline(0, color="0.6", linewidth=0.8)
        axis.set_yticks([])
        axis.set_ylabel(f"{name}\n{unit}", rotation=0, ha="right", va="center", fontsize=6)
        axis.tick_params(labelsize=6)
    figure.savefig(folder / "accuracy.png", dpi=130)
    plt.close(figure)


def into_readme(text: str) -> None:
    """Puts the table between the markers of README.md."""
    path = ROOT / "README.md"
    readme = path.read_text()
    before, rest = readme.split(BEGIN)
    path.write_text(f"{before}{BEGIN}\n{text}{END}{rest.split(END)[1]}")


def main() -> None:
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.accuracy", description="Accuracy against rendered truth."
    )
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--out", type=Path)
    parser.add_argument("--readme", action="store_true")
    parser.add_argument("--plots", type=Path)
    parser.add_argument("--only", default="")
    parser.add_argument("--shaft-too", action="store_true")
    args = parser.parse_args()
    folders = args.folders or [shared_folder() / "clips"]
    clips = [
        p for f in folders for p in sorted(f.glob("*.mp4")) if p.with_suffix(".json").exists() and args.only in p.name
    ]
    bench = Bench()
    with Progress(transient=True) as progress:
        for clip in progress.track(clips, description="clips"):
            truth = read_truth(clip.with_suffix(".json"))
            run = watch_clip(clip, truth)
            compare(bench, truth, run)
            if args.shaft_too and truth.tape and truth.view == "face-on":
                by_shaft(bench, clip, truth, run[1])
    text = table(bench)
    print(text)
    print("| clip | head turn RMSE while turning, deg | worst at rest, deg | what it is |\n|---|---|---|---|")
    print("\n".join(bench.per_clip))
    print("\n" + agreement_table(bench.pairs, {name: pair_unit(name) for name in bench.pairs}))
    print(confidence_table(bench.told))
    if args.out:
        args.out.write_text(text)
    if args.plots:
        plots(bench, args.plots)
        agreement_plot(bench.pairs, args.plots / "agreement.png")
    if args.readme:
        into_readme(text)


if __name__ == "__main__":
    main()
