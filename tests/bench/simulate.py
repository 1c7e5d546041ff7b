"""False alarms and misses at the default limits, over thousands of invented strokes: a Markdown table per frame rate.

    python -m tests.bench.simulate [--strokes N] [--fps 15,30,60] [--noise K] [--only TEXT] [--show] [--jobs N] [--idle MINUTES]

N strokes of each group; then as many minutes without a stroke in them (``simulate_idle``), which should give none. --noise:
errors of vision, K times the simulator's own; --show lists each wrong one with its number, by which it can be drawn again. A
stroke's truth comes from its exact motion. Groups are laid by their distance from the limit, so that the table shows how close
to it the judging can tell: nothing is left out as too hard to call.
"""

from __future__ import annotations

import argparse
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Callable

import numpy as np
from scipy.optimize import brentq
from scipy.stats import binomtest

from tests.support.observations import watch
from trainer.coaching.faults import judge
from trainer.coaching.live_judge import LiveJudge
from trainer.settings.limits import Limits
from trainer.stroke.tracker import Tracker
from trainer.testing.simulate import KnownStroke, Scene, SimStroke, ordinary_stroke
from trainer.testing.simulate_idle import idle, idle_observations
from trainer.testing.simulate_moves import reach
from trainer.testing.simulate_observations import Noise, observations

LOOK_DEG = Limits().early_look.value
STALL_DEG = Limits().hand_stall.value
NAMED = ("early_look", "hand_stall", "recoil")  # the faults that this study is about
LIVE = (*NAMED, "short_hold")
Make = Callable[[np.random.Generator], SimStroke]


def settle_s(stroke: SimStroke) -> float:
    """True settle of a stroke that is held out."""
    held = Scene((replace(stroke, look_s=None),), stroke.finish_s + 2.0).known()[0].events.settle_s
    assert held is not None
    return held


def turns_off(stroke: SimStroke, after_rest_s: float) -> SimStroke:
    """The same stroke with a look whose first third of the limit is passed this long after the putter is at rest."""
    share = LOOK_DEG / 3 / stroke.turn_deg
    begun = stroke.turn_s * brentq(lambda u: float(reach(np.array([u]))[0]) - share, 0, 1)
    return replace(stroke, look_s=settle_s(stroke) + after_rest_s - begun)


def looking(low_s: float, high_s: float, rng: np.random.Generator) -> SimStroke:
    """The head sets off between low_s and high_s after the putter is at rest (negative: before)."""
    return turns_off(ordinary_stroke(rng), float(rng.uniform(low_s, high_s)))


def stopping(low_deg: float, high_deg: float, rng: np.random.Generator) -> SimStroke:
    """The hands stop soon after impact and the shaft turns on by low_deg to high_deg before the putter is at rest."""
    slow = 1.0 if high_deg > STALL_DEG else 1.8  # hands that run out softly leave little
    stroke = replace(
        ordinary_stroke(rng),
        stall_deg=float(rng.uniform(low_deg, high_deg)),
        stall_s=float(rng.uniform(0.28, 0.5)),
        stop_s=slow * float(rng.uniform(0.1, 0.2)),
    )
    return replace(stroke, look_s=stroke.finish_s + float(rng.uniform(1.2, 2.2)))


def coming_back(low_cm: float, high_cm: float, rng: np.random.Generator) -> SimStroke:
    """The putter comes back by low_cm to high_cm after its finish; a follow-through long enough to come back from."""
    stroke = ordinary_stroke(rng)
    stroke = replace(stroke, recoil_cm=float(rng.uniform(low_cm, high_cm)), recoil_s=float(rng.uniform(0.25, 0.45)))
    stroke = replace(stroke, through_deg=max(stroke.through_deg, 1.3 * stroke.recoil_cm / 2.37))
    return turns_off(stroke, float(rng.uniform(1.2, 2.2)))


@dataclass(frozen=True)
class Group:
    """Strokes of one kind. fault: the one that is in them, or None."""

    name: str
    make: Make
    fault: str | None


GROUPS = (
    Group("held and looked up from after 1.1 s or more", ordinary_stroke, None),
    Group("head sets off 0.2 to 1 s after rest", partial(looking, 0.2, 1.0), None),
    Group("head sets off 0.05 to 0.2 s after rest", partial(looking, 0.05, 0.2), None),
    Group("head sets off 0 to 0.05 s after rest", partial(looking, 0.0, 0.05), None),
    Group("head sets off 0 to 0.05 s before rest", partial(looking, -0.05, 0.0), "early_look"),
    Group("head sets off 0.05 to 0.1 s before rest", partial(looking, -0.1, -0.05), "early_look"),
    Group("head sets off 0.1 to 0.2 s before rest", partial(looking, -0.2, -0.1), "early_look"),
    Group("head sets off 0.2 to 0.5 s before rest", partial(looking, -0.5, -0.2), "early_look"),
    Group("hands run out, shaft 2 to 8 deg", partial(stopping, 2, 8), None),
    Group("hands stop, shaft 8 to 10 deg", partial(stopping, 8, 10), None),
    Group("hands stop, shaft 10 to 12 deg", partial(stopping, 10, 12), None),
    Group("hands stop, shaft 12 to 14 deg", partial(stopping, 12.01, 14), "hand_stall"),
    Group("hands stop, shaft 14 to 16 deg", partial(stopping, 14, 16), "hand_stall"),
    Group("hands stop, shaft 16 to 20 deg", partial(stopping, 16, 20), "hand_stall"),
    Group("hands stop, shaft 20 to 30 deg", partial(stopping, 20, 30), "hand_stall"),
    Group("putter back by 0.5 to 2.3 cm", partial(coming_back, 0.5, 2.3), None),
    Group("putter back by 3.8 to 8 cm", partial(coming_back, 3.8, 8.0), "recoil"),
)


@dataclass
class Tally:
    """What became of one group's strokes. false: wrong verdicts by fault; cue_s: delays of right cues."""

    group: Group
    n: int = 0
    miscounted: int = 0
    missed: int = 0
    false: Counter[str] = field(default_factory=Counter)
    live_missed: int = 0
    live_false: Counter[str] = field(default_factory=Counter)
    disagree: int = 0
    cue_s: list[float] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    def add(self, number: int, fps: float, noise: Noise) -> None:
        """Draws stroke ``number`` of the group, watches and judges it."""
        rng = np.random.default_rng([number, sum(map(ord, self.group.name))])
        stroke = self.group.make(rng)
        scene = Scene((stroke,), max(stroke.finish_s, stroke.look_s or 0.0) + 1.8, seed=number)
        seen = watch(observations(scene, fps, noise, rng))
        self.n += 1
        if [r.kind for r in seen.records] != ["ball"]:
            self.miscounted += 1
            self.wrong.append(f"{number}: {len(seen.records)} strokes, {seen.phases}")
            return
        found = {f.name for f in judge(seen.record, Limits())}
        cues = [c for c in seen.cues[0] if c.name in LIVE]
        self._verdict(found, number)
        said = {c.name for c in cues}
        self.live_missed += self.group.fault is not None and self.group.fault not in said
        self.live_false.update(n for n in said & set(NAMED) if n != self.group.fault)
        if (said != set() and not said <= found) or (not said and found & set(LIVE)):
            self.disagree += 1
            self.wrong.append(f"{number}: told {sorted(said)}, verdict {sorted(found)}")
        passed = passed_s(scene.known(LOOK_DEG)[0], self.group.fault)
        self.cue_s += [c.at_s - passed for c in cues if c.name == self.group.fault and passed is not None]

    def _verdict(self, found: set[str], number: int) -> None:
        false = {n for n in found & set(NAMED) if n != self.group.fault}
        self.false.update(false)
        missed = self.group.fault is not None and self.group.fault not in found
        self.missed += missed
        if false or missed:
            self.wrong.append(f"{number}: {sorted(found)}, true {self.group.fault}")


def passed_s(known: KnownStroke, fault: str | None) -> float | None:
    """When the limit was truly passed."""
    if fault == "early_look":
        return known.events.look_s
    if fault != "hand_stall":
        return None
    t = np.arange(known.stroke.impact_s - 0.1, known.stroke.finish_s + 0.3, 0.001)
    past = np.flatnonzero(known.stroke.shaft_deg(t) > STALL_DEG)
    return float(t[past[0]]) if len(past) else None


def study(group: Group, strokes: int, fps: float, noise: Noise) -> Tally:
    """One group at one frame rate."""
    tally = Tally(group)
    for number in range(strokes):
        tally.add(number, fps, noise)
    return tally


def _rate(k: int, n: int) -> str:
    """Per 1,000 with Wilson's 95 % interval."""
    if n == 0:
        return "-"
    within = binomtest(k, n).proportion_ci(0.95, "wilson")
    return f"{1000 * k / n:.0f} ({1000 * within.low:.0f}-{1000 * within.high:.0f})"


def table(tallies: list[Tally], fps: float) -> str:
    """Markdown; rates per 1,000 strokes with 95 % intervals (Wilson 1927, J. Am. Stat. Assoc. 22, 209-212)."""
    lines = [
        f"**{fps:g} frames a second**, {sum(t.n for t in tallies)} strokes; each number per 1,000 (95 % interval)",
        "",
        "| strokes | not seen as one ball stroke | verdict: missed | false early look | false hand stall | false recoil "
        "| live: missed | live: false | live and verdict differ | cue after the limit, ms: middle, 95 % |",
        "|---|---|---|---|---|---|---|---|---|---|",
    ]
    for t in tallies:
        judged = t.n - t.miscounted
        cells = [_rate(t.miscounted, t.n), _rate(t.missed, judged) if t.group.fault else ""]
        cells += [_rate(t.false[name], judged) if name != t.group.fault else "" for name in NAMED]
        cells += [_rate(t.live_missed, judged) if t.group.fault else "", _rate(sum(t.live_false.values()), judged)]
        cells.append(_rate(t.disagree, judged))
        ms = 1000 * np.array(t.cue_s)
        cells.append(f"{np.median(ms):.0f}, {np.percentile(ms, 95):.0f}" if len(ms) else "")
        lines.append(f"| {t.group.name} | " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


IDLE_S = 120.0  # of each scene


def without_strokes(seed: int, fps: float, noise: Noise) -> tuple[float, list[str]]:
    """Seconds watched of one scene without a stroke, and what was going on where one was counted or a cue was told."""
    scene, tracker, live, wrong = idle(IDLE_S, seed), Tracker(), LiveJudge(Limits()), []
    for observation in idle_observations(scene, fps, noise, np.random.default_rng(seed)):
        moment = tracker.update(observation)
        cue, at = live.update(moment), moment.time_s
        told = [cue.name] if cue is not None else []
        told += [f"stroke ({moment.closed.kind})"] if moment.closed is not None else []
        wrong += [f"{what} while {scene.doing_at(at)}, scene {seed} at {at:.1f} s" for what in told]
    return scene.lasts_s, wrong


def idle_table(minutes: float, fps: float, noise: Noise, pool: ProcessPoolExecutor) -> str:
    """Strokes and cues where there are none, with the putter seen and with the hands standing in for it."""
    lines = [f"**{fps:g} frames a second**, minutes without a stroke", ""]
    for putter in (True, False):
        seeds = range(round(60 * minutes / IDLE_S))
        seen = replace(noise, putter_seen=putter)
        runs = list(pool.map(partial(without_strokes, fps=fps, noise=seen), seeds))
        wrong = [w for _, one in runs for w in one]
        hours = sum(s for s, _ in runs) / 3600
        lines.append(f"- putter {'seen' if putter else 'not seen'}: {len(wrong)} strokes or cues in {hours:.2f} h")
        lines += [f"  - {w}" for w in wrong]
    return "\n".join(lines) + "\n"


def main() -> None:
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.simulate", description="Error rates on invented strokes."
    )
    parser.add_argument("--strokes", type=int, default=200, help="of each group")
    parser.add_argument("--fps", default="15,30,60", help="frame rates, by commas")
    parser.add_argument("--noise", type=float, default=1.0, help="times the simulator's own errors of vision")
    parser.add_argument("--only", default="", help="groups whose name holds this")
    parser.add_argument("--show", action="store_true", help="list what went wrong")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    parser.add_argument("--idle", type=float, default=20.0, help="minutes without a stroke")
    args = parser.parse_args()
    groups = [g for g in GROUPS if args.only in g.name]
    noise = Noise().times(args.noise)
    with ProcessPoolExecutor(args.jobs) as pool:
        for fps in (float(v) for v in args.fps.split(",")):
            runs = [pool.submit(study, group, args.strokes, fps, noise) for group in groups]
            tallies = [run.result() for run in runs]
            print(table(tallies, fps), flush=True)
            if args.show:
                print("\n".join(f"- {t.group.name} {line}" for t in tallies for line in t.wrong), flush=True)
            if args.idle:
                print(idle_table(args.idle, fps, noise, pool), flush=True)


if __name__ == "__main__":
    main()
