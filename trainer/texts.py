"""Texts that people read: marked with ``tr`` where they are made, put into the reader's language where they are drawn or printed.

A ``Text`` is its finished English and so goes wherever a str goes; beside it travel the pattern (its id in the catalogue)
and the values, from which ``shown`` makes it again in another language. What consists of several texts is put together by
``join``, ``+`` or as a value of another text: an f-string would keep the English alone.
"""

from __future__ import annotations

import string
from contextlib import contextmanager
from datetime import date, datetime
from functools import partial
from typing import Any, Callable, Iterable, Iterator, Mapping, SupportsIndex

from trainer.languages import ENGLISH, Language


class Text(str):
    """A finished English text that can be told in another language. many: the pattern for several, counted by value "count"."""

    id: str
    values: Mapping[str, Any]
    context: str | None
    many: str | None

    def __new__(cls, finished: str) -> Text:
        made = super().__new__(cls, finished)
        made.id, made.values, made.context, made.many = finished, {}, None, None
        return made

    def told(self, language: Language) -> str:
        """In that language; what its catalogue does not have, in English."""
        count = self.values.get("count") if self.many is not None else None
        found = language.pattern(self.id, self.many, count, self.context)
        return _Teller(language).format(found, **self.values) if self.values else found

    def format(self, *args: object, **values: object) -> Text:
        """The pattern filled; it keeps the values."""
        return _made(self.id, {**self.values, **values}, self.context, self.many)

    def lower(self) -> Text:
        """As it goes on inside a sentence."""
        return _changed(self, _inside)

    def strip(self, chars: str | None = None) -> Text:
        """Without blanks about it."""
        return _changed(self, _stripped)

    def replace(self, old: str, new: str, count: SupportsIndex = -1, /) -> str:
        """Wherever it stands in what is told."""
        return _changed(self, partial(_replaced, old, new))

    def partition(self, sep: str, /) -> tuple[str, str, str]:
        """At its first ``sep``, in every language at that language's own."""
        _, found, after = str.partition(self, sep)
        return _changed(self, partial(_before, sep)), found, _changed(self, partial(_after, sep)) if after else ""

    def __add__(self, other: str) -> str:
        return join("", (self, other))

    def __radd__(self, other: str) -> str:
        return join("", (other, self))


class _Joined(Text):
    """Several texts one after the other."""

    separator: str
    parts: tuple[str, ...]

    def told(self, language: Language) -> str:
        return in_language(self.separator, language).join(in_language(part, language) for part in self.parts)


class _Changed(Text):
    """Another text as it begins or ends at its place."""

    whole: str
    how: Callable[[Language, str], str]

    def told(self, language: Language) -> str:
        return self.how(language, in_language(self.whole, language))


class _Teller(string.Formatter):
    """Fills a pattern: texts, numbers and days as the language writes them."""

    def __init__(self, language: Language) -> None:
        self.language = language

    def format_field(self, value: Any, format_spec: str) -> str:
        if isinstance(value, str):
            return format(in_language(value, self.language), format_spec)
        if isinstance(value, date) and not isinstance(value, datetime) and not format_spec:
            return self.language.day(value)
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return self.language.number(format(value, format_spec))
        return str(format(value, format_spec))


def _made(pattern: str, values: Mapping[str, Any], context: str | None = None, many: str | None = None) -> Text:
    used = many if many is not None and values.get("count") != 1 else pattern
    made = Text(used.format(**values) if values else used)
    made.id, made.values, made.context, made.many = pattern, values, context, many
    return made


def tr(pattern: str, /, **values: Any) -> str:
    """Marks a text. pattern: English, with the values in braces as for ``str.format``; without values it may be filled later."""
    return _made(pattern, values)


def tr_of(context: str, pattern: str, /, **values: Any) -> str:
    """Like ``tr``, for English words that other languages tell apart. context: of what this one is."""
    return _made(pattern, values, context)


def tr_count(one: str, many: str, /, count: int, **values: Any) -> str:
    """Marks a text about ``{count}`` things."""
    return _made(one, {"count": count, **values}, None, many)


def join(separator: str, parts: Iterable[str]) -> str:
    """``separator.join(parts)`` that keeps the marks."""
    kept = tuple(parts)
    made = _Joined(str.join(separator, kept))
    made.separator, made.parts = separator, kept
    return made


def alike(text: str) -> tuple[str, object]:
    """The same for texts that differ in numbers alone: what is told, and of whom (value "name")."""
    return (text.id, text.values.get("name")) if isinstance(text, Text) else (text, None)


def capital(text: str) -> str:
    """With a capital at its beginning, in every language."""
    return _changed(text, _capital)


def _changed(whole: str, how: Callable[[Language, str], str]) -> Text:
    made = _Changed(how(ENGLISH, whole[:]))
    made.whole, made.how = whole, how
    return made


def _inside(language: Language, text: str) -> str:
    return language.inside(text)


def _stripped(_: Language, text: str) -> str:
    return text.strip()


def _replaced(old: str, new: str, _: Language, text: str) -> str:
    return text.replace(old, new)


def _before(sep: str, _: Language, text: str) -> str:
    return text.partition(sep)[0]


def _after(sep: str, _: Language, text: str) -> str:
    return text.partition(sep)[2]


def _capital(_: Language, text: str) -> str:
    return text[:1].upper() + text[1:]


def in_language(text: str, language: Language) -> str:
    """A marked text in that language; any other stays as it is."""
    return text.told(language) if isinstance(text, Text) else text


_spoken: list[Language] = [ENGLISH]


def speak(language: Language) -> None:
    """From now on everything that is drawn or printed is in that language."""
    _spoken[0] = language


def spoken() -> Language:
    """The language that the user reads."""
    return _spoken[0]


@contextmanager
def speaking(language: Language) -> Iterator[None]:
    """For as long as it lasts."""
    before = spoken()
    speak(language)
    try:
        yield
    finally:
        speak(before)


def shown(text: str) -> str:
    """As it is drawn."""
    return in_language(text, spoken())


def printed(text: str) -> str:
    """As it is printed: in English to the letter what it is, days as numbers too."""
    return text if spoken() is ENGLISH else shown(text)
