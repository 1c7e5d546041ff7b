"""Use cases at a desk: a request in, values out, nothing printed."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.made_strokes import TAKE, TOP, keep_sessions
from trainer.app.baseline import BaselineRequest, baseline
from trainer.app.context import RunContext, load_context
from trainer.app.distance.desk import choose_unit
from trainer.app.distance.green import GreenRequest, SlopeRequest, set_green, slope_of
from trainer.app.distance.putts import PuttRequest, enter_putt, forget_putt, list_putts
from trainer.app.distance.scale import ChartRequest, LadderRequest, Missing, chart_view, ladder_view, scale_view
from trainer.app.drills import describe, list_drills, own_folder
from trainer.app.limits import LimitsDesk, LimitsRequest, limits_history
from trainer.app.practice.own_drills import fitting
from trainer.app.progress import ProgressRequest, student_progress
from trainer.app.report import ReportRequest, write_report
from trainer.app.student_export import ExportRequest, export_student
from trainer.app.student_file import Decision
from trainer.app.students import SetRequest, add_student, list_students, rename_student, set_student, show_student
from trainer.app.transfer import ImportRequest, import_student
from trainer.errors import UsageError
from trainer.resources import data_path
from trainer.settings.drill_file import load_drill
from trainer.store.students import Students


@pytest.fixture
def coach(tmp_path: Path) -> RunContext:
    """A data folder with Robin and strokes of theirs."""
    context = load_context(tmp_path / "coach")
    student = add_student(context, "Robin", {"player.height_cm": 172}).student
    with context.open_store() as store:
        keep_sessions(store, student.settings, student.card.id, 3, 12)
    return context


@pytest.fixture(autouse=True)
def silent(capsys: pytest.CaptureFixture[str]) -> object:
    yield
    assert capsys.readouterr() == ("", "")


def test_students_from_add_to_rename(coach: RunContext) -> None:
    ((robin, recorded),) = list_students(coach).students
    assert (robin.settings.player.height_cm, recorded.strokes) == (172, 36)
    set_student(coach, SetRequest("Robin", {"limits.sway.limit_cm": 2}, Decision("coach", "steadier")))
    view = show_student(coach, "robin")
    assert view.student.settings.limits.sway.value == 2
    assert view.last_change is not None
    assert (view.last_change.who, view.last_change.why) == ("coach", "steadier")
    with pytest.raises(UsageError, match="nothing to set"):
        set_student(coach, SetRequest("Robin", {}))
    before, after = rename_student(coach, "Robin", "Robin Neu")
    assert (before.name, after.name, after.card.id) == ("Robin", "Robin Neu", before.card.id)


def test_an_export_file_there_and_twice(coach: RunContext, tmp_path: Path) -> None:
    home = load_context(tmp_path / "home")
    done = export_student(coach, ExportRequest("Robin", tmp_path / "robin.zip"))
    assert (done.inside.strokes, done.path.stat().st_size) == (36, done.size_bytes)
    first, second = (import_student(home, ImportRequest(done.path)) for _ in range(2))
    assert (first.merged.new_strokes, second.merged.new_strokes, second.merged.known_strokes) == (36, 0, 36)
    assert first.notes == ("new student Robin",)
    assert second.notes == ()


def test_a_drill_with_a_fault_is_a_line_and_the_others_are_drills(coach: RunContext) -> None:
    bundled = list_drills(coach.base)
    assert bundled.faults == ()
    own_folder(coach.base).mkdir(parents=True)
    (own_folder(coach.base) / "bad.toml").write_text("[drill]\n", encoding="utf-8")
    found = list_drills(coach.base)
    assert found.drills == bundled.drills
    assert len(found.faults) == 1
    assert describe(coach, found.drills[0].drill_id)[0].startswith(found.drills[0].head.name)


def test_limits_tried_saved_and_told_of(coach: RunContext) -> None:
    desk = LimitsDesk(coach, LimitsRequest("Robin", {"limits.sway.limit_cm": 0.5}, None), print)
    table = desk.table()
    assert table.moved
    assert len(table.rows["sway"].called) >= len(table.saved_rows["sway"].called)
    assert desk.save(desk.limits, Decision("coach")) == "saved for Robin by coach: head going along 3 to 0.5 cm"
    assert desk.save(desk.limits, Decision("coach")) == "the limits are as they were; nothing to save"
    name, changes = limits_history(coach, "Robin")
    assert (name, [(c.who, c.what) for c in changes]) == ("Robin", [("coach", "head going along 3 to 0.5 cm")])


def test_baseline_progress_and_page(coach: RunContext, tmp_path: Path) -> None:
    found = baseline(coach, BaselineRequest("Robin"))
    assert found.strokes > 0
    assert not found.accepted
    progress = student_progress(coach, ProgressRequest("Robin"))
    assert len(progress.progress.sessions) == 3
    out = write_report(coach, ReportRequest("Robin", tmp_path / "robin.html"))
    assert all(line.split(":")[0] in out.read_text(encoding="utf-8") for line in progress.sentences[:1])


def test_a_drill_of_rhythm_is_set_by_the_students_own_strokes(coach: RunContext) -> None:
    drill = load_drill("unhurried-backstroke", [data_path("config", "drills")])
    own = fitting(coach, Students(coach.base).find("Robin"))(drill).rhythm
    assert own.backstroke_s == pytest.approx(TOP - TAKE, abs=0.01)
    assert own.ratio == pytest.approx(2.1, abs=0.1)
    assert fitting(coach, None)(drill) is drill


def test_distances_from_the_unit_to_the_ladder(coach: RunContext) -> None:
    with pytest.raises(UsageError, match="no unit is chosen yet"):
        scale_view(coach)
    assert choose_unit(coach, "m", None).unit == "m"
    assert set_green(coach, GreenRequest(10.0)).green_speed_ft == 10.0
    assert slope_of(coach, SlopeRequest(level_deg=1.2)).pct == pytest.approx(2.1, abs=0.05)
    with pytest.raises(UsageError, match="balls both ways"):
        set_green(coach, GreenRequest(one_way=(3.0, 3.05, 3.1)))
    putt = enter_putt(coach, PuttRequest(rolled=4.1, target=4.0, back_cm=24.0))
    assert putt.place == "in"
    assert [one.number for one in list_putts(coach).putts] == [putt.number]
    view = scale_view(coach)
    assert view.putts == 1
    assert isinstance(view.variation, Missing)
    assert chart_view(coach, ChartRequest((2.0, 4.0), (-1.0, 0.0))).level == 1
    ladder = ladder_view(coach, LadderRequest((2.0, 4.0, 6.0), 2, seed=3))
    assert sorted(rung.target_m for rung in ladder.rungs) == [2.0, 2.0, 4.0, 4.0, 6.0, 6.0]
    forget_putt(coach, putt.number)
    assert list_putts(coach).putts == ()
