"""What the review's window shows, without drawing: the scene, its switches, and what a drawing put where."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Sequence

from trainer.replay.derived_signals import Reading, event_words
from trainer.replay.differences import Differing
from trainer.replay.lines import LINE_NAMES, LINE_WORDS, Label
from trainer.replay.playback import Playback
from trainer.texts import join, tr

LINE_KEYS = {"arm": "A", "leg": "L", "outline": "O", "paths": "P", "head": "H", "spine": "S"}
SWATCHES = {
    "arm": "sky blue", "leg": "yellow", "outline": "white", "paths": "bluish green", "head": "reddish purple",
    "spine": "blue",
}  # fmt: skip
LEAST_PX = 15  # letters beside and below the pictures are no smaller


@dataclass(frozen=True)
class Scene:
    """What is to be shown. differences: of the two strokes; why: the sentence of the suggested pair.

    title: whose and which, for the caption; keys: (key, what it does) rows to be shown instead of the pictures.
    """

    playback: Playback
    title: str = ""
    other_title: str = ""
    differences: Sequence[Differing] = ()
    why: str = ""
    hover_s: float | None = None
    message: str = ""
    keys: Sequence[tuple[str, str]] = ()
    theme: str = "dark"
    busy: float | None = None  # share of what is being written, None: nothing is
    corner_px: int = 0  # at the upper right, left free for the window's cross
    bare: bool = False  # for a picture or a clip: no keys, no chips


@dataclass
class Shown:
    """What a drawing put on the window. labels: of the main picture; hits: places that act on a click.

    settled: every picture is the very one; else it is to be drawn again soon.
    """

    labels: list[Label] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    hits: list[tuple[Any, str]] = field(default_factory=list)
    curves: Any = None
    pictures: list[Any] = field(default_factory=list)
    settled: bool = True


@dataclass(frozen=True)
class Chip:
    """A switch that is clicked. colour: of the line it stands for, empty: none."""

    words: str
    command: str
    is_on: bool
    colour: str = ""


def chips_of(playback: Playback) -> list[Chip]:
    """The lines' switches and the rest."""
    chips = [
        Chip(
            tr("{line_keys} {line_words}", line_keys=LINE_KEYS[name], line_words=LINE_WORDS[name]),
            name,
            name in playback.show,
            SWATCHES[name],
        )
        for name in LINE_NAMES
    ]
    slow, loop = playback.speed < 1, playback.loop
    chips += [
        Chip(tr("stop") if playback.playing else tr("play"), "play", playback.playing),
        Chip(tr("1/4 speed"), "full" if slow else "slow", slow),
        Chip(tr("repeat") if loop is None else join("–", map(event_words, loop)), "loop", loop is not None),
    ]
    if playback.other is not None:
        aligned = (
            tr("on {aligned_on}", aligned_on=playback.aligned_on) if playback.aligned_on != "phase" else tr("by phase")
        )
        chips += [
            Chip(tr("side by side"), "beside", playback.layout == "beside"),
            Chip(tr("ghost"), "ghost", playback.layout == "ghost"),
            Chip(aligned, "align", False),
        ]
    return chips
