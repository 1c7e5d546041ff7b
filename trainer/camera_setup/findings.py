"""What must be right before practice, one line each: its state, what was found, what to do. Pure: facts in, lines out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.view_detection import DetectedView
from trainer.domain.observation import Handedness, View
from trainer.vision.sources.camera_timing import SLOW_FPS

State = Literal["ok", "look", "bad", "wait"]  # look: works, could be better; bad: mend it; wait: cannot be told yet

# Where a camera should stand. Height face-on: knee height, so that a bowed head shows its face (measured on rendered players);
# all else common practice, no source. Outside the wider pair it is bad, between the two it could be better.
DISTANCE_CM = {"face-on": ((210.0, 360.0), (150.0, 480.0)), "down-the-line": ((210.0, 360.0), (150.0, 480.0))}
HEIGHT_CM = {"face-on": ((35.0, 75.0), (15.0, 140.0)), "down-the-line": ((50.0, 140.0), (20.0, 190.0))}
BEST_HEIGHT = {"face-on": "knee height, 40 to 70 cm", "down-the-line": "between knee and hip, 50 to 140 cm"}
LEVEL_DEG, CROOKED_DEG = 2.5, 8.0  # of roll: more is told; more is bad
SQUARE_DEG, ASKEW_DEG = 6.0, 15.0  # off the line
ROOM_CM = 60.0  # beside the feet, for putter and a moving head
DARK, BRIGHT, GLARE_SHARE = 55.0, 215.0, 0.25  # mean of 255, share of pixels at full white; common practice, no source
BLUR_PX, BLURRED_PX = 6.0, 8.5  # width of the sharpest edges at 480 rows; rendered players in focus 3.3 to 4.5
SURE_VIEW, SURE_HAND = 0.5, 0.4
LINES = ("body", "distance", "height", "level", "view", "hand", "light", "sharp", "rate", "ball", "putter", "scale")


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding. found and todo in plain words; todo is empty when there is nothing to do."""

    name: str
    state: State
    found: str
    todo: str = ""


@dataclass(frozen=True)
class Facts:
    """What has been seen so far; None where it has not.

    hints: why the player cannot be measured; room_cm: beside the feet, left and right in the picture; edge_px: width of the
    sharpest edges at 480 rows; putter: "tape" or "shaft"; told_view, told_hand: what the user said, None to propose.
    """

    hints: tuple[Hint, ...] = (Hint("nobody seen", "stand in the picture, whole body in view"),)
    distance_cm: float | None = None
    height_cm: float | None = None
    roll_deg: float | None = None
    azimuth_deg: float | None = None
    tilt_sure: float = 0.0
    azimuth_sure: float = 0.0
    recognised: DetectedView | None = None
    room_cm: tuple[float, float] | None = None
    brightness: float | None = None
    white_share: float = 0.0
    edge_px: float | None = None
    fps: float | None = None
    asked_fps: float = 30.0
    ball: bool = False
    putter: str | None = None
    scale: str | None = None
    ruler_note: str = ""
    player_height_known: bool = False
    told_view: View | None = None
    told_hand: Handedness | None = None

    @property
    def view(self) -> View:
        """As told, else as recognised."""
        if self.told_view is not None:
            return self.told_view
        return self.recognised.view if self.recognised is not None else "face-on"


def lines(facts: Facts) -> list[Finding]:
    """One line for each of LINES, in that order."""
    return [
        _body(facts), _distance(facts), _height(facts), _level(facts), _view(facts), _hand(facts),
        _light(facts), _sharp(facts), _rate(facts), _ball(facts), _putter(facts), _scale(facts),
    ]  # fmt: skip


def _body(facts: Facts) -> Finding:
    if facts.hints:
        return Finding("body", "bad", facts.hints[0].what, facts.hints[0].todo)
    if facts.room_cm is not None and facts.view == "face-on" and min(facts.room_cm) < ROOM_CM:
        side = "left" if facts.room_cm[0] < facts.room_cm[1] else "right"
        short = "far too little" if min(facts.room_cm) < ROOM_CM / 2 else "little"
        state: State = "bad" if min(facts.room_cm) < ROOM_CM / 2 else "look"
        return Finding("body", state, f"{short} room {side} of the feet", "turn the camera a little that way")
    return Finding("body", "ok", "whole body in view")


def _banded(
    name: str, value: float, bands: tuple[tuple[float, float], tuple[float, float]], found: str, low: str, high: str
) -> Finding:
    good, usable = bands
    if good[0] <= value <= good[1]:
        return Finding(name, "ok", found)
    state: State = "look" if usable[0] <= value <= usable[1] else "bad"
    return Finding(name, state, found, low if value < good[0] else high)


def _distance(facts: Facts) -> Finding:
    if facts.distance_cm is None:
        return Finding("distance", "wait", "not told yet")
    found = f"camera about {facts.distance_cm / 100:.1f} m away"
    (low, high), _ = bands = DISTANCE_CM[facts.view]
    near = f"move it back {_half_metres(low - facts.distance_cm)} m"
    far = f"bring it nearer by {_half_metres(facts.distance_cm - high)} m"
    return _banded("distance", facts.distance_cm, bands, found, near, far)


def _half_metres(cm: float) -> str:
    return f"{max(0.5, round(cm / 50.0) / 2):g}"


def _height(facts: Facts) -> Finding:
    if facts.height_cm is None:
        return Finding("height", "wait", "not told yet")
    found = f"camera about {round(facts.height_cm / 5) * 5:.0f} cm above the floor"
    best = BEST_HEIGHT[facts.view]
    return _banded("height", facts.height_cm, HEIGHT_CM[facts.view], found, f"raise it: {best}", f"lower it: {best}")


def _level(facts: Facts) -> Finding:
    if facts.roll_deg is None:
        return Finding("level", "wait", "not told yet")
    if facts.tilt_sure < 0.3:
        return Finding(
            "level",
            "look",
            "nothing straight in the picture",
            "set it level and say --level, or bring the edge of a wall into view",
        )
    roll = facts.roll_deg
    if abs(roll) > LEVEL_DEG:
        way = "left" if roll < 0 else "right"
        state: State = "bad" if abs(roll) > CROOKED_DEG else "look"
        return Finding("level", state, f"upright things lean {way} by {abs(roll):.0f}°", "turn the camera level")
    if facts.azimuth_deg is not None and facts.azimuth_sure >= 0.3 and abs(facts.azimuth_deg) > SQUARE_DEG:
        state = "bad" if abs(facts.azimuth_deg) > ASKEW_DEG else "look"
        todo = "stand it square to the line" if facts.view == "face-on" else "stand it on the line, looking along it"
        return Finding("level", state, f"{abs(facts.azimuth_deg):.0f}° off the line", todo)
    return Finding("level", "ok", "level and square" if facts.azimuth_sure >= 0.3 else "level")


def _view(facts: Facts) -> Finding:
    seen = facts.recognised
    if seen is None or facts.hints:
        return Finding("view", "wait", "told once you stand at address")
    if facts.told_view is not None and seen.view != facts.told_view and seen.view_confidence >= SURE_VIEW:
        return Finding(
            "view",
            "bad",
            f"this looks {seen.view}, not {facts.told_view}",
            f"move the camera, or say --view {seen.view}",
        )
    if seen.view_confidence < SURE_VIEW and facts.told_view is None:
        return Finding(
            "view", "bad", "between face-on and down-the-line", "stand the camera before you, or on the line behind you"
        )
    side = "" if seen.facing is None else f", you face {seen.facing} in the picture"
    return Finding("view", "ok", f"{facts.view}{side}")


def _hand(facts: Facts) -> Finding:
    seen = facts.recognised
    if seen is None or facts.hints:
        return Finding("hand", "wait", "told once you stand at address")
    sure = seen.handedness_confidence >= SURE_HAND
    if facts.told_hand is None:
        return Finding(
            "hand", "ok" if sure else "look", f"{seen.handedness}-handed", "" if sure else "not sure: say --handedness"
        )
    if sure and seen.handedness != facts.told_hand:
        return Finding(
            "hand",
            "bad",
            f"looks {seen.handedness}-handed, not {facts.told_hand}",
            f"say --handedness {seen.handedness}",
        )
    return Finding("hand", "ok", f"{facts.told_hand}-handed")


def _light(facts: Facts) -> Finding:
    if facts.brightness is None:
        return Finding("light", "wait", "not told yet")
    found = f"brightness {facts.brightness:.0f} of 255"
    if facts.brightness < DARK:
        return Finding(
            "light", "bad" if facts.brightness < DARK / 2 else "look", f"{found}, dark", "put light on the player"
        )
    if facts.brightness > BRIGHT or facts.white_share > GLARE_SHARE:
        return Finding("light", "look", f"{found}, glare", "no window or lamp behind the player")
    return Finding("light", "ok", found)


def _sharp(facts: Facts) -> Finding:
    if facts.edge_px is None:
        return Finding("sharp", "wait", "not told yet")
    if facts.edge_px > BLUR_PX:
        state: State = "bad" if facts.edge_px > BLURRED_PX else "look"
        return Finding("sharp", state, "blurred", "wipe the lens, focus on the player, more light")
    return Finding("sharp", "ok", "sharp")


def _rate(facts: Facts) -> Finding:
    if facts.fps is None:
        return Finding("rate", "wait", "not measured yet")
    found = f"{facts.fps:.0f} frames a second"
    if facts.fps < SLOW_FPS:
        return Finding(
            "rate",
            "bad" if facts.fps < 0.6 * SLOW_FPS else "look",
            found,
            "more light, a smaller picture, another USB socket",
        )
    return Finding("rate", "ok", found)


def _ball(facts: Facts) -> Finding:
    if facts.ball:
        return Finding("ball", "ok", "seen")
    if facts.hints:
        return Finding("ball", "wait", "looked for once you stand at address")
    return Finding("ball", "bad", "not seen", "lay a ball down where the camera sees it")


def _putter(facts: Facts) -> Finding:
    if facts.putter is not None:
        return Finding("putter", "ok", "tape seen" if facts.putter == "tape" else "shaft seen")
    if facts.hints:
        return Finding("putter", "wait", "looked for once you stand at address")
    # Down the line the shaft often hides behind the arms, and that view's measures do not need it.
    state: State = "look" if facts.view == "down-the-line" else "bad"
    return Finding("putter", state, "not seen", "wind bright tape around the shaft, a hand above the sole")


def _scale(facts: Facts) -> Finding:
    if facts.scale is None:
        return Finding("scale", "wait", "needs the ball, or the player's height")
    if facts.ruler_note:
        return Finding("scale", "look", facts.ruler_note, "" if facts.player_height_known else "set player.height_cm")
    return Finding("scale", "ok", facts.scale)
