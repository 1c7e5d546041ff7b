"""`distance`: how far back for how far."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Iterable

import click

from trainer.commands.console import report
from trainer.commands.options import NUMBER, stroke_chosen
from trainer.commands.options import student as student_option
from trainer.domain.naming import NAMELESS
from trainer.errors import UsageError
from trainer.texts import printed, tr

if TYPE_CHECKING:
    from trainer.app.context import RunContext

_student = student_option("A student's name, or a TOML file; default: your own distances.")
_SLOPE = click.option(
    "--slope", "slope_pct", type=NUMBER, default=0.0, metavar="PCT", help="Slope of the line, + uphill."
)
_SURE = click.option("--sure", is_flag=True, help="Keep the numbers however odd they look.")
_ROUNDED = click.option(
    "--rounded",
    type=NUMBER,
    default=0.1,
    show_default=True,
    metavar="D",
    help="Distances were measured to the nearest D.",
)


def numbers(text: str, what: str, count: int | None = None) -> tuple[float, ...]:
    """ "1,2.5,3" -> numbers. Raises UsageError."""
    try:
        found = tuple(float(part) for part in text.split(","))
    except ValueError:
        raise UsageError(tr("{text!r} is not a list of numbers", text=text), what, tr("for example 2,4,6.5")) from None
    if count is not None and len(found) != count:
        raise UsageError(
            tr("{text!r} holds {found} numbers", text=text, found=len(found)),
            what,
            tr("{count} are needed, for example 3.1,2.9", count=count),
        )
    return found


def _given(text: str | None, what: str) -> tuple[float, ...] | None:
    return None if text is None else numbers(text, what)


def _report(lines: Iterable[str]) -> None:
    for line in lines:
        report(line)


def _print_chart(cells: tuple[tuple[str, ...], list[tuple[str, ...]]], green_speed_ft: float) -> None:
    from rich.console import Console
    from rich.table import Table

    out = Table(title=printed(tr("green {green_speed_ft:.1f} ft", green_speed_ft=green_speed_ft)))
    for heading in cells[0]:
        out.add_column(printed(heading), justify="right")
    for row in cells[1]:
        out.add_row(*map(printed, row))
    Console(highlight=False).print(out)


def _context(folder: Path | None, student: str | None) -> RunContext:
    from trainer.app.context import load_context

    return load_context(folder, student)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
def distance() -> None:
    """How far back for how far: your own scale of stroke length, the green's speed, slopes."""


@distance.command()
@click.argument("unit", type=click.Choice(["m", "ft"]))
@click.option(
    "--trail-foot",
    "trail_foot_cm",
    type=NUMBER,
    metavar="CM",
    help="From the ball back to the middle of the trail foot.",
)
@_student
@click.pass_obj
def unit(folder: Path | None, unit: str, trail_foot_cm: float | None, student: str | None) -> int:
    """Choose metres or feet, once; where your trail foot stands."""
    from trainer.app.distance.desk import choose_unit

    found = choose_unit(_context(folder, student), unit, trail_foot_cm)
    report(
        tr(
            "{whose}distances in {unit}; trail foot's middle {trail_foot_cm:g} cm behind the ball",
            whose="" if found.name == NAMELESS else tr("{name}: ", name=found.name),
            unit=found.unit,
            trail_foot_cm=found.trail_foot_cm,
        )
    )
    return 0


@distance.command()
@click.argument("green_speed_ft", metavar="[SPEED]", type=NUMBER, required=False)
@click.option("--one-way", metavar="D,D,D", help="From the usual ramp: three balls one way.")
@click.option("--other-way", metavar="D,D,D", help="From the usual ramp: three balls the other way.")
@click.option("--sloped", is_flag=True, help="The line slopes: take the slope out instead of refusing.")
@click.option(
    "--putt", "putts", multiple=True, metavar="SPEED,D", help="Ball speed at launch in m/s, and how far it ran."
)
@click.option("--rolled-ball", is_flag=True, help="The balls came from a ramp, rolling from the start.")
@_ROUNDED
@_SLOPE
@_student
@click.pass_obj
def green(folder: Path | None, /, student: str | None, **options: Any) -> int:
    """Set the green's speed: SPEED in feet, as the course's sign says, readings of the usual ramp, or putts."""
    from trainer.app.distance.green import GreenRequest, set_green
    from trainer.app.distance.words import green_lines

    options["one_way"] = _given(options["one_way"], "--one-way")
    options["other_way"] = _given(options["other_way"], "--other-way")
    options["putts"] = tuple(numbers(text, "--putt", 2) for text in options["putts"])
    _report(green_lines(set_green(_context(folder, student), GreenRequest(**options))))
    return 0


@distance.command()
@click.option(
    "--level",
    "level_deg",
    type=NUMBER,
    metavar="DEG",
    help="The angle that a level (a phone) lying on the green shows.",
)
@click.option("--rolls", metavar="DOWN,UP", help="How far one ball ran down and up at the same speed.")
@click.option("--rolled-ball", is_flag=True, help="The ball came from a ramp, rolling from the start.")
@_student
@click.pass_obj
def slope(folder: Path | None, /, student: str | None, rolls: str | None, **options: Any) -> int:
    """Tell a slope in per cent, from a level or from one ball rolled both ways."""
    from trainer.app.distance.green import SlopeRequest, slope_of
    from trainer.app.distance.words import slope_lines

    both = None if rolls is None else numbers(rolls, "--rolls", 2)
    _report(slope_lines(slope_of(_context(folder, student), SlopeRequest(rolls=both, **options))))
    return 0


@distance.command()
@click.option("--rolled", type=NUMBER, metavar="D", help="How far the ball ran.")
@click.option("--target", type=NUMBER, metavar="D", help="How far it was meant to run.")
@click.option("--back", "back_cm", type=NUMBER, metavar="CM", help="Backstroke length, if no stroke on record has it.")
@click.option("--last", is_flag=True, help="It belongs to the newest ball stroke on record.")
@click.option("--stroke", metavar="K", help="It belongs to this stroke, numbered as `distance putts` lists it.")
@click.option("--by-speed", is_flag=True, help="Mat too short: take how far it would run from the ball speed seen.")
@click.option("--back-time", "back_s", type=NUMBER, metavar="S", help="Time from takeaway to top.")
@click.option("--to-impact", "to_impact_s", type=NUMBER, metavar="S", help="Time from top to impact.")
@click.option("--ball-speed", "ball_speed_m_s", type=NUMBER, metavar="M/S", help="Ball speed at launch.")
@_ROUNDED
@_SLOPE
@_SURE
@_student
@click.pass_obj
def putt(folder: Path | None, /, student: str | None, stroke: str | None, **options: Any) -> int:
    """Enter where a ball stopped."""
    from trainer.app.distance.putts import PuttRequest, enter_putt
    from trainer.app.distance.words import putt_lines

    chosen = stroke_chosen(stroke, "--stroke") if stroke is not None else None
    _report(putt_lines(enter_putt(_context(folder, student), PuttRequest(stroke=chosen, **options))))
    return 0


@distance.command()
@click.option("--drop", type=click.IntRange(1), metavar="N", help="Forget putt N.")
@_student
@click.pass_obj
def putts(folder: Path | None, drop: int | None, student: str | None) -> int:
    """List the putts of your scale, and strokes on record that still lack a roll-out."""
    from trainer.app.distance.putts import forget_putt, list_putts
    from trainer.app.distance.words import putts_lines

    context = _context(folder, student)
    if drop is not None:
        forget_putt(context, drop)
        report(tr("putt {drop} forgotten", drop=drop))
    else:
        _report(putts_lines(list_putts(context)))
    return 0


@distance.command()
@_student
@click.pass_obj
def scale(folder: Path | None, student: str | None) -> int:
    """Show your scale, the distance table, your rhythm and your lag score."""
    from trainer.app.distance.scale import scale_view
    from trainer.app.distance.words import scale_lines

    _report(scale_lines(scale_view(_context(folder, student))))
    return 0


@distance.command()
@click.option("--distances", metavar="D,D,...", help="Distances shown; default: 1 to 15 m or 3 to 50 ft.")
@click.option("--slopes", metavar="PCT,...", default="-2,-1,0,1,2", show_default=True, help="Slopes, + uphill.")
@click.option("--out", type=click.Path(path_type=Path), metavar="OUT.html", help="Write one page to print.")
@_student
@click.pass_obj
def chart(folder: Path | None, distances: str | None, slopes: str, out: Path | None, student: str | None) -> int:
    """Show how far back for how far, on your green, up and down."""
    from trainer.app.distance.scale import ChartRequest, chart_view
    from trainer.app.distance.words import chart_cells, chart_lines

    request = ChartRequest(_given(distances, "--distances"), html=out)
    if slopes:
        request = ChartRequest(request.distances, numbers(slopes, "--slopes"), out)
    found = chart_view(_context(folder, student), request)
    if out is not None:
        report(tr("wrote {path}", path=out))
    else:
        _print_chart(chart_cells(found), found.chart.green.green_speed_ft)
        _report(chart_lines(found))
    return 0


@distance.command()
@click.argument("distances", metavar="D,D,...")
@click.option("--each", type=click.IntRange(1, 100), default=3, show_default=True, help="Putts to each distance.")
@click.option("--order", type=click.Choice(["random", "blocked"]), default="random", show_default=True)
@click.option("--seed", type=int, metavar="N", help="The same number gives the same order.")
@_SLOPE
@_student
@click.pass_obj
def ladder(folder: Path | None, /, distances: str, student: str | None, **options: Any) -> int:
    """List putts to several marks, each with how far back and the window to stop in."""
    from trainer.app.distance.scale import LadderRequest, ladder_view
    from trainer.app.distance.words import ladder_lines

    request = LadderRequest(numbers(distances, "ladder"), **options)
    _report(ladder_lines(ladder_view(_context(folder, student), request), request.order))
    return 0
