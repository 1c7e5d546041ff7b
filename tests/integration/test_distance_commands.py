"""`distance`: entered, kept, shown; nonsense is one line and leaves nothing behind."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from tests.unit.coaching.test_ball_speed import drawn
from tests.unit.coaching.test_distance_model import Student, practice
from tests.unit.commands.test_cli import fails
from tests.unit.store.test_store import WHEN
from trainer.coaching.distance.skid import run_m
from trainer.commands import cli
from trainer.domain.record import Measure
from trainer.settings.load import load
from trainer.store.distance import DistancePlayer, Distances
from trainer.store.store import Store

PLAYER = "player"  # the settings' own name


def done(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Runs `distance ARGUMENTS`; returns what it printed."""
    code = cli.run(["distance", *arguments])
    caught = capsys.readouterr()
    assert (code, caught.err) == (0, "")
    return caught.out


def putts_on_record(folder: Path) -> int:
    with Store(folder, "1") as store:
        return len(Distances(store).putts(PLAYER))


@pytest.fixture
def ready(capsys: pytest.CaptureFixture[str]) -> None:
    done(capsys, "unit", "m")
    done(capsys, "green", "10")


@pytest.fixture
def practised(ready: None, own_data_folder: Path) -> None:
    """Twenty timed putts of an invented student."""
    rng = np.random.default_rng(1)
    with Store(own_data_folder, "1") as store:
        for putt in practice(Student(2.4, 1.0), rng, 0.07, 0.1, 20):
            times = 0.66 * np.exp(rng.normal(0, 0.02)), 0.32 * np.exp(rng.normal(0, 0.02))
            timed = replace(putt, back_s=times[0], to_impact_s=times[1])
            Distances(store).keep_putt(PLAYER, timed, WHEN, frames_per_s=30.0)


def test_help_of_each(capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("unit", "green", "slope", "putt", "putts", "scale", "chart", "ladder"):
        assert f"distance {name}" in done(capsys, name, "--help")


def test_the_unit_comes_first(capsys: pytest.CaptureFixture[str], own_data_folder: Path) -> None:
    line = fails(capsys, "distance", "putt", "--back", "24", "--rolled", "4")
    assert "no unit is chosen yet; `putting-trainer distance unit m`" in line
    assert "distances in ft" in done(capsys, "unit", "ft", "--trail-foot", "28")
    with Store(own_data_folder, "1") as store:
        assert Distances(store).player(PLAYER) == DistancePlayer("ft", 28.0)
    assert "no green speed yet" in fails(capsys, "distance", "scale")
    assert "trail foot" in fails(capsys, "distance", "unit", "m", "--trail-foot", "300")
    assert "distances in m; trail foot's middle 28 cm" in done(capsys, "unit", "m")


@pytest.mark.parametrize("green_ft", ["0", "40", "-9"])
def test_green_speeds_that_cannot_be(capsys: pytest.CaptureFixture[str], own_data_folder: Path, green_ft: str) -> None:
    assert "allowed: 4 to 16 ft" in fails(capsys, "distance", "green", "--", green_ft)
    with Store(own_data_folder, "1") as store:
        assert Distances(store).green(PLAYER) is None


def test_green_measured(capsys: pytest.CaptureFixture[str], own_data_folder: Path) -> None:
    done(capsys, "unit", "m")
    out = done(capsys, "green", "--one-way", "3,3.05,3.1", "--other-way", "3.1,3.15,3.2")
    assert "green speed 10.2 ft (90 % band" in out
    assert "8 in" in fails(capsys, "distance", "green", "--one-way", "3,3.05,3.4", "--other-way", "3.1,3.15,3.2")
    apart = ("--one-way", "2.4,2.4,2.4", "--other-way", "4,4,4")
    assert "18 in" in fails(capsys, "distance", "green", *apart)
    assert "that line slopes" in done(capsys, "green", *apart, "--sloped")
    out = done(capsys, "green", "--putt", "2.0,2.9", "--putt", "2.1,3.2", "--rounded", "0.25")
    assert "five or more give a steadier value" in out
    assert "one way" in fails(capsys, "distance", "green")
    assert "one way" in fails(capsys, "distance", "green", "10", "--putt", "2,3")
    assert "not a list of numbers" in fails(capsys, "distance", "green", "--putt", "fast")
    with Store(own_data_folder, "1") as store:
        green = Distances(store).green(PLAYER)
    assert green is not None
    assert green.source == "ball speed and roll-out"


def test_slopes(capsys: pytest.CaptureFixture[str], ready: None) -> None:
    assert "slope +2.1 % (uphill)" in done(capsys, "slope", "--level", "1.2")
    assert "slope 1.1 % at green speed 10.0 ft" in done(capsys, "slope", "--rolls", "4,3")
    assert "5.8 % downhill at green speed 10 ft: a little more slope" in done(
        capsys, "slope", "--rolls", "20,3", "--rolled-ball"
    )
    assert "allowed: -4.57 to 4.57 deg" in fails(capsys, "distance", "slope", "--level", "30")
    assert "one way" in fails(capsys, "distance", "slope")


@pytest.mark.parametrize(
    ("options", "what"),
    [
        (["--rolled", "-4"], "roll-out: -4 m cannot be; allowed: 0.1 to 40 m"),
        (["--rolled", "0"], "roll-out"),
        ([], "roll-out is missing"),
        (["--rolled", "4", "--slope", "30"], "slope: 30 % cannot be; allowed: -8 to 8 %"),
        (["--rolled", "13", "--target", "4"], "by the look of it feet given for metres"),
        (["--rolled", "4", "--target", "-4"], "distance: -4 m cannot be"),
        (["--rolled", "4", "--rounded", "9"], "rounding: 9 m"),
        (["--rolled", "4", "--last"], "say which stroke it was"),
        (["--rolled", "4", "--to-impact", "9"], "time from top to impact"),
    ],
)
def test_putts_that_cannot_be(
    capsys: pytest.CaptureFixture[str], own_data_folder: Path, ready: None, options: list[str], what: str
) -> None:
    assert what in fails(capsys, "distance", "putt", "--back", "24", *options)
    assert putts_on_record(own_data_folder) == 0


def test_putts_by_hand(capsys: pytest.CaptureFixture[str], own_data_folder: Path, ready: None) -> None:
    out = done(capsys, "putt", "--back", "24", "--rolled", "4.2", "--target", "4", "--slope", "1", "--rounded", "0.5")
    assert "putt 1 kept: 24 cm back, ran 4.2 m for 4.0 m; in (window 3.6 m to 4.4 m)" in out
    assert done(capsys, "putt", "--back", "24", "--rolled", "13", "--target", "4", "--sure").startswith("putt 2 kept")
    out = done(capsys, "putts")
    assert "24 cm back, ran 4.2 m for 4.0 m on 10.0 ft, +1 %" in out
    assert re.search(r"^2 putts$", out, re.M)
    done(capsys, "putts", "--drop", "2")
    assert "has no putt 2" in fails(capsys, "distance", "putts", "--drop", "2")
    assert putts_on_record(own_data_folder) == 1


def test_feet_are_entered_and_printed_as_feet(
    capsys: pytest.CaptureFixture[str], own_data_folder: Path, ready: None
) -> None:
    done(capsys, "unit", "ft")
    assert "ran 13.5 ft for 13.0 ft" in done(capsys, "putt", "--back", "24", "--rolled", "13.5", "--target", "13")
    assert "allowed: 0.328 to 131 ft" in fails(capsys, "distance", "putt", "--back", "24", "--rolled", "200")
    with Store(own_data_folder, "1") as store:
        assert Distances(store).putts(PLAYER)[0].putt.rolled_m == pytest.approx(13.5 * 0.3048)


def test_a_roll_out_for_a_stroke_on_record(
    capsys: pytest.CaptureFixture[str], own_data_folder: Path, ready: None
) -> None:
    assert "no ball stroke of player on record" in fails(capsys, "distance", "putt", "--last", "--rolled", "3")
    record = drawn(2.0)
    hidden = replace(record, measures={"back_cm": Measure(None, "cm", 0.0, "putter not seen")})
    with Store(own_data_folder, "1") as store:
        session = store.begin_session(PLAYER, "camera 0", WHEN)
        store.keep(session, record, (), (), load(), WHEN)
        store.keep(session, hidden, (), (), load(), WHEN)
        other = store.begin_session("Alex", "camera 0", WHEN)
        store.keep(other, record, (), (), load(), WHEN)
    out = done(capsys, "putts")
    assert re.search(r"\d, stroke 1: 24 cm back, no roll-out yet: distance putt --stroke 1/1 --rolled D", out)
    assert re.search(r"\d, stroke 2: length not seen", out)
    assert out.count("no roll-out yet") == 2  # not Alex's
    assert "the length of this stroke was not seen" in fails(capsys, "distance", "putt", "--last", "--rolled", "3")
    assert "there is no stroke 1/3 of player" in fails(capsys, "distance", "putt", "--stroke", "3", "--rolled", "3")
    assert "nine is not a stroke" in fails(capsys, "distance", "putt", "--stroke", "nine", "--rolled", "3")
    done(capsys, "putt", "--stroke", "1", "--rolled", "2.9", "--target", "3")
    with Store(own_data_folder, "1") as store:
        (kept,) = Distances(store).putts(PLAYER)
    assert kept.stroke_id == 1
    assert kept.frames_per_s == pytest.approx(30.0)
    assert (kept.putt.back_cm, kept.putt.to_impact_s) == (24.0, 0.32)
    assert kept.putt.ball_speed_m_s == pytest.approx(2.0, rel=0.03)
    assert "stroke 1:" not in done(capsys, "putts")


def test_a_mat_too_short_to_roll_out(capsys: pytest.CaptureFixture[str], own_data_folder: Path, ready: None) -> None:
    with Store(own_data_folder, "1") as store:
        session = store.begin_session(PLAYER, "camera 0", WHEN)
        store.keep(session, drawn(2.0), (), (), load(), WHEN)
        store.keep(session, drawn(0.6), (), (), load(), WHEN)
    out = done(capsys, "putt", "--stroke", "1", "--by-speed", "--target", "3")
    assert "m by its speed for 3.0 m" in out
    with Store(own_data_folder, "1") as store:
        (kept,) = Distances(store).putts(PLAYER)
    assert kept.putt.rolled_m == pytest.approx(run_m(2.0, 10), rel=0.06)
    assert kept.putt.rounded_to_m == pytest.approx(0.16 * kept.putt.rolled_m)
    assert "the ball's speed was not seen" in fails(capsys, "distance", "putt", "--last", "--by-speed")
    assert "in one way" in fails(capsys, "distance", "putt", "--last", "--by-speed", "--rolled", "3")
    by_hand = ("--back", "24", "--by-speed", "--ball-speed")
    assert "ball speed: 20 m/s cannot be" in fails(capsys, "distance", "putt", *by_hand, "20")
    assert "ran 2.8 m by its speed" in done(capsys, "putt", *by_hand, "2.0")
    assert putts_on_record(own_data_folder) == 2


def test_a_measured_roll_out_counts_whatever_is_estimated_after_it(
    capsys: pytest.CaptureFixture[str], own_data_folder: Path, ready: None
) -> None:
    with Store(own_data_folder, "1") as store:
        session = store.begin_session(PLAYER, "camera 0", WHEN)
        store.keep(session, drawn(2.0), (), (), load(), WHEN)
    done(capsys, "putt", "--last", "--rolled", "4.2", "--target", "4")
    measured = done(capsys, "scale")
    out = done(capsys, "putt", "--last", "--by-speed")
    assert "the measured roll-out counts, putt 1 (24 cm back, ran 4.2 m for 4.0 m)" in out
    assert done(capsys, "scale") == measured
    out = done(capsys, "putts")
    assert "24 cm back, ran 4.2 m for 4.0 m on" in out
    assert "(does not count: that stroke's roll-out was measured)" in out
    # A second measurement of the same stroke replaces the first, and says so.
    out = done(capsys, "putt", "--last", "--rolled", "4.4", "--target", "4")
    assert "it takes the place of: 24 cm back, ran 4.2 m for 4.0 m" in out
    assert "the measured roll-out counts, this one (3)" in out
    assert putts_on_record(own_data_folder) == 2
    # Forgetting the measured one lets the estimate count.
    done(capsys, "putts", "--drop", "3")
    assert "does not count" not in done(capsys, "putts")
    assert done(capsys, "scale").startswith("1 putt: ")


def test_scale_says_what_is_missing(capsys: pytest.CaptureFixture[str], ready: None) -> None:
    out = done(capsys, "scale")
    assert "no putts of your own yet" in out
    assert "the distance table: 0 putts with a target (at least 8 are needed)" in out
    assert "rhythm: 0 timed strokes" in out
    assert "lag score: no putt has a target" in out


def test_one_putt_is_no_putts(capsys: pytest.CaptureFixture[str], ready: None) -> None:
    done(capsys, "putt", "--back", "24", "--rolled", "4.2")
    assert done(capsys, "scale").startswith("1 putt: ")


def test_scale_of_a_practised_player(capsys: pytest.CaptureFixture[str], practised: None) -> None:
    out = done(capsys, "scale")
    assert re.search(r"20 putts: \d+ cm back sends the ball off at \d\.\d\d m/s", out)
    assert "distance table: the distances miss by" in out
    assert re.search(r"work on how (far back|quick)|most is not explained.*: nothing to work on follows from this", out)
    assert "rhythm: " in out
    assert "frames alone give 1.4%" in out
    assert "10.6% over putts of mixed lengths" in out
    length = float(re.search(r"4\.0 m: (\d+) cm", out)[1])  # type: ignore[index]
    assert length == pytest.approx(Student(2.4, 1.0).length_cm(4), rel=0.05)


def test_chart_in_the_terminal_and_on_paper(
    capsys: pytest.CaptureFixture[str], practised: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    out = done(capsys, "chart")
    assert len([line for line in out.splitlines() if re.match(r"│ +\d+ │", line)]) == 15
    assert max(len(line) for line in out.splitlines()) <= 120
    assert "2 % down" in out
    assert "4 m: middle of trail foot" in out
    paper = tmp_path / "chart.html"
    assert str(paper) in done(capsys, "chart", "--out", str(paper), "--slopes", "0,2", "--distances", "2,4")
    text = paper.read_text()
    assert text.count("<tr") == 3
    assert "<h1>How far back</h1>" in text
    assert "cannot be written" in fails(capsys, "distance", "chart", "--out", str(tmp_path / "none" / "x.html"))
    assert "slope: 30 %" in fails(capsys, "distance", "chart", "--slopes", "30")
    assert "not a list of numbers" in fails(capsys, "distance", "chart", "--distances", "far")


def test_ladder(capsys: pytest.CaptureFixture[str], practised: None) -> None:
    out = done(capsys, "ladder", "2,4,6", "--each", "2", "--seed", "3")
    rows = re.findall(r"^ +\d+  (\d) m: back \d+ cm, .* trail foot; stop between", out, re.M)
    assert sorted(rows) == ["2", "2", "4", "4", "6", "6"]
    assert all(a != b for a, b in pairwise(rows))
    assert out == done(capsys, "ladder", "2,4,6", "--each", "2", "--seed", "3")
    assert "ladder, blocked" in done(capsys, "ladder", "2,4", "--order", "blocked")
    assert "give each distance once" in fails(capsys, "distance", "ladder", "2,2")
    assert "distance: -2 m" in fails(capsys, "distance", "ladder", "--", "-2,4")


def test_each_student_has_own_distances(capsys: pytest.CaptureFixture[str], own_data_folder: Path, ready: None) -> None:
    students = own_data_folder / "students"
    students.mkdir()
    (students / "robin.toml").write_text('[player]\nname = "Robin"\n')
    assert "Robin has not chosen" in fails(capsys, "distance", "putts", "--student", "robin")
    assert "`putting-trainer distance unit m --student Robin`" in fails(
        capsys, "distance", "scale", "--student", "robin"
    )
    done(capsys, "unit", "ft", "--student", "robin")
    assert "no putts of Robin yet" in done(capsys, "putts", "--student", "robin")
