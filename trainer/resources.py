"""Where the files that travel with the package are, in a source tree and in an installed wheel alike."""

from __future__ import annotations

from importlib import resources
from pathlib import Path


def data_path(kind: str, name: str = "") -> Path:
    """Path of packaged file ``name`` of a ``kind`` ("config", "sounds", "demo", "pose"); without a name, of the folder.

    A wheel carries all as trainer/_data/KIND; in a source tree (and so an editable install) config and sounds lie beside the
    package, and what is no one's to edit, demo and pose models, in it.
    Raises FileNotFoundError where neither is there: the installation is broken, no user's mistake.
    """
    package = Path(str(resources.files("trainer")))
    for folder in (package / "_data" / kind, package.parent / kind):
        path = folder / name if name else folder
        if path.exists():
            return path
    raise FileNotFoundError(f"packaged file {kind}/{name} is missing; install putting-trainer again")
