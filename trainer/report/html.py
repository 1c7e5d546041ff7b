"""Pages from the templates beside this module: nothing is fetched, everything that comes from people is escaped, and marked
texts are told in the reader's language.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trainer.texts import Text, capital, join, shown, spoken, tr, tr_count, tr_of


def rendered(template: str, **values: Any) -> str:
    """The page's HTML."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    world = Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_told,
    )
    world.globals.update(tr=tr, tr_of=tr_of, tr_count=tr_count, join=join, capital=capital, language=spoken().code)
    return world.get_template(template).render(**values)


def _told(value: Any) -> Any:
    return shown(value) if isinstance(value, Text) else value
