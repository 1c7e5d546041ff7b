"""What click says of a wrong command line, in the reader's language: click's own catalogues are none of ours."""

from __future__ import annotations

import re
from typing import Sequence

from trainer.texts import join, tr

# What click 8 says -> the same as a text of ours; the first that fits the whole line. "why" and "more" are lines of its own too.
_REWORDED = (
    (r"Invalid value for (?P<what>.+?): (?P<why>.+)", tr("Invalid value for {what}: {why}")),
    (r"No such option:? (?P<name>\S+?)(?P<more>[. ].*)?", tr("No such option {name}")),
    (r"No such command (?P<name>'.*?')(?P<more>[. ].*)?", tr("No such command {name}")),
    (r"\(?Did you mean (?P<near>[^:]+?)\?\)?", tr("did you mean {near}?")),
    (r"\(?(?:Possible options|Did you mean one of): (?P<names>.+?)\??\)?", tr("possible: {names}")),
    (r"Missing option (?P<name>'.*?')(?P<more>[. ].*)?", tr("Missing option {name}")),
    (r"Missing argument (?P<name>'.*?')(?P<more>[. ].*)?", tr("Missing argument {name}")),
    (r"Choose from:? (?P<names>.+)", tr("choose from: {names}")),
    (r"Got unexpected extra arguments? \((?P<names>.+)\)", tr("Got unexpected extra arguments ({names})")),
    (r"Option (?P<name>'.*?') requires an argument", tr("Option {name} requires an argument")),
    (r"Option (?P<name>'.*?') requires (?P<number>\d+) arguments", tr("Option {name} requires {number} arguments")),
    (r"Option (?P<name>'.*?') does not take a value", tr("Option {name} does not take a value")),
    (r"(?P<given>.+) is not a valid float(?: range)?", tr("{given} is not a number")),
    (r"(?P<given>.+) is not a valid integer(?: range)?", tr("{given} is not a whole number")),
    (r"(?P<given>.+) is not in the range (?P<range>.+)", tr("{given} is not in the range {range}")),
    (r"(?P<given>.+) is not one of (?P<names>.+)", tr("{given} is not one of {names}")),
    (r"(?P<given>.+) does not match the formats? .+", tr("{given} is no day; write it as 2026-03-31")),
    (r"(?:File|Path|Directory) (?P<given>.+) does not exist", tr("{given} does not exist")),
)


def told(message: str) -> str:
    """One line of click's as a text of ours; what it is not known to say stays as it is."""
    plain = " ".join(message.split()).rstrip(".")
    for pattern, words in _REWORDED:
        if found := re.fullmatch(pattern, plain):
            values = found.groupdict()
            more = (values.pop("more", None) or "").strip(" .")
            if "why" in values:
                values["why"] = told(values["why"])
            said = words.format(**values)
            return join("; ", (said, told(more))) if more else said
    return plain


def give_words(name: str | None, names: Sequence[str]) -> str:
    """Of a group that was called without a command."""
    if names:
        return tr("{name}: give one of: {names}", name=name or "", names=", ".join(names))
    return tr("{name}: give more", name=name or "")
