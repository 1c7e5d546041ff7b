"""KEY=VALUE on the command line, for settings of a student."""

from __future__ import annotations

from typing import Any, Sequence

from trainer.domain.printable import printable
from trainer.errors import UsageError
from trainer.texts import tr


def key_values(texts: Sequence[str]) -> dict[str, Any]:
    """Dotted key -> a TOML value, or a text as it stands; empty (None): the key is taken out, so that the default holds.

    A limit may be given with or without its table: limits.sway.limit_cm or sway.limit_cm. Raises UsageError.
    """
    from trainer.settings.limits import Limits
    from trainer.settings.toml_text import parsed

    out: dict[str, Any] = {}
    for text in texts:
        key, mark, value = text.partition("=")
        key, value = key.strip(), value.strip()
        parts = key.split(".")
        if not mark or len(parts) < 2 or not all(p.replace("_", "").isalnum() and p.isascii() for p in parts):
            raise UsageError(
                tr("{text} is no KEY=VALUE", text=printable(text)), "", tr("for example limits.sway.limit_cm=2.5")
            )
        if parts[0] in Limits.model_fields:
            key = f"limits.{key}"
        if not value:
            out[key] = None
            continue
        try:
            out[key] = parsed(f"v = {value}")["v"]
        except ValueError:
            out[key] = value
        if isinstance(out[key], dict):
            raise UsageError(tr("{text}: one value a key", text=printable(text)), "", tr("set each key by itself"))
    return out


def limit_hint(key: str) -> str:
    """What limit may have been meant."""
    import difflib

    from trainer.settings.limits import Limits

    known = [f"{fault}.{name}" for fault, limit in Limits().model_dump().items() for name in limit]
    near = difflib.get_close_matches(key, known, n=1)
    return f"did you mean {near[0]}?" if near else f"limits are, for example, {known[0]}"
