"""The clock that a run is given, set back and forward by hours and over changes of summer time, between sessions and in them."""

from __future__ import annotations

import random
from datetime import datetime, timedelta, timezone
from itertools import groupby
from pathlib import Path
from typing import Iterator
from zoneinfo import ZoneInfo

from tests.bench.campaign.checks import record_faults, spoken
from tests.support.made_strokes import record
from trainer.coaching.faults import judge
from trainer.store.store import Store
from trainer.store.stroke_rows import Made
from trainer.store.students import Students

SESSIONS, STROKES = 6, 5
ZONES = ("Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Pacific/Kiritimati")
CHANGES = ((2026, 3, 29, 1), (2026, 10, 25, 1), (2026, 3, 8, 7), (2026, 12, 31, 23))
READERS = (
    ("strokes",),
    ("progress", "--student", "Robin"),
    ("limits", "--student", "Robin", "--no-window"),
    ("homework", "show", "--student", "Robin"),
    ("review", "--student", "Robin", "--numbers"),
    ("students", "show", "Robin"),
)


def _jump(rng: random.Random) -> timedelta:
    """Mostly time going on."""
    return rng.choice([timedelta(seconds=25)] * 6 + [timedelta(hours=1), timedelta(hours=-1), timedelta(days=-1)])


def one_round(seed: int, folder: Path) -> list[str]:
    """Some sessions of one student about a change of the clock; then all that tells of days."""
    rng, data = random.Random(seed), folder / "data"
    spoken("--data-folder", str(data), "students", "add", "Robin")
    spoken("--data-folder", str(data), "homework", "set", "hold-then-look", "--student", "Robin")
    robin = Students(data).find("Robin")
    at = datetime(*rng.choice(CHANGES), 30, tzinfo=timezone.utc).astimezone(ZoneInfo(rng.choice(ZONES)))
    kept = []
    with Store(data, "campaign") as store:
        for _ in range(SESSIONS):
            session = store.begin_session("Robin", "test", at, robin.card.id)
            for _ in range(STROKES):
                made = record(rng.uniform(-0.5, 1.5))
                verdict = judge(made, robin.settings.limits)
                kept.append(store.keep(session, made, verdict, (), robin.settings, at, Made("hold-then-look", "block")))
                at += _jump(rng)
            at += rng.choice([timedelta(days=1), timedelta(hours=1), timedelta(hours=-1), timedelta(days=-3)])
    return [*_faults(data, len(kept)), *record_faults(data, range(1, STROKES + 1))]


def _faults(data: Path, count: int) -> Iterator[str]:
    with Store(data, "campaign") as store:
        found = store.recent(count)
        sessions = [list(of) for _, of in groupby(found, key=lambda stroke: stroke.session_id)]
        made = [[stroke.stroke_id for stroke in of] for of in sessions]
        times = [max(stroke.kept_at for stroke in of) for of in sessions]
        whole = len(sessions) == SESSIONS and len(found) == count
        if not whole or any(ids != sorted(ids, reverse=True) for ids in made) or times != sorted(times, reverse=True):
            yield f"order of strokes: {made}"
    out_to = str(data.parent / "robin.zip")
    others: list[tuple[str, ...]] = [("report", "--student", "Robin", "--out", str(data.parent / "report.html"))]
    others += [("students", "export", "Robin", "--out", out_to), ("students", "import", out_to)]
    for command in (*READERS, *others):
        code, out, err = spoken("--data-folder", str(data), *command)
        if code != 0:
            yield f"{' '.join(command[:2])}: {code} {err.strip()[-300:]}"
        for unit in (" min", " days", " h "):
            for word in out.split(unit)[:-1]:
                last = word.split()[-1:] or [""]
                if last[0].startswith("-") and last[0][1:].replace(".", "").isdigit():
                    yield f"{' '.join(command[:2])}: {last[0]}{unit}"
