"""Strokes for the tests of the review: what the trainer tracked in the small clips, kept, so that no pose model is needed.

``python -m tests.support.review_clips`` makes ``approved/strokes`` anew from the clips (and
from the shared folder's down-the-line clip).
"""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from functools import cache
from pathlib import Path
from typing import Any

from tests.support.paths import DATA
from tests.support.signal_rows import samples_of
from trainer.coaching.faults import judge
from trainer.domain.record import Events, Measure, StrokeRecord
from trainer.replay.clip_frames import ClipFrames
from trainer.replay.clip_reader import times_of
from trainer.replay.stroke_clip import StrokeClip, figure_shot, stretch_s
from trainer.settings.limits import Limits
from trainer.store.signals import pack, unpack
from trainer.store.stroke_rows import context_of_meta, meta_of
from trainer.stroke.tracker import Tracker

CLIPS, KEPT = DATA / "clips", DATA / "approved" / "strokes"
STALL, HELD, LOOKED, BEHIND = "left_stall_white_cap", "bowed_white_cap_good", "small_look_dark_cap", "down_the_line"


@cache
def record_of(name: str) -> StrokeRecord:
    """The only stroke of a small clip, as it was kept."""
    signals = unpack((KEPT / f"{name}.npz").read_bytes(), name)
    kept = json.loads((KEPT / f"{name}.json").read_text())
    measures = {n: Measure(*m) for n, m in kept["measures"].items()}
    return StrokeRecord(
        kept["kind"], Events.of(kept["events"]), measures, signals, signals.view, context_of_meta(kept["meta"])
    )


@cache
def built_anew(name: str) -> StrokeRecord:
    """The same stroke as today's tracker makes it of what was seen."""
    tracker, made = Tracker(), []
    for index, time_s, row in samples_of(record_of(name).signals):
        closed = tracker.update_row(index, time_s, row, record_of(name).signals.frame).closed
        made += [closed] if closed is not None else []
    last = tracker.finish()
    made += [last] if last is not None else []
    assert len(made) == 1
    return made[0]


@cache
def _times(name: str) -> tuple[float, ...]:
    return tuple(times_of(CLIPS / f"{name}.mp4"))


def stroke_clip(name: str, student: str = "", label: str = "", record: StrokeRecord | None = None) -> StrokeClip:
    """With its pictures. To be closed."""
    record = record or record_of(name)
    frames = ClipFrames(CLIPS / f"{name}.mp4", _times(name), stretch_s(record)).start()
    return StrokeClip(record, frames, **_about(name, record, student, label))


def figure(name: str, student: str = "", label: str = "", record: StrokeRecord | None = None) -> StrokeClip:
    """Without."""
    record = record or record_of(name)
    about = _about(name, record, student, label)
    return replace(figure_shot(record, about["handedness"]), **about)


def _about(name: str, record: StrokeRecord, student: str, label: str) -> dict[str, Any]:
    hand = "left" if name == STALL else "right"
    return {"label": label or name, "student": student, "handedness": hand, "faults": judge(record, Limits())}


def _keep(name: str, clip: Path, view: str) -> None:
    from trainer.app import build
    from trainer.app.analyse import watch
    from trainer.settings.load import from_options, load
    from trainer.vision.sources.clip import Clip

    hand = "left" if name == STALL else "right"
    settings = load([from_options(player__handedness=hand, camera__view=view)])
    watches = build.observer(settings)
    source = Clip(clip)
    with source:
        (stroke,) = watch(source, build.pipeline(settings, watches)).strokes
    watches.close()
    record = stroke.record
    KEPT.mkdir(parents=True, exist_ok=True)
    (KEPT / f"{name}.npz").write_bytes(pack(record.signals))
    measures = {n: [m.value, m.unit, m.confidence, m.reason] for n, m in record.measures.items()}
    kept = {"kind": record.kind, "events": asdict(record.events), "measures": measures, "meta": meta_of(record.context)}
    (KEPT / f"{name}.json").write_text(json.dumps(kept, indent=1) + "\n")


if __name__ == "__main__":
    from tests.support.paths import shared_folder

    for small in (STALL, HELD, LOOKED):
        _keep(small, CLIPS / f"{small}.mp4", "face-on")
    _keep(BEHIND, shared_folder() / "clips" / "T08_dtl_good.mp4", "down-the-line")
