"""Changes of a student's limits made on several computers, put together limit by limit, whoever's file came first."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import Any, Iterable, Mapping, Sequence

from trainer.store.history import StudentKey
from trainer.store.limit_changes import LimitChange, insert_change, is_beginning, limit_changes_in

Values = Mapping[str, Any]  # "sway.limit_cm" -> value


@dataclass(frozen=True, slots=True)
class Moved:
    """The newest change of one limit."""

    at: str
    who: str
    value: Any


def flat(limits: Mapping[str, Any]) -> dict[str, Any]:
    """Limits as a settings file has them, by dotted keys."""
    tables = ((fault, table) for fault, table in limits.items() if isinstance(table, dict))
    return {f"{fault}.{key}": value for fault, table in tables for key, value in table.items()}


def nested(values: Values) -> dict[str, dict[str, Any]]:
    """The other way round."""
    out: dict[str, dict[str, Any]] = {}
    for dotted, value in values.items():
        fault, _, key = dotted.partition(".")
        out.setdefault(fault, {})[key] = value
    return out


def moved(change: LimitChange) -> dict[str, Any]:
    """What this change set, dotted key -> value: all where it is not known what stood before."""
    after = flat(change.limits)
    if change.before is None:
        return after
    before = flat(change.before)
    return {key: value for key, value in after.items() if key not in before or before[key] != value}


def in_line(changes: Sequence[LimitChange]) -> list[LimitChange]:
    """The changes of one computer, oldest first, each with what stood before it.

    Records of before that was kept tell it by the change before.
    """
    out: list[LimitChange] = []
    for i, change in enumerate(changes):
        known = change.before is not None or is_beginning(change) or i == 0
        out.append(change if known else replace(change, before=changes[i - 1].limits))
    return out


def united(ours: Sequence[LimitChange], theirs: Sequence[LimitChange]) -> list[LimitChange]:
    """All of two computers' changes, oldest first; the same whichever side is ours."""
    found = {change.uid: change for change in in_line(ours)}
    for change in in_line(theirs):
        mine = found.get(change.uid)
        found[change.uid] = change if mine is None else min(mine, replace(mine, before=change.before), key=_surmise)
    return _in_order(found.values())


def _surmise(change: LimitChange) -> tuple[bool, int, str]:
    """Where both sides had to infer what stood before, the one that takes the fewest limits for changed is right."""
    found = moved(change)
    return not found, len(found), json.dumps(change.before, sort_keys=True)


def _in_order(changes: Iterable[LimitChange]) -> list[LimitChange]:
    return sorted(changes, key=lambda change: (change.at, change.uid))


def newest(changes: Sequence[LimitChange]) -> dict[str, Moved]:
    """Dotted key -> its newest change; without those that never were changed at a known time. changes: as from ``in_line``."""
    out: dict[str, Moved] = {}
    for change in _in_order(one for one in changes if not is_beginning(one)):
        out |= {key: Moved(change.at, change.who, value) for key, value in moved(change).items()}
    return out


def as_recorded(changes: Sequence[LimitChange], values: Values) -> dict[str, Any]:
    """The limits as the record has them. values: those in the student's file, which differ where that was edited by hand.

    A limit without a change at a known time may be as in any of the sets that are kept.
    """
    dated = newest(in_line(changes))
    sets = [flat(one) for change in changes for one in (change.before, change.limits) if one is not None]
    out = dict(values)
    for key, value in values.items():
        if key in dated:
            out[key] = dated[key].value
        elif known := [one[key] for one in sets if key in one]:
            out[key] = value if value in known else known[-1]
    return out


def merged(ours: Sequence[LimitChange], theirs: Sequence[LimitChange], values: Values) -> dict[str, Any]:
    """The limits here once the other side's changes are known: each by its newest change, as in ``values`` where it has none."""
    dated = newest(united(ours, theirs))
    return {key: dated[key].value if key in dated else value for key, value in values.items()}


def merge_changes(db: Any, student_key: StudentKey, theirs: Sequence[LimitChange]) -> int:
    """Inside a transaction. How many changes are new here."""
    ours = limit_changes_in(db, student_key.student)
    known = {change.uid: change for change in ours}
    for change in united(ours, theirs):
        if change != known.get(change.uid):
            insert_change(db, replace(change, student=student_key.student))
    return len({change.uid for change in theirs if not is_beginning(change)} - known.keys())
