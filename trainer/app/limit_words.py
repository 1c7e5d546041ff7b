"""Changes of limits in words."""

from __future__ import annotations

from typing import Any, Mapping

from trainer.domain.units import unit_words
from trainer.domain.verdict import FAULT_NAMES, fault_words
from trainer.settings.limits import Limits
from trainer.texts import tr


def in_words(values: Mapping[str, Any], before: Mapping[str, Any]) -> dict[str, str]:
    """Dotted key -> what was set, in the order of the faults. before: what stood before, as far as it is known."""
    out = {}
    for fault in FAULT_NAMES:
        limit = Limits().limit(fault)
        for key in (limit.key, "on"):
            if (dotted := f"{fault}.{key}") in values:
                out[dotted] = _words(dotted, before.get(dotted), values[dotted])
    return out


def _words(dotted: str, was: Any, value: Any) -> str:
    fault, _, key = dotted.partition(".")
    name = fault_words(fault)
    if key == "on":
        return tr("{fault_words} {words}", fault_words=name, words=tr("on") if value else tr("off"))
    old = "?" if was is None else tr("{was:g}", was=was)
    unit = unit_words(Limits().limit(fault).unit)
    return tr("{fault_words} {words} to {get:g} {unit}", fault_words=name, words=old, get=value, unit=unit)
