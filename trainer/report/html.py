"""Pages from the templates beside this module: nothing is fetched, everything that comes from people is escaped."""

from __future__ import annotations

from pathlib import Path
from typing import Any


def rendered(template: str, **values: Any) -> str:
    """The page's HTML."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    world = Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return world.get_template(template).render(**values)
