"""Every setting: its type, unit, allowed range, default and what it is for. The one list that all else is made from.

A settings file is TOML, one table a section. `KEYS` is all entries, in the order in which the documented file
(config/defaults.toml) shows them. Lengths cm, angles deg, times s.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel

from trainer.domain.naming import NAMELESS, PHONE
from trainer.domain.observation import Handedness, View
from trainer.domain.player_frame import Grip
from trainer.settings.drill_names import present_ids
from trainer.settings.keys import STRICT, Key, Within, key_field, keys_of
from trainer.settings.limits import Limits
from trainer.settings.posture import Ranges
from trainer.texts import tr

# A name is one line of text; what it holds is never a path. Line and paragraph separators break lines too.
_LETTER = r"[^\x00-\x1f\x7f-\x9f\u2028\u2029]"
NAME_PATTERN = rf"^{_LETTER}*[^\s\x00-\x1f\x7f-\x9f\u2028\u2029]{_LETTER}*$"  # not blanks alone


class Player(BaseModel):
    """Who is putting."""

    model_config = STRICT
    name: str = key_field(
        NAMELESS,
        "name on the record",
        kind=tr("a text of 1 to 60 letters"),
        min_length=1,
        max_length=60,
        pattern=NAME_PATTERN,
    )
    handedness: Handedness = key_field("right", "a right-hander's lead side is the left one")
    height_cm: Annotated[float, Within(90, 230, "cm")] | None = key_field(
        None, "standing height, the size reference in the body's plane; left out: not known"
    )
    grip: Grip = key_field("trail hand low", "which hand is the lower one on the grip, or the only one")
    long_putter: bool = key_field(False, "a putter held at the belly, the chest or the arm")
    seated: bool = key_field(False, "putts from a chair")


BEST = "left out: the best that setup measured"


class Camera(BaseModel):
    """Where the pictures come from and in which mode; the mode is asked for, and what the camera gives is read back."""

    model_config = STRICT
    source: int | str = key_field(
        0, "camera number, device path, stream address, or phone: a phone's in the same network"
    )
    view: View = key_field("face-on", "from where the camera looks at the player")
    width: Annotated[int, Within(320, 3840, "px")] | None = key_field(None, f"picture width asked for; {BEST}")
    height: Annotated[int, Within(240, 2160, "px")] | None = key_field(None, f"picture height asked for; {BEST}")
    fps: Annotated[float, Within(10, 240, "frames/s")] | None = key_field(None, f"frame rate asked for; {BEST}")

    @property
    def called(self) -> str:
        """In a sentence."""
        return tr("phone") if self.source == PHONE else tr("camera {camera}", camera=self.source)


class Phone(BaseModel):
    """Where a phone links to, when one is asked for as the camera."""

    model_config = STRICT
    address: str = key_field(
        "auto", "this computer's address in the local network; auto: found", kind=tr('"auto" or one like 192.168.1.20')
    )
    port: Annotated[int, Within(0, 65535)] = key_field(8443, "or one of the ten after it that is free; 0: any")


class Vision(BaseModel):
    """How the putter is found."""

    model_config = STRICT
    putter: Literal["auto", "shaft"] = key_field(
        "auto", "auto: by the tape too where there is one; or by the shaft alone"
    )
    tape_colour: str = key_field(
        "auto",
        "auto: learned at address; or the colour of the tape",
        kind=tr('"auto" or a colour as "#rrggbb"'),
        pattern=r"^(auto|#[0-9a-fA-F]{6})$",
    )


class Sound(BaseModel):
    """Tones."""

    model_config = STRICT
    backend: Literal["auto", "mixer", "simpleaudio", "silent"] = key_field(
        "auto", "what plays the tones; auto: the first that works"
    )
    volume: Annotated[float, Within(0, 1)] = key_field(0.8, "loudness of the tones, 0 is mute")
    device: str = key_field(
        "", "the loudspeaker's name as the system gives it; \"\": the system's own", kind=tr("a name")
    )
    buffer_samples: Annotated[int, Within(64, 8192, "samples")] | None = key_field(
        None,
        "sound buffer asked for: small is quick, large is safe from crackle; left out: the one that `check --sound` found for "
        "this loudspeaker, else 512",
    )


class Hearing(BaseModel):
    """The click of the ball as a second witness of impact."""

    model_config = STRICT
    microphone: bool = key_field(
        False, "listen for the click of putter on ball: only when and how plainly it clicked is used, no sound is kept"
    )
    device: str = key_field(
        "", "a part of the microphone's name; \"\": the system's own", kind=tr("a part of its name")
    )


class Feedback(BaseModel):
    """When cues are given."""

    model_config = STRICT
    schedule: Literal["every", "outside", "alternate", "fading", "summary", "silent"] = key_field(
        "fading",  # what comes with every stroke is not kept: J. Mot. Behav. 53(3), 385-398, 2021, a meta-analysis
        "which strokes get feedback: every one; only faults; every other one; fewer and fewer; none, but now and then all "
        "together; none at all",
    )
    strokes: Annotated[int, Within(5, 200, "strokes")] = key_field(
        20, "strokes over which fading falls from all to a quarter"
    )
    summary_after: Annotated[int, Within(2, 50, "strokes")] = key_field(5, "strokes between two summaries")
    feel: bool = key_field(
        False, "ask how a stroke felt before its result is shown; no tone sounds then, for it would answer"
    )
    feel_wait_s: Annotated[float, Within(2, 20, "s")] = key_field(
        6.0, "how long the result waits for that answer, from settle"
    )
    result_delay_s: Annotated[float, Within(0, 5, "s")] = key_field(
        2.0, "least time from settle to the result's sign (a fault's sign comes with its tone)"
    )


class Window(BaseModel):
    """The window a player reads from 4 m away."""

    model_config = STRICT
    theme: Literal["dark", "light"] = key_field("dark", "light signs on dark, or the reverse")
    width: Annotated[int, Within(640, 7680, "px")] = key_field(1280, "window width")
    height: Annotated[int, Within(480, 4320, "px")] = key_field(720, "window height")
    fullscreen: bool = key_field(False, "fill the whole screen")
    letters: Annotated[float, Within(1, 2.5)] = key_field(1.0, "size of letters and buttons in the start window")


class Words(BaseModel):
    """What is shown and printed."""

    model_config = STRICT
    language: Literal["auto", "en", "de", "es"] = key_field(
        "auto", "of windows, signs and messages; auto: the system's, where it is one of these"
    )


class Replay(BaseModel):
    """Seeing a stroke again. Frames are kept in memory only, unless video is asked for."""

    model_config = STRICT
    auto: Literal["off", "once", "loop"] = key_field(
        "once", "slow motion after a stroke's result: none, once, or until the player is at address again"
    )
    speed: Annotated[float, Within(0.05, 1)] = key_field(0.25, "of the slow motion, 1 is as it was")
    ring_mb: Annotated[float, Within(8, 4096, "MB")] = key_field(64.0, "memory for the frames of the last strokes")
    keep_video: bool = key_field(False, "put every stroke's video beside the record")
    keep_days: Annotated[int, Within(0, 36500, "days")] = key_field(
        90, "kept videos older than this are deleted; 0: never"
    )
    keep_mb: Annotated[float, Within(10, 100_000, "MB")] = key_field(
        4000.0, "the oldest kept videos are deleted when all together take more"
    )


class Storing(BaseModel):
    """Where the record is kept."""

    model_config = STRICT
    folder: str = key_field("", "folder of the record; empty: the user's data folder")


class Card(BaseModel):
    """What is known of a student beside the settings. Stands in a student's file only."""

    model_config = STRICT
    id: str = key_field(
        "",
        "the student's own number, made once and never changed",
        kind=tr("32 digits 0-9 a-f"),
        pattern=r"^(|[0-9a-f]{32})$",
    )
    drills: Annotated[list[str], AfterValidator(present_ids)] = key_field(
        [], "drills to practise, in order", kind=tr("a list of drills' names"), max_length=50
    )
    notes: str = key_field("", "the coach's notes", kind=tr("a text of up to 4000 letters"), max_length=4000)
    changed_at: str = key_field("", "when the profile was last changed (UTC)", max_length=40)
    limits_at: str = key_field("", "when the limits were last set (UTC)", max_length=40)
    limits_by: str = key_field("", "who set them", max_length=60)
    limits_why: str = key_field("", "why", max_length=200)


class Settings(BaseModel):
    """All settings of one run, checked."""

    model_config = STRICT
    player: Player = Player()
    camera: Camera = Camera()
    phone: Phone = Phone()
    vision: Vision = Vision()
    sound: Sound = Sound()
    hearing: Hearing = Hearing()
    feedback: Feedback = Feedback()
    window: Window = Window()
    words: Words = Words()
    replay: Replay = Replay()
    store: Storing = Storing()
    limits: Limits = Limits()
    posture: Ranges = Ranges()

    @classmethod
    def checked(cls, values: dict[str, Any]) -> Settings:
        """From nested plain values; pydantic.ValidationError lists every fault (load.py words them for people)."""
        return cls.model_validate(values)

    def values(self) -> dict[str, Any]:
        """Nested plain values, as `checked` takes them (for storing beside what was judged)."""
        return self.model_dump(exclude_none=True)

    def changed(self, **sections: BaseModel) -> Settings:
        """With other sections in place of its own."""
        return self.model_copy(update=sections)


class SettingsFile(Settings):
    """What a file may hold."""

    student: Card = Card()


KEYS: tuple[Key, ...] = tuple(keys_of(SettingsFile))
