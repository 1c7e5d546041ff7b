"""How it felt: kept with its stroke, handed over, and held against what was measured."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import datetime, timezone
from pathlib import Path

import numpy as np
import pytest

from tests.support.made_strokes import record
from tests.support.paths import DATA
from trainer.app.context import load_context
from trainer.app.progress import facts_of
from trainer.coaching.faults import judge
from trainer.coaching.progress.self_assessment import kappa, self_assessment_of
from trainer.coaching.progress.words import self_assessment_words
from trainer.commands.cli import run
from trainer.store.database import FILE_NAME
from trainer.store.store import Store
from trainer.store.students import Students

NOW = datetime(2026, 3, 2, 17, 0, tzinfo=timezone.utc)


def test_agreement_beyond_chance_against_a_worked_example() -> None:
    # 20 both good, 5 felt good but were not, 10 the other way, 15 both not: observed 0.70, by chance 0.50, kappa 0.40
    # (worked example of the statistic: 50 cases, raters 50 % and 60 %).
    said = [(True, True)] * 20 + [(True, False)] * 5 + [(False, True)] * 10 + [(False, False)] * 15
    assert kappa(said) == pytest.approx(0.40)
    feel = self_assessment_of(said)
    assert feel is not None
    assert (feel.agreed.good, feel.agreed.total) == (35, 50)
    assert feel.felt_good_was is not None
    assert (feel.felt_good_was.good, feel.felt_good_was.total) == (20, 25)
    assert feel.felt_bad_was is not None
    assert (feel.felt_bad_was.good, feel.felt_bad_was.total) == (15, 25)


def test_guessing_is_nought_and_knowing_is_one() -> None:
    rng = np.random.default_rng(1)
    guessed = [(bool(a), bool(b)) for a, b in rng.random((4000, 2)) < 0.5]
    assert kappa(guessed) == pytest.approx(0.0, abs=0.05)
    assert kappa([(b, b) for _, b in guessed]) == pytest.approx(1.0)
    assert kappa([(True, True)] * 30) is None  # where all is the same, chance explains it
    assert kappa(guessed[:9]) is None
    assert self_assessment_of([]) is None


def keep(folder: Path, felt: list[bool | None], looks_s: list[float]) -> None:
    context = load_context(folder, "Robin")
    with context.open_store() as store:
        session = store.begin_session("Robin", "t", NOW, context.student_id)
        for said, look in zip(felt, looks_s, strict=True):
            made = record(look)
            store.keep(session, made, judge(made, context.settings.limits), (), context.settings, NOW)
            if said is not None:
                store.note_felt(session, said)


def felt_of(folder: Path) -> list[bool | None]:
    with load_context(folder).open_store() as store:
        return [facts.felt for facts in facts_of(store, Students(folder).find("Robin"), True)]


def test_it_is_kept_with_its_stroke_shown_and_handed_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    coach, home = tmp_path / "coach", tmp_path / "home"
    run(["--data-folder", str(coach), "students", "add", "Robin"])
    felt = [True, None, False, False, True]
    keep(coach, felt, [1.5, 1.5, -0.3, 1.5, 0.3])
    assert felt_of(coach) == felt
    capsys.readouterr()
    assert run(["--data-folder", str(coach), "progress", "--student", "Robin"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "How it felt agreed with what was measured: 50 %" in said
    assert "of 4 strokes" in said
    assert "felt good, without fault: 1 of 2" in said
    out = tmp_path / "robin.zip"
    run(["--data-folder", str(coach), "students", "export", "Robin", "--out", str(out)])
    assert run(["--data-folder", str(home), "students", "import", str(out)]) == 0
    assert felt_of(home) == felt


def test_without_a_word_nothing_is_said_of_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["--data-folder", str(tmp_path), "students", "add", "Robin"])
    keep(tmp_path, [None] * 3, [1.5] * 3)
    capsys.readouterr()
    run(["--data-folder", str(tmp_path), "progress", "--student", "Robin"])
    assert "How it felt" not in capsys.readouterr().out


def test_a_record_from_before_opens_and_knows_of_no_feel(tmp_path: Path) -> None:
    shutil.copy(DATA / "release_0_1" / "data" / FILE_NAME, tmp_path)  # of schema 4
    db = sqlite3.connect(tmp_path / FILE_NAME)
    db.execute("ALTER TABLE strokes DROP COLUMN felt")
    db.execute("PRAGMA user_version = 3")
    db.commit()
    db.close()
    with Store(tmp_path, "t") as store, store.reading() as opened:
        assert opened.execute("PRAGMA user_version").fetchone()[0] >= 4
        felt = [row[0] for row in opened.execute("SELECT felt FROM strokes")]
    assert len(felt) == 21
    assert not any(felt)


def test_the_words_of_a_few_and_of_many() -> None:
    few = self_assessment_of([(True, True)] * 3)
    assert few is not None
    assert "kappa" not in self_assessment_words(few)
    many = self_assessment_of([(True, True), (False, False)] * 10)
    assert many is not None
    assert "+1.00" in self_assessment_words(many)
