"""Distances while a drill is practised: how far back for the next putt, how far a ball would have run, what is kept of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from trainer.coaching.distance.ball_speed import by_speed, frames_per_s, putt_of
from trainer.coaching.distance.chart import TRAIL_FOOT_CM, cell, mark_behind_ball_cm, sentence, slope_words
from trainer.coaching.distance.distance_model import DistanceModel, fit
from trainer.coaching.distance.green_speed import Green
from trainer.coaching.distance.guesses import GUESS_WORDS, guesses_of, was
from trainer.coaching.distance.ladder import PLACE_WORDS, lag_score, own_spread, place, window_m, window_share
from trainer.coaching.distance.putt import Guess, Putt, checked
from trainer.coaching.distance.rhythm import Rhythm, rhythm
from trainer.domain.record import StrokeRecord
from trainer.domain.units import Unit, shown
from trainer.errors import TrainerError, UsageError
from trainer.settings.drill_file import Drill
from trainer.store.distance import DistancePlayer, Distances, that_count
from trainer.store.store import Store
from trainer.texts import join, tr, tr_count


@dataclass(frozen=True, slots=True)
class Aim:
    """For one putt. words: for the screen; putt: how far and how steep, alone;
    behind_cm: the mark on the floor, behind the ball; label: written at it; back_cm:
    length of the backstroke.
    """

    words: str
    putt: str = ""
    behind_cm: float | None = None
    label: str = ""
    back_cm: float | None = None

    def bare(self) -> Aim:
        """How far the putt is, and nothing of how far back: a silent test asks what was learned."""
        return Aim(self.putt)


class DrillDistance:
    """A drill's distances on the player's own green and scale. Where these are not known yet it says so, and goes on."""

    def __init__(self, store: Store, player: str, drill: Drill) -> None:
        self._kept = Distances(store)
        self._player = player
        choice = self._kept.player(player)
        self._choice = choice or DistancePlayer("m", TRAIL_FOOT_CM)
        self._green: Green | None = self._kept.green(player)
        known = [one.putt for one in that_count(self._kept.putts(player))]
        self._scale: DistanceModel = fit(known)
        self.window_share = window_share(own_spread(known), by_camera=True)
        self._targets: dict[tuple[float, float], Aim] = {}
        self.putts: list[tuple[Putt, float]] = []  # of this drill, each with the camera's frame rate

    @property
    def unit(self) -> Unit:
        return self._choice.unit

    def aim(self, target_m: float, slope_pct: float) -> Aim:
        """How far back for this putt."""
        key = (target_m, slope_pct)
        if key not in self._targets:
            self._targets[key] = self._aim(target_m, slope_pct)
        return self._targets[key]

    def _aim(self, target_m: float, slope_pct: float) -> Aim:
        far = tr("for {target_m}", target_m=shown(target_m, self.unit, 1))
        if self._green is None:
            return Aim(tr("{far}: no green speed yet (`distance green`)", far=far), far)
        putt = tr("{far}, {slope_words}", far=far, slope_words=slope_words(slope_pct))
        foot = self._choice.trail_foot_cm
        low, high = (shown(end, self.unit, 1) for end in window_m(target_m, self.window_share))
        window = tr(", window {low} to {high}", low=low, high=high)
        words = sentence(self._scale, self._green, target_m, slope_pct, self.unit, foot, window)
        length = cell(self._scale, self._green, target_m, slope_pct, foot).length_cm
        behind = mark_behind_ball_cm(length.value) if length is not None else None
        label = shown(target_m, self.unit, 1) if behind is not None else ""
        return Aim(words, putt, behind, label, length.value if length is not None else None)

    def putt(self, record: StrokeRecord, target_m: float, slope_pct: float) -> tuple[Putt | None, str]:
        """The stroke as a putt, by the ball's speed where its roll-out is not measured; else None and why."""
        if self._green is None:
            return None, tr("no green speed yet")
        try:
            made = by_speed(putt_of(record, 1.0, self._green.green_speed_ft, slope_pct, target_m))
            return checked(made, self.unit, sure=True), ""
        except TrainerError as error:
            return None, error.what

    def keep(self, putt: Putt, record: StrokeRecord, stroke_id: int, at: datetime) -> str:
        """Puts it on record for the scale; a roll-out measured later counts in its place. A line for the player."""
        rate = frames_per_s(record)
        self._kept.keep_putt(self._player, putt, at, stroke_id, rate)
        self.putts.append((putt, rate))
        target = putt.target_m or putt.rolled_m
        where = PLACE_WORDS[place(putt.rolled_m, target, self.window_share)]
        miss = putt.rolled_m / target - 1.0
        return tr(
            "{rolled_m} for {target} ({miss:+.0%}, by ball speed): {where}",
            rolled_m=shown(putt.rolled_m, self.unit, 1),
            target=shown(target, self.unit, 1),
            miss=miss,
            where=where,
        )

    def guessed(self, stroke_id: int, guess: Guess) -> str:
        """Keeps what the player said of his newest putt. Whether it was so, in words; empty where that is not known."""
        if not self._kept.note_guess(stroke_id, guess) or not self.putts:
            return ""
        putt, rate = self.putts[-1]
        self.putts[-1] = (replace(putt, guess=guess), rate)
        true = was(putt, self.window_share)
        said = tr("you said {guess}", guess=GUESS_WORDS[guess])
        return said if true is None or true == guess else said + tr(", it was {true}", true=GUESS_WORDS[true])

    def in_short(self) -> str:
        """Spread and rhythm of this drill's putts in a few words, as far as they can be told."""
        said = []
        if self.putts and (spread := lag_score([putt for putt, _ in self.putts]).variability) is not None:
            said.append(tr("distance spread {value:.0%}", value=spread.value))
        try:
            steady = self._rhythm().steady
        except UsageError:  # too few, or all to one distance
            steady = None
        if steady is not None:
            said.append(tr("same rhythm") if steady else tr("the rhythm changed"))
        return join(", ", said)

    def _timed(self) -> list[tuple[float, float, float]]:
        """(whole time, distance, frame rate) of the putts whose times were seen."""
        return [
            (p.back_s + p.to_impact_s, p.target_m or p.rolled_m, fps)
            for p, fps in self.putts
            if p.back_s is not None and p.to_impact_s is not None
        ]

    def _rhythm(self) -> Rhythm:
        timed = self._timed()
        return rhythm([t for t, *_ in timed], [d for _, d, _ in timed], min((fps for *_, fps in timed), default=30.0))

    def ends(self) -> list[str]:
        """Lag score and rhythm of this drill's putts, or what is missing."""
        out = []
        try:
            lag = lag_score([putt for putt, _ in self.putts], self.window_share)
            v = lag.variability
            spread = (
                tr(", spread {value:.0%} ({low:.0%} to {high:.0%})", value=v.value, low=v.low, high=v.high) if v else ""
            )
            out.append(
                tr(
                    "distance: {putts}, on average {value:+.0%}{spread}, {in_window:.0%} in the window",
                    putts=tr_count("{count} putt", "{count} putts", lag.putts),
                    value=lag.mean.value,
                    spread=spread,
                    in_window=lag.in_window,
                )
            )
            out.append(lag.context())
            out.append(tr("rhythm: {part}", part=self._rhythm().line()))
        except UsageError as error:
            out.append(
                tr("{where}: {what}", where=error.where, what=error.what)
                + (tr(" ({todo})", todo=error.todo) if error.todo else "")
            )
        said = guesses_of([putt for putt, _ in self.putts], self.window_share)
        return [*out, said.words] if said is not None else out
