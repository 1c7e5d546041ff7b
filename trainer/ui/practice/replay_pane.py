"""A replay in the place of the live picture: close up, with the few lines that matter, marked as no live one."""

from __future__ import annotations

from typing import Any

from trainer.feedback.signs import Theme
from trainer.live.practice_state import ReplayView
from trainer.replay.frames import exact
from trainer.replay.lines import USUAL
from trainer.replay.playback import Loaded
from trainer.replay.stroke_clip import StrokeClip
from trainer.texts import tr
from trainer.ui.drawing.canvas import Canvas, Surface
from trainer.ui.review.picture import PaneScene, draw_pane
from trainer.ui.review.placement import Placement, fit

BAND = 0.075  # of the window's height: the line that says what this is
EDGE = 1 / 180
LETTERS = 1.45  # of the labels, beside those at a desk: read from 3 m
SIDE_LINES = ("arm", "spine")  # down-the-line


class ReplayPane:
    """Draws a frame once, however often it is shown."""

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas
        self._stroke_clip: StrokeClip | None = None
        self._loaded: Loaded | None = None
        self._placement: Placement | None = None
        self._known: tuple[int, tuple[int, int], str] | None = None
        self._picture: Surface | None = None

    def draw(self, on: Surface, box: Any, replay: ReplayView, theme: Theme) -> None:
        """Fills the box, whose shape need not be the picture's."""
        if replay.stroke_clip is not self._stroke_clip:
            self._stroke_clip = replay.stroke_clip
            seen = replay.stroke_clip.record.events.takeaway_s is not None
            self._loaded = Loaded.of(replay.stroke_clip) if seen else None
            self._known = None
        tall = round(BAND * on.get_height())
        size = (box.width, max(1, box.height - tall))
        key = (replay.frame, size, f"{theme.panel}")
        if key != self._known or self._picture is None:
            if self._picture is None or self._picture.get_size() != size or self._known is None:
                self._picture = self._canvas.pg.Surface(size)
                loaded = self._loaded
                self._placement = fit(loaded.stroke_clip, loaded.tracked, size, True) if loaded is not None else None
            self._render(self._picture, replay, theme)
            self._known = key
        on.blit(self._picture, box)
        self._mark(on, box, tall, replay, theme)

    def _render(self, picture: Surface, replay: ReplayView, theme: Theme) -> None:
        still = exact(replay.stroke_clip.frames, replay.frame)
        if self._loaded is not None and self._placement is not None:
            lines = USUAL if self._loaded.tracked.face_on else SIDE_LINES
            scene = PaneScene(self._loaded, still, self._placement, lines, letters=LETTERS)
            draw_pane(self._canvas, picture, picture.get_rect(), scene, theme)
            return
        import cv2

        image = cv2.resize(still.image, picture.get_size(), interpolation=cv2.INTER_LINEAR)
        picture.blit(self._canvas.pg.image.frombuffer(image.tobytes(), picture.get_size(), "BGR"), (0, 0))

    def _mark(self, on: Surface, box: Any, tall: int, replay: ReplayView, theme: Theme) -> None:
        band = self._canvas.pg.Rect(box.left, box.bottom - tall, box.width, tall)
        on.fill(theme.panel, band)
        words = tr("Replay, {speed:.0%} speed", speed=replay.speed)
        place = (band.left + tall // 4, band.centery)
        self._canvas.text(on, words, place, tall * 0.8, theme.text, "midleft", band.width - tall // 2)
        self._canvas.pg.draw.rect(on, theme.text, box, width=max(3, round(on.get_height() * EDGE)))
