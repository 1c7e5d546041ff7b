"""What the limits window holds: limits tried, the strokes beside them, what is saved. No window, no widget."""

from __future__ import annotations

from typing import Sequence

from trainer.app.limits import LimitsDesk
from trainer.app.student_file import Decision
from trainer.coaching.faults import DOUBT
from trainer.coaching.what_if import WhatIf, WhatIfRow, differences, stepped, with_limit
from trainer.domain.naming import kind_words
from trainer.domain.units import unit_words
from trainer.domain.verdict import Fault, fault_words
from trainer.errors import UsageError
from trainer.settings.limits import Limit, Limits
from trainer.texts import join, tr

RANGES: tuple[tuple[str, int | None], ...] = ((tr("Last 20"), 20), (tr("Last 100"), 100), (tr("All"), None))


class LimitsState:
    """saved: the student's limits; chosen: place of the stroke shown, None: none."""

    def __init__(self, desk: LimitsDesk) -> None:
        self.desk, self.saved, self.last = desk, desk.saved, desk.last
        self.only_called = False
        self.chosen: int | None = None
        self.strokes = tuple(desk.strokes(self.last))
        self.what_if = WhatIf([s.record for s in self.strokes], desk.limits)

    @property
    def limits(self) -> Limits:
        """Those tried."""
        return self.what_if.limits

    def show_last(self, count: int | None) -> None:
        """Another range of strokes, judged by the limits tried."""
        limits = self.limits
        self.last, self.chosen = count, None
        self.strokes = tuple(self.desk.strokes(count))
        self.what_if = WhatIf([s.record for s in self.strokes], limits)

    def move(self, name: str, value: float | None = None, on: bool | None = None) -> bool:
        """Sets a limit tried; nothing is kept. Whether that changed it."""
        limit: Limit = getattr(self.limits, name)
        new = None if value is None else stepped(limit, value)
        limits = with_limit(self.limits, name, new, on)
        if not differences(self.limits, limits):
            return False
        self.what_if.judge(limits)
        return True

    @property
    def moved(self) -> bool:
        """They are not as saved."""
        return bool(differences(self.saved, self.limits))

    def save(self, who: str, why: str) -> str:
        """Keeps the limits tried; a line for the coach. Raises UsageError."""
        if not who.strip():
            raise UsageError(tr("say who decides it"))
        said = self.desk.save(self.limits, Decision(who.strip(), why.strip()))
        self.saved = self.limits
        return said

    def listed(self) -> list[int]:
        """Places of the strokes in the list, newest first."""
        places = self.what_if.called() if self.only_called else range(len(self.strokes))
        return list(places)[::-1]

    def item(self, i: int) -> str:
        """A stroke's line in the list."""
        stroke = self.strokes[i]
        return tr(
            "{name}, {kind}: {verdict_words}  ({which})",
            name=stroke.name,
            kind=kind_words(stroke.record.kind),
            verdict_words=verdict_words(self.what_if.faults(i)),
            which=stroke.which,
        )

    def now_words(self) -> str:
        """The chosen stroke by the limits tried."""
        if self.chosen is None:
            return tr("No stroke chosen")
        verdict = self.what_if.verdict(self.chosen)
        words = verdict_words(verdict.faults)
        if verdict.too_close:
            words += tr("; the look too close to call")
        if verdict.indeterminate:
            words += tr("; not sure: ") + join(", ", (fault_words(name) for name in verdict.indeterminate))
        return tr("By these limits: {words}", words=words)

    def then_words(self) -> str:
        """And as it was judged when it was made."""
        if self.chosen is None:
            return ""
        stroke = self.strokes[self.chosen]
        told = {True: tr(" (with feedback)"), False: tr(" (without feedback)"), None: ""}[stroke.with_feedback]
        return tr(
            "Then, by the limits of then: {words}{told}",
            words=join(", ", map(fault_words, stroke.then)) or tr("no fault"),
            told=told,
        )

    def counted(self) -> str:
        """How many strokes would be called."""
        total = len(self.strokes)
        return (
            tr("{number} of {total} strokes would be called", number=len(self.what_if.called()), total=total)
            if total
            else tr("no strokes on record yet")
        )

    def status_line(self) -> str:
        """What is not saved yet; "" when nothing is."""
        names = differences(self.saved, self.limits)
        if not names:
            return ""
        unsaved = []
        for name in names:
            before, after = getattr(self.saved, name), getattr(self.limits, name)
            what = (
                tr(
                    "{value:g} to {value2:g} {unit}",
                    value=before.value,
                    value2=after.value,
                    unit=unit_words(after.unit),
                )
                if before.value != after.value
                else ""
            )
            switch = "" if before.on == after.on else tr("on") if after.on else tr("off")
            unsaved.append(join(" ", (part for part in (fault_words(name), what, switch) if part)))
        return tr("not saved yet: ") + join("; ", unsaved)


def margin(name: str) -> float:
    """How far beside a limit, on its axis, values are too near it to call (below 0: to the left)."""
    if name == "early_look":
        return 0.0  # its uncertainty is one of time
    return -DOUBT["short_hold"] if name == "short_hold" else DOUBT.get(name, 0.0)


def row_words(row: WhatIfRow) -> str:
    """How one limit fares."""
    near = tr(", {too_close} too close", too_close=row.too_close) if row.too_close else ""
    return tr("calls {number} of {judged} seen{near}", number=len(row.called), judged=row.judged, near=near)


def verdict_words(faults: Sequence[Fault]) -> str:
    """A verdict in words."""
    return join(", ", (fault_words(f.name) for f in faults)) or tr("no fault")
