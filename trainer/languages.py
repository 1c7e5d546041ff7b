"""The languages that texts are told in: catalogues, and how numbers and days are written. The catalogues are read when wanted."""

from __future__ import annotations

import os
import re
import sys
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import TYPE_CHECKING, Mapping

from trainer.resources import data_path

if TYPE_CHECKING:
    from gettext import NullTranslations

DOMAIN = "putting-trainer"
_ENGLISH_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_VALUE, _WORD = re.compile(r"\{(?:[^{}]|\{[^}]*\})*\}"), re.compile(r"[^\W\d_]{2,}")
_SWAPPED = str.maketrans(".,", ",.")


@dataclass(frozen=True)
class Language:
    """code: ISO 639-1; name: what it calls itself; nouns_large: so that no word is made small inside a sentence."""

    code: str
    name: str
    decimal_comma: bool = True
    day_pattern: str = "{0.day:02}.{0.month:02}.{0.year}"
    nouns_large: bool = False

    def pattern(self, one: str, many: str | None = None, count: int | None = None, context: str | None = None) -> str:
        """The catalogue's pattern, or the given one where it has none."""
        found = _catalogue(self.code)
        if context is None and not has_words(one):
            return one
        if many is not None and count is not None:
            return found.ngettext(one, many, count)
        return found.gettext(one) if context is None else found.pgettext(context, one)

    def number(self, written: str) -> str:
        """A number that was written the English way."""
        if not self.decimal_comma:
            return written
        return written.translate(_SWAPPED).replace("%", "\N{NO-BREAK SPACE}%")

    def day(self, day: date) -> str:
        return self.day_pattern.format(day)

    def inside(self, text: str) -> str:
        """What may stand alone, as it goes on inside a sentence."""
        return text if self.nouns_large else text[:1].lower() + text[1:]


class _English(Language):
    """What texts are made in."""

    def pattern(self, one: str, many: str | None = None, count: int | None = None, context: str | None = None) -> str:
        return many if many is not None and count != 1 else one

    def day(self, day: date) -> str:
        return f"{day.day} {_ENGLISH_MONTHS[day.month - 1]} {day.year}"

    def inside(self, text: str) -> str:
        return text.lower()


ENGLISH: Language = _English("en", "English", decimal_comma=False)
LANGUAGES: Mapping[str, Language] = {
    language.code: language
    for language in (
        ENGLISH,
        Language("de", "Deutsch", nouns_large=True),
        Language("es", "Español", day_pattern="{0.day}/{0.month}/{0.year}"),
    )
}
AUTO = "auto"


def has_words(pattern: str) -> bool:
    """There is something to translate in it beside its values and units."""
    return _WORD.search(_VALUE.sub("", pattern)) is not None


@cache
def _catalogue(code: str) -> NullTranslations:
    import gettext

    return gettext.translation(DOMAIN, data_path("languages"), [code])


def language_of(setting: str) -> Language:
    """By the setting ``language``: a code, or "auto" for the system's own where there is a catalogue, else English."""
    return LANGUAGES.get(system_code() if setting == AUTO else setting, ENGLISH)


def system_code() -> str:
    """The code of the system's language for messages; "" where it says none."""
    # As gettext reads them, but for LANGUAGE, which is first where one is set.
    for name in ("LC_ALL", "LC_MESSAGES", "LANG"):
        if said := os.environ.get(name, ""):
            preferred = os.environ.get("LANGUAGE", "") if said not in ("C", "POSIX") else ""
            return (preferred or said).split(":")[0].split(".")[0].split("_")[0].lower()
    if sys.platform == "win32":
        import ctypes
        import locale

        return locale.windows_locale.get(ctypes.windll.kernel32.GetUserDefaultUILanguage(), "").split("_")[0]
    return ""
