"""What the start window remembers: who practised last, and how far the first time came."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from trainer.store.folder import write_atomically
from trainer.store.students import Students

FILE = "start.json"
FIRST_PAGES = 5
DONE = FIRST_PAGES  # of first_page: all were seen or skipped


@dataclass(frozen=True, slots=True)
class StartMemory:
    """student: name, None: nobody; first_page: the next of the first time's pages, from 0; DONE: none is left."""

    student: str | None = None
    first_page: int = 0


def recall_start(base: Path) -> StartMemory:
    """A file that cannot be read is none. Where students are known already, no first time is needed."""
    students = Students(base)
    try:
        kept = json.loads((base / FILE).read_text(encoding="utf-8"))
        name, page = kept.get("student"), kept.get("first_page")
    except (OSError, ValueError, AttributeError):
        name, page = None, None
    names = list(students.names())
    if not isinstance(page, int) or not 0 <= page <= DONE:
        page = DONE if names else 0
    if name not in names:
        name = names[0] if len(names) == 1 else None
    return StartMemory(name, page)


def remember_start(base: Path, memory: StartMemory) -> None:
    """Raises StoreError."""
    text = json.dumps({"student": memory.student, "first_page": memory.first_page}, ensure_ascii=False)
    write_atomically(base / FILE, (text + "\n").encode("utf-8"))
