"""A drill while it is practised: each stroke is kept with its drill and stage, counted, and the silent test follows the block."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timezone
from typing import Mapping

from trainer.app.clock import today
from trainer.app.context import RunContext
from trainer.app.practice.drill_distance import DrillDistance
from trainer.app.practice.drill_result import Putted, drill_sign
from trainer.app.practice.exercise import Exercise
from trainer.app.practice.stroke_recorder import Practised, StrokeRecorder
from trainer.app.practice.task_drills import task_lines
from trainer.coaching import drill_words as words
from trainer.coaching.distance.chart import mark_behind_ball_cm
from trainer.coaching.distance.guesses import GUESS_WORDS
from trainer.coaching.distance.putt import Guess, Putt
from trainer.coaching.drills import Run, after, test_of
from trainer.coaching.gestures import Question
from trainer.coaching.pass_rule import with_marks
from trainer.coaching.verdict import Verdict
from trainer.domain.record import LiveState, StrokeRecord
from trainer.domain.units import Unit
from trainer.domain.verdict import Cue
from trainer.feedback.cues import CueChooser
from trainer.feedback.rhythm import RHYTHM, RhythmGiver, rhythm_sound
from trainer.feedback.schedule import Plan
from trainer.feedback.signs import Sign
from trainer.feedback.tones import Samples
from trainer.live.display_types import DrillView
from trainer.settings.drill_file import Drill, RhythmTable
from trainer.settings.model import Feedback, Settings
from trainer.store.distance import Distances
from trainer.store.drill_marks import silent_marks
from trainer.store.history import StudentKey
from trainer.store.store import Store
from trainer.texts import join, tr


def with_drill(context: RunContext, drill: Drill) -> RunContext:
    """The settings while this drill is practised: its limits, its schedule."""
    feedback = context.settings.feedback.model_copy(
        update={"schedule": drill.feedback.schedule, "summary_after": drill.feedback.summary_after}
    )
    settings = context.settings.changed(limits=drill.limits(context.settings.limits), feedback=feedback)
    return replace(context, settings=settings)


def question_of(drill: Drill, feedback: Feedback) -> tuple[Question, float]:
    """What the drill's strokes are asked, and how long the answer is waited for (s); 0: nothing."""
    if drill.ladder.guess:
        return "guess", feedback.feel_wait_s
    return "feel", feedback.feel_wait_s if feedback.feel else 0.0


def block_plan(drill: Drill, seed: int = 0, feel: bool = False) -> Plan:
    """Which strokes of the block are told, and by which sounds. feel: asked first how it felt, so no sound tells."""
    feedback = drill.feedback
    tone, praise = drill.head.cue in ("faults", "both"), drill.head.cue in ("chime", "both")
    tone, praise = tone and not feel, praise and not feel
    return Plan(feedback.schedule, drill.block.strokes, seed, feedback.summary_after, tone, praise)


def sounds_of(drill: Drill | None) -> dict[str, Samples]:
    """The sounds that only this drill needs."""
    if drill is None or drill.head.cue != "rhythm":
        return {}
    rhythm = drill.rhythm
    return {rhythm_name(drill): rhythm_sound(rhythm.ratio, rhythm.backstroke_s, rhythm.until == "top")}


def rhythm_name(drill: Drill) -> str:
    """The sound's name: drills of one run may have rhythms of their own."""
    usual, own = RhythmTable(), drill.rhythm
    if (own.ratio, own.backstroke_s, own.until) == (usual.ratio, usual.backstroke_s, usual.until):
        return RHYTHM
    return tr(
        "{rhythm} {ratio:g} {backstroke_s:g} {until}",
        rhythm=RHYTHM,
        ratio=own.ratio,
        backstroke_s=own.backstroke_s,
        until=own.until,
    )


def begun(store: Store, key: StudentKey, drill: Drill, seed: int) -> Run:
    """A run of the drill, which knows the tests before it."""
    test = test_of(drill)
    earlier = with_marks((), test, silent_marks(store, key, drill.drill_id)) if test is not None else ()
    return Run(drill, seed=seed, earlier=earlier, today=today())


class DrillSession(Exercise):
    """Puts each stroke on record with its drill and stage, and moves the drill on. What there is to say it returns."""

    def __init__(
        self,
        recorder: StrokeRecorder,
        store: Store,
        settings: Settings,
        drill: Drill,
        others: Mapping[str, Drill] | None = None,
        chooser: CueChooser | None = None,
        seed: int = 0,
    ) -> None:
        """others: id -> drill, of all that there are; chooser: of the run so far, else a new one; seed: of orders."""
        super().__init__(recorder, settings)
        self._store = store
        self._others = others or {}
        self._key = StudentKey(recorder.student_id, settings.player.name)
        self.run = begun(store, self._key, drill, seed)
        self._plan = block_plan(drill, seed, settings.feedback.feel)
        self.chooser = chooser or CueChooser(self._plan)
        self.chooser.begin_block(self._plan)
        self._rhythm = RhythmGiver() if drill.head.cue == "rhythm" else None
        self.distance = DrillDistance(store, settings.player.name, drill) if drill.ladder.distances_m else None
        if self.distance is not None:
            self.run = replace(self.run, window_share=self.distance.window_share)
        choice = Distances(store).player(settings.player.name)
        self._unit: Unit = choice.unit if choice is not None else "m"
        self._told = False
        self._told_marks = 0
        self._news: Sign | None = None
        self._last = ""

    @property
    def drill(self) -> Drill:
        return self.run.drill

    @property
    def putt_m(self) -> float | None:
        return self.run.putt_m

    @property
    def practised(self) -> Practised:
        stage = self.run.stage
        drill_id = self.run.drill.drill_id if stage != "done" else None
        return Practised(self.settings, drill_id, None if stage == "done" else stage)

    def sound(self, moment: LiveState) -> str | None:
        """The rhythm, once at each address."""
        if self._rhythm is None or self.run.stage != "block" or not self._rhythm.update(moment):
            return None
        return rhythm_name(self.run.drill)

    def save(self, record: StrokeRecord, verdict: Verdict, cues: tuple[Cue, ...]) -> tuple[str, ...]:
        stage = self.run.stage
        now = datetime.now(timezone.utc)
        self.run = ran = replace(self.run, today=now.astimezone().date())
        number, practised = ran.number, self.practised
        putted, putt, why = self._putted(record)
        self.run = after(ran, record.kind, record.measures, verdict, putted.rolled_m if putted is not None else None)
        counts = len(self.run.marks) > len(ran.marks)
        good = self.run.marks[-1].good if counts else None
        self.called = None if not counts else "not judged" if good is None else "good" if good else "not good"
        self.recorder.save(record, verdict, cues, practised, good, now)
        self.result_sign = drill_sign(ran, record, verdict, putted) if counts else None
        lines = self._keep_putt(record, putt, why, now) if putted is not None else []
        told = bool(record.context.told) or self._plan.feedback_level(number).summary_of > 0
        if stage == "block" and counts and told:
            self._told_marks = len(self.run.marks)
        if self.run.stage != stage:
            self._news = self._over()
        if self.run.stage == stage:
            if stage != "done":
                self.chooser.go_to(self.run.number)
        elif self.run.stage == "silent":
            self.chooser.begin_block(Plan("silent"))
            lines.append(words.silence_line(self.run))
        else:
            feel = self.settings.feedback.feel
            self.chooser.begin_block(Plan("every", tone=not feel, praise=not feel))
            lines += self.result()
        return tuple(lines)

    def _putted(self, record: StrokeRecord) -> tuple[Putted | None, Putt | None, str]:
        """(what is shown of it, the putt, why it is not known) in a distance drill. None: it was no putt of it."""
        target = self.run.target_m
        if self.distance is None or target is None or record.kind != self.run.wanted:
            return None, None, ""
        slope_pct = self.run.slope_pct
        putt, why = self.distance.putt(record, target, slope_pct)
        asked_cm = self.distance.aim(target, slope_pct).back_cm
        return Putted(putt.rolled_m if putt is not None else None, self.distance.unit, asked_cm, why), putt, why

    def _keep_putt(self, record: StrokeRecord, putt: Putt | None, why: str, now: datetime) -> list[str]:
        """For the player's scale. Lines to say."""
        session = self.recorder.session
        if self.distance is None or session is None:
            return []
        if putt is None:
            line = tr("distance not known: {why}", why=why)
        else:
            line = self.distance.keep(putt, record, self._store.newest(session), now)
        band = self.run.drill.feedback.schedule == "outside"
        told = bool(record.context.told) and not (band and self.called == "good")
        self._last = line if told else ""
        return [line] if told or putt is None else []

    def guessed(self, guess: Guess) -> tuple[str, ...]:
        session = self.recorder.session
        if self.distance is None or session is None:
            return ()
        said = self.distance.guessed(self._store.newest(session), guess)
        if said and self._last:
            self._last = tr("{last}; {said}", last=self._last, said=said)
            return (said,)
        return (tr("you said {guess}", guess=GUESS_WORDS[guess]),)

    def _over(self) -> Sign:
        """What is shown when the block, or all of it, is over."""
        if self.run.stage == "done" and test_of(self.run.drill) is not None:
            detail = tr(
                "{done_line}; {standing_line}",
                done_line=words.done_line(self.run),
                standing_line=words.standing_line(self.run),
            )
            if self.distance is not None and (short := self.distance.in_short()):
                detail = tr("{detail}; {short}", detail=detail, short=short)
            return Sign(words.stroke_line(self.run), detail, "good" if self.run.passed_today else "plain")
        large, small = words.block_words(self.run)
        return Sign(large, small, "plain")

    def view(self) -> DrillView:
        run, aim = self.run, None
        if self.distance is not None and run.target_m is not None:
            aim = self.distance.aim(run.target_m, run.slope_pct)
        if aim is not None and (run.stage == "silent" or run.chooses):
            aim = aim.bare()
        length = (
            tr("back {length_cm:g} cm", length_cm=run.length_cm)
            if run.length_cm is not None and run.stage != "done"
            else ""
        )
        follows = run.drill.head.next if run.stage != "done" else run.follows or ""
        return DrillView(
            words.stroke_line(run),
            words.tally_line(run, self._told_marks),
            words.next_line(run, self._called(follows) or None),
            words.silent(run),
            aim.words if aim is not None else length or words.task_line(run, self._unit),
            self._last,
            aim.behind_cm
            if aim is not None
            else mark_behind_ball_cm(run.length_cm)
            if length and run.length_cm and run.stage != "silent"
            else None,
            aim.label if aim is not None else length,
            self._news,
        )

    def result(self) -> tuple[str, ...]:
        """With and without feedback side by side; once when it is over."""
        if self._told or not self.run.marks:
            return ()
        run = self.run
        self._told = run.stage == "done"
        shares = []
        for name, share, unsure in zip((tr("block"), tr("in silence")), run.scores(), run.unjudged(), strict=True):
            shares.append(
                tr("{name} {words}", name=name, words=share.words() if share else tr("none yet"))
                + (tr(", {unsure} not judged", unsure=unsure) if unsure else "")
            )
        verdict = tr("{lower}; ", lower=words.verdict_words(run).lower()) if self._told else ""
        lines = [
            tr(
                "{name}: good strokes ({asked}), {listed}; {verdict}{standing_line}",
                name=run.drill.head.name,
                asked=words.asked_words(run.drill),
                listed=join(", ", shares),
                verdict=verdict,
                standing_line=words.standing_line(run),
            )
        ]
        if self._told and self.distance is not None:
            lines += self.distance.ends()
        if self._told and run.drill.transfer.asked:
            lines += task_lines(self._store, self._key, run, self._others.values())
        if self._told and self.run.follows:
            lines.append(tr("next: {follows}", follows=self._called(self.run.follows)))
        return tuple(lines)

    def _called(self, drill_id: str) -> str:
        other = self._others.get(drill_id)
        return other.head.name if other is not None else drill_id
