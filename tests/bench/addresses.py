"""Bench of what is seen at address: rendered pictures of players on many grounds, each held still as a camera would show it.

    python -m tests.bench.addresses FOLDER [--half develop|report] [--only TEXT] [--by view|ground|ball|...] [--out FILE]

FOLDER: NAME.png with NAME.json of tests/recipes/addresses.py. A picture is shown SHOWN times with a sensor's noise. Two ways
look at it: that of practice (``vision/observer``) for ball, putter head and shaft, and that of posture
(``posture/analysis.look``, the player's height known) for the measures. WRONG is a ball more than half its width away.
"""

from __future__ import annotations

import argparse
import json
import math
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Iterable, Literal

import numpy as np

from tests.bench.tables import tell
from trainer.coaching.posture.address_measures import measure
from trainer.domain.measures import MIN_CONFIDENCE
from trainer.domain.observation import Frame, Observation
from trainer.posture.analysis import Given, ball_of, look
from trainer.vision.body.pose import PoseBody
from trainer.vision.camera_geometry.scale import BALL_CM
from trainer.vision.observer import Observer, ObserverOptions

SHOWN, FPS, NOISE = 36, 30.0, 4.0  # frames; frames a second; grey levels (SD) of a webcam indoors, as on the clips
WRONG = 0.5  # ball widths
HEAD_WRONG_CM = 3.0  # of a putter head of 11 cm
MEASURES = (
    "ball_position", "stance_cm", "eye_line_cm", "hands_plumb_cm", "knee_flex_deg", "spine_tilt_deg", "elbow_deg",
)  # fmt: skip
KINDS = ("view", "ground", "ball", "shaft", "light", "player")
State = Literal["right", "wrong", "none"]


@dataclass(frozen=True, slots=True)
class Spot:
    """What was found of a ball. off: from where it is, in ball widths; wide: its diameter over the true one, less 1."""

    confidence: float = 0.0
    off: float = math.nan
    wide: float = math.nan

    @property
    def state(self) -> State:
        if math.isnan(self.off):
            return "none"
        return "right" if self.off <= WRONG else "wrong"


@dataclass(frozen=True, slots=True)
class Seen:
    """One picture. head_cm, shaft_deg: error of the putter, NaN: not seen; errors: name -> (error, confidence)."""

    name: str
    truth: dict[str, Any]
    live: Spot
    still: Spot
    head_cm: float
    shaft_deg: float
    putter_sure: float
    errors: dict[str, tuple[float, float]] = field(default_factory=dict)
    said: str = ""


class _Held:
    """A body tracker for one picture held still: the points found once."""

    def __init__(self, points: dict[str, Any] | None) -> None:
        self._points = points

    def find(self, image_bgr: Any) -> dict[str, Any] | None:
        return self._points

    def close(self) -> None:
        """Nothing to free."""


def _spot(truth: dict[str, Any], x: float, y: float, diameter: float, sure: float) -> Spot:
    wide = truth["ball_diameter_px"]
    return Spot(sure, math.dist((x, y), truth["ball_px"]) / wide, diameter / wide - 1)


def held(image: Any, truth: dict[str, Any], points: dict[str, Any] | None) -> Observation:
    """What practice sees in the last of SHOWN frames."""
    rng = np.random.default_rng(truth["seed"])
    observer = Observer(_Held(points), ObserverOptions(handedness=truth["hand"], view=truth["view"]))
    seen = None
    for k in range(SHOWN):
        noisy = np.clip(image + rng.normal(0, NOISE, image.shape), 0, 255).astype(np.uint8)
        seen = observer.see(Frame(k, k / FPS, noisy))
    assert seen is not None
    return seen


def looked(path: Path, body: PoseBody) -> Seen:
    """One picture by both ways."""
    import cv2

    truth = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    image = cv2.imread(str(path))
    noise = np.random.default_rng(truth["seed"] + 1).normal(0, NOISE, image.shape)
    found = look(
        body,
        np.clip(image + noise, 0, 255).astype(np.uint8),
        Given(truth["view"], truth["hand"], truth["setup"]["height_cm"]),
        find_ball=True,
    )
    practice = held(image, truth, found.points)
    mark, ball = ball_of(practice), found.ball
    live = Spot() if mark is None else _spot(truth, mark.x, mark.y, mark.diameter_px, mark.confidence)
    still = Spot() if ball is None else _spot(truth, ball.x, ball.y, ball.diameter_px, ball.confidence)
    head_cm, shaft_deg, sure = _putter(practice, truth)
    errors = {}
    if found.seen is not None:
        for name, value in measure(found.seen).items():
            if name in MEASURES and value.value is not None:
                errors[name] = (value.value - truth["setup"][name], value.confidence)
    said = "; ".join((*map(str, found.hints), *practice.reasons.values()))
    return Seen(path.stem, truth, live, still, head_cm, shaft_deg, sure, errors, said)


def _putter(seen: Observation, truth: dict[str, Any]) -> tuple[float, float, float]:
    if seen.putter is None:
        return math.nan, math.nan, 0.0
    head, grip = (np.array(seen.frame.to_picture(p)) for p in (seen.putter.head, seen.putter.grip))
    true_head, true_grip = np.array(truth["putter_head_px"]), np.array(truth["grip_px"])
    cm = BALL_CM / truth["ball_diameter_px"]

    def way(a: Any, b: Any) -> float:
        return math.degrees(math.atan2(b[0] - a[0], b[1] - a[1]))

    return (
        float(np.linalg.norm(head - true_head)) * cm,
        way(grip, head) - way(true_grip, true_head),
        seen.putter.confidence,
    )


def _counts(spots: Iterable[Spot]) -> str:
    """right / none / wrong, and of the wrong ones those told with confidence."""
    found = list(spots)
    states = [s.state for s in found]
    sure = sum(s.state == "wrong" and s.confidence >= MIN_CONFIDENCE for s in found)
    return f"{states.count('right')} / {states.count('none')} / {states.count('wrong')} ({sure})"


def _row(kind: str, group: list[Seen]) -> str:
    off = [BALL_CM * s.still.off for s in group if s.still.state == "right"]
    wide = [100 * s.live.wide for s in group if s.live.state == "right"]
    heads = [s.head_cm for s in group if not math.isnan(s.head_cm)]
    wrong = sum(h > HEAD_WRONG_CM for h in heads)
    sure = sum(s.head_cm > HEAD_WRONG_CM and s.putter_sure >= MIN_CONFIDENCE for s in group)
    good = f"{len(heads) - wrong} / {len(group) - len(heads)} / {wrong} ({sure})"
    place = f"{np.mean(off):.2f}" if off else "-"
    size = f"{np.mean(wide):+.1f} ± {np.std(wide):.1f}" if wide else "-"
    found = f"{_counts(s.live for s in group)} | {_counts(s.still for s in group)}"
    return f"| {kind} | {len(group)} | {found} | {place} | {size} | {good} |"


def table(seen: list[Seen], kinds: Iterable[str]) -> list[str]:
    """Shares found, by kinds of pictures."""
    lines = [
        "right / not seen / wrong (of these, with confidence)",
        "",
        "| kind | n | ball, practice | ball, posture | ball off, cm | ball's width, % | putter head within 3 cm |",
        "|---|---|---|---|---|---|---|",
        _row("all", seen),
    ]
    for kind in kinds:
        groups: dict[str, list[Seen]] = defaultdict(list)
        for s in seen:
            groups[s.truth[kind]].append(s)
        lines += [_row(f"{kind}: {name}", group) for name, group in sorted(groups.items())]
    return lines


def measures_table(seen: list[Seen]) -> list[str]:
    """Errors of the measures: all that were told, and of those told with confidence."""
    lines = [
        "",
        "| measure | told | mean | SD | worst | with confidence | mean | SD | worst |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for name in MEASURES:
        every = [s.errors[name] for s in seen if name in s.errors]
        cells = []
        for errors in ([e for e, _ in every], [e for e, sure in every if sure >= MIN_CONFIDENCE]):
            shown = (
                f"{np.mean(errors):+.3g} | {np.std(errors):.3g} | {max(errors, key=abs):+.3g}"
                if errors
                else "- | - | -"
            )
            cells.append(f"{len(errors)} | {shown}")
        lines.append(f"| {name} | {' | '.join(cells)} |")
    return lines


def list_of(seen: list[Seen]) -> list[str]:
    """One line a picture in which something is wrong or missing."""
    lines = [""]
    for s in seen:
        bad = {
            n: f"{e:+.1f} ({sure:.2f})"
            for n, (e, sure) in s.errors.items()
            if abs(e) > {"ball_position": 0.08}.get(n, 6.0)
        }
        if s.live.state == s.still.state == "right" and s.head_cm <= HEAD_WRONG_CM and not bad:
            continue
        what = ", ".join(str(s.truth[k]) for k in ("view", "hand", "ground", "light", "ball", "shaft", "player"))
        told = [
            f"{n} {p.state} {p.off:.1f} ({p.confidence:.2f})" for n, p in (("practice", s.live), ("posture", s.still))
        ]
        head = f"head {s.head_cm:.1f} cm, shaft {s.shaft_deg:+.1f} deg ({s.putter_sure:.2f})"
        lines.append(f"{s.name}: {what}: {'; '.join((*told, head))}; {bad}; {s.said}")
    return lines


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.addresses", description="What is seen at address.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--half", choices=("develop", "report"))
    parser.add_argument("--only", default="")
    parser.add_argument("--by", choices=KINDS, action="append")
    parser.add_argument("--out", type=Path)
    args = parser.parse_args()
    paths = [p for p in sorted(args.folder.glob("*.png")) if args.only in p.stem and p.with_suffix(".json").exists()]
    if args.half:
        paths = [
            p for p in paths if json.loads(p.with_suffix(".json").read_text(encoding="utf-8"))["half"] == args.half
        ]
    if not paths:
        parser.error("no picture with truth there")
    body = PoseBody()
    try:
        seen = [looked(p, body) for p in paths]
    finally:
        body.close()
    tell([*table(seen, args.by or KINDS), *measures_table(seen)], args.out)
    if args.half != "report":
        tell(list_of(seen), None)


if __name__ == "__main__":
    main()
