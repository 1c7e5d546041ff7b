"""The lines: what is printed is what was measured, and each line is where it says it is."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.review_clips import BEHIND, HELD, LOOKED, STALL, built_anew, figure, record_of
from trainer.coaching.posture.posture_change import kept
from trainer.domain.record import Signals, StrokeRecord
from trainer.feedback.signs import DARK
from trainer.replay.derived_signals import DerivedSignals, signed
from trainer.replay.frames import exact
from trainer.replay.lines import LINE_NAMES, Area, Drawn, Label, Line, Ring, drawn_at
from trainer.replay.numbers import number_text
from trainer.replay.playback import Loaded
from trainer.replay.stroke_clip import StrokeClip
from trainer.stroke.wrists import HINGE_AFTER_S
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.review.picture import PaneScene, draw_pane
from trainer.ui.review.placement import both_inside, fit, matched

FACE_ON = (STALL, HELD, LOOKED)


def printed(stroke_clip: StrokeClip, sample: int, show: tuple[str, ...] = LINE_NAMES) -> dict[str, Label]:
    """What the drawing put on a picture, by name."""
    canvas, tracked = Canvas(), DerivedSignals(stroke_clip.record)
    pane = canvas.pg.Rect(0, 0, 400, 300)
    surface = canvas.pg.Surface(pane.size)
    placement = fit(stroke_clip, tracked, pane.size, close=True)
    frame = stroke_clip.frames.nearest(float(tracked.time_s[sample]))
    scene = PaneScene(Loaded(stroke_clip, tracked), exact(stroke_clip.frames, frame), placement, show)
    return {s.name: s for s in draw_pane(canvas, surface, pane, scene, DARK)}


def largest(record: StrokeRecord, name: str, first_s: float, last_s: float) -> tuple[float, str]:
    """The printed value of largest size among the samples between two times, and its text."""
    stroke_clip, t = figure_of(record), record.signals.time_s
    tracked = DerivedSignals(record)
    found = []
    for k in np.flatnonzero((t >= first_s - 1e-9) & (t <= last_s + 1e-9)):
        found += [s for s in drawn_at(tracked, int(k), LINE_NAMES).labels if s.name == name and s.value is not None]
    top = max(found, key=lambda label: abs(label.value or 0.0))
    at = next(int(k) for k in range(len(t)) if tracked.columns[name][k] == top.value)
    assert printed(stroke_clip, at)[name].text == top.text  # the drawing prints what the geometry says
    assert top.value is not None
    return top.value, top.text


def figure_of(record: StrokeRecord) -> StrokeClip:
    from trainer.replay.stroke_clip import figure_shot

    return figure_shot(record, "right")


@pytest.mark.parametrize("name", FACE_ON)
@pytest.mark.parametrize("of", [record_of, built_anew])
def test_angle_of_arm_and_shaft_is_the_records(name: str, of: object) -> None:
    record: StrokeRecord = of(name)  # type: ignore[operator]
    measure, e = record.measures["hinge_change_deg"].value, record.events
    assert measure is not None
    assert e.impact_s is not None
    assert e.settle_s is not None
    value, text = largest(record, "hinge_change_deg", e.impact_s, e.settle_s + HINGE_AFTER_S)
    assert value == pytest.approx(measure, abs=1e-9)
    assert text == f"{signed(measure)}°"


@pytest.mark.parametrize("name", FACE_ON)
@pytest.mark.parametrize("of", [record_of, built_anew])
def test_head_turn_is_the_records(name: str, of: object) -> None:
    record: StrokeRecord = of(name)  # type: ignore[operator]
    measure, e = record.measures["head_turn_deg"].value, record.events
    assert measure is not None
    assert e.takeaway_s is not None
    assert e.settle_s is not None
    value, text = largest(record, "head_turn_deg", e.takeaway_s, e.settle_s)
    assert value == pytest.approx(measure, abs=1e-9)
    assert text == f"{signed(measure)}°"


@pytest.mark.parametrize("name", FACE_ON)
@pytest.mark.parametrize("of", [record_of, built_anew])
def test_hands_past_leg_and_speeds_are_the_records(name: str, of: object) -> None:
    record: StrokeRecord = of(name)  # type: ignore[operator]
    tracked, finish = DerivedSignals(record), record.events.finish_s
    assert finish is not None
    measure = record.measures["hands_past_leg_cm"].value
    assert measure is not None
    label = printed(figure_of(record), tracked.sample(finish))["hands_past_leg_cm"]
    assert label.value == pytest.approx(measure, abs=1e-9)
    assert label.text == f"{signed(measure)} cm"
    for column, measured in (("hands_cm_s", "hands_impact_cm_s"), ("putter_cm_s", "putter_impact_cm_s")):
        reading = tracked.reading(column, tracked.sample(record.events.impact_s or 0.0))
        assert reading.value == pytest.approx(record.measures[measured].value, abs=1e-9)
        assert reading.text == number_text(measured, record.measures[measured])  # the same digits side by side


def test_spine_is_what_is_judged() -> None:
    record = record_of(BEHIND)
    take, until = record.events.takeaway_s, record.events.settle_s
    assert take is not None
    assert until is not None
    measure = kept(record.signals, take, until)["spine_change_deg"].value
    assert measure is not None
    value, text = largest(record, "spine_change_deg", take, until)
    assert value == pytest.approx(measure, abs=1e-9)
    assert text == f"{signed(measure)}°"


def test_down_the_line_prints_nothing_that_is_measured_face_on() -> None:
    tracked = DerivedSignals(record_of(BEHIND))
    names = {s.name for k in range(len(tracked.time_s)) for s in drawn_at(tracked, k, LINE_NAMES).labels}
    assert "spine_change_deg" in names
    assert not names & {"head_turn_deg", "hinge_change_deg", "hands_past_leg_cm"}


# ---- where the lines are


def finish_of(name: str, *show: str) -> tuple[DerivedSignals, int, Drawn]:
    tracked = DerivedSignals(record_of(name))
    at = tracked.event_s("finish")
    assert at is not None
    k = tracked.sample(at)
    return tracked, k, drawn_at(tracked, k, show)


def test_the_wedge_opens_by_the_change() -> None:
    tracked, k, drawn = finish_of(STALL, "arm")
    (wedge,) = [s for s in drawn.shapes if isinstance(s, Area)]
    grip, first, last = wedge.points[0], wedge.points[1], wedge.points[-1]
    a, b = (math.atan2(*(p - grip)[::-1]) for p in (last, first))
    opened = (math.degrees(b - a) + 180) % 360 - 180
    assert opened == pytest.approx(tracked.columns["hinge_change_deg"][k], abs=0.01)
    # The shaft itself is the wedge's one side.
    head = tracked.place("putter", k)
    assert head is not None
    along_shaft = (first - grip) / math.dist(first, grip) * math.dist(head, grip) + grip
    assert along_shaft == pytest.approx(np.array(head), abs=0.01)


def test_the_plumb_line_stands_on_the_lead_ankle() -> None:
    tracked, k, drawn = finish_of(HELD, "leg")
    plumb, reach = (s for s in drawn.shapes if isinstance(s, Line))
    ankle = np.nanmedian(tracked.record.signals["lead_ankle_along_px"])  # as the measure has it
    assert plumb.points[0, 0] == plumb.points[1, 0] == ankle
    assert plumb.points[1, 1] > plumb.points[0, 1]
    assert reach.points[0, 1] == reach.points[1, 1]  # level, from the plumb line to the hands
    assert reach.points[1] == pytest.approx(np.array(tracked.place("hands", k)))


def test_the_ring_is_where_the_head_is_and_its_ghost_where_it_was() -> None:
    tracked, k, drawn = finish_of(LOOKED, "head")
    ghost, ring = (s for s in drawn.shapes if isinstance(s, Ring))
    assert ghost.pattern == "dashes"
    assert ghost.at == tracked.place_at_address("head")
    assert ring.at == tracked.place("head", k)


def test_the_two_ends_of_the_stroke_are_outlined() -> None:
    tracked, _, drawn = finish_of(HELD, "outline")
    lines = [s for s in drawn.shapes if isinstance(s, Line)]
    assert [line.pattern for line in lines] == ["dashes", "solid"]
    for line, word in zip(lines, ("top", "finish"), strict=True):
        at = tracked.event_s(word)
        assert at is not None
        assert line.points[3] == pytest.approx(np.array(tracked.place("hands", tracked.sample(at))))
    assert [label.words for label in drawn.labels] == ["top", "finish"]


def test_paths_go_as_far_as_the_stroke_has_come() -> None:
    tracked = DerivedSignals(record_of(HELD))
    lengths = []
    for word in ("takeaway", "top", "impact", "finish"):
        at = tracked.event_s(word)
        assert at is not None
        shapes = drawn_at(tracked, tracked.sample(at), ("paths",)).shapes
        lengths.append(sum(len(s.points) for s in shapes if isinstance(s, Line)))
    assert lengths == sorted(lengths)
    assert lengths[0] < lengths[1] < lengths[2] < lengths[3]


def test_every_line_can_be_switched() -> None:
    tracked, k, _ = finish_of(STALL)
    assert not drawn_at(tracked, k, ()).shapes
    every = len(drawn_at(tracked, k, LINE_NAMES).shapes)
    alone = [len(drawn_at(tracked, k, (name,)).shapes) for name in LINE_NAMES]
    assert all(alone)
    assert sum(alone) == every


def without(record: StrokeRecord, *points: str) -> StrokeRecord:
    """The same stroke with these points never seen."""
    gone = np.full(len(record.signals.time_s), np.nan)
    names = {f"{p}_{axis}_px" for p in points for axis in ("along", "up")}
    names |= {"shaft_deg"} if "putter" in points else set()
    columns = {n: gone if n in names else c for n, c in record.signals.columns.items()}
    s = record.signals
    return replace(record, signals=Signals(s.time_s, s.index, columns, s.frame))


@pytest.mark.parametrize(
    ("point", "line", "label"),
    [
        ("putter", "arm", "hinge_change_deg"),
        ("lead_ankle", "leg", "hands_past_leg_cm"),
        ("head", "head", "head_turn_deg"),
    ],
)
def test_what_was_not_seen_is_not_drawn(point: str, line: str, label: str) -> None:
    record = without(record_of(HELD), point)
    tracked = DerivedSignals(record)
    for k in range(0, len(tracked.time_s), 5):
        assert label not in {s.name for s in drawn_at(tracked, k, (line,)).labels}


def test_a_stroke_of_which_hardly_anything_was_seen_is_drawn_without_a_crash() -> None:
    record = record_of(HELD)
    bare = without(
        record, "lead_shoulder", "trail_shoulder", "lead_elbow", "lead_wrist", "hands", "putter", "grip", "head"
    )
    tracked = DerivedSignals(bare)
    for k in range(len(tracked.time_s)):
        drawn = drawn_at(tracked, k, (*LINE_NAMES, "figure"))
        assert not {label.name for label in drawn.labels} & {"hinge_change_deg", "head_turn_deg"}


# ---- two on a pane


def test_two_strokes_stand_at_one_scale_on_one_line_and_one_is_mirrored() -> None:
    right, left = figure(HELD), figure(STALL)
    a, b = DerivedSignals(right.record), DerivedSignals(left.record)
    size = (450, 390)
    first = fit(right, a, size, close=True)
    second = matched(left, b, True, first, a)
    first, second = both_inside(first, a, second, b, size)
    assert a.body_cm_per_px is not None
    assert b.body_cm_per_px is not None
    assert first.scale / a.body_cm_per_px == pytest.approx(second.scale / b.body_cm_per_px)
    feet = [p.point(t.middle("ankle", None)) for p, t in ((first, a), (second, b))]  # type: ignore[arg-type]
    assert feet[0] == pytest.approx(feet[1], abs=0.01)
    assert first.along_sign == second.along_sign == 1
    for placing, tracked in ((first, a), (second, b)):  # both players wholly on the pane, target to the right
        top, finish = (tracked.sample(tracked.event_s(w) or 0.0) for w in ("top", "finish"))
        back, through = (placing.point(tracked.place("putter", k)) for k in (top, finish))  # type: ignore[arg-type]
        assert 0 <= back[0] < through[0] <= size[0]
        assert 0 <= back[1] <= size[1]
        head = placing.point(tracked.place_at_address("head"))  # type: ignore[arg-type]
        assert 0 <= head[1] <= size[1]


def test_the_drawing_lies_on_the_picture() -> None:
    """A place through Placing is where the picture's own pixel goes, for each hand, mirrored or not."""
    for name in (HELD, STALL, BEHIND):
        stroke_clip = figure(name)
        tracked = DerivedSignals(stroke_clip.record)
        k = tracked.sample(tracked.event_s("impact") or 0.0)
        place = tracked.place("putter", k)
        assert place is not None
        raw = stroke_clip.places("putter")[k]
        for mirrored in (False, True):
            placing = fit(stroke_clip, tracked, (300, 300), True, mirrored)
            on_pane = placing.matrix[:, :2] @ raw + placing.matrix[:, 2]
            assert placing.point(place) == pytest.approx(tuple(on_pane), abs=2.0)  # the place drawn is a smoothed one
