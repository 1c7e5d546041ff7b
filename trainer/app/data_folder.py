"""Where the user's data are; light, for the command line's log needs it before any command runs."""

from __future__ import annotations

import os
from pathlib import Path

from trainer.store.folder import base_folder


def data_folder(option: Path | None) -> Path:
    """As the command line says, else the environment, else the user's own folder of this system. Makes nothing."""
    return base_folder(option, os.environ)
