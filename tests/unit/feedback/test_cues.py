"""Which cue is heard, and what the signs say."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from trainer.coaching.verdict import Verdict
from trainer.domain.phases import Phase
from trainer.domain.record import EventName, Events, LiveState, Measure, Signals, StrokeRecord
from trainer.domain.verdict import FAULT_NAMES, Cue, Fault
from trainer.feedback.cues import CUE_NAMES, HOLD_DONE, CueChooser
from trainer.feedback.schedule import Plan
from trainer.feedback.signs import (
    FAULT_WORDS,
    OKABE_ITO,
    PHASE_WORDS,
    THEMES,
    result_sign,
    summary_sign,
)
from trainer.settings.limits import Limits


def moment(time_s: float, new: tuple[EventName, ...] = (), closed: StrokeRecord | None = None) -> LiveState:
    return LiveState(time_s, Phase.FOLLOW, Events(), new, closed=closed)


def record(kind: str = "ball", **measures: float | None) -> StrokeRecord:
    signals = Signals(np.array([0.0]), np.array([0]), {})
    values = {name: Measure(value, "s", 1.0) for name, value in measures.items()}
    return StrokeRecord(kind, Events(), values, signals)  # type: ignore[arg-type]


def test_first_cue_of_a_stroke_only() -> None:
    chooser = CueChooser()
    assert chooser.choose(moment(1.0, ("takeaway_s",)), None) is None
    first = Cue("hand_stall", 2.0)
    assert chooser.choose(moment(2.0), first) is first
    assert chooser.choose(moment(2.5), Cue("early_look", 2.5)) is None
    assert chooser.choose(moment(4.0), Cue(HOLD_DONE, 4.0)) is None
    assert chooser.end_stroke() == (first,)
    chime = Cue(HOLD_DONE, 8.0)
    assert chooser.choose(moment(8.0), chime) is chime
    assert chooser.end_stroke() == (chime,)
    assert chooser.end_stroke() == ()


def test_what_never_became_a_stroke_does_not_silence_the_next() -> None:
    chooser = CueChooser()
    chooser.choose(moment(1.0, ("takeaway_s",)), None)
    chooser.choose(moment(2.0), Cue("early_look", 2.0))
    chooser.choose(moment(5.0, ("takeaway_s",)), None)
    wanted = Cue("recoil", 6.0)
    assert chooser.choose(moment(6.0), wanted) is wanted
    assert chooser.end_stroke() == (wanted,)


def test_a_stroke_closed_by_the_next_keeps_its_cue() -> None:
    chooser = CueChooser()
    wanted = Cue("recoil", 2.0)
    chooser.choose(moment(2.0), wanted)
    chooser.choose(moment(3.0, ("takeaway_s",), closed=record()), None)
    assert chooser.end_stroke() == (wanted,)


def test_a_silent_block_measures_and_does_not_sound() -> None:
    chooser = CueChooser("silent")
    assert chooser.choose(moment(2.0), Cue("early_look", 2.0)) is None
    assert chooser.choose(moment(3.0), Cue(HOLD_DONE, 3.0)) is None
    assert chooser.end_stroke() == ()


def test_names() -> None:
    assert list(CUE_NAMES) == [*FAULT_NAMES, "hold_done"]
    assert set(FAULT_WORDS) == set(FAULT_NAMES)
    assert set(PHASE_WORDS) == set(Phase)
    assert len(set(FAULT_WORDS.values())) == len(FAULT_NAMES)


def fault(name: str, at_s: float, value: float = 20.0) -> Fault:
    limit = getattr(Limits(), name)
    return Fault(name, at_s, value, limit.unit, limit.value)


@pytest.mark.parametrize("name", FAULT_NAMES)
def test_every_fault_has_words_and_a_mark(name: str) -> None:
    sign = result_sign(record(early_by_s=0.42, hold_s=0.6), [fault(name, 2.0)])
    assert sign.word == FAULT_WORDS[name]
    assert sign.kind == "fault"
    assert sign.detail
    assert "nan" not in sign.detail
    bare = result_sign(record(), [fault(name, 2.0)])
    assert "None" not in bare.detail


def test_first_fault_by_time_is_the_large_one() -> None:
    sign = result_sign(record(early_by_s=0.4), [fault("early_look", 3.0), fault("hand_stall", 2.0)])
    assert sign.word == "Stopped hands"
    assert "also: early look" in sign.detail


def test_good_unseen_and_rehearsal() -> None:
    good = result_sign(record(hold_s=1.84), [])
    assert (good.word, good.detail, good.kind) == ("Well held", "1.8 s", "good")
    unseen = result_sign(record(hold_s=None), [])
    assert unseen.kind == "plain"
    assert "not seen" in unseen.detail
    assert result_sign(record("rehearsal"), []).word == "Rehearsal"
    near = result_sign(record(early_by_s=0.03), [], too_close=True)
    assert (near.word, near.kind) == ("Too close to call", "plain")


def test_the_sign_prints_the_value_that_was_judged() -> None:
    early = Fault("early_look", 2.0, 0.14, "s", 0.0)
    rested = replace(record(early_by_s=0.9), events=Events(settle_s=2.14))
    assert result_sign(rested, [early]).detail == "0.14 s before the putter was still"
    short = Fault("short_hold", 2.0, 0.3, "s", 1.0)
    assert result_sign(record(hold_s=0.9), [short]).detail == "0.30 s of 1.0 s"


def test_of_a_putter_that_never_rests_no_time_is_told_by_which_a_look_came_before_it() -> None:
    """The fault's value is only how long it was watched."""
    early = Fault("early_look", 2.0, 1.65, "s", 0.0)
    assert result_sign(record(), [early]).detail == "the putter had not come to rest at all"


def contrast(a: tuple[int, int, int], b: tuple[int, int, int]) -> float:
    """Contrast ratio of WCAG 2.1 (relative luminance as defined there)."""

    def luminance(colour: tuple[int, int, int]) -> float:
        linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in (v / 255 for v in colour)]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = sorted((luminance(a), luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("name", THEMES)
def test_words_stand_out_and_colours_are_of_the_set(name: str) -> None:
    theme = THEMES[name]
    for ground in (theme.ground, theme.panel):
        assert contrast(theme.text, ground) >= 7.0
        assert contrast(theme.soft, ground) >= 4.5
    meant = (theme.good, theme.fault, theme.filling, theme.plain)
    assert set(meant) <= set(OKABE_ITO.values())
    assert len(set(meant)) == 4
    for colour in (theme.good, theme.fault, theme.plain):
        assert contrast((255, 255, 255), colour) >= 3.0  # the white mark on it (WCAG 2.1, 1.4.11)
    for colour in (theme.good, theme.filling):
        assert contrast(theme.text, colour) >= 3.0  # very large letters on the bar (WCAG 2.1, 1.4.3)


def test_one_theme_is_light_on_dark_and_one_the_reverse() -> None:
    assert sum(THEMES["dark"].ground) < sum(THEMES["dark"].text)
    assert sum(THEMES["light"].ground) > sum(THEMES["light"].text)


def test_a_plan_decides_stroke_by_stroke() -> None:
    chooser = CueChooser("alternate")
    wanted = Cue("early_look", 2.0)
    heard = []
    for _ in range(4):
        heard.append(chooser.choose(moment(2.0), wanted))
        chooser.end_stroke()
    assert heard == [wanted, None, wanted, None]
    chooser.choose(moment(2.0), wanted)
    chooser.end_stroke()
    chooser.begin_block(Plan("silent"))
    assert chooser.choose(moment(2.0), wanted) is None


def test_outside_the_limit_only_does_not_praise() -> None:
    chooser = CueChooser("outside")
    assert chooser.choose(moment(2.0), Cue(HOLD_DONE, 2.0)) is None
    wanted = Cue("recoil", 2.1)
    assert chooser.choose(moment(2.1), wanted) is wanted


def test_a_summary_names_the_commonest_fault() -> None:
    strokes = [
        (record(hold_s=1.2), Verdict()),
        (record(hold_s=0.4), Verdict((fault("sway", 1.0),))),
        (record(), Verdict((fault("lift", 1.0), fault("sway", 1.0)))),
    ]
    sign = summary_sign(strokes)
    assert (sign.word, sign.kind) == ("1 of 3 good", "plain")
    assert sign.detail == "most often: head going along; held 1.2 s"
    assert summary_sign(strokes[:1]).kind == "good"
    beside = summary_sign([*strokes, (record(), Verdict(too_close=True))])
    assert (beside.word, beside.detail) == ("1 of 3 good", sign.detail + "; 1 not judged")
    assert summary_sign([(record(), Verdict(too_close=True))]).word == "Not judged"
    unsure = summary_sign([*strokes, (record(), Verdict((), ("hand_stall",)))])
    assert unsure.word == "1 of 3 good"  # not seen is not good
    assert summary_sign(strokes, [True, None, True]).word == "2 of 2 good"  # by what is practised
