"""Options that several commands have."""

from __future__ import annotations

import functools
import math
from pathlib import Path
from typing import Any, Callable, Iterable, Mapping

import click

from trainer.commands.key_values import as_point
from trainer.domain.naming import PHONE, StrokeNumber, stroke_number
from trainer.errors import UsageError
from trainer.output import Kind, check_output
from trainer.texts import tr


class Number(click.types.FloatParamType):
    """A number, its decimals after a point or a comma, and never one that is none: nan and inf pass every comparison in the
    wrong way."""

    def convert(self, value: Any, param: click.Parameter | None, context: click.Context | None) -> float:
        number = float(super().convert(_with_point(value), param, context))
        if not math.isfinite(number):
            self.fail(tr("{given} is not a number", given=repr(value)), param, context)
        return number


def _with_point(value: Any) -> Any:
    return as_point(value) if isinstance(value, str) else value


class Within(click.FloatRange):
    """The same, from a range."""

    def convert(self, value: Any, param: click.Parameter | None, context: click.Context | None) -> float:
        return float(super().convert(NUMBER.convert(value, param, context), param, context))


NUMBER = Number()
FILE = click.Path(path_type=Path)
HANDS = click.Choice(["right", "left"])
VIEWS = click.Choice(["face-on", "down-the-line"])
Option = Callable[[Any], Any]


def camera_source(text: str) -> int | str:
    """A number where the text is one."""
    return int(text) if text.isdigit() else text


def CAMERA(command: Callable[..., Any]) -> Callable[..., Any]:
    """--camera, and --phone for a phone in its place; the command is given one ``camera``."""

    @functools.wraps(command)
    def with_phone(*given: Any, phone: bool, camera: int | str | None, **options: Any) -> Any:
        if phone and camera is not None:
            raise UsageError(tr("a camera and a phone at once"), "--camera, --phone", tr("give one of them"))
        return command(*given, camera=PHONE if phone else camera, **options)

    where = "Camera number, device path or stream address."
    phone = click.option("--phone", is_flag=True, help="A phone's camera: shows what to open on it.")
    return click.option("--camera", metavar="C", type=camera_source, help=where)(phone(with_phone))


NO_WINDOW = click.option("--no-window", is_flag=True, help="Sound and text only.")


def student(what: str = "A student's name, or a TOML file.", required: bool = False) -> Option:
    return click.option("--student", metavar="NAME", help=what, required=required)


STUDENT = student("The student's name.", required=True)


RECORDED_FPS = click.option(
    "--recorded-fps",
    metavar="N",
    type=Within(1, 1000),
    help="For slow-motion clips: the frame rate it was recorded at.",
)


def CLIP(command: Callable[..., Any]) -> Callable[..., Any]:
    """--clip, and --recorded-fps with it."""

    @functools.wraps(command)
    def with_rate(*given: Any, clip: Path | None, recorded_fps: float | None, **options: Any) -> Any:
        check_rate(clip, recorded_fps)
        return command(*given, clip=clip, recorded_fps=recorded_fps, **options)

    what = "A clip in place of the camera."
    return click.option("--clip", metavar="FILE", type=FILE, help=what)(RECORDED_FPS(with_rate))


def check_rate(clip: Path | None, recorded_fps: float | None) -> None:
    if recorded_fps is not None and clip is None:
        raise UsageError(tr("frames a second of which clip?"), "--recorded-fps", tr("give --clip FILE too"))


Written = tuple[Path | str | None, Kind]


def check_written(written: Mapping[str, Written], read: Iterable[Path | None], data_folder: Path | None) -> None:
    """written: option -> (file, its kind), "-" for none; data_folder: as the command line says. Raises UsageError where that
    is one that is read, that another option writes, or that is something else (``check_output``).
    """
    from trainer.app.data_folder import data_folder as folder_of_data

    taken = [path.resolve() for path in read if path is not None]
    for option, (name, kind) in written.items():
        if name is None or name == "-":
            continue
        if (path := Path(name).resolve()) in taken:
            raise UsageError(
                tr("{option} would be written over it", option=option),
                str(name),
                tr("give another name for what is written"),
            )
        check_output(Path(name), kind, folder_of_data(data_folder))
        taken.append(path)


def handedness(what: str) -> Option:
    return click.option("--handedness", type=HANDS, help=what)


def view(what: str) -> Option:
    return click.option("--view", type=VIEWS, help=what)


def stroke_chosen(text: str, option: str) -> StrokeNumber:
    """ "3", or "2/3": in the session before the last. Raises UsageError."""
    found = stroke_number(text)
    if found is None:
        raise UsageError(
            tr("{text} is not a stroke", text=text),
            option,
            tr("give its number, or SESSION/NUMBER, 1 being the last session"),
        )
    return found
