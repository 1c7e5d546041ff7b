"""Random stories of students: in any order of add, rename, practise, give, remove, join, export, import and erase what is
promised holds.

The same machine runs as a test with fewer steps (tests/unit/store/test_invariants.py).
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule, run_state_machine_as_test

from tests.bench.campaign.checks import spoken
from tests.support.made_strokes import keep_sessions
from trainer.app.student_file import student_key
from trainer.settings.load import from_options, load
from trainer.store.database import FILE_NAME
from trainer.store.history import counts, practised
from trainer.store.store import Store
from trainer.store.students import Students

NAMES = ("Quirin Aalto", "QUIRIN aalto", "Béa Dörfler", "Zoë [/b]", "N. O. Body-Else")


class Stories(RuleBasedStateMachine):
    """A data folder, and what should be in it. strokes: the uids of each student's, by id; removed: likewise; joined: the id of
    one who is another's now; exported: of each id the newest file, with the uids in it.
    """

    def __init__(self) -> None:
        super().__init__()
        self.base = Path(tempfile.mkdtemp(prefix="stories-"))
        self.data = self.base / "data"
        self.strokes: dict[str, set[str]] = {}
        self.removed: dict[str, set[str]] = {}
        self.joined: dict[str, str] = {}
        self.erased: list[str] = []
        self.exported: dict[str, tuple[Path, set[str]]] = {}
        self.count = 0

    def teardown(self) -> None:
        shutil.rmtree(self.base, ignore_errors=True)

    def _does(self, *arguments: str) -> bool:
        code, _, err = spoken("--data-folder", str(self.data), *arguments)
        assert code in (0, 2), (arguments, err)
        assert "fault of this program" not in err, (arguments, err)
        assert code == 0 or err.count("\n") == 1, (arguments, err)
        return code == 0

    def _students(self) -> dict[str, str]:
        """Id -> name."""
        good, bad = Students(self.data).all()
        assert not bad
        return {student.card.id: student.name for student in good}

    def _one(self, draw: int) -> tuple[str, str] | None:
        here = sorted(self._students().items())
        return here[draw % len(here)] if here else None

    @rule(name=st.sampled_from(NAMES))
    def add(self, name: str) -> None:
        before = self._students()
        if self._does("students", "add", name, "student.notes=likes short putts"):
            (new,) = self._students().keys() - before.keys()
            assert name.casefold() not in {old.casefold() for old in before.values()}
            self.strokes[new] = self._recorded(new)

    def _recorded(self, student: str) -> set[str]:
        key = student_key(next(s for s in Students(self.data).all()[0] if s.card.id == student))
        with Store(self.data, "t") as store:
            found = {facts.uid for facts, _ in practised(store, key, ())}
            assert counts(store, key).strokes == len(found)
            return found

    def _new(self, student: str, strokes: int) -> None:
        """So many strokes more than there were."""
        new = self._recorded(student) - self.strokes[student]
        assert len(new) == strokes
        self.strokes[student] |= new

    @rule(who=st.integers(0, 9), strokes=st.integers(1, 3), number=st.integers(0, 99))
    def practise(self, who: int, strokes: int, number: int) -> None:
        if (one := self._one(who)) is not None:
            with Store(self.data, "t") as store:
                keep_sessions(store, load([from_options(player__name=one[1])]), one[0], 1, strokes, number)
            self._new(one[0], strokes)

    @rule(name=st.sampled_from(NAMES), strokes=st.integers(1, 2))
    def practise_as_nobody(self, name: str, strokes: int) -> None:
        """Strokes under a name that need not be a student's: they are the student's of that name, now or later."""
        with Store(self.data, "t") as store:
            keep_sessions(store, load([from_options(player__name=name)]), None, 1, strokes, 7)
        for student, called in self._students().items():
            if called.casefold() == name.casefold():
                self._new(student, strokes)

    @rule(who=st.integers(0, 9), name=st.sampled_from(NAMES))
    def rename(self, who: int, name: str) -> None:
        if (one := self._one(who)) is not None and self._does("students", "rename", one[1], name):
            assert self._students()[one[0]] == name
            assert self._recorded(one[0]) >= self.strokes[one[0]]
            self.strokes[one[0]] = self._recorded(one[0])

    @rule(who=st.integers(0, 9), limit=st.sampled_from(["1", "2.5", "nan", "[/]", "1e400"]))
    def set_limit(self, who: int, limit: str) -> None:
        if (one := self._one(who)) is not None:
            self._does("students", "set", one[1], f"sway.limit_cm={limit}")

    @rule(who=st.integers(0, 9), unit=st.sampled_from(["m", "ft"]))
    def choose_unit(self, who: int, unit: str) -> None:
        if (one := self._one(who)) is not None:
            self._does("distance", "unit", unit, "--student", one[1])

    @rule(who=st.integers(0, 9))
    def export(self, who: int) -> None:
        if (one := self._one(who)) is not None:
            self.count += 1
            out = self.base / f"{self.count}.zip"
            assert self._does("students", "export", one[1], "--out", str(out))
            self.exported[one[0]] = out, set(self.strokes[one[0]])

    @precondition(lambda self: self.exported)
    @rule(which=st.integers(0, 9), twice=st.booleans())
    def import_(self, which: int, twice: bool) -> None:
        named = sorted(self.exported)[which % len(self.exported)]
        path, strokes = self.exported[named]
        student = self.joined.get(named, named)
        here = student in self._students()
        for _ in range(1 + twice):
            if not self._does("students", "import", str(path)):
                assert not here  # another of that name is here, or a session of hers is another's
                return
        gone = set().union(*self.removed.values(), *self.strokes.values())
        self.strokes[student] = self.strokes.get(student, set()) | (strokes - gone)
        if not here:
            self.strokes[student] |= self._recorded(student) - strokes
        self.erased = [one for one in self.erased if one != student]

    @rule(who=st.integers(0, 9), to=st.integers(0, 9), every=st.booleans(), keep=st.booleans())
    def give_or_remove(self, who: int, to: int, every: bool, keep: bool) -> None:
        """The last session, or its first stroke."""
        one, other = self._one(who), self._one(to)
        if one is None or other is None or (keep and one == other):
            return
        before = self._recorded(one[0])
        chosen = ("1/all" if every else "1/1", "--from", one[1])
        what = ("give", *chosen, "--to", other[1]) if keep else ("remove", *chosen, "--yes")
        if self._does("students", *what):
            moved = before - self._recorded(one[0])
            assert moved
            self.strokes[one[0]] -= moved
            (self.strokes[other[0]] if keep else self.removed.setdefault(one[0], set())).update(moved)

    @rule(who=st.integers(0, 9), into=st.integers(0, 9))
    def join(self, who: int, into: int) -> None:
        one, other = self._one(who), self._one(into)
        if one is not None and other is not None and self._does("students", "join", one[1], other[1], "--yes"):
            self.strokes[other[0]] |= self.strokes.pop(one[0])
            self.removed.setdefault(other[0], set()).update(self.removed.pop(one[0], set()))
            self.joined = {old: other[0] if now == one[0] else now for old, now in self.joined.items()}
            self.joined[one[0]] = other[0]

    @rule(who=st.integers(0, 9))
    def copy_file(self, who: int) -> None:
        """As a person does who means to keep a copy."""
        if (one := self._one(who)) is not None:
            path = Students(self.data).find(one[1]).path
            shutil.copy(path, path.with_name(f"{path.stem}.toml.bak"))

    @rule(who=st.integers(0, 9))
    def erase(self, who: int) -> None:
        if (one := self._one(who)) is not None:
            assert self._does("students", "erase", one[1], "--yes")
            del self.strokes[one[0]]
            self.removed.pop(one[0], None)
            self.erased += [one[0], *(old for old, now in self.joined.items() if now == one[0])]
            self.joined = {old: now for old, now in self.joined.items() if now != one[0]}
            name = one[1].encode()
            for path in self.data.rglob("*"):
                assert not path.is_file() or name not in path.read_bytes(), path

    @invariant()
    def every_stroke_is_there_and_only_those(self) -> None:
        here = self._students()
        assert set(here) == set(self.strokes)
        for student, strokes in self.strokes.items():
            assert self._recorded(student) == strokes, here[student]

    @invariant()
    def no_byte_of_who_was_erased(self) -> None:
        if self.erased and (self.data / FILE_NAME).exists():
            for path in self.data.rglob("*"):
                data = path.read_bytes() if path.is_file() else b""
                assert not any(student.encode() in data for student in self.erased), path


def run_stories(examples: int, steps: int, number: int) -> None:
    """Raises what was found, as short a story as can be."""
    how = settings(
        max_examples=examples,
        stateful_step_count=steps,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate, Phase.shrink],
    )
    run_state_machine_as_test(seed(number)(Stories), settings=how)


def one_round(number: int, _: Path) -> list[str]:
    """Some stories."""
    run_stories(10, 15, number)
    return []
