"""Commands that have other names now: the old ones go on working for one release, with a line that says the new one."""

from __future__ import annotations

import click

from trainer.commands.console import warn

# Old name -> new one. Not listed in the help.
OLD_NAMES = {"panel": "limits"}


class CommandsByOldNamesToo(click.Group):
    """The group of all commands."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name, *rest = args
        if name in OLD_NAMES:
            warn(f"`{name}` is called `{OLD_NAMES[name]}` now; the old name goes with the next release")
            name = OLD_NAMES[name]
        return super().resolve_command(ctx, [name, *rest])
