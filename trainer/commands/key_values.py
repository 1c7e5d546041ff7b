"""KEY=VALUE on the command line, for settings of a student."""

from __future__ import annotations

import re
from typing import Any, Sequence

from trainer.domain.printable import printable
from trainer.domain.verdict import fault_named
from trainer.errors import UsageError
from trainer.texts import tr

_WITH_COMMA = re.compile(r"[+-]?\d*,\d+")
FOR_EVERYBODY = ("words.language",)  # read before it is known whose student is meant


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
            fault = fault_named(parts[-1])
            full = limit_key(fault) if fault is not None else _full_key(key)
            near = f"{full}={printable(value) or '10'}" if full else ""
            raise UsageError(
                tr("there is no setting {key}", key=printable(key))
                if mark and near
                else tr("{text} is no KEY=VALUE", text=printable(text)),
                "",
                tr("did you mean {near}?", near=near) if near else tr("for example limits.sway.limit_cm=2.5"),
            )
        if key in FOR_EVERYBODY:
            raise UsageError(tr("{key} is the same for everybody", key=key), "", tr("set it in settings.toml"))
        if parts[0] in Limits.model_fields:
            key = f"limits.{key}"
        if not value:
            out[key] = None
            continue
        if _is_number(key):
            value = as_point(value)
        try:
            out[key] = parsed(f"v = {value}")["v"]
        except ValueError:
            out[key] = value
        if isinstance(out[key], dict):
            raise UsageError(tr("{text}: one value a key", text=printable(text)), "", tr("set each key by itself"))
    return out


def as_point(text: str) -> str:
    """A number that a person wrote, its decimals after a point; anything else as it stands."""
    return text.replace(",", ".") if _WITH_COMMA.fullmatch(text.strip()) else text


def _is_number(key: str) -> bool:
    """Whether a setting is one number."""
    from trainer.settings.limits import Limits
    from trainer.settings.model import KEYS

    if key.startswith("limits.") and key.rpartition(".")[2] != "on":
        return key.split(".")[1] in Limits.model_fields
    return any(one.path == key and one.kind.startswith("a number") for one in KEYS)


def limit_key(fault: str) -> str:
    """How its value is set: hand_stall.limit_deg."""
    from trainer.settings.limits import Limits

    return f"{fault}.{Limits().limit(fault).key}"


def _full_key(name: str) -> str:
    """The setting that ends so, of a player's first: player.handedness; empty: none, or several."""
    from trainer.settings.model import KEYS

    found = sorted((key.path for key in KEYS if key.name == name), key=lambda path: not path.startswith("player."))
    return found[0] if len(found) == 1 or (found and found[0].startswith("player.")) else ""


def limit_hint(key: str) -> str:
    """What limit may have been meant."""
    import difflib

    from trainer.settings.limits import Limits

    fault = fault_named(key.partition(".")[0])
    known = [f"{fault}.{name}" for fault, limit in Limits().model_dump().items() for name in limit]
    near = [limit_key(fault)] if fault is not None else difflib.get_close_matches(key, known, n=1)
    if near:
        return tr("did you mean {near}?", near=near[0])
    return tr("limits are, for example, {known}", known=limit_key("early_look"))
