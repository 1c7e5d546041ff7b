"""`posture` live: frames in, tone and screen out, until the user ends it or the clip does."""

from __future__ import annotations

from contextlib import ExitStack
from datetime import datetime, timezone
from pathlib import Path
from typing import Mapping

from trainer.app.camera_setup import remembered
from trainer.app.context import RunContext, report_line
from trainer.commands.practice import open_source
from trainer.domain.observation import Frame, Handedness, View
from trainer.domain.record import Measure
from trainer.feedback.cues import THERE
from trainer.feedback.tones import open_player
from trainer.live.frame_loop import run_frame_loop
from trainer.posture.live_posture import PostureLive
from trainer.posture.snapshots import Snapshots
from trainer.ui.drawing.window import WindowConfig, open_display
from trainer.ui.posture.posture_view import PostureView


def run_live(
    context: RunContext,
    kept: Snapshots | None,
    save: bool,
    clip: Path | None,
    view: View | None,
    handedness: Handedness | None,
    label: str,
    window: bool,
) -> int:
    """kept: the student's; save: a picture is kept there each time the position is found."""
    settings = context.settings
    with ExitStack() as opened:
        source = opened.enter_context(open_source(settings, clip))
        sound, wish = settings.sound, settings.window
        tones = open_player(sound.backend, sound.volume, sound.buffer_samples, report_line)
        opened.callback(tones.close)
        board = PostureView(wish.theme) if window else None
        display = open_display(
            window, WindowConfig(wish.width, wish.height, wish.fullscreen, wish.theme), report_line, board
        )
        opened.callback(display.close)
        from trainer.vision.body.pose import PoseBody

        body = PoseBody()
        opened.callback(body.close)
        known = remembered(context) if clip is None else None
        stand = known.stand if known is not None and view in (None, known.view) and known.size == source.size else None

        def best(of: View) -> Mapping[str, Measure] | None:
            chosen = kept.reference(of) if kept is not None else None
            return None if chosen is None else chosen.measures

        height, ranges = settings.player.height_cm, settings.posture
        live = PostureLive(body, view, handedness, height, ranges, stand=stand, reference=best)
        said = ""

        def step(frame: Frame) -> tuple[object, str | None]:
            nonlocal said
            result = live.step(frame)
            sign = result.view.sign
            line = f"{sign.word}: {sign.detail}" if sign.detail else sign.word
            if line != said and result.checks:
                report_line(line)
                said = line
            if result.there and result.seen is not None and save and kept is not None:
                taken = kept.save(result.seen, frame.image, datetime.now(timezone.utc), label)
                report_line(f"kept as {taken.name}")
            return result.view, THERE if result.there else None

        run_frame_loop(source, step, display, tones)
    return 0
