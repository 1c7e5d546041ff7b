"""What `setup` judges about camera and player at address. Pure: facts in, findings out."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.camera_setup.findings import Finding, State, frame_rate, light, sharpness
from trainer.coaching.posture.address_measures import MIN_STAND_CONFIDENCE, SQUARE, SQUARE_DEG
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.view_detection import DetectedView
from trainer.domain.naming import hand_words, side_words, view_words
from trainer.domain.observation import Handedness, View
from trainer.texts import tr
from trainer.vision.head.fusion import Hard

# Where a camera should stand. Height face-on: knee height, so that a bowed head shows its face (measured on rendered players);
# all else common practice, no source. Outside the wider pair it is a problem,
# between the two a warning.
DISTANCE_CM = {"face-on": ((210.0, 360.0), (150.0, 480.0)), "down-the-line": ((210.0, 360.0), (150.0, 480.0))}
HEIGHT_CM = {"face-on": ((35.0, 75.0), (15.0, 140.0)), "down-the-line": ((50.0, 140.0), (20.0, 190.0))}
BEST_HEIGHT = {"face-on": tr("knee height, 40 to 70 cm"), "down-the-line": tr("between knee and hip, 50 to 140 cm")}
LEVEL_DEG, CROOKED_DEG = 2.5, 8.0  # of roll: beyond is a warning; beyond is a problem
ASKEW_DEG = 15.0  # off the line: a problem
ROOM_CM = 60.0  # beside the feet, for putter and a moving head
MIN_VIEW_CONFIDENCE, MIN_HAND_CONFIDENCE = 0.5, 0.4
SURE_HEAD = 0.8  # a head read with less will often be "not sure"
_NO_HAT = tr("take the hat off or wear one with a mark, tie long hair back")
HELPS_HEAD: dict[Hard, str] = {
    "plain": _NO_HAT,
    "brim": _NO_HAT,
    "faint": tr("put light on the face, none behind you"),
    "": tr("tie hair back from the face, or push the hat up"),
}
NAMES = (
    "body", "distance", "height", "level", "view", "hand", "light", "head", "sharp", "rate", "ball", "putter", "scale",
)  # fmt: skip


@dataclass(frozen=True)
class SetupFacts:
    """What has been seen so far; None where it has not.

    shake_line: that the camera does not stand firm; light_line: what is wrong with the light and what would help (both of
    ``vision``); head_sure: the head's confidence at rest; head_hard: why it is hard to read; hints: why the player cannot be
    measured; room_cm: beside the feet, left and right in the picture; edge_px: width of the sharpest edges at 480 rows;
    putter: "tape" or "shaft"; given_view, given_handedness: what the user said, None to propose. scales_apart: share by which
    ball and player's height differ, None with only one of them.
    """

    hints: tuple[Hint, ...] = (Hint(tr("nobody seen"), tr("stand in the picture, whole body in view")),)
    distance_cm: float | None = None
    height_cm: float | None = None
    roll_deg: float | None = None
    azimuth_deg: float | None = None
    tilt_confidence: float = 0.0
    azimuth_confidence: float = 0.0
    detected: DetectedView | None = None
    room_cm: tuple[float, float] | None = None
    brightness: float | None = None
    white_share: float = 0.0
    light_line: str = ""
    shake_line: str = ""
    head_sure: float | None = None
    head_hard: Hard = ""
    edge_px: float | None = None
    fps: float | None = None
    asked_fps: float = 30.0
    ball: bool = False
    putter: str | None = None
    scale: str | None = None
    scale_note: str = ""
    scales_apart: float | None = None
    player_height_known: bool = False
    given_view: View | None = None
    given_handedness: Handedness | None = None

    @property
    def wrong_view(self) -> bool:
        """The camera plainly looks from elsewhere than was said."""
        seen = self.detected
        if seen is None or self.given_view is None or self.hints:
            return False
        return seen.view != self.given_view and seen.view_confidence >= MIN_VIEW_CONFIDENCE

    @property
    def scale_doubtful(self) -> bool:
        """The two scale references differ by more than a height is told wrongly: one of them is not what it is taken for."""
        return self.scales_apart is not None and self.scales_apart > DOUBTFUL_SHARE

    @property
    def view(self) -> View:
        """As given, else as detected."""
        if self.given_view is not None:
            return self.given_view
        return self.detected.view if self.detected is not None else "face-on"


# What is worked out as if the camera looked from where it was said to, or from the scale: no advice of a wrong one.
BY_VIEW = ("body", "distance", "height", "level", "hand", "putter", "scale")
DOUBTFUL_SHARE = 0.25
BY_SCALE = ("distance", "height")


def setup_findings(facts: SetupFacts) -> list[Finding]:
    """One finding for each of NAMES, in that order."""
    found = [
        _body(facts), _distance(facts), _height(facts), _level(facts), _view(facts), _hand(facts),
        _light(facts), _head(facts), _sharp(facts), _rate(facts), _ball(facts), _putter(facts), _scale(facts),
    ]  # fmt: skip
    return [_held_back(facts, one) for one in found]


def _held_back(facts: SetupFacts, finding: Finding) -> Finding:
    if facts.wrong_view and finding.name in BY_VIEW:
        return Finding(finding.name, "waiting", tr("known once the view is right"))
    if facts.scale_doubtful and finding.name in BY_SCALE and finding.state != "waiting":
        return Finding(finding.name, "warning", tr("not sure, for the scale is in doubt"))
    return finding


def _body(facts: SetupFacts) -> Finding:
    if facts.hints:
        return Finding("body", "problem", facts.hints[0].what, facts.hints[0].todo)
    if facts.room_cm is not None and facts.view == "face-on" and min(facts.room_cm) < ROOM_CM:
        side = "left" if facts.room_cm[0] < facts.room_cm[1] else "right"
        short = tr("far too little") if min(facts.room_cm) < ROOM_CM / 2 else tr("little")
        state: State = "problem" if min(facts.room_cm) < ROOM_CM / 2 else "warning"
        found = tr("{short} room {side} of the feet", short=short, side=side_words(side))
        return Finding("body", state, found, tr("turn the camera a little that way"))
    return Finding("body", "ok", tr("whole body in view"))


def _banded(
    name: str, value: float, bands: tuple[tuple[float, float], tuple[float, float]], found: str, low: str, high: str
) -> Finding:
    good, usable = bands
    if good[0] <= value <= good[1]:
        return Finding(name, "ok", found)
    state: State = "warning" if usable[0] <= value <= usable[1] else "problem"
    return Finding(name, state, found, low if value < good[0] else high)


def _distance(facts: SetupFacts) -> Finding:
    if facts.distance_cm is None:
        return Finding("distance", "waiting", tr("not known yet"))
    found = tr("camera about {distance_cm:.1f} m away", distance_cm=facts.distance_cm / 100)
    (low, high), _ = bands = DISTANCE_CM[facts.view]
    near = tr("move it back {half_metres} m", half_metres=_half_metres(low - facts.distance_cm))
    far = tr("bring it nearer by {half_metres} m", half_metres=_half_metres(facts.distance_cm - high))
    return _banded("distance", facts.distance_cm, bands, found, near, far)


def _half_metres(cm: float) -> str:
    return tr("{words:g}", words=max(0.5, round(cm / 50.0) / 2))


def _height(facts: SetupFacts) -> Finding:
    if facts.height_cm is None:
        return Finding("height", "waiting", tr("not known yet"))
    found = tr("camera about {height_cm:.0f} cm above the floor", height_cm=round(facts.height_cm / 5) * 5)
    best = BEST_HEIGHT[facts.view]
    higher, lower = tr("raise it: {best}", best=best), tr("lower it: {best}", best=best)
    return _banded("height", facts.height_cm, HEIGHT_CM[facts.view], found, higher, lower)


def _level(facts: SetupFacts) -> Finding:
    if facts.shake_line:
        found, _, todo = facts.shake_line.partition(": ")
        return Finding("level", "problem", found, todo)
    if facts.roll_deg is None:
        return Finding("level", "waiting", tr("not known yet"))
    if facts.tilt_confidence < MIN_STAND_CONFIDENCE:
        return Finding(
            "level",
            "warning",
            tr("nothing straight in the picture"),
            tr("bring the edge of a wall into view, or set it level and say `--level`"),
        )
    roll = facts.roll_deg
    if abs(roll) > LEVEL_DEG:
        way = "left" if roll < 0 else "right"
        state: State = "problem" if abs(roll) > CROOKED_DEG else "warning"
        found = tr("upright things lean {way} by {roll:.0f}°", way=side_words(way), roll=abs(roll))
        return Finding("level", state, found, tr("turn the camera level"))
    sure = facts.azimuth_confidence >= MIN_STAND_CONFIDENCE
    if facts.azimuth_deg is not None and sure and abs(facts.azimuth_deg) > SQUARE_DEG:
        state = "problem" if abs(facts.azimuth_deg) > ASKEW_DEG else "warning"
        todo = SQUARE[facts.view]
        return Finding("level", state, tr("{azimuth_deg:.0f}° off the line", azimuth_deg=abs(facts.azimuth_deg)), todo)
    return Finding("level", "ok", tr("level and square") if sure else tr("level"))


def _view(facts: SetupFacts) -> Finding:
    seen = facts.detected
    if seen is None or facts.hints:
        return Finding("view", "waiting", tr("known once you stand at address"))
    if facts.wrong_view:
        return Finding(
            "view",
            "problem",
            tr(
                "this looks {view}, not {given_view}",
                view=view_words(seen.view),
                given_view=view_words(facts.given_view),
            ),
            tr("move the camera, or set `--view {view}`", view=seen.view),
        )
    if seen.view_confidence < MIN_VIEW_CONFIDENCE and facts.given_view is None:
        return Finding(
            "view",
            "problem",
            tr("between face-on and down-the-line"),
            tr("stand the camera before you, or on the line behind you"),
        )
    side = "" if seen.facing is None else tr(", you face {facing} in the picture", facing=side_words(seen.facing))
    return Finding("view", "ok", view_words(facts.view) + side)


def _hand(facts: SetupFacts) -> Finding:
    seen = facts.detected
    if seen is None or facts.hints:
        return Finding("hand", "waiting", tr("known once you stand at address"))
    confident = seen.handedness_confidence >= MIN_HAND_CONFIDENCE
    if facts.given_handedness is None:
        return Finding(
            "hand",
            "ok" if confident else "warning",
            hand_words(seen.handedness),
            "" if confident else tr("not sure: set `--handedness`"),
        )
    if confident and seen.handedness != facts.given_handedness:
        return Finding(
            "hand",
            "problem",
            tr("looks {hand}, not {given}", hand=hand_words(seen.handedness), given=hand_words(facts.given_handedness)),
            tr("set `--handedness {handedness}`", handedness=seen.handedness),
        )
    return Finding("hand", "ok", hand_words(facts.given_handedness))


def _light(facts: SetupFacts) -> Finding:
    if facts.brightness is None:
        return Finding("light", "waiting", tr("not known yet"))
    if facts.light_line:
        found, _, todo = facts.light_line.partition(": ")
        return Finding("light", "problem", found, todo)
    return light(facts.brightness, facts.white_share)


def _head(facts: SetupFacts) -> Finding:
    if facts.view != "face-on":
        return Finding("head", "ok", tr("its turn is measured face-on only"))
    if facts.hints or facts.head_sure is None:
        return Finding("head", "waiting", tr("known once you stand still at address"))
    if facts.head_sure > SURE_HEAD:
        return Finding("head", "ok", tr("its turn can be read"))
    return Finding("head", "warning", tr("its turn is hard to read"), HELPS_HEAD[facts.head_hard])


def _sharp(facts: SetupFacts) -> Finding:
    return Finding("sharp", "waiting", tr("not known yet")) if facts.edge_px is None else sharpness(facts.edge_px)


def _rate(facts: SetupFacts) -> Finding:
    if facts.fps is None:
        return Finding("rate", "waiting", tr("not measured yet"))
    return frame_rate(facts.fps, facts.asked_fps)


def _ball(facts: SetupFacts) -> Finding:
    if facts.ball:
        return Finding("ball", "ok", tr("seen"))
    if facts.hints:
        return Finding("ball", "waiting", tr("looked for once you stand at address"))
    return Finding("ball", "problem", tr("not seen"), tr("lay a ball down where the camera sees it"))


def _putter(facts: SetupFacts) -> Finding:
    if facts.putter is not None:
        return Finding("putter", "ok", tr("tape seen") if facts.putter == "tape" else tr("shaft seen"))
    if facts.hints:
        return Finding("putter", "waiting", tr("looked for once you stand at address"))
    # Down the line the shaft often hides behind the arms, and that view's measures do not need it.
    state: State = "warning" if facts.view == "down-the-line" else "problem"
    return Finding("putter", state, tr("not seen"), tr("wind bright tape around the shaft, a hand above the sole"))


def _scale(facts: SetupFacts) -> Finding:
    if facts.scale is None:
        return Finding("scale", "waiting", tr("needs the ball, or the player's height"))
    if facts.scale_doubtful:
        todo = tr("is that the ball, and is player.height_cm right?")
        return Finding("scale", "warning", tr("ball and player's height do not agree"), todo)
    if facts.scale_note:
        return Finding(
            "scale", "warning", facts.scale_note, "" if facts.player_height_known else tr("set player.height_cm")
        )
    return Finding("scale", "ok", facts.scale)
