"""From the raw signals of a stroke to its record: pure, so that the same signals always give the same record."""

from __future__ import annotations

from dataclasses import replace
from typing import Mapping

import numpy as np

from trainer.domain.record import Events, Kind, Measure, Signals, StrokeContext, StrokeRecord, unsure
from trainer.stroke import ball_departure, impact_sound, lost_pictures
from trainer.stroke import thresholds as th
from trainer.stroke.ball_evidence import BEFORE_S, LAST_S, MOVED_CM, THERE_SHARE, ball_at_address
from trainer.stroke.events import refine
from trainer.stroke.impact_sound import ImpactSound, Placed
from trainer.stroke.late_frames import in_time
from trainer.stroke.measures import measures_of
from trainer.stroke.signals import places_in_view, rough_cm_per_px
from trainer.stroke.stretch import Stretch
from trainer.stroke.uncertainty import crossing_sd_s, shown
from trainer.texts import tr

# A ball that rolls 40 m on the slowest of greens (0.8 m/s2) leaves at 8 m/s, a putter at 5 (it gives the ball 1.6 times its own
# speed: 2 masses, 0.8 restitution; from memory).
FASTEST_CM_S = 600.0
NO_PUTTER = tr("what was followed went faster than a putter")
CUT_OFF = tr("it was ended before the putter had come to rest")
BEFORE_IMPACT_S = 0.05  # until then the ball lies there; down the line the putter may hide it until that goes away
# Root mean square, share of the backstroke's length. Rendered putters come to 0.002 to 0.005, to 0.02 in the worst pictures in
# which they are followed still; a moving shadow taken for one to 0.13 and 0.28.
STRANGEST_MISFIT = 0.08
NO_BACKSTROKE = tr("what was followed did not move as a putter does")


def build_record(
    signals: Signals, rough: Events, look_deg: float = th.LOOK_DEG, sound: ImpactSound | None = None
) -> StrokeRecord | None:
    """The record of the stroke in these signals. rough: the live tracker's event times, up to impact at least; sound: places
    impact too, where a ball was hit.
    """
    if None in (rough.takeaway_s, rough.top_s, rough.impact_s):
        return None
    signals = replace(signals, time_s=in_time(signals.time_s, signals.index))
    events, path, back = refine(signals, rough, look_deg)
    kind = kind_of(signals, events, rough)
    placed = None
    if sound is not None and kind == "ball" and path is not None and events.impact_s is not None:
        by_path_sd_s = crossing_sd_s(shown(signals, path, events, back), path, events.impact_s)
        placed = sound.place(*ball_departure.by_both(signals, events.impact_s, by_path_sd_s))
        events = _moved(events, placed) if placed.later.confidence > 0 else events
    stretch = Stretch(signals, path, events, back)
    measures = measures_of(stretch)
    if placed is not None:
        measures[impact_sound.NAME] = placed.later
    later = measures[ball_departure.NAME]
    warning = later.reason if later.value is not None else ""
    context = StrokeContext(
        track=path.source if path is not None else "none", look_deg=look_deg, impact_warning=warning
    )
    record = StrokeRecord(kind, events, measures, signals, signals.view, context)
    why = lost_pictures.why_unsure(signals, events) or _why_no_putter(stretch, measures) or _why_cut_off(stretch)
    return unsure(record, why) if why else record


def _moved(events: Events, placed: Placed) -> Events:
    """Impact where picture and click put it. The top is the middle of the backstroke's end and the forward stroke's start
    (``events.top``); the latter is seen late or early as impact is.
    """
    moved_s = placed.impact_s - events.at("impact_s")
    return replace(events, impact_s=placed.impact_s, top_s=events.at("top_s") + moved_s / 2)


def _why_cut_off(s: Stretch) -> str:
    """In words, where the putter was still on its way when the record ended."""
    ended = s.events.finish_s is None and s.events.settle_s is None
    return CUT_OFF if ended and s.path is not None and s.path.seen[-1] else ""


def _why_no_putter(stretch: Stretch, measures: Mapping[str, Measure]) -> str:
    """Something else was taken for it. In words; empty where there is nothing against it."""
    if beyond_a_putt(measures):
        return NO_PUTTER
    strange = stretch.back is not None and stretch.back.misfit > STRANGEST_MISFIT
    jumps = stretch.shown is not None and stretch.shown.jump_cm > 0.0
    return NO_BACKSTROKE if strange or jumps else ""


def beyond_a_putt(measures: Mapping[str, Measure]) -> bool:
    """Whether what was followed went as no putter goes: it was lost, and something else taken for it."""
    peaks = [measures[name].value for name in ("putter_peak_cm_s", "back_peak_cm_s")]
    return max(peak or 0.0 for peak in peaks) > FASTEST_CM_S


def kind_of(signals: Signals, events: Events, rough: Events) -> Kind:
    """A ball stroke had a ball by the putter head at address that no longer lies there afterwards."""
    t = signals.time_s
    take = events.takeaway_s or rough.at("takeaway_s")
    impact = events.impact_s or rough.at("impact_s")
    scale = rough_cm_per_px(signals)
    aside, up = places_in_view(signals, "ball")
    ball = ball_at_address(t, aside, up, take if signals.view == "face-on" else max(take, impact - BEFORE_IMPACT_S))
    if ball is None:
        return "rehearsal"
    for since_s in (LAST_S, BEFORE_S):  # a waggle or a backstroke given up may lie before the last moment
        before = (t < take) & (t > take - since_s)
        px, py = signals["putter_along_px"][before], signals["putter_up_px"][before]
        if np.isfinite(px).any():
            break
    told = signals.view == "face-on" and np.isfinite(px).any()
    if told and not ball.beside(scale, float(np.nanmedian(px)), float(np.nanmedian(py))):
        return "rehearsal"
    after = (t > impact + 0.2) & (t < impact + 1.2)
    if not after.any():
        after = t > impact
    there = np.hypot(aside - ball.aside_px, up - ball.up_px) * scale < MOVED_CM
    return "ball" if float((there & after).sum() / max(after.sum(), 1)) < THERE_SHARE else "rehearsal"
