"""Where the source tree, the tests' own data and the shared rendered clips are."""

from __future__ import annotations

import os
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
DATA = ROOT / "tests" / "data"
CLIPS = DATA / "clips"
STILLS = DATA / "stills"


def shared_folder() -> Path:
    """The folder of rendered clips: PUTTING_SHARED, else ../shared beside the source tree."""
    return Path(os.environ.get("PUTTING_SHARED") or ROOT.parent / "shared")


# Schema -> a data folder whose record a program of that schema made.
RECORDS = {4: DATA / "release_0_1" / "data"} | {int(p.name): p for p in sorted((DATA / "schemas").iterdir())}
