"""`distance`: options only. The work is in distance_work.py, imported when a command is called."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Callable

import click

_Command = Callable[..., Any]


def _student(command: _Command) -> _Command:
    text = "Whose distances: students/NAME.toml of the data folder, or a TOML file; else the settings' player."
    return click.option("--student", metavar="NAME", help=text)(command)


_SLOPE = click.option(
    "--slope", "slope_pct", type=float, default=0.0, metavar="PCT", help="Slope of the line, + uphill."
)
_SURE = click.option("--sure", is_flag=True, help="The numbers are so, however odd they look.")


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
def distance() -> None:
    """How far back for how far: your own scale of stroke length, the green's speed, slopes."""


@distance.command()
@click.argument("unit", type=click.Choice(["m", "ft"]))
@click.option(
    "--trail-foot", "trail_foot_cm", type=float, metavar="CM", help="From the ball back to that foot's middle."
)
@_student
@click.pass_obj
def unit(folder: Path | None, /, **options: Any) -> int:
    """Choose metres or feet, once; where your trail foot stands."""
    from trainer.app.distance import run_unit

    return run_unit(folder, **options)


@distance.command()
@click.argument("stimp", type=float, required=False)
@click.option("--one-way", metavar="D,D,D", help="Stimpmeter: three balls one way.")
@click.option("--other-way", metavar="D,D,D", help="And three the other way.")
@click.option("--sloped", is_flag=True, help="That line slopes: take the slope out instead of refusing.")
@click.option(
    "--putt", "putts", multiple=True, metavar="SPEED,D", help="Ball speed at launch in m/s, and how far it ran."
)
@click.option("--rolled-ball", is_flag=True, help="The balls came from a ramp, rolling from the start.")
@click.option(
    "--rounded", type=float, default=0.1, show_default=True, metavar="D", help="To what D was measured or paced."
)
@_SLOPE
@_student
@click.pass_obj
def green(folder: Path | None, /, **options: Any) -> int:
    """Set the green's speed: STIMP in feet as read from a sign, Stimpmeter readings, or putts."""
    from trainer.app.distance import run_green

    return run_green(folder, **options)


@distance.command()
@click.option("--level", "degrees", type=float, metavar="DEG", help="As a level (a phone) lying on the green shows it.")
@click.option("--rolls", metavar="DOWN,UP", help="How far one ball ran both ways at the same speed.")
@click.option("--rolled-ball", is_flag=True, help="The ball came from a ramp, rolling from the start.")
@_student
@click.pass_obj
def slope(folder: Path | None, /, **options: Any) -> int:
    """Tell a slope in per cent, from a level or from one ball rolled both ways."""
    from trainer.app.distance import run_slope

    return run_slope(folder, **options)


@distance.command()
@click.option("--rolled", type=float, metavar="D", help="How far the ball ran.")
@click.option("--target", type=float, metavar="D", help="How far it was meant to run.")
@click.option("--back", "back_cm", type=float, metavar="CM", help="Backstroke length, if no stroke on record has it.")
@click.option("--last", is_flag=True, help="It belongs to the newest ball stroke on record.")
@click.option(
    "--stroke", "stroke_id", type=click.IntRange(1), metavar="ID", help="Or to this one (of `distance putts`)."
)
@click.option("--by-speed", is_flag=True, help="Mat too short: take how far it would run from the ball speed seen.")
@click.option("--back-time", "back_s", type=float, metavar="S", help="Takeaway to top.")
@click.option("--to-impact", "to_impact_s", type=float, metavar="S", help="Top to impact.")
@click.option("--ball-speed", "ball_speed_m_s", type=float, metavar="M/S", help="Ball speed at launch.")
@click.option(
    "--rounded", type=float, default=0.1, show_default=True, metavar="D", help="To what D was measured or paced."
)
@_SLOPE
@_SURE
@_student
@click.pass_obj
def putt(folder: Path | None, /, **options: Any) -> int:
    """Enter where a ball stopped."""
    from trainer.app.distance import run_putt

    return run_putt(folder, **options)


@distance.command()
@click.option("--drop", type=click.IntRange(1), metavar="N", help="Forget putt N.")
@_student
@click.pass_obj
def putts(folder: Path | None, /, **options: Any) -> int:
    """List the putts of your scale, and strokes on record that still lack a roll-out."""
    from trainer.app.distance import run_putts

    return run_putts(folder, **options)


@distance.command()
@_student
@click.pass_obj
def scale(folder: Path | None, /, **options: Any) -> int:
    """Show your scale, the three dials, your rhythm and your lag score."""
    from trainer.commands.distance_show import run_scale

    return run_scale(folder, **options)


@distance.command()
@click.option("--distances", metavar="D,D,...", help="Instead of 1 to 15 m or 3 to 50 ft.")
@click.option("--slopes", metavar="PCT,...", default="-2,-1,0,1,2", show_default=True, help="Slopes, + uphill.")
@click.option("--html", type=click.Path(path_type=Path), metavar="OUT.html", help="Write one page to print.")
@_student
@click.pass_obj
def chart(folder: Path | None, /, **options: Any) -> int:
    """Show how far back for how far, on your green, up and down."""
    from trainer.commands.distance_show import run_chart

    return run_chart(folder, **options)


@distance.command()
@click.argument("distances", metavar="D,D,...")
@click.option("--each", type=click.IntRange(1, 100), default=3, show_default=True, help="Putts to each distance.")
@click.option("--order", type=click.Choice(["random", "blocked"]), default="random", show_default=True)
@click.option("--seed", type=int, metavar="N", help="The same number gives the same order.")
@_SLOPE
@_student
@click.pass_obj
def ladder(folder: Path | None, /, **options: Any) -> int:
    """List putts to several marks, each with how far back and the window to stop in."""
    from trainer.commands.distance_show import run_ladder

    return run_ladder(folder, **options)
