"""A student who was two becomes one, with all that is on record, and answers to both ids."""

from __future__ import annotations

from datetime import datetime, timezone
from pathlib import Path

import pytest

from tests.support.made_strokes import keep_sessions
from trainer.app.context import RunContext, load_context
from trainer.app.join import join_students
from trainer.app.limits import limits_history
from trainer.app.student_export import ExportRequest, export_student
from trainer.app.student_file import Decision, student_key
from trainer.app.students import SetRequest, add_student, erase_student, set_student, student_to_erase
from trainer.app.transfer import Imported, ImportRequest, import_student
from trainer.commands.cli import run
from trainer.domain.outcome import PuttOutcome
from trainer.errors import UsageError
from trainer.store.history import practised
from trainer.store.homework import homework_of
from trainer.store.outcomes import note_outcome, outcomes_of
from trainer.store.students import Students
from trainer.store.video import folder_of

AT = datetime(2026, 3, 1, 10, tzinfo=timezone.utc)


def uids(context: RunContext, name: str) -> set[str]:
    with context.open_store() as store:
        return {facts.uid for facts, _ in practised(store, student_key(Students(context.base).find(name)), ())}


def practise(context: RunContext, name: str, strokes: int, seed: int) -> None:
    student = Students(context.base).find(name)
    with context.open_store() as store:
        keep_sessions(store, student.settings, student.card.id, 1, strokes, seed)


def on(context: RunContext, *arguments: str) -> int:
    return run(["--data-folder", str(context.base), *arguments])


class Sides:
    """Anna at her coach's, and Anna at home, added there by herself."""

    def __init__(self, folder: Path) -> None:
        self.coach, self.home = load_context(folder / "coach"), load_context(folder / "home")
        self._folder, self._files = folder, 0
        for side, strokes, seed in ((self.coach, 3, 1), (self.home, 4, 2)):
            add_student(side, "Anna", {})
            practise(side, "Anna", strokes, seed)

    def file(self, side: RunContext) -> Path:
        self._files += 1
        return export_student(side, ExportRequest("Anna", self._folder / f"{self._files}.zip")).path

    def carry(self, side: RunContext, other: RunContext) -> Imported:
        return import_student(other, ImportRequest(self.file(side)))


@pytest.fixture
def sides(tmp_path: Path) -> Sides:
    return Sides(tmp_path)


def test_files_of_either_computer_are_hers_from_then_on(sides: Sides) -> None:
    from_coach, from_home = sides.file(sides.coach), sides.file(sides.home)
    with pytest.raises(UsageError, match="already another student Anna"):
        import_student(sides.home, ImportRequest(from_coach))
    import_student(sides.home, ImportRequest(from_coach, name="Anna at the coach's"))
    lines = join_students(sides.home, "Anna at the coach's", "Anna")
    assert lines == ["Anna at the coach's is Anna now: 3 strokes in 1 sessions came along"]
    assert [one.name for one in Students(sides.home.base).all()[0]] == ["Anna"]
    assert len(uids(sides.home, "Anna")) == 7
    for file in (from_coach, from_home):
        again = import_student(sides.home, ImportRequest(file))
        assert (again.name, again.merged.new_strokes, again.merged.new_sessions) == ("Anna", 0, 0)
    # The coach's computer knows her by the file from home, and later by one from before as well.
    assert sides.carry(sides.home, sides.coach).merged.new_strokes == 4
    assert import_student(sides.coach, ImportRequest(from_home)).merged.known_strokes == 4
    practise(sides.coach, "Anna", 2, 3)
    assert sides.carry(sides.coach, sides.home).merged.new_strokes == 2
    assert uids(sides.home, "Anna") == uids(sides.coach, "Anna")
    assert len(uids(sides.home, "Anna")) == 9
    for side in (sides.coach, sides.home):
        assert [one.name for one in Students(side.base).all()[0]] == ["Anna"]


def test_a_third_computer_has_one_student_of_both_files(sides: Sides, tmp_path: Path) -> None:
    from_home = sides.file(sides.home)
    import_student(sides.coach, ImportRequest(from_home, name="Anna at home"))
    join_students(sides.coach, "Anna at home", "Anna")
    club = load_context(tmp_path / "club")
    sides.carry(sides.coach, club)
    assert import_student(club, ImportRequest(from_home)).merged.known_strokes == 4
    assert [one.name for one in Students(club.base).all()[0]] == ["Anna"]


def test_where_both_are_still_two_it_is_said(sides: Sides, tmp_path: Path) -> None:
    club = load_context(tmp_path / "club")
    from_home, from_coach = sides.file(sides.home), sides.file(sides.coach)
    import_student(club, ImportRequest(from_home))
    import_student(club, ImportRequest(from_coach, name="Anna Two"))
    import_student(sides.coach, ImportRequest(from_home, name="Anna at home"))
    join_students(sides.coach, "Anna at home", "Anna")
    file = sides.file(sides.coach)
    with pytest.raises(UsageError, match="are one student there"):
        import_student(club, ImportRequest(file))
    join_students(club, "Anna Two", "Anna")
    assert import_student(club, ImportRequest(file)).merged.new_strokes == 0


def test_all_that_is_hers_comes_along(sides: Sides) -> None:
    coach = sides.coach
    add_student(coach, "Anna at home", {"player.height_cm": 170})
    practise(coach, "Anna at home", 4, 5)
    for who, limit, value in (("Anna at home", "sway.limit_cm", 4), ("Anna", "hand_stall.limit_deg", 10)):
        set_student(coach, SetRequest(who, {f"limits.{limit}": value}, Decision(who)))
    assert on(coach, "homework", "set", "hold-then-look", "--strokes", "20", "--student", "Anna at home") == 0
    assert on(coach, "distance", "unit", "ft", "--student", "Anna at home") == 0
    assert on(coach, "distance", "green", "9", "--student", "Anna at home") == 0
    key, home = (student_key(Students(coach.base).find(name)) for name in ("Anna", "Anna at home"))
    uid = sorted(uids(coach, "Anna at home"))[0]
    with coach.open_store() as store:
        note_outcome(store, uid, PuttOutcome("holed", 2.0), AT)
    folder = folder_of(coach.base, home.student)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{uid}.mp4").write_bytes(b"x")
    lines = join_students(coach, "anna at home", "Anna")
    assert "limit taken over: head going along 3 to 4 cm, set by Anna at home" in lines
    anna = Students(coach.base).find("Anna")
    assert (anna.settings.limits.sway.value, anna.settings.limits.hand_stall.value) == (4, 10)
    assert anna.card.id == key.student
    history = [(str(one.who), str(one.what)) for one in limits_history(coach, "Anna")[1]]
    assert history == [("Anna at home", "head going along 3 to 4 cm"), ("Anna", "stopped hands 12 to 10 deg")]
    with coach.open_store() as store:
        assert set(outcomes_of(store, key)) == {uid}
        assert [one.strokes for one in homework_of(store, key.student)] == [20]
        with store.reading() as db:
            assert db.execute("SELECT player, unit FROM distance_players").fetchall() == [("Anna", "ft")]
            assert db.execute("SELECT player FROM distance_greens").fetchall() == [("Anna",)]
    assert (folder_of(coach.base, key.student) / f"{uid}.mp4").is_file()
    assert not folder.exists()
    assert len(uids(coach, "Anna")) == 7
    # Erasing leaves nothing of either.
    erase_student(coach, student_to_erase(coach, "Anna"))
    for path in coach.base.rglob("*"):
        data = path.read_bytes() if path.is_file() else b""
        assert not any(text.encode() in data for text in ("Anna", key.student, home.student)), path


def test_by_command(sides: Sides, capsys: pytest.CaptureFixture[str]) -> None:
    add_student(sides.coach, "Ännchen", {})
    capsys.readouterr()
    for wrong, said in ((("Anna", "anna"), "one student already"), (("Anna", "Bea"), "no student Bea")):
        assert on(sides.coach, "students", "join", *wrong) == 2
        err = capsys.readouterr().err
        assert err.count("\n") == 1
        assert said in err
    before = uids(sides.coach, "Anna")
    assert on(sides.coach, "students", "join", "Ännchen", "Anna") == 2  # nobody is at a terminal to say yes
    assert capsys.readouterr().err == "putting-trainer: joining asks first, and nobody is there to answer; add --yes\n"
    assert (uids(sides.coach, "Anna"), len(Students(sides.coach.base).all()[0])) == (before, 2)
    assert on(sides.coach, "students", "join", "Ännchen", "Anna", "--yes") == 0
    assert "Ännchen is Anna now" in capsys.readouterr().out
    assert on(sides.coach, "students", "show", "Ännchen") == 2
