"""The JSON of export files: strict, and long parts taken in value by value."""

from __future__ import annotations

import codecs
import json
import re
from typing import Any, Iterator, Protocol

from trainer.errors import TransferError
from trainer.texts import tr

TODO = tr("nothing was changed; ask for the file again")
LONGEST_VALUE = 4 << 20  # characters of one that is taken in whole: a stroke, settings
_HALF_LETTER = re.compile(r"\\u[dD][89a-fA-F]")  # JSON can write half of a letter, which no file or record holds
_AFTER = tuple(" \t\n\r,:]}")  # what may follow a value
_SPACE = re.compile(r"[ \t\n\r]*")


def shortened(text: str) -> str:
    """Words from outside, fit for an error's line."""
    return "".join(c if c.isprintable() else "?" for c in " ".join(text.split()))[:100]


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError(tr("a key stands twice"))
    return found


def _no_constant(word: str) -> Any:
    raise ValueError(tr("{word} is no number", word=word))


_DECODER = json.JSONDecoder(object_pairs_hook=_once, parse_constant=_no_constant)


def _whole_letters(text: str, values: Any) -> None:
    """Raises ValueError."""
    if _HALF_LETTER.search(text):
        json.dumps(values, ensure_ascii=False).encode()  # UnicodeEncodeError is a ValueError


def _unsound(error: Exception, part: str, name: str) -> TransferError:
    short = shortened(str(error)) or type(error).__name__
    return TransferError(tr("{part} is not sound JSON ({short})", part=part, short=short), name, TODO)


def strict_json(text: str, part: str, name: str) -> Any:
    """JSON without NaN, a key twice or half letters, not nested too deeply. Raises TransferError."""
    try:
        values = _DECODER.decode(text)
        _whole_letters(text, values)
        return values
    except (ValueError, RecursionError) as error:
        raise _unsound(error, part, name) from None


class Readable(Protocol):
    """Bytes, as many as are asked for while there are any."""

    def read(self, size: int, /) -> bytes: ...


class JsonStream:
    """JSON, as strict, taken in value by value: a long list needs no more memory than its longest entry.

    Asked in the order of the text; every method raises TransferError.
    """

    def __init__(self, file: Readable, part: str, name: str, chunk_bytes: int = 1 << 18) -> None:
        self._file, self._part, self._name, self._chunk_bytes = file, part, name, chunk_bytes
        self._decoder = codecs.getincrementaldecoder("utf-8")()
        self._text, self._at, self._ended = "", 0, False

    def members(self) -> Iterator[str]:
        """The keys of an object; the value of each is to be taken before the next is asked for."""
        seen: set[str] = set()
        for _ in self._within("{", "}"):
            key = self.value()
            if not isinstance(key, str) or key in seen:
                raise self._fault(tr("a key stands twice") if isinstance(key, str) else tr("a key is no text"))
            seen.add(key)
            self._expect(":")
            yield key

    def entries(self) -> Iterator[None]:
        """For each entry of a list, which is to be taken before the next is asked for."""
        return self._within("[", "]")

    def value(self) -> Any:
        """The whole value that comes next."""
        self._next()
        size = self._chunk_bytes
        while True:
            fault: Exception = ValueError(tr("it ends too early"))
            try:
                found, end = _DECODER.raw_decode(self._text, self._at)
                if self._text[end : end + 1] in _AFTER or self._ended:  # a number may go on in what is not yet read
                    _whole_letters(self._text[self._at : end], found)
                    self._at = end
                    return found
            except RecursionError as error:
                raise _unsound(error, self._part, self._name) from None
            except ValueError as error:
                fault = error
            if self._ended or len(self._text) - self._at > LONGEST_VALUE:
                raise _unsound(fault, self._part, self._name) from None
            self._fill(size)
            size *= 2  # what is long is tried a few times only

    def end(self) -> None:
        """Nothing more comes."""
        if self._next():
            raise self._fault(tr("something follows its end"))

    def _within(self, opens: str, closes: str) -> Iterator[None]:
        self._expect(opens)
        if self._next() == closes:
            self._at += 1
            return
        while True:
            yield
            found = self._next()
            self._at += 1
            if found == closes:
                return
            if found != ",":
                raise self._fault(tr("{what} is missing", what=","))

    def _expect(self, letter: str) -> None:
        if self._next() != letter:
            raise self._fault(tr("{what} is missing", what=letter))
        self._at += 1

    def _next(self) -> str:
        """The next letter that is no space; empty at the end."""
        while True:
            found = _SPACE.match(self._text, self._at)
            self._at = found.end() if found else self._at
            if self._at < len(self._text) or self._ended:
                return self._text[self._at : self._at + 1]
            self._fill(self._chunk_bytes)

    def _fill(self, size: int) -> None:
        chunk = self._file.read(size)
        self._ended = not chunk
        try:
            more = self._decoder.decode(chunk, self._ended)
        except UnicodeDecodeError:
            raise TransferError(tr("{part} is not a UTF-8 text", part=self._part), self._name, TODO) from None
        self._text, self._at = self._text[self._at :] + more, 0

    def _fault(self, what: str) -> TransferError:
        return _unsound(ValueError(what), self._part, self._name)
