"""What must be right before practice: one finding a thing, its state, what was found, what to do; `check` and `setup` share them.

Pure: numbers in, findings out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Mapping, Sequence

from trainer.texts import join, tr, tr_of
from trainer.vision.grey_levels import GLARE_SHARE
from trainer.vision.sources import camera_timing
from trainer.vision.sources.camera_timing import SLOW_FPS

# warning: works, could be better; problem: fix it; waiting: cannot be judged yet.
State = Literal["ok", "warning", "problem", "waiting"]
TITLES = {
    "camera": tr('Camera'), "body": tr('Player'), "distance": tr_of("camera", "Distance"), "height": tr('Camera height'),
    "level": tr('Camera level'),
    "view": tr('View'), "hand": tr('Hand'), "light": tr('Light'), "head": tr('Head'), "sharp": tr('Focus'),
    "rate": tr('Frame rate'),
    "measuring": tr('Measuring'), "motion": tr('Motion'), "regularity": tr('Regularity'), "ball": tr('Ball'),
    "putter": tr('Putter'),
    "scale": tr('Scale'), "sound": tr('Sound'), "model": tr('Model'), "disk": tr('Disk'),
}  # fmt: skip

STATES: Mapping[State, str] = {
    "ok": tr_of("finding", "ok"),
    "warning": tr_of("finding", "could be better"),
    "problem": tr_of("finding", "fix"),
    "waiting": tr_of("finding", "waiting"),
}

DARK, BRIGHT = 55.0, 215.0  # mean of 255; common practice, no source
BLUR_PX, BLURRED_PX = 6.0, 8.5  # width of the sharpest edges at 480 rows; rendered players in focus 3.3 to 4.5
RATE_SHARE = 0.9  # of the rate asked for
FAST_FPS = 60.0
MODEL_SHARE = 0.75  # of the time from one answer of the pose model to the next: the rest is for the frames between
START_S = 0.5  # a camera's first frames come as they like
MIN_FREE_BYTES = 200 * 1024 * 1024  # a stroke takes about 0.1 MB


@dataclass(frozen=True, slots=True)
class Finding:
    """name: a key of TITLES; found, todo: plain words; todo is empty when there is nothing to do."""

    name: str
    state: State
    found: str
    todo: str = ""

    @property
    def title(self) -> str:
        return TITLES[self.name]

    @property
    def state_words(self) -> str:
        return STATES[self.state]

    @property
    def words(self) -> str:
        """What was found and what to do."""
        return tr("{found}; {todo}", found=self.found, todo=self.todo) if self.todo else self.found


def light(brightness: float, white_share: float) -> Finding:
    """brightness: mean, 0..255; white_share: share of pixels at full white, 0..1."""
    found = tr("brightness {brightness:.0f} of 255", brightness=brightness)
    if brightness < DARK:
        state: State = "problem" if brightness < DARK / 2 else "warning"
        return Finding("light", state, tr("{found}, dark", found=found), tr("put light on the player"))
    if brightness > BRIGHT or white_share > GLARE_SHARE:
        return Finding(
            "light",
            "warning",
            tr("{found}, {white_share:.0%} pure white", found=found, white_share=white_share),
            tr("no window or lamp behind the player"),
        )
    return Finding("light", "ok", found)


def sharpness(edge_px: float) -> Finding:
    """edge_px: width of the sharpest edges at 480 rows."""
    if edge_px > BLUR_PX:
        state: State = "problem" if edge_px > BLURRED_PX else "warning"
        return Finding("sharp", state, tr("blurred"), tr("wipe the lens, focus on the player, more light"))
    return Finding("sharp", "ok", tr("sharp"))


def frame_rate(fps: float, asked_fps: float) -> Finding:
    """Measured against asked frames/s, and against what strokes need."""
    found = tr("{fps:.1f} frames/s, {asked_fps:.0f} asked for", fps=fps, asked_fps=asked_fps)
    if fps < SLOW_FPS or fps < RATE_SHARE * asked_fps:
        state: State = "problem" if fps < 0.6 * SLOW_FPS else "warning"
        return Finding("rate", state, found, tr("more light, a smaller picture, or another USB socket"))
    return Finding("rate", "ok", found)


def timing(times_s: Sequence[float], todo: str = "") -> list[Finding]:
    """What can be measured with frames at these times (s); none with too few. The first START_S are left out.

    todo: what may give more of them, where they are few.
    """
    seen = camera_timing.timing([t for t in times_s if t - times_s[0] > START_S]) or camera_timing.timing(times_s)
    if seen is None:
        return []
    findings = [
        Finding(
            "measuring",
            "warning" if seen.fps < SLOW_FPS else "ok",
            camera_timing.tempo_line(seen),
            todo if seen.fps < 0.75 * FAST_FPS else "",
        ),
        Finding("motion", "ok", camera_timing.motion_line(seen)),
    ]
    if seen.irregular:
        found = join("; ", camera_timing.irregularities(seen))
        steadier = tr("close other programs, put light on the player, another USB socket")
        findings.append(Finding("regularity", "warning", found, steadier))
    return findings


def pose_model(loaded_s: float, each_ms: float, asked_fps: float, player_seen: bool | None) -> Finding:
    """loaded_s: until it was ready; each_ms: a frame takes; player_seen: None without a camera."""
    from trainer.vision.body.cadence import MODEL_S

    found = tr("loaded in {loaded_s:.1f} s, {each_ms:.0f} ms a picture", loaded_s=loaded_s, each_ms=each_ms)
    if player_seen is not None and each_ms > MODEL_SHARE * 1000 * max(MODEL_S, 1 / asked_fps):
        return Finding(
            "model",
            "warning",
            found,
            tr("too slow for {asked_fps:.0f} frames/s: close other programs", asked_fps=asked_fps),
        )
    if player_seen is False:
        todo = tr("stand in the picture, whole body, 2.5 to 3 m away")
        return Finding("model", "warning", tr("{found}, sees nobody", found=found), todo)
    return Finding("model", "ok", tr("{found}, sees the player", found=found) if player_seen else found)


def disk(free_bytes: int, folder: str) -> Finding:
    """folder: of the record."""
    found = tr("{free_bytes:.1f} GB free, record in {folder}", free_bytes=free_bytes / 1000000000.0, folder=folder)
    if free_bytes < MIN_FREE_BYTES:
        return Finding("disk", "warning", found, tr("make room"))
    return Finding("disk", "ok", found)
