"""The catalogues of texts: taken from the source, merged into each language's .po file, compiled to the .mo the program reads.

python -m tests.support.catalogues        # after a text was added or changed, and after a .po file was edited
"""

from __future__ import annotations

import io
import sys
from datetime import datetime, timezone
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_file
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from tests.support.paths import ROOT
from trainer.languages import DOMAIN, ENGLISH, LANGUAGES, has_words
from trainer.settings.toml_text import parsed

KEYWORDS = {"tr": (1,), "tr_of": ((1, "c"), 2), "tr_count": (1, 2)}
FOLDER = ROOT / "trainer" / "_data" / "languages"
OTHERS = tuple(code for code, language in LANGUAGES.items() if language is not ENGLISH)
WIDTH = 120


def source_catalogue() -> Catalog:
    """Every text that is marked in the source, and the words of the bundled drills."""
    found = Catalog()
    read = [("python", path) for path in sorted((ROOT / "trainer").rglob("*.py"))]
    read += [("jinja2.ext:babel_extract", path) for path in sorted((ROOT / "trainer" / "report").glob("*.html"))]
    for method, path in read:
        for _, message, _, context in extract_from_file(method, path, keywords=KEYWORDS):
            one = message[-1] if context is not None and isinstance(message, tuple) else message
            if context is not None or has_words(strings(one)[0]):
                found.add(one, context=context)
    for path in sorted((ROOT / "config" / "drills").glob("*.toml")):
        head = parsed(path.read_text(encoding="utf-8"))["drill"]
        for key in ("name", "instruction"):
            found.add(head[key])
    return found


def strings(string: object) -> tuple[str, ...]:
    """One, or the singular's and the plural's."""
    return tuple(string) if isinstance(string, (tuple, list)) else (str(string or ""),)


def po_path(code: str) -> Path:
    return FOLDER / code / "LC_MESSAGES" / f"{DOMAIN}.po"


def translated(code: str) -> Catalog:
    """What the .po file of a language has; empty where there is none yet."""
    path = po_path(code)
    return read_po(io.BytesIO(path.read_bytes() if path.exists() else b""), locale=code)


def compiled(catalogue: Catalog) -> bytes:
    """As a .mo file."""
    full = _empty(str(catalogue.locale))
    for message in catalogue:
        if message.id and not message.fuzzy and all(strings(message.string)):
            full.add(message.id, message.string, context=message.context)
    out = io.BytesIO()
    write_mo(out, full)
    return out.getvalue()


def renewed(code: str, source: Catalog) -> Catalog:
    """The language's catalogue with exactly the source's texts; new ones are empty."""
    own = translated(code)
    out = _empty(code)
    for message in source:
        if message.id:
            kept = own.get(message.id, message.context)
            out.add(message.id, kept.string if kept is not None else None, context=message.context)
    return out


def _empty(code: str) -> Catalog:
    """No day in it: what says the same is the same file."""
    long_ago = datetime(2000, 1, 1, tzinfo=timezone.utc)
    out = Catalog(locale=code, project=DOMAIN, version="1", creation_date=long_ago, revision_date=long_ago)
    out.mime_headers = [("Plural-Forms", "nplurals=2; plural=(n != 1);")]  # millions are not counted here
    out.header_comment, out.fuzzy = "# Texts of the putting trainer.", False
    return out


def main() -> int:
    source, left = source_catalogue(), 0
    for code in OTHERS:
        path, catalogue = po_path(code), renewed(code, source)
        empty = [message.id for message in catalogue if message.id and not all(strings(message.string))]
        path.parent.mkdir(parents=True, exist_ok=True)
        out = io.BytesIO()
        write_po(out, catalogue, width=WIDTH, omit_header=False, sort_output=True, no_location=True)
        path.write_bytes(out.getvalue())
        path.with_suffix(".mo").write_bytes(compiled(translated(code)))
        sys.stdout.write(f"{path.relative_to(ROOT)}: {len(catalogue)} texts, {len(empty)} not translated\n")
        left += len(empty)
    return 1 if left else 0


if __name__ == "__main__":
    sys.exit(main())
