"""Progress and report: what is said of invented students, and that it is quick and fit to be read."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import time
import uuid
from dataclasses import asdict, replace
from datetime import date, datetime, timedelta, timezone
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.support.made_strokes import keep_sessions, record
from trainer.coaching.baseline import BOUNDS, proposals
from trainer.coaching.faults import judge
from trainer.coaching.progress.facts import StrokeFacts
from trainer.coaching.progress.retention import next_due, reminders
from trainer.coaching.progress.summary import progress_of
from trainer.coaching.progress.words import sentences
from trainer.commands.cli import run
from trainer.domain.verdict import FAULT_NAMES
from trainer.settings.limits import Limits
from trainer.settings.load import load
from trainer.store.history import judged_anew
from trainer.store.signals import pack, pack_turns
from trainer.store.store import Store
from trainer.store.students import Students

DAY = datetime(2026, 3, 1, 12, tzinfo=timezone.utc)


def facts(
    i: int, look: float, told: bool = True, day: int = 0, faults: tuple[str, ...] = (), kind: str = "ball"
) -> StrokeFacts:
    measures = {"hold_s": look} if look >= 0 else {"early_by_s": -look}
    at = DAY + timedelta(days=day, seconds=i)
    return StrokeFacts(i, f"{i:032x}", f"s{day}", at, kind, told, None, None, {**measures, "back_cm": 20.0}, faults)


def folder_with(folder: Path, name: str = "Robin", sessions: int = 12, strokes: int = 24) -> Path:
    assert run(["--data-folder", str(folder), "students", "add", "--", name]) == 0
    student = Students(folder).find(name)
    with Store(folder, "t") as store:
        keep_sessions(store, student.settings, student.card.id, sessions, strokes)
    return folder


def test_a_student_who_learns() -> None:
    strokes = [facts(i, 0.0 + 0.02 * (i % 3), day=0, faults=("short_hold",)) for i in range(25)]
    strokes += [facts(100 + i, 1.5 + 0.05 * (i % 3), told=i % 2 == 0, day=3) for i in range(60)]
    found = progress_of(strokes, date(2026, 3, 5), FAULT_NAMES)
    assert found.without_fault is not None
    assert (found.without_fault.good, found.without_fault.total) == (60, 85)
    assert [s.share.good for s in found.sessions if s.share] == [0, 60]
    assert found.change is not None
    latest = found.change.latest
    assert latest is not None
    assert latest[0]
    assert latest[1] == date(2026, 3, 4)
    assert found.job.drill == "ladder"
    assert found.feedback.with_feedback is not None
    assert found.feedback.without_feedback is not None
    assert (found.feedback.with_feedback.good, found.feedback.without_feedback.total) == (30, 30)


@pytest.mark.parametrize(
    ("fault", "drill"),
    [
        ("early_look", "hold-then-look"),
        ("hand_stall", "hands-carry-on"),
        ("sway", "still-head"),
        ("lift", "posture-hold"),
    ],
)
def test_the_job_is_the_commonest_fault(fault: str, drill: str) -> None:
    strokes = [facts(i, 1.0, faults=(fault,) if i % 3 == 0 else ()) for i in range(40)]
    job = progress_of(strokes, date(2026, 3, 5), FAULT_NAMES).job
    assert job.drill == drill
    assert "14 of the last 40" in job.why


def test_feedback_that_is_needed_is_named() -> None:
    strokes = [
        facts(i, 1.0, told=i < 200, faults=("early_look",) if i >= 200 and i % 3 == 0 else ()) for i in range(240)
    ]
    strokes += [facts(300 + i, 1.0) for i in range(50)]
    assert progress_of(strokes, date(2026, 3, 5), FAULT_NAMES).job.drill == "silent-test"


def test_few_strokes_say_little() -> None:
    found = progress_of([facts(i, 1.0) for i in range(4)], date(2026, 3, 5), FAULT_NAMES)
    assert found.job.drill is None
    assert found.change is None
    assert found.curve is None
    assert "20" in found.change_reason
    only = progress_of([facts(1, 1.0, kind="rehearsal")], date(2026, 3, 5), FAULT_NAMES)
    assert only.without_fault is None
    assert sentences(only, date(2026, 3, 5))


def test_reminders_after_one_seven_and_fourteen_days() -> None:
    strokes = [facts(i, 1.0) for i in range(10)]
    assert [r.due for r in reminders(strokes)] == [date(2026, 3, 2), date(2026, 3, 8), date(2026, 3, 15)]
    assert next_due(strokes, date(2026, 3, 1)) is None
    due = next_due(strokes, date(2026, 3, 9))
    assert due is not None
    assert due.after_days == 7
    tested = strokes + [facts(50 + i, 1.0, told=False, day=8) for i in range(5)]
    assert next_due(tested, date(2026, 3, 9)) is None
    assert [r.done for r in reminders(tested)] == [False, True, False]
    assert reminders([facts(i, 1.0, told=False) for i in range(10)]) == ()


def test_a_baseline_fits_the_student_but_blesses_no_fault() -> None:
    strokes = [record(hinge_deg=3 + 0.3 * (i % 4), sway_cm=0.5 + 0.05 * i, kind="rehearsal") for i in range(8)]
    quiet = proposals([stroke.measures for stroke in strokes], Limits())
    by = {p.fault: p for p in quiet}
    assert by["hand_stall"].value == BOUNDS["hand_stall"].tightest
    assert by["hand_stall"].why == "a faultless long stroke may measure as much"
    assert by["short_hold"].value == 1.0
    for p in quiet:
        assert p.now.low <= p.value <= p.now.high
    loud = proposals([record(hinge_deg=30 + i, kind="rehearsal").measures for i in range(8)], Limits())
    assert {p.fault: p.value for p in loud}["hand_stall"] == BOUNDS["hand_stall"].loosest
    few = proposals([record().measures] * 3, Limits())
    assert not any(p.changes for p in few)


def test_baseline_command_sets_limits_and_notes_why(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = folder_with(tmp_path / "d", sessions=3)
    base = ["--data-folder", str(folder), "baseline", "--student", "Robin", "--last"]
    assert run(base) == 0
    assert Students(folder).find("Robin").settings.limits == Limits()
    assert run([*base, "--accept", "--by", "coach"]) == 0
    student = Students(folder).find("Robin")
    assert student.settings.limits.early_look.value == BOUNDS["early_look"].tightest
    assert student.card.limits_by == "coach"
    assert "rehearsal strokes" in student.card.limits_why
    assert (
        run(["--data-folder", str(folder), "baseline", "--student", "Robin", "--clip", "none.mp4", "--no-window"]) == 2
    )


def test_verdicts_are_by_todays_limits_unless_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = folder_with(tmp_path / "d", sessions=2)
    data = ["--data-folder", str(folder)]
    assert run([*data, "students", "set", "Robin", "limits.short_hold.on=false", "limits.early_look.on=false"]) == 0
    capsys.readouterr()
    assert run([*data, "progress", "--student", "Robin"]) == 0
    now = capsys.readouterr().out
    assert run([*data, "progress", "--student", "Robin", "--as-judged"]) == 0
    then = capsys.readouterr().out
    assert "100%" in now
    assert "100%" not in then


def test_nothing_on_record_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--data-folder", str(tmp_path), "students", "add", "Robin"]) == 0
    for name in ("progress", "report"):
        assert run(["--data-folder", str(tmp_path), name, "--student", "Robin"]) == 2
        assert "no strokes of Robin yet" in capsys.readouterr().err


class Reader(HTMLParser):
    """Collects what matters to somebody who does not see the page, and what a page must not do."""

    def __init__(self) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.outside: list[str] = []
        self.svgs = self.titles = self.unnamed = 0
        self.headings: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.ids += [found["id"] or ""] if "id" in found else []
        if tag == "svg":
            self.svgs += 1
            self.unnamed += found.get("role") != "img" or not found.get("aria-labelledby")
        if tag in ("script", "iframe", "link", "img", "object"):
            self.outside.append(tag)
        self.outside += [v for k, v in found.items() if k in ("src", "href", "action") and v and not v.startswith("#")]
        if tag in ("h1", "h2", "h3"):
            self.headings.append(tag)

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of a student with a nasty name."""
    folder = folder_with(tmp_path_factory.mktemp("r") / "d", "<script>alert('x')</script> & Co")
    out = folder.parent / "page.html"
    name = "<script>alert('x')</script> & Co"
    assert run(["--data-folder", str(folder), "report", "--student", name, "--out", str(out)]) == 0
    return out


def test_the_page_stands_alone_and_can_be_read_aloud(report: Path) -> None:
    text = report.read_text(encoding="utf-8")
    reader = Reader()
    reader.feed(text)
    assert reader.outside == []
    assert reader.unnamed == 0
    assert reader.svgs >= 8
    assert len(reader.ids) == len(set(reader.ids))
    assert set(re.findall(r"url\(#([^)]+)\)", text)) <= set(reader.ids)
    assert reader.headings[0] == "h1"
    assert set(reader.headings[1:]) == {"h2"}
    assert "<script>alert" not in text
    assert "<script>alert('x')</script> & Co" in reader.text
    assert "prefers-color-scheme: dark" in text
    assert "@media print" in text
    assert not re.search(r"#0[1-7]0[1-7]0[1-7]", text), "a stand-in colour is left"
    for words in (
        "95 %",
        "Rehearsal against ball",
        "With and without feedback",
        "Silent tests",
        "Best, held",
        "Typical",
    ):
        assert words in reader.text
    assert "http://" not in re.sub(r"http://www\.w3\.org\S+", "", text)


@pytest.mark.slow
def test_the_page_in_a_browser(report: Path, tmp_path: Path) -> None:
    """Headless Chromium lays it out, narrow and wide; nothing sticks out; it prints."""
    browser = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if browser is None:
        pytest.skip("no chromium: apt-get install chromium")
    base = [
        browser,
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--hide-scrollbars",
        f"--user-data-dir={tmp_path / 'u'}",
    ]
    pictures = []
    for scheme in (0, 1):
        out = tmp_path / f"{scheme}.png"
        how = ["--window-size=800,1200", f"--blink-settings=preferredColorScheme={scheme}", f"--screenshot={out}"]
        subprocess.run([*base, *how, report.as_uri()], check=True, capture_output=True, timeout=120)
        pictures.append(out)
    import cv2

    dark, light = (cv2.imread(str(p)) for p in pictures)
    assert dark[5, 5].mean() < 60
    assert light[5, 5].mean() > 200
    assert len({tuple(pixel) for pixel in light[600].tolist()}) > 5, "the page is empty"
    pdf = tmp_path / "page.pdf"
    subprocess.run([*base, f"--print-to-pdf={pdf}", report.as_uri()], check=True, capture_output=True, timeout=120)
    assert pdf.read_bytes().startswith(b"%PDF")
    assert 2 <= len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes())) <= 8


@pytest.mark.timed
@pytest.mark.slow
def test_large_records_stay_quick(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """200 students with 200,000 strokes: opening under 1 s, progress under 2 s; 10,000 strokes judged anew under 5 s.

    Time of this process, so that a busy machine does not decide.
    """
    ids = [uuid.UUID(int=i + 1).hex for i in range(200)]
    folder = tmp_path / "students"
    folder.mkdir()
    for i, student in enumerate(ids):
        (folder / f"s{i}.toml").write_text(f'[player]\nname = "Student {i}"\n[student]\nid = "{student}"\n')
    made = [record(look) for look in (-0.3, 0.3, 0.8, 1.1, 1.5, 2.0)]
    blocks = [(pack(m.signals), pack_turns(m.signals)) for m in made]
    verdicts = [judge(m, Limits()) for m in made]
    with Store(tmp_path, "t") as store, store.writing() as db:
        db.execute("INSERT INTO settings (body) VALUES (?)", (json.dumps(load().values(), sort_keys=True),))
        sessions, strokes, events, measures, faults = [], [], [], [], []
        for n in range(200_000):
            session, student, k = n // 25 + 1, n // 1000, n % 6
            at = (DAY + timedelta(days=session % 40, seconds=n % 25)).isoformat()
            if n % 25 == 0:
                sessions.append((session, at, f"Student {student}", "x", uuid.UUID(int=session).hex, ids[student]))
            block = blocks[k][0] if n >= 190_000 else blocks[k][0][:64]
            strokes.append((n + 1, session, n % 25 + 1, at, block, uuid.UUID(int=n).hex, n % 2, blocks[k][1]))
            events += [(n + 1, j, *event) for j, event in enumerate(asdict(made[k].events).items())]
            measures += [
                (n + 1, j, name, m.value, m.unit, m.confidence, m.reason)
                for j, (name, m) in enumerate(made[k].measures.items())
            ]
            faults += [(n + 1, j, f.name, f.at_s, f.value, f.unit, f.limit) for j, f in enumerate(verdicts[k])]
            if n % 20_000 == 19_999:
                db.executemany(
                    "INSERT INTO sessions (id, started_at, player, source, uid, student) VALUES (?, ?, ?, ?, ?, ?)",
                    sessions,
                )
                db.executemany(
                    "INSERT INTO strokes (id, session_id, number, kept_at, kind, view, software, settings_id, signals,"
                    " uid, told, turns) VALUES (?, ?, ?, ?, 'ball', 'face-on', 't', 1, ?, ?, ?, ?)",
                    strokes,
                )
                db.executemany("INSERT INTO events VALUES (?, ?, ?, ?)", events)
                db.executemany("INSERT INTO measures VALUES (?, ?, ?, ?, ?, ?, ?)", measures)
                db.executemany("INSERT INTO faults VALUES (?, ?, ?, ?, ?, ?, ?)", faults)
                for rows in (sessions, strokes, events, measures, faults):
                    rows.clear()
    begun = time.process_time()
    store = Store(tmp_path, "t")
    opened = time.process_time() - begun
    with store:
        begun = time.process_time()
        assert len(judged_anew(store, Limits(), last=10_000)) == 10_000
        judging = time.process_time() - begun
    begun = time.process_time()
    assert run(["--data-folder", str(tmp_path), "progress", "--student", "Student 77"]) == 0
    progress = time.process_time() - begun
    assert opened < 1.0
    assert judging < 5.0
    assert progress < 2.0


@pytest.mark.parametrize("count", [1, 3])
def test_a_baseline_says_in_how_many_strokes_a_measure_was_seen(count: int) -> None:
    from trainer.coaching.baseline import proposals
    from trainer.domain.record import Measure

    strokes = [{"recoil_cm": Measure(0.5 + 0.1 * k, "cm", 0.9)} for k in range(count)]
    why = {p.fault: p.why for p in proposals(strokes, load().limits)}
    assert why["recoil"] == f"seen in {count} of {count} strokes, 5 are needed"
    assert why["sway"] == f"seen in 0 of {count} strokes, 5 are needed"


def test_a_ball_stroke_whose_length_was_not_seen_counts_for_neither() -> None:
    strokes = [facts(i, 1.0, kind=kind) for i, kind in enumerate(("rehearsal", "ball") * 6)]
    unseen = [replace(s, measures={"hold_s": 1.0}) if s.stroke_id in {1, 5, 7} else s for s in strokes]
    unseen[11] = replace(unseen[11], measures={**unseen[11].measures, "back_cm": 30.0})
    found = progress_of(unseen, date(2026, 3, 5), FAULT_NAMES)
    assert (found.lengths_apart, found.pairs) == (1, 3)


def test_a_rehearsal_before_the_one_that_was_not_seen_stands_for_it() -> None:
    strokes = [facts(i, 1.0, kind=kind) for i, kind in enumerate(("rehearsal", "rehearsal", "ball"))]
    strokes[1] = replace(strokes[1], measures={"hold_s": 1.0})
    found = progress_of(strokes, date(2026, 3, 5), FAULT_NAMES)
    assert (found.lengths_apart, found.pairs) == (0, 1)
