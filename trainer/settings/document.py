"""The documented settings file, written from the one list of keys: `python -m trainer.settings.document`."""

from __future__ import annotations

import json
import sys
from typing import Any

from trainer.settings.model import KEYS

_HEAD = """\
# Every setting with its default, unit and allowed range. A settings file needs only the keys that differ.
# Written by `python -m trainer.settings.document`; edit trainer/settings/model.py and limits.py, not this file.
"""


def toml_value(value: Any) -> str:
    """A default as TOML writes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return json.dumps(value, ensure_ascii=False)


def documented() -> str:
    """The whole text. A key without a default stands in a comment."""
    lines, table = [_HEAD], ""
    for key in KEYS:
        if key.table != table:
            table = key.table
            lines += ["", f"[{table}]"] if len(lines) > 1 else [f"[{table}]"]
        note, *more = key.note.split("\n")
        lines += [f"# {note}: {key.kind}", *(f"# {line}" for line in more)]
        lines.append(f"# {key.name} =" if key.default is None else f"{key.name} = {toml_value(key.default)}")
    return "\n".join(lines) + "\n"


def drill_keys() -> str:
    """The keys of a drill file as a Markdown page."""
    from trainer.settings.drill_file import DRILL_KEYS

    lines = [_DRILLS_HEAD]
    for key in DRILL_KEYS:
        default = "required" if key.required else "" if key.default is None else f"`{toml_value(key.default)}`"
        lines.append(f"| `{key.path}` | {key.note.splitlines()[0]} | {key.kind} | {default} |")
    return "\n".join(lines) + "\n"


_DRILLS_HEAD = """\
# Drills

One TOML file each; its name without `.toml` is the drill's id. A file of the same id in `drills/` of the data
folder takes the place of one here. Only `drill.name` and `drill.instruction` must be given. A drill's `limits` hold
while it is practised.

Written by `python -m trainer.settings.document drills`.

| key | what for | what it may be | default |
|---|---|---|---|"""


if __name__ == "__main__":
    print(drill_keys() if sys.argv[1:] == ["drills"] else documented(), end="")
