"""The record that tests keep of a schema for ever: made once, by the program of that schema, never changed again.

    python -m tests.recipes.schema_record /tmp/records/NN      # then into tests/data/schemas

A stroke of one who has no file; a student with a rehearsal and a putt, a green, limits, homework, a lesson, an export. The
older ones were made by this recipe in the words of their time, as far as their program had them.
"""

from __future__ import annotations

import shutil
import sqlite3
import sys
from contextlib import closing
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from tests.bench.campaign.checks import spoken
from tests.support.made_strokes import record
from trainer.coaching.faults import judge
from trainer.domain.verdict import Cue
from trainer.store.database import FILE_NAME
from trainer.store.distance import Distances
from trainer.store.schema import SCHEMA_VERSION
from trainer.store.store import Store
from trainer.store.stroke_rows import Made
from trainer.store.students import Students

AT = datetime(2026, 4, 1, 17, 0, tzinfo=timezone.utc)
FPS = 15.0  # small files


def said(folder: Path, *arguments: str) -> None:
    code, _, err = spoken("--data-folder", str(folder), *arguments)
    assert code == 0, err


def make(folder: Path) -> None:
    rng = np.random.default_rng(SCHEMA_VERSION)
    said(folder, "students", "add", "Robin", "player.height_cm=172")
    robin = Students(folder).find("Robin")
    with Store(folder, f"schema {SCHEMA_VERSION}") as store:
        early = record(-0.3, fps=FPS, rng=rng)
        alone = store.begin_session("Kim", "camera 0", AT)
        store.keep(alone, early, judge(early, robin.settings.limits), (Cue("early_look", 2.8),), robin.settings, AT)
        at = AT + timedelta(days=1)
        session = store.begin_session("Robin", "clip putt.mp4", at, robin.card.id)
        rehearsal = record(1.4, "rehearsal", fps=FPS, rng=rng)
        short = record(0.3, "ball", fps=FPS, rng=rng, hinge_deg=22.0)
        made = Made("hold-then-look", "block", good=True)
        for stroke, cues in ((rehearsal, ()), (short, (Cue("short_hold", 3.4),))):
            at += timedelta(seconds=25)
            number = store.keep(session, stroke, judge(stroke, robin.settings.limits), cues, robin.settings, at, made)
        store.note_felt(session, True)
    student = ("--student", "Robin")
    for arguments in (
        ("distance", "unit", "m", "--trail-foot", "27", *student),
        ("distance", "green", "9", *student),
        ("distance", "putt", "--last", "--rolled", "4.1", *student),
        ("students", "set", "Robin", "limits.sway.limit_cm=2.5", "--why", "a calm head"),
        ("students", "export", "Robin", "--out", str(folder / "robin.zip")),
        ("homework", "set", "hold-then-look", "--strokes", "20", *student),
        ("lesson", "begin", *student),
        ("lesson", "words", "hold it", *student),
        ("lesson", "try", "wider stance", *student),
        ("lesson", "end", *student),
        ("outcome", "holed", "--distance", "2", *student),
    ):
        said(folder, *arguments)
    with Store(folder, "recipe") as store:
        assert Distances(store).note_guess(number + 1, "short")
    (folder / "robin.zip").unlink()
    shutil.rmtree(folder / "log", ignore_errors=True)
    with closing(sqlite3.connect(folder / FILE_NAME)) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")


if __name__ == "__main__":
    make(Path(sys.argv[1]))
