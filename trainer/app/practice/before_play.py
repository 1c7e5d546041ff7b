"""Before play: at most ten minutes, nothing new: held putts, putts to today's green, some in silence; ends by itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.app.practice.drill_distance import DrillDistance
from trainer.app.practice.exercise import Exercise
from trainer.app.practice.stroke_recorder import StrokeRecorder
from trainer.coaching.distance.ladder import order_of
from trainer.coaching.verdict import BY_TIMING, Verdict
from trainer.domain.record import LiveState, StrokeRecord
from trainer.domain.verdict import Cue
from trainer.feedback.cues import CueChooser
from trainer.feedback.schedule import Plan
from trainer.feedback.signs import Sign
from trainer.live.display_types import DrillView
from trainer.settings.drill_file import Drill
from trainer.settings.model import Settings
from trainer.store.store import Store
from trainer.texts import join, tr

MOST_S = 600.0  # 8 to 10 minutes are common practice, no source
DISTANCES_M = (2.0, 4.0, 6.0)


@dataclass(frozen=True, slots=True)
class Part:
    """schedule: which of its strokes are told; lengths: each stroke has a distance."""

    name: str
    instruction: str
    strokes: int
    schedule: Literal["outside", "alternate", "silent"]
    lengths: bool = False


PARTS = (
    Part(tr("Five holds"), tr("Take your address, breathe out, putt and hold"), 5, "outside"),
    Part(tr("To today's green"), tr("Putts of three lengths, all at one pace"), 6, "alternate", lengths=True),
    Part(tr("Five in silence"), tr("As on the course"), 5, "silent"),
)


class BeforePlay:
    """``kept`` with every stroke on record; ``ends`` with every frame. No limit is changed and no drill is begun."""

    def __init__(self, store: Store, player: str, chooser: CueChooser, seed: int) -> None:
        each = max(part.strokes for part in PARTS if part.lengths) // len(DISTANCES_M)
        ladder = {"distances_m": list(DISTANCES_M)}
        # Only the distances of a drill are used: how far back each one is, by the player's own scale and green.
        values = {
            "drill": {"name": tr("Before play"), "instruction": tr("Putt")},
            "ladder": ladder,
            "drill_id": "before-play",
        }
        self._distance = DrillDistance(store, player, Drill.model_validate(values))
        self._order = order_of(DISTANCES_M, each, "random", seed)
        self._chooser = chooser
        self._part = 0
        self._good: list[list[bool | None]] = [[] for _ in PARTS]  # by part: held or not, None: it cannot be called
        self._begun_s: float | None = None
        self._late = False
        self._news: Sign | None = None
        self._begin_part()

    @property
    def opening(self) -> tuple[str, ...]:
        """Lines to say before it starts."""
        return (
            tr("before play: ")
            + join(
                "; ",
                (tr("{lower}: {lower2}", lower=part.name.lower(), lower2=part.instruction.lower()) for part in PARTS),
            ),
        )

    @property
    def target_m(self) -> float | None:
        """How far the next putt is."""
        if self._part >= len(PARTS) or not PARTS[self._part].lengths:
            return None
        return self._order[len(self._good[self._part])]

    def _begin_part(self) -> None:
        part = PARTS[self._part]
        self._chooser.begin_block(Plan(part.schedule, part.strokes))

    def kept(self, kind: str, verdict: Verdict) -> tuple[str, ...]:
        """A stroke is on record. Lines to say. A rehearsal does not count, and uses up no feedback."""
        if self._part >= len(PARTS):
            return ()
        part, good = PARTS[self._part], self._good[self._part]
        if kind == "ball":
            open_still = verdict.too_close or any(name in BY_TIMING for name in verdict.indeterminate)
            bad = any(fault.name in BY_TIMING for fault in verdict.faults)
            good.append(False if bad else None if open_still else True)
        if len(good) < part.strokes:
            self._chooser.go_to(len(good) + 1)
            return ()
        self._part += 1
        lines = (self._line(self._part - 1),)
        if self._part < len(PARTS):
            self._begin_part()
            following = PARTS[self._part]
            self._news = Sign(following.name, following.instruction, "plain")
        return lines

    def ends(self, moment: LiveState) -> bool:
        """All of it is done, or the time is over; never in a stroke."""
        if self._begun_s is None:
            self._begun_s = moment.time_s
        self._late = self._late or moment.time_s - self._begun_s > MOST_S
        return self._part >= len(PARTS) or (self._late and not moment.phase.under_way)

    def view(self) -> DrillView:
        """For the screen."""
        if self._part >= len(PARTS):
            return DrillView(tr("Go and play"), news=self._news)
        part = PARTS[self._part]
        aim = self._distance.aim(self.target_m, 0.0) if self.target_m is not None else None
        follows = PARTS[self._part + 1].name.lower() if self._part + 1 < len(PARTS) else tr("go and play")
        return DrillView(
            tr(
                "{name}: {number} of {strokes}",
                name=part.name,
                number=len(self._good[self._part]) + 1,
                strokes=part.strokes,
            ),
            part.instruction,
            tr("then {follows}", follows=follows),
            part.schedule == "silent",
            aim.words if aim is not None else "",
            mark_cm=aim.behind_cm if aim is not None else None,
            label=aim.label if aim is not None else "",
            news=self._news,
        )

    def result(self) -> tuple[str, ...]:
        """How it went, once it is over."""
        open_part = self._line(self._part) if self._part < len(PARTS) and self._good[self._part] else ""
        why = tr("the time is over; ") if self._late and self._part < len(PARTS) else ""
        return tuple(line for line in (open_part, tr("{why}go and play", why=why)) if line)

    def _line(self, number: int) -> str:
        called = [good for good in self._good[number] if good is not None]
        unsure = len(self._good[number]) - len(called)
        beside = tr(", {unsure} not judged", unsure=unsure) if unsure else ""
        return tr(
            "{lower}: {number} of {number2} held{beside}",
            lower=PARTS[number].name.lower(),
            number=sum(called),
            number2=len(called),
            beside=beside,
        )


class PartsBeforePlay(Exercise):
    """They as what is practised: each stroke on record, then counted."""

    def __init__(self, recorder: StrokeRecorder, settings: Settings, parts: BeforePlay) -> None:
        super().__init__(recorder, settings)
        self._parts = parts

    @property
    def putt_m(self) -> float | None:
        return self._parts.target_m

    def save(self, record: StrokeRecord, verdict: Verdict, cues: tuple[Cue, ...]) -> tuple[str, ...]:
        super().save(record, verdict, cues)
        return self._parts.kept(record.kind, verdict)

    def ends(self, moment: LiveState) -> bool:
        return self._parts.ends(moment)

    def view(self) -> DrillView:
        return self._parts.view()

    def result(self) -> tuple[str, ...]:
        return self._parts.result()
