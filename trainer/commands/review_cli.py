"""The options of `review`. The work is in modules imported when the command is called."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

_PATH = click.Path(path_type=Path)


@click.command()
@click.argument("clips", nargs=-1, type=_PATH, metavar="[CLIP...]")
@click.option("--student", metavar="NAME", help="Whose strokes; else the last session's.")
@click.option("--stroke", metavar="K", help="Its number in the last session, or SESSION/NUMBER counted back from 1.")
@click.option("--against", metavar="J", help="The stroke beside it: a number like --stroke, `best`, or `pair`.")
@click.option(
    "--align", default="impact", show_default=True, metavar="ON", help="Side by side at this event, or `phase`."
)
@click.option("--ghost", is_flag=True, help="The other stroke laid over this one.")
@click.option("--lines", metavar="A,B|all|none", help="Of arm, leg, outline, paths, head, spine.")
@click.option("--whole-picture", is_flag=True, help="Not close up on the player.")
@click.option("--theme", type=click.Choice(["dark", "light"]), help="Light on dark, or the reverse.")
@click.option("--handedness", type=click.Choice(["right", "left"]), help="Of the player in a clip.")
@click.option(
    "--other-handedness", type=click.Choice(["right", "left"]), help="Of the player in the second clip, if another's."
)
@click.option("--view", type=click.Choice(["face-on", "down-the-line"]), help="Of a clip.")
@click.option("--at", metavar="WHEN", help="Begin at this event (or seconds); --numbers reads there, else at impact.")
@click.option("--still", metavar="WHEN", help="Keep a picture at an event (or at seconds), without the window.")
@click.option("--out", type=_PATH, metavar="X.png", help="Where the still goes.")
@click.option("--clip-out", type=_PATH, metavar="X.mp4", help="Keep a clip with the lines, without the window.")
@click.option("--from", "begin", metavar="WHEN", help="Where that clip begins.")
@click.option("--to", "end", metavar="WHEN", help="Where it ends.")
@click.option("--speed", type=click.FloatRange(0.05, 2.0), default=1.0, show_default=True, help="0.25: a quarter.")
@click.option("--sheet", type=_PATH, metavar="X.pdf", help="Keep a page to compare (PDF or PNG), without the window.")
@click.option("--numbers", is_flag=True, help="Print the numbers, without the window.")
@click.pass_obj
def review(folder: Path | None, /, **options: Any) -> int:
    """See strokes again: slow, with lines, two side by side.

    Without a clip it is the last session on record; with two clips, a stroke of each.
    """
    from trainer.commands.review import Options, run_review

    return run_review(folder, Options(**options))
