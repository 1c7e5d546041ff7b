"""A student's file taken to another computer and back: each limit goes by its own newest change, and that is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.app.context import RunContext, load_context
from trainer.app.limits import limits_history
from trainer.app.student_export import ExportRequest, export_student
from trainer.app.student_file import Decision
from trainer.app.students import SetRequest, add_student, set_student
from trainer.app.transfer import ImportRequest, import_student
from trainer.app.transfer_merge import LimitsSide
from trainer.store.students import Students


class Sides:
    """The coach's computer and the student's, with Rob on both."""

    def __init__(self, folder: Path) -> None:
        self.coach, self.rob = load_context(folder / "coach"), load_context(folder / "home")
        self._folder, self._files = folder, 0
        add_student(self.coach, "Rob", {})
        self.carry(self.coach, self.rob)

    def file(self, side: RunContext) -> Path:
        self._files += 1
        return export_student(side, ExportRequest("Rob", self._folder / f"{self._files}.zip")).path

    def carry(self, side: RunContext, other: RunContext, limits: LimitsSide | None = None) -> tuple[str, ...]:
        """What the import says."""
        return import_student(other, ImportRequest(self.file(side), limits=limits)).notes

    def set(self, side: RunContext, who: str, **values: float | bool) -> None:
        given = {f"limits.{key.replace('__', '.')}": value for key, value in values.items()}
        set_student(side, SetRequest("Rob", given, Decision(who)))


@pytest.fixture
def sides(tmp_path: Path) -> Sides:
    return Sides(tmp_path)


def limits(side: RunContext) -> tuple[float, ...]:
    found = Students(side.base).find("Rob").settings.limits
    return (found.early_look.value, found.hand_stall.value, found.sway.value)


def told(side: RunContext) -> list[tuple[str, str]]:
    return [(str(one.who), str(one.what)) for one in limits_history(side, "Rob")[1]]


def test_a_students_change_undoes_none_of_the_coachs(sides: Sides) -> None:
    sides.set(sides.rob, "Rob", early_look__limit_deg=15)
    sides.set(sides.coach, "coach", hand_stall__limit_deg=10)
    kept = "limits kept as they are here (newer here): stopped hands; --limits theirs takes the others"
    assert sides.carry(sides.rob, sides.coach) == ("limit taken over: early look 12 to 15 deg, set by Rob", kept)
    sides.set(sides.rob, "Rob", sway__limit_cm=4)
    file = sides.file(sides.rob)
    notes = import_student(sides.coach, ImportRequest(file)).notes
    assert notes == ("limit taken over: head going along 3 to 4 cm, set by Rob", kept)
    before = told(sides.coach)
    assert import_student(sides.coach, ImportRequest(file)).notes == (kept,)
    assert told(sides.coach) == before
    assert sides.carry(sides.coach, sides.rob) == ("limit taken over: stopped hands 12 to 10 deg, set by coach",)
    assert sides.carry(sides.rob, sides.coach) == sides.carry(sides.coach, sides.rob) == ()
    assert limits(sides.coach) == limits(sides.rob) == (15, 10, 4)
    history = [
        ("Rob", "early look 12 to 15 deg"),
        ("coach", "stopped hands 12 to 10 deg"),
        ("Rob", "head going along 3 to 4 cm"),
    ]
    assert told(sides.coach) == told(sides.rob) == history


def test_an_old_file_after_a_new_one_takes_nothing_back(sides: Sides) -> None:
    sides.set(sides.rob, "Rob", sway__limit_cm=4)
    old = sides.file(sides.rob)
    sides.set(sides.rob, "Rob", sway__limit_cm=5)
    sides.set(sides.coach, "coach", sway__limit_cm=2)
    for _ in range(2):
        sides.carry(sides.rob, sides.coach)
        import_student(sides.coach, ImportRequest(old))
    sides.carry(sides.coach, sides.rob)
    assert limits(sides.coach) == limits(sides.rob) == (12, 12, 2)


def test_a_side_that_is_chosen_stays_chosen(sides: Sides) -> None:
    sides.set(sides.rob, "Rob", early_look__limit_deg=15)
    sides.set(sides.coach, "coach", early_look__limit_deg=10, sway__limit_cm=2)
    assert sides.carry(sides.rob, sides.coach, "theirs") == (
        "limit taken over: early look 10 to 15 deg, set by Rob",
        "limit taken over: head going along 2 to 3 cm",
    )
    assert limits(sides.coach) == (15, 12, 3)
    assert told(sides.coach)[-1] == ("", "early look 10 to 15 deg, head going along 2 to 3 cm")
    sides.carry(sides.rob, sides.coach)
    sides.carry(sides.coach, sides.rob)
    assert limits(sides.coach) == limits(sides.rob) == (15, 12, 3)
    sides.set(sides.rob, "Rob", sway__limit_cm=6)
    sides.carry(sides.rob, sides.coach, "ours")
    sides.carry(sides.rob, sides.coach)
    assert limits(sides.coach) == (15, 12, 3)


def test_a_limit_edited_by_hand_stays_and_is_nobody_elses(sides: Sides) -> None:
    sides.set(sides.rob, "Rob", sway__limit_cm=4)
    path = Students(sides.rob.base).find_path("Rob")
    path.write_text(path.read_text().replace("limit_cm = 4", "limit_cm = 1.5"))
    sides.set(sides.coach, "coach", sway__limit_cm=5)
    (line,) = sides.carry(sides.coach, sides.rob)
    assert line.startswith("limits kept as they are here (changed here by hand): head going along;")
    sides.set(sides.rob, "Rob", early_look__limit_deg=15)
    assert told(sides.rob)[-2:] == [("", "head going along 5 to 1.5 cm"), ("Rob", "early look 12 to 15 deg")]


def test_a_limit_that_is_switched_is_named_so(sides: Sides) -> None:
    sides.set(sides.coach, "coach", sway__on=False)
    assert sides.carry(sides.coach, sides.rob) == ("limit taken over: head going along off, set by coach",)
