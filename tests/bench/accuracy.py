"""Accuracy bench: every clip that has truth through the real pipeline, errors by measure as a Markdown table.

    python -m tests.bench.accuracy [FOLDER...] [--set develop|report] [--out FILE.md] [--readme] [--plots FOLDER]
                                   [--only TEXT] [--shaft-too] [--jobs N]

FOLDER: holds NAME.mp4 with NAME.json (default: the shared clips). --set takes the clips of one set of tests/recipes/sets.toml:
methods are made with the one, figures are published from the other. --readme puts a player's rows into README.md and the whole
table into tests/bench/accuracy.md; --plots draws the errors; --only takes the clips whose name holds TEXT; --shaft-too sees
taped clips a second time by the bare shaft, to compare; --jobs reads that many clips at a time.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
from rich.progress import Progress

from tests.bench.accuracy_table import JUDGED, Bench, per_clip_table, plots, publish, table
from tests.bench.agreement import agreement_plot, agreement_table, confidence_table, told
from tests.support.clip_sets import SETS, clip_set
from tests.support.paths import shared_folder
from tests.support.truth import TrueStroke, Truth, read_truth
from trainer.app.build import observer, pipeline
from trainer.domain.observation import Observation
from trainer.domain.record import Events
from trainer.domain.verdict import Cue
from trainer.live.pipeline import Finished
from trainer.settings.load import from_options, load
from trainer.vision.sources.clip import Clip

Run = tuple[list[Observation], list[Finished], list[Cue], list[Events]]


def watch_clip(path: Path, truth: Truth, **more: str) -> Run:
    """Everything the pipeline says of one clip: observations, strokes, cues, and each stroke's events as told live."""
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
        judge_faults(bench, name, done, true)
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


def judge_faults(bench: Bench, name: str, done: Finished, true: TrueStroke) -> None:
    found = {f.name for f in done.verdict.faults} & set(JUDGED)
    if done.verdict.too_close:
        after = true.look_after_s
        bench.too_close.append(
            f"{name}: " + ("no look" if after is None else f"the look came {after:+.3f} s after rest")
        )
    for fault in JUDGED:
        timed = fault == "early_look"
        if timed and (true.told_near_rest(done.verdict) or (done.verdict.too_close and true.look_after_s is not None)):
            continue
        if fault in found and fault in true.intended:
            bench.hits[fault] += 1
        elif fault not in found and (fault in true.intended or (timed and true.near_rest)):
            bench.misses.append(
                f"{name}: {fault}" + (", told as not sure" if fault in done.verdict.indeterminate else "")
            )
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
    worst = float(np.nanmax(rest)) if np.isfinite(rest).any() else float("nan")
    bench.per_clip.append(f"| {truth.name} | {rms:.1f} | {worst:.1f} | {truth.note} |")


def measure(clip: Path, shaft_too: bool = False) -> Bench:
    """One clip against its truth."""
    bench = Bench()
    truth = read_truth(clip.with_suffix(".json"))
    run = watch_clip(clip, truth)
    compare(bench, truth, run)
    if shaft_too and truth.tape and truth.view == "face-on":
        by_shaft(bench, clip, truth, run[1])
    return bench


def chosen_clips(folders: list[Path], of_set: str | None, only: str) -> list[Path]:
    """Clips with truth in the folders, in the order of their names; of one set, or all."""
    names = clip_set(of_set) if of_set else None
    return [
        clip
        for folder in folders
        for clip in sorted(folder.glob("*.mp4"))
        if clip.with_suffix(".json").exists() and only in clip.name and (names is None or clip.stem in names)
    ]


def main() -> None:
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.accuracy", description="Accuracy against rendered truth."
    )
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--set", choices=SETS, dest="of_set")
    parser.add_argument("--out", type=Path)
    parser.add_argument("--readme", action="store_true")
    parser.add_argument("--plots", type=Path)
    parser.add_argument("--only", default="")
    parser.add_argument("--shaft-too", action="store_true")
    parser.add_argument("--jobs", type=int, default=1)
    args = parser.parse_args()
    clips = chosen_clips(args.folders or [shared_folder() / "clips"], args.of_set, args.only)
    if not clips:
        parser.error("no clip with truth there")
    if args.readme and args.of_set != "report":
        parser.error("README tells of clips that no method was made with: --readme wants --set report")
    bench = Bench()
    with Progress(transient=True) as progress, ProcessPoolExecutor(args.jobs) as pool:
        jobs = pool.map(measure, clips, [args.shaft_too] * len(clips))
        for part in progress.track(jobs, total=len(clips), description="clips"):
            bench.add(part)
    text = table(bench)
    print(text)
    print(per_clip_table(bench))
    print(agreement_table(bench.pairs, {name: pair_unit(name) for name in bench.pairs}))
    print(confidence_table(bench.told))
    if args.out:
        args.out.write_text(text)
    if args.plots:
        plots(bench, args.plots)
        agreement_plot(bench.pairs, args.plots / "agreement.png")
    if args.readme:
        publish(bench)


if __name__ == "__main__":
    main()
