"""Mess bench: what real cameras and rooms do to a picture, on clips with truth: what it costs, and whether it is said.

    python -m tests.bench.mess CLIP... [--only HARM,...] [--level 1,2,3] [--quick] [--keep FILE.jsonl] [--out FILE.md]

CLIP: NAME.mp4 with NAME.json beside it, or a folder of them; only clips of the development set of ``tests/recipes/sets.toml``
are taken unless --report-too is given. --keep: runs are written there one by one, and those already there are not run again.
--quick: QUICK on one clip, what CI runs.
"""

from __future__ import annotations

import argparse
import json
import traceback
from collections import defaultdict
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Iterable, Sequence

import numpy as np
from rich.progress import Progress

from tests.support.clip_sets import clip_set
from tests.support.harms import CLEAN, HARMS, Harm, HarmedClip, Places, possible
from tests.support.paths import CLIPS
from tests.support.truth import TrueStroke, Truth, read_truth
from trainer.app.analyse import analyse_opened
from trainer.app.analysis_json import ClipReport, Judged
from trainer.coaching.verdict import TOO_CLOSE_S, unjudged
from trainer.domain.measures import confident_value
from trainer.settings.load import from_options, load

JUDGED = {"face-on": ("early_look", "hand_stall", "recoil"), "down-the-line": ("posture_change",)}
EVENTS = ("takeaway_s", "top_s", "impact_s", "settle_s")
SAME_S = 0.4  # impacts nearer than this are of one stroke
OWN_FAULT = "a fault of this program"
LATE_S, LENGTH_SHARE, LENGTH_CM = 0.05, 0.06, 1.5  # worse than this and not said is worth a line
QUICK_CLIP = CLIPS / "tap_in.mp4"
QUICK = (("over-exposed", 3), ("fades to black", 2), ("cut on the right", 2), ("size changes", 1))


@dataclass
class Outcome:
    """One run against truth. said: lines that the clip as it is does not get; wrong: what is worth a line."""

    clip: str
    harm: str
    level: int
    crashed: str = ""
    true_strokes: int = 0
    lost: int = 0
    invented: int = 0
    other_kind: int = 0
    false_faults: int = 0
    missed: int = 0
    unsure: int = 0
    too_close: int = 0
    event_ms: float = 0.0
    length_percent: float = 0.0
    said: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)


def places_of(path: Path) -> Places:
    """From the truth beside the clip."""
    truth = json.loads(path.read_text(encoding="utf-8"))
    putter = np.array([f["kp2"]["putter_head"] for f in truth["frames"]], float)
    ears = np.array([f["kp3"][f"{side}_ear"] for f in truth["frames"] for side in ("left", "right")], float)
    (left, _), (right, bottom) = putter.min(axis=0), putter.max(axis=0)
    return Places(float(left), float(right), float(bottom), float(_rows(truth, ears).min()))


def _rows(truth: dict[str, Any], places_m: np.ndarray) -> np.ndarray:
    """Rows of the picture (px) in which places (n, 3) lie, by the truth's camera."""
    camera, height = truth["camera"], truth["height"]
    eye, target = (np.array(camera[name], float) for name in ("eye_m", "target_m"))
    ahead = (target - eye) / np.linalg.norm(target - eye)
    down = ahead * ahead[2] - np.array([0.0, 0.0, 1.0])
    down /= np.linalg.norm(down)
    focal = height / 2 / np.tan(np.radians(camera["vertical_fov_deg"]) / 2)
    seen = places_m - eye
    return np.asarray(height / 2 + focal * (seen @ down) / (seen @ ahead))


def run(path: Path, truth: Truth, harm: Harm, level: int) -> Outcome:
    """One clip, harmed, analysed as a user would have it analysed."""
    handedness = truth.handedness
    if harm.name == "mirrored":
        handedness = "right" if handedness == "left" else "left"
    settings = load([from_options(player__handedness=handedness, camera__view=truth.view)])
    outcome = Outcome(truth.name, harm.name, level, true_strokes=len(truth.strokes))
    try:
        clip = HarmedClip(path, harm, harm.levels[level - 1], places_of(path.with_suffix(".json")))
        report, _ = analyse_opened(clip, truth.name, settings)
    except Exception as error:
        outcome.crashed = f"{type(error).__name__} in {traceback.extract_tb(error.__traceback__)[-1].name}"
        return outcome
    compare(outcome, truth, report)
    return outcome


def compare(outcome: Outcome, truth: Truth, report: ClipReport) -> None:
    """Fills in what the report says otherwise than truth."""
    outcome.said = [line for line in report.warnings if not line.startswith("stroke ")]
    outcome.crashed = next((line for line in report.warnings if OWN_FAULT in line), "")
    left = list(report.strokes)
    for true in truth.strokes:
        same = [s for s in left if abs((s.record.events.impact_s or -9.0) - true.events.at("impact_s")) < SAME_S]
        if not same:
            outcome.lost += 1
            continue
        left.remove(same[0])
        outcome.other_kind += same[0].record.kind != true.kind
        _verdict(outcome, true, same[0])
        _numbers(outcome, true, same[0])
    outcome.invented = len(left)


def _verdict(outcome: Outcome, true: TrueStroke, found: Judged) -> None:
    judged = JUDGED[found.record.view]
    faults = {f.name: f for f in found.verdict.faults if f.name in judged}
    for name in judged:
        timed = name == "early_look"
        if timed and true.told_near_rest(found.verdict):
            continue
        if name in faults and name not in true.intended:
            outcome.false_faults += 1
            outcome.wrong.append(f"{name} called ({faults[name].value:.2f} {faults[name].unit})")
        elif (name in true.intended or (timed and true.near_rest)) and name not in {*faults, *unjudged(found.verdict)}:
            outcome.missed += 1
            outcome.wrong.append(f'{name} missed, not "not sure"')
    outcome.unsure += bool(set(judged) & set(found.verdict.indeterminate))
    outcome.too_close += found.verdict.too_close
    if found.verdict.too_close and (true.look_after_s is None or abs(true.look_after_s) > TOO_CLOSE_S + LATE_S):
        after = "never" if true.look_after_s is None else f"{1000 * true.look_after_s:+.0f} ms after rest"
        outcome.wrong.append(f"look too close to call, in truth {after}")


def _numbers(outcome: Outcome, true: TrueStroke, found: Judged) -> None:
    """Events and lengths that are given with confidence."""
    measures, events = found.record.measures, found.record.events
    tempo = confident_value(measures.get("tempo_ratio")) is not None
    rest = any(confident_value(measures.get(name)) is not None for name in ("hold_s", "early_by_s"))
    for name in EVENTS:
        at, want = getattr(events, name), getattr(true.events, name)
        sure = rest if name == "settle_s" else tempo
        if at is None or want is None or not sure:
            continue
        off_s = at - want
        outcome.event_ms = max(outcome.event_ms, 1000 * abs(off_s))
        if abs(off_s) > LATE_S:
            outcome.wrong.append(f"{name[:-2]} {1000 * off_s:+.0f} ms")
    for name in ("back_cm", "through_cm") if true.kind == "ball" else ():
        value, want = confident_value(measures.get(name)), true.measures[name]
        if value is None or want is None:
            continue
        outcome.length_percent = max(outcome.length_percent, 100 * abs(value / want - 1))
        if abs(value - want) > max(LENGTH_CM, LENGTH_SHARE * want):
            outcome.wrong.append(f"{name} {value:.1f} for {want:.1f}")


def table(outcomes: Sequence[Outcome]) -> str:
    """A row a harm and strength; below it every line that is worth one."""
    clean = {o.clip: set(o.said) for o in outcomes if o.harm == CLEAN.name}
    rows: dict[tuple[str, int], list[Outcome]] = defaultdict(list)
    for outcome in outcomes:
        rows[outcome.harm, outcome.level].append(outcome)
    lines = [
        "| harm | runs | crashes | strokes lost (unsaid) | invented | other kind (unsaid) | false faults | missed unsaid "
        "| not sure | too close | events off, ms | lengths off, % | runs told |",
        "|---|---|---|---|---|---|---|---|---|---|---|---|---|",
    ]
    details = []
    for harm in (CLEAN, *HARMS):
        for level in (1, 2, 3):
            some = rows.get((harm.name, level), [])
            if not some:
                continue
            news = {o.clip: [line for line in o.said if line not in clean.get(o.clip, set())] for o in some}
            quiet = [o for o in some if not news[o.clip]]
            name = harm.name if harm is CLEAN else f"{harm.name} {harm.levels[level - 1]:g} {harm.unit}"
            cells = (
                len(some),
                sum(bool(o.crashed) for o in some),
                f"{sum(o.lost for o in some)} ({sum(o.lost for o in quiet)}) of {sum(o.true_strokes for o in some)}",
                sum(o.invented for o in some),
                f"{sum(o.other_kind for o in some)} ({sum(o.other_kind for o in quiet)})",
                sum(o.false_faults for o in some),
                sum(o.missed for o in some),
                sum(o.unsure for o in some),
                sum(o.too_close for o in some),
                f"{max(o.event_ms for o in some):.0f}",
                f"{max(o.length_percent for o in some):.0f}",
                len(some) - len(quiet),
            )
            lines.append(f"| {name} | " + " | ".join(map(str, cells)) + " |")
            details += [
                f"- {name}, {o.clip}: {'; '.join([*([f'crashed: {o.crashed}'] if o.crashed else []), *o.wrong])}"
                for o in some
                if o.crashed or o.wrong
            ]
    return "\n".join([*lines, "", *details]) + "\n"


def clips_of(given: Iterable[Path], report_too: bool = False) -> list[Path]:
    """Those with truth, of the development set unless told otherwise."""
    wanted = clip_set("develop") | (clip_set("report") if report_too else frozenset())
    found = [clip for path in given for clip in (sorted(path.glob("*.mp4")) if path.is_dir() else [path])]
    return [clip for clip in found if clip.with_suffix(".json").exists() and clip.stem in wanted]


def bench(jobs: Sequence[tuple[Path, Harm, int]], keep: Path | None) -> list[Outcome]:
    """All of them, with a bar."""
    known: dict[tuple[str, str, int], Outcome] = {}
    if keep is not None and keep.exists():
        for line in keep.read_text(encoding="utf-8").splitlines():
            outcome = Outcome(**json.loads(line))
            known[outcome.clip, outcome.harm, outcome.level] = outcome
    out = []
    with Progress(transient=True) as progress:
        for path, harm, level in progress.track(jobs, description="runs"):
            truth = read_truth(path.with_suffix(".json"))
            done = known.get((truth.name, harm.name, level)) or run(path, truth, harm, level)
            out.append(done)
            if keep is not None and (truth.name, harm.name, level) not in known:
                with keep.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(asdict(done)) + "\n")
    return out


def quick_jobs() -> list[tuple[Path, Harm, int]]:
    """What CI runs."""
    named = {harm.name: harm for harm in HARMS}
    return [(QUICK_CLIP, CLEAN, 1), *((QUICK_CLIP, named[name], level) for name, level in QUICK)]


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.mess", description="Harmed pictures against truth.")
    parser.add_argument("clips", nargs="*", type=Path, metavar="CLIP")
    parser.add_argument("--only", default="", help="harms, with commas between")
    parser.add_argument("--level", default="1,2,3")
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--report-too", action="store_true")
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--out", type=Path)
    args: Any = parser.parse_args()
    only = {name.strip() for name in args.only.split(",") if name.strip()}
    harms = [h for h in HARMS if possible(h) and (not only or h.name in only)]
    if args.quick:
        jobs = quick_jobs()
    else:
        clips = clips_of(args.clips, args.report_too)
        levels = [int(level) for level in args.level.split(",")]
        jobs = [(clip, CLEAN, 1) for clip in clips]
        jobs += [(clip, harm, level) for level in levels for harm in harms for clip in clips]
    text = table(bench(jobs, args.keep))
    print(text)
    if args.out:
        args.out.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
