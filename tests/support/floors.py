"""The floors of the package, once: ``test_floors`` holds imports to them, and DEVELOPERS.md prints them."""

from __future__ import annotations

from dataclasses import dataclass

# Below floor 0: everything may import these, and they import nothing of the package.
GROUND = (
    "errors",
    "resources",
    "worker",
    "native_output",
    "log_file",
    "files",
    "output",
    "mp4",
    "processors",
    "texts",
    "languages",
    "__init__",
)


@dataclass(frozen=True)
class Floor:
    """One folder of the package. may_import: folders beside its own and the ground."""

    number: int | None
    folder: str
    what: str
    may_import: tuple[str, ...]


_TO_REPORT = ("domain", "settings", "vision", "stroke", "coaching")
_TO_REPLAY = (*_TO_REPORT, "report", "store", "feedback")
_TO_LIVE = (*_TO_REPLAY, "replay", "posture", "camera_setup")

FLOORS = (
    Floor(9, "commands", "the terminal's way in: parse, call app, print", ("app", "ui", "settings", "domain")),
    Floor(
        8,
        "ui",
        "all that is drawn with pygame, a folder a window; export writes clips and sheets",
        tuple(f for f in (*_TO_LIVE, "live", "app") if f != "store"),
    ),
    Floor(
        7,
        "app",
        "use cases: a request in, values or events out; no parsing, printing, pygame",
        (*_TO_LIVE, "live", "hearing"),
    ),
    Floor(6, "live", "threads only: the loop, prefetch, second camera, queues", (*_TO_LIVE, "hearing")),
    Floor(6, "replay", "a stroke again: frames, alignment, differences", _TO_REPLAY),
    Floor(6, "posture", "one picture to numbers and guidance", _TO_REPLAY),
    Floor(6, "camera_setup", "findings about camera and player, for check and setup alike", (*_TO_REPLAY, "posture")),
    Floor(5, "report", "pages to read and print", _TO_REPORT),
    Floor(5, "store", "the record, students, cameras, transfer files", _TO_REPORT),
    Floor(5, "feedback", "cues, schedule, tones, signs", _TO_REPORT),
    Floor(4, "coaching", "faults, limits, drills, progress, distance: pure", ("domain", "settings", "stroke")),
    Floor(3, "stroke", "observations in, records out: pure", ("domain", "settings")),
    Floor(2, "vision", "frames in, observations out", ("domain", "settings")),
    Floor(2, "hearing", "sound in, onsets of clicks out; no sound is kept", ("domain",)),
    Floor(1, "settings", "TOML to checked values", ("domain",)),
    Floor(0, "domain", "the types that every floor speaks", ()),
    Floor(
        None,
        "testing",
        "fakes of camera, loudspeaker, screen, clock; the signal simulator",
        (*_TO_LIVE, "live", "app", "ui", "hearing"),
    ),
)
PURE = ("domain", "settings", "stroke", "coaching")


def table() -> str:
    """The floors as a Markdown table, for DEVELOPERS.md."""
    rows = ["| floor | folder | what lives there |", "|---|---|---|"]
    rows += [f"| {'-' if f.number is None else f.number} | `trainer/{f.folder}` | {f.what} |" for f in FLOORS]
    return "\n".join(rows)
