"""Windows that the start page lends its surface to, each at a moment that players see; and what pages show of invented facts."""

from __future__ import annotations

from typing import Any, Iterator, Mapping

from tests.support.review_clips import HELD, LOOKED, STALL, figure, record_of, stroke_clip
from trainer.app.analysis_json import ClipReport, Judged
from trainer.camera_setup import findings
from trainer.camera_setup.setup_findings import SetupFacts, setup_findings
from trainer.camera_setup.setup_observer import SetupStep
from trainer.coaching.faults import judge
from trainer.coaching.verdict import Verdict
from trainer.domain.phases import Phase
from trainer.domain.record import Events, LiveState
from trainer.feedback.signs import THEMES, Sign, result_sign
from trainer.live.display_types import DrillView, GestureView
from trainer.live.keys import ANSWER_KEYS, COMMANDS
from trainer.live.opening import Opening
from trainer.live.practice_state import DisplayState
from trainer.replay.review_session import Choice, Entry, Lookups, ReviewSession
from trainer.settings.limits import Limits
from trainer.texts import tr
from trainer.ui.camera_setup.setup_view import SetupView
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.drawing.cross import CROSS, draw_cross
from trainer.ui.drawing.link_view import draw_link
from trainer.ui.drawing.opening_view import draw_opening
from trainer.ui.practice.practice_view import PracticeView
from trainer.ui.review.reviewer import Reviewer
from trainer.ui.start import texts
from trainer.ui.start.hints import in_window
from trainer.ui.start.task_window import BigWords
from trainer.vision.sources.base import Waiting
from trainer.vision.sources.phone.place import link_to
from trainer.vision.sources.phone.source import OPEN

LINK = link_to("https://192.168.100.200:8443", "abcd-efgh-jkmn-pqrs-tuvw-xyz2-34")

FOUND = [
    findings.light(120.0, 0.0),
    findings.sharpness(9.0),
    findings.frame_rate(14.2, 30.0),
    findings.pose_model(0.6, 21.0, 30.0, None),
    findings.disk(3 * 10**8, "/home/robin/.local/share/putting-trainer"),
]


def clip_report() -> ClipReport:
    """Of an invented clip with two strokes that are known."""
    records = [record_of(name) for name in (HELD, STALL)]
    strokes = tuple(Judged(record, Verdict(judge(record, Limits())), ()) for record in records)
    return ClipReport("robin.mp4", 30.0, 300, 640, 480, "face-on", "right", strokes)


def sign_of(name: str) -> Sign:
    """What is shown after that stroke."""
    return result_sign(record_of(name), judge(record_of(name), Limits()))


def practice_states() -> Mapping[str, DisplayState]:
    """Waiting for a player, ready, well, with a fault, the end of a block."""
    image = stroke_clip(HELD).frames.frame(20)
    drill = DrillView(
        tr("{words} {number} of {total}", words=tr("Stroke"), number=7, total=20),
        follows=tr("then {strokes} strokes in silence", strokes=5),
    )
    arms = tr("{rest}: pause{drill}    both hands up: end", rest=tr("lead hand up"), drill="")
    hint = GestureView(arms)

    def state(phase: Phase, **more: Any) -> DisplayState:
        moment = LiveState(1.0, phase, Events(), turn_deg=1.0)
        keys = frozenset(COMMANDS.values()).difference(ANSWER_KEYS.commands.values())
        return DisplayState(
            image=image, moment=moment, strokes=6, fps=30.0, drill=drill, gestures=hint, keys=keys, **more
        )

    over = tr("Block: {good} of {total} good{beside}", good=14, total=20, beside="")
    return {
        "practice-nobody": state(Phase.AWAY),
        "practice-ready": state(Phase.ADDRESS),
        "practice-well": state(Phase.LOOKED, sign=sign_of(HELD)),
        "practice-fault": state(Phase.LOOKED, sign=sign_of(STALL)),
        "practice-over": state(
            Phase.ADDRESS, sign=Sign(over, tr("now {strokes} strokes in silence", strokes=5), "good")
        ),
        "practice-cautions": DisplayState(cautions=True),
    }


def windows(on: Any, theme: str, scale: float) -> Iterator[tuple[str, Canvas]]:
    """(name, what drew it) of each, once it is on the surface."""
    canvas = Canvas()

    def with_cross(name: str, drew: Canvas = canvas) -> tuple[str, Canvas]:
        draw_cross(canvas, on, scale, THEMES[theme])
        return name, drew

    setup, words = SetupView(theme, in_window), BigWords(theme)
    setup.draw(on, SetupStep(None, tuple(setup_findings(SetupFacts(brightness=20.0)))))
    yield with_cross("setup", setup._canvas)
    words.draw(on, ("Robin", texts.ROUND_NOTE.format(strokes=texts.strokes(6), what=texts.FREE)))
    yield with_cross("round-name", words._canvas)
    waiting = Waiting(*OPEN, LINK.address, LINK.qr)
    draw_link(canvas, on, waiting, theme)
    yield with_cross("phone")
    draw_opening(canvas, on, Opening(texts.READING_CLIP, 1.0, 0.4), theme)
    yield with_cross("reading")
    practice = PracticeView(theme)
    for name, state in practice_states().items():
        practice.draw(on, state)
        yield with_cross(name, practice._canvas)
    first, second = (
        Entry(
            tr("{moment_words}, stroke {number}", moment_words="8.3., 17:00", number=10),
            tr("ball"),
            lambda: figure(LOOKED),
        ),
        Entry("2", tr("ball"), lambda: figure(HELD)),
    )
    session = ReviewSession(Choice((first, second), first, second, "", Lookups()))
    reviewer = Reviewer(session, theme)
    reviewer.corner_px = round(CROSS * scale)
    for layout in ("one", "beside"):
        session.playback.layout = layout  # type: ignore[assignment]
        reviewer.do("settle")
        reviewer.draw(on)
        yield with_cross(f"review-{layout}", reviewer._view._canvas)
    session.close()
