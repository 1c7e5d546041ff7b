"""Which rendered clips methods are made with, and which are only reported on."""

from __future__ import annotations

import sys

from tests.support.paths import ROOT

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

SETS = ("develop", "report")


def clip_set(name: str) -> frozenset[str]:
    """Names of the clips of a set of tests/recipes/sets.toml, without endings."""
    text = (ROOT / "tests" / "recipes" / "sets.toml").read_text(encoding="utf-8")
    return frozenset(clip for part in tomllib.loads(text)[name].values() for clip in part)
