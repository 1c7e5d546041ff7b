"""What has another name now: commands and options. The old ones go on working for one release, with a line that says the
new one. Here only; drills' old ids are in ``settings/drill_names``.
"""

from __future__ import annotations

from typing import Mapping, Sequence

import click

from trainer.commands.console import warn
from trainer.texts import tr

# Old name -> new one. Not listed in the help.
OLD_NAMES = {"panel": "limits"}

# (command, old option) -> the option that does the same now; None: it is not needed any more and takes no value.
OLD_OPTIONS: Mapping[tuple[str, str], str | None] = {
    ("strokes", "--player"): "--student",
    ("limits", "--last"): "--count",
    ("distance chart", "--html"): "--out",
    ("students export", "--strokes"): None,
}


class CommandsByOldNamesToo(click.Group):
    """The group of all commands."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name, *rest = args
        if name in OLD_NAMES:
            warn(
                tr(
                    "`{name}` is called `{old_names}` now; the old name goes with the next release",
                    name=name,
                    old_names=OLD_NAMES[name],
                )
            )
            name = OLD_NAMES[name]
        return super().resolve_command(ctx, [name, *by_present_options(name, rest)])


def by_present_options(command: str, arguments: Sequence[str]) -> list[str]:
    """The command's arguments with the options' names of today; what follows ``--`` is no option."""
    given = list(arguments)
    end = given.index("--") if "--" in given else len(given)
    paths = {command, f"{command} {given[0]}"} if given else {command}
    out: list[str] = []
    for argument in given[:end]:
        option, equals, value = argument.partition("=")
        known = [path for path in paths if (path, option) in OLD_OPTIONS]
        if not known:
            out.append(argument)
            continue
        new = OLD_OPTIONS[known[0], option]
        if new is None:
            warn(tr("{option} is not needed any more; it goes with the next release", option=option))
        else:
            warn(tr("{option} is called {new} now; the old name goes with the next release", option=option, new=new))
            out.append(f"{new}{equals}{value}")
    return out + given[end:]
