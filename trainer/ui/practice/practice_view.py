"""The whole of what is shown, drawn on any surface: the window's, or one in memory for a video. One code for both.

Left the picture, right the phase in one word and the head's turn, below the hold as it grows and then the result, in
letters that are read from 4 m.
"""

from __future__ import annotations

from typing import Any

from trainer.domain.measures import turn_text
from trainer.domain.picture_edge import thing_words
from trainer.domain.player_frame import Point
from trainer.feedback.signs import PHASE_WORDS, THEMES, Sign, Theme
from trainer.live.practice_state import ASK_FIRST, CAUTIONS, NO_ADVICE, DisplayState, ReplayView
from trainer.texts import capital, join, tr
from trainer.ui.drawing import overlay
from trainer.ui.drawing.canvas import Canvas, Place, Surface, TurnShown, between
from trainer.ui.drawing.opening_view import moving_bar
from trainer.ui.drawing.two_pane import SMALL_LETTERS
from trainer.ui.practice import practice_drawing
from trainer.ui.practice.card_drawing import draw_card
from trainer.ui.practice.key_lines import KeyLines

# Shares of the window's height.
GAP = 0.033
RESULT = 0.225
RESULT_LETTERS = 0.130  # capitals are two thirds of a line: above 1/12 (tested by measuring)
DETAIL_LETTERS = 0.045
DETAIL_LINES, SMALLER = 2, 0.72  # at most; what the large word is then, so that both find room
PHASE_LETTERS = 0.135
TURN_LETTERS = 0.11
FOOTER = 0.066
HINT = 0.055
MOTTO = tr("Hold, then look")
LEAST_DIAL = 0.19
SURE_HEAD = 0.25


class PracticeView:
    """Draws a View. theme: "dark" or "light", may be changed between two drawings."""

    def __init__(self, theme: str = "dark") -> None:
        self._canvas = Canvas()
        self._pg = self._canvas.pg
        self.theme = theme
        self._key_lines = KeyLines(self._canvas)
        self._replay: Any = None  # made when first needed

    def draw(self, on: Surface, view: DisplayState) -> None:
        """Paints the whole surface."""
        theme = THEMES[self.theme]
        on.fill(theme.ground)
        width, height = on.get_size()
        gap, left = round(GAP * height), 0
        if view.cautions:
            self._cautions(on, view, theme)
        else:
            picture = None
            if view.card is None and _upright(view):  # fills the height, and all words stand beside it
                picture = self._picture(on, on.get_rect(), view, theme)
                left = picture.right
            foot = RESULT + FOOTER + (HINT if view.gestures is not None else 0.0)
            foot_px = round(foot * height) + self._keys_px(on, view, width - left - 2 * gap)
            area = self._pg.Rect(gap, gap, width - 2 * gap, height - 2 * gap - foot_px - gap // 2)
            if view.card is not None:
                draw_card(self._canvas, on, area, view.card, theme)
            else:
                picture = picture or self._picture(on, area, view, theme)
                side = self._pg.Rect(picture.right + gap, gap, max(1, width - picture.right - 2 * gap), area.height)
                if side.width > 0.2 * height:
                    self._side(on, side, view, theme)
            strip = self._pg.Rect(left + gap, area.bottom + gap, width - left - 2 * gap, round(RESULT * height))
            self._strip(on, strip, view, theme)
            if view.gestures is not None:
                row = self._pg.Rect(gap, strip.bottom + gap // 3, strip.width, round(HINT * height) - gap // 3)
                practice_drawing.hint(self._canvas, on, row, view.gestures, view.answer, theme)
        self._footer(on, view, theme, left)

    def _keys_px(self, on: Surface, view: DisplayState, width: int) -> int:
        """Height of the lines that tell the keys."""
        return 0 if view.recorded else self._key_lines.height_px(on.get_height(), width)

    # ---- the parts

    def _picture(self, on: Surface, area: Any, view: DisplayState, theme: Theme) -> Any:
        """The frame, as large as fits beside the signs, with what was seen in it. Returns its rectangle."""
        if view.replay is not None:
            return self._again(on, area, view.replay)
        if view.image is None:
            box = self._pg.Rect(area.left, area.top, min(area.width, round(area.height * 4 / 3)), area.height)
            self._pg.draw.rect(on, theme.panel, box, border_radius=area.height // 40)
            self._canvas.text(on, view.status, box.center, area.height * 0.07, theme.soft, "center", box.width * 0.9)
            return box
        from trainer.vision.reduced import fitted

        rows, columns = view.image.shape[:2]
        scale = min(area.height / rows, 0.60 * area.width / columns)
        size = (max(1, round(columns * scale)), max(1, round(rows * scale)))
        image = fitted(view.image, size)
        box = self._pg.Rect((area.left, area.top), size)
        box.centery = area.centery
        on.blit(self._pg.image.frombuffer(image.tobytes(), size, "BGR"), box)
        if view.observation is not None:
            clip = on.get_clip()
            on.set_clip(box)
            overlay.draw(self._canvas, on, view.observation, box.topleft, scale)
            if view.mark is not None and view.drill is not None:
                frame = view.observation.frame

                def place(point: Point) -> Place:
                    x, y = frame.to_picture(point)
                    return box.left + x * scale, box.top + y * scale

                practice_drawing.ground_mark(self._canvas, on, view.mark, view.drill.label, place, scale, theme)
            on.set_clip(clip)
        return box

    def _again(self, on: Surface, area: Any, replay: ReplayView) -> Any:
        """The stroke that is seen again, where the picture was and of its size. Returns its rectangle."""
        columns, rows = replay.stroke_clip.frames.size
        scale = min(area.height / rows, 0.60 * area.width / columns)
        box = self._pg.Rect(area.left, area.top, max(1, round(columns * scale)), max(1, round(rows * scale)))
        box.centery = area.centery
        if self._replay is None:
            from trainer.ui.practice.replay_pane import ReplayPane

            self._replay = ReplayPane(self._canvas)
        self._replay.draw(on, box, replay, THEMES[self.theme])
        return box

    def _side(self, on: Surface, box: Any, view: DisplayState, theme: Theme) -> None:
        """The phase in one word, the head's turn."""
        height = on.get_height()
        moment = view.moment
        word = tr("Paused") if view.paused else PHASE_WORDS[moment.phase] if moment is not None else view.status
        top = self._canvas.text(on, word, box.topleft, PHASE_LETTERS * height, theme.text, width=box.width).bottom
        if view.drill is not None:
            under = self._pg.Rect(box.left, top, box.width, box.bottom - top)
            top = practice_drawing.drill_lines(self._canvas, on, under, view.drill, view.mark, theme)
            top += round(0.015 * height)
            # In a silent test the dial would tell when the head turned; under many lines there is no room for it.
            if view.drill.silent or box.bottom - top < LEAST_DIAL * height:
                return
        if view.dial == "hidden":
            return
        self._head(on, self._pg.Rect(box.left, top, box.width, box.bottom - top), view, theme)

    def _head(self, on: Surface, box: Any, view: DisplayState, theme: Theme) -> None:
        height = on.get_height()
        radius = min(box.height * 0.46, box.width * 0.26)
        centre = (box.left + radius * 1.08, box.bottom - radius * 1.08)
        turn = head_turn_deg(view)
        right = view.targets.handedness == "right"
        shown = TurnShown(turn, view.targets.turn_deg, view.dial == "alarm")
        self._canvas.dial(on, centre, radius, shown, right, theme)
        x = box.left + radius * 2.45
        wide = box.right - x
        small = DETAIL_LETTERS * height
        size = (TURN_LETTERS if turn is not None else TURN_LETTERS * 0.6) * height
        reading = tr("not seen") if turn is None else turn_text(turn)
        middle = self._canvas.text(on, reading, (x, centre[1]), size, theme.text, "midleft", wide)
        self._canvas.text(on, tr("Head turn"), (x, middle.top), small, theme.soft, "bottomleft", wide)
        if turn is not None:
            limit = tr("limit {turn_deg:.0f}°", turn_deg=view.targets.turn_deg)
            self._canvas.text(on, limit, (x, middle.bottom), small, theme.soft, "topleft", wide)

    def _strip(self, on: Surface, strip: Any, view: DisplayState, theme: Theme) -> None:
        """What the player reads from afar: the result, or how long the last hold was."""
        if view.gestures is not None and view.gestures.asks:
            practice_drawing.question(self._canvas, on, strip, theme, view.gestures.question)
        elif view.sign is not None:
            self._result(on, strip, view.sign, theme)
        elif view.held_s is not None:
            self._hold(on, strip, view.held_s, view, theme)
        elif view.advice and not (view.moment is not None and view.moment.phase.eyes_down):
            what, _, todo = view.advice[-1].partition(": ")
            self._result(on, strip, Sign(capital(what), todo, "plain"), theme)
        elif view.strokes == 0:
            size, faint = RESULT_LETTERS * on.get_height(), between(theme.ground, theme.soft, 0.45)
            self._canvas.text(on, MOTTO, (strip.left, strip.centery), size, faint, "midleft", strip.width)

    def _hold(self, on: Surface, strip: Any, held_s: float, view: DisplayState, theme: Theme) -> None:
        """The whole strip is the bar: how much of the hold that is asked for it was, in seconds."""
        share = held_s / view.targets.hold_s
        self._canvas.bar(on, strip, share, theme)
        place = (strip.left + round(strip.height * 0.35), strip.centery)
        size = RESULT_LETTERS * on.get_height()
        self._canvas.text(
            on,
            tr("held {held_s:.1f} s", held_s=held_s),
            place,
            size,
            theme.text,
            "midleft",
            strip.width - strip.height * 0.5,
        )

    def _result(self, on: Surface, strip: Any, sign: Sign, theme: Theme) -> None:
        """A mark on its colour, one large line of words, a smaller one below."""
        height = on.get_height()
        pg = self._pg
        pg.draw.rect(on, theme.panel, strip, border_radius=strip.height // 12)
        block = pg.Rect(strip.left, strip.top, strip.height, strip.height)
        colour = {"good": theme.good, "fault": theme.fault, "plain": theme.plain}[sign.kind]
        pg.draw.rect(on, colour, block, border_radius=strip.height // 12)
        self._canvas.mark(on, block, sign.kind, (255, 255, 255))
        x = block.right + round(0.03 * height)
        wide = strip.right - x - round(0.02 * height)
        size, large = DETAIL_LETTERS * height, RESULT_LETTERS * height
        # What a drill asks is read before its first stroke; a result is read at a glance, and its word stays as large.
        folds = sign.kind == "plain" and self._canvas.width(sign.detail, round(size)) > wide
        word_px = large * SMALLER if folds else large
        word = self._canvas.text(on, sign.word, (x, strip.top + strip.height * 0.09), word_px, theme.text, width=wide)
        if folds:
            while len(self._canvas.wrapped(sign.detail, size, wide)) > DETAIL_LINES:
                size *= 0.95
            self._canvas.paragraph(on, sign.detail, (x, word.bottom), size, theme.soft, wide)
        elif sign.detail:
            self._canvas.text(on, sign.detail, (x, word.bottom), size, theme.soft, "topleft", wide)

    def _cautions(self, on: Surface, view: DisplayState, theme: Theme) -> None:
        """Before the first stroke."""
        width, height = on.get_size()
        left, wide = round(0.08 * width), round(0.84 * width)
        y = 0.12 * height
        size = self._canvas.fitting(CAUTIONS, 0.10 * height, wide)
        for line in CAUTIONS:
            y = self._canvas.text(on, line, (left, y), size, theme.text).bottom + 0.035 * height
        y += 0.02 * height
        for line in (NO_ADVICE, ASK_FIRST):
            y = self._canvas.text(on, line, (left, y), DETAIL_LETTERS * height, theme.soft, width=wide).bottom
        self._canvas.text(on, view.status, (left, y + 0.05 * height), 0.055 * height, theme.text, width=wide)
        bar = self._pg.Rect(left, round(y + 0.14 * height), wide, round(0.03 * height))
        moving_bar(self._canvas, on, bar, view.waiting_s, None, theme)

    def _footer(self, on: Surface, view: DisplayState, theme: Theme, left: int) -> None:
        width, height = on.get_size()
        gap = round(GAP * height)
        y = height - gap * 0.55
        size = SMALL_LETTERS * height
        if not view.recorded:
            y -= self._key_lines.draw(
                on, self._pg.Rect(left + gap, 0, width - left - 2 * gap, round(y)), view.keys, theme
            )
        sound = tr("no sound") if not view.can_sound else tr("muted") if view.muted else ""
        count = tr("stroke {strokes}", strokes=view.strokes) if view.strokes else tr("no stroke yet")
        rate = tr("{fps:.0f} frames/s", fps=view.fps) if view.fps is not None else ""
        losing = "" if view.recorded else view.losing
        if view.recorded:
            sound = rate = ""
        reasons = view.observation.reasons if view.observation is not None else {}
        unseen = (
            view.advice[-1]
            if view.advice
            else tr("not seen: {listed}", listed=join(", ", map(thing_words, reasons)))
            if reasons
            else ""
        )
        parts = (count, sound, losing, unseen, *view.notes, rate)
        self._canvas.foot(on, parts, (left + gap, y), size, theme.soft, width - left - 2 * gap)


def _upright(view: DisplayState) -> bool:
    """What is shown is higher than wide."""
    if view.replay is not None:
        columns, rows = view.replay.stroke_clip.frames.size
    elif view.image is not None:
        rows, columns = view.image.shape[:2]
    else:
        return False
    return bool(rows > columns)


def head_turn_deg(view: DisplayState) -> float | None:
    """The turn since address while there is a stroke, else what is seen now; None when it is not seen."""
    if view.moment is not None and view.moment.turn_deg is not None:
        return view.moment.turn_deg
    head = view.observation.head if view.observation is not None else None
    return head.turn_deg if head is not None and head.confidence >= SURE_HEAD else None
