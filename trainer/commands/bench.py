"""`bench`: how much of the pose model's own speed is left when everything else runs too."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from trainer.commands.console import CONSOLE, report
from trainer.commands.options import FILE

if TYPE_CHECKING:
    from trainer.app.bench import BenchRequest


@click.command()
@click.argument("clip", required=False, type=FILE)
@click.option(
    "--rounds", type=click.IntRange(1, 50), default=2, show_default=True, help="How often each is run, in turn."
)
@click.option("--replay", is_flag=True, help="Measure the live loop with and without replay instead.")
@click.pass_obj
def bench(folder: Path | None, /, clip: Path | None, rounds: int, replay: bool) -> int:
    """Speed of `analyse` beside a bare loop that only decodes and runs the pose model."""
    from trainer.app.bench import BenchRequest
    from trainer.app.context import load_context

    request = BenchRequest(load_context(folder).settings, clip, rounds)
    return _replay(request) if replay else _analyse(request)


def _analyse(request: BenchRequest) -> int:
    from trainer.app.bench import WANTED_RATIO, measure_analyse

    found = measure_analyse(request)
    report(f"{request.path.name}: {found.frames} frames, each loop {request.rounds} times in turn")
    report(f"bare loop (decode, pose model): {found.bare_fps:.1f} frames/s")
    report(f"analyse (everything):           {found.analyse_fps:.1f} frames/s")
    report(f"ratio:                          {found.ratio:.2f} (wanted: {WANTED_RATIO} or more)")
    report(f"processor time a frame:         {found.bare_ms:.1f} ms bare, {found.analyse_ms:.1f} ms analyse")
    return 0


def _replay(request: BenchRequest) -> int:
    from trainer.app.bench import MAX_LOSS, measure_replay
    from trainer.ui.drawing.window import WindowConfig, open_display

    window = request.settings.window
    config = WindowConfig(window.width, window.height)
    found = measure_replay(request, lambda: open_display(True, config, lambda line: None), CONSOLE)
    without, with_replay = found.fps
    report(f"{request.path.name}: {found.frames} frames, each loop {request.rounds} times in turn; medians")
    report(f"live loop without replay: {without:.1f} frames/s")
    report(f"live loop with replay:    {with_replay:.1f} frames/s")
    report(f"loss:                     {found.loss:.1%} (wanted: less than {MAX_LOSS:.0%})")
    before, after = found.drawing_ms
    report(
        f"processor time a frame:   {found.whole_ms:.1f} ms in all; drawing {before:.2f} ms without replay, "
        f"{after:.2f} with; compressing {found.compressing_ms:.2f}; added {found.added:+.1%}"
    )
    return 0
