"""A height as people write it."""

from __future__ import annotations

import re

from trainer.domain.printable import printable
from trainer.errors import UsageError
from trainer.texts import tr

INCH_CM = 2.54
_FEET = re.compile(
    r"""^\s*(\d)\s*(?:ft|feet|foot|')\s*(?:(\d{1,2}(?:[.,]\d+)?)\s*(?:in|inches|inch|"|'')?)?\s*$""", re.I
)
_CM = re.compile(r"^\s*(\d+(?:[.,]\d+)?)\s*(cm|m)?\s*$", re.I)


def height_cm(text: str) -> float | None:
    """ "172", "172 cm", "1.72 m" or "5 ft 8 in"; None: nothing was written. Raises UsageError. The range is the settings'."""
    if not text.strip():
        return None
    if found := _FEET.match(text):
        return round(INCH_CM * (12 * int(found[1]) + _number(found[2] or "0")), 1)
    if found := _CM.match(text):
        value = _number(found[1])
        return round(100 * value, 1) if (found[2] or "").lower() == "m" else value
    raise UsageError(
        tr("{strip} is no height", strip=printable(text.strip())), "", tr("write 172 for cm, or 5 ft 8 in")
    )


def _number(text: str) -> float:
    return float(text.replace(",", "."))
