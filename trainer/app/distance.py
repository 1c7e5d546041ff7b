"""What `distance unit, green, slope, putt, putts` do: check everything, then keep, then say what was kept."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timezone
from pathlib import Path
from typing import Iterator, Sequence

from trainer.app.context import load_context, report_line
from trainer.coaching.distance.ball_speed import by_speed as speed_run
from trainer.coaching.distance.ball_speed import frames_per_s, putt_of
from trainer.coaching.distance.chart import TRAIL_FOOT_CM
from trainer.coaching.distance.checks import FOOT_PLACE, ROLLED, ROUNDED, SLOPE, in_range
from trainer.coaching.distance.green_speed import (
    Green,
    RolledPutt,
    entered_green,
    green_from_putts,
    ramp_green,
    slope_from_level_pct,
    slope_from_rolls_pct,
)
from trainer.coaching.distance.ladder import place, window_m
from trainer.coaching.distance.model_validity import model_validity
from trainer.coaching.distance.putt import Putt, checked, told
from trainer.coaching.distance.skid import DEFAULT_LAUNCH, ROLLING
from trainer.coaching.distance.units import Unit, shown, to_m, unit_named
from trainer.domain.record import StrokeRecord
from trainer.errors import UsageError
from trainer.store.distance import DistancePlayer, Distances
from trainer.store.store import Store


@dataclass(frozen=True)
class Desk:
    """The open record and whose distances are meant."""

    store: Store
    kept: Distances
    name: str
    folder: Path

    def player(self) -> DistancePlayer:
        """Raises UsageError while no unit is chosen."""
        found = self.kept.player(self.name)
        if found is None:
            raise UsageError(
                f"{self.name} has not chosen metres or feet yet", "", "`putting-trainer distance unit m` or `... ft`"
            )
        return found

    def green(self) -> Green:
        """Raises UsageError while no green is set."""
        found = self.kept.green(self.name)
        if found is None:
            raise UsageError(
                "no green speed yet", "", "`putting-trainer distance green 9.5`, or measure it (see --help)"
            )
        return found


@contextmanager
def desk(data_folder: Path | None, student: str | None) -> Iterator[Desk]:
    """Opens the record for one command."""
    context = load_context(data_folder, student)
    with context.open_store() as store:
        yield Desk(store, Distances(store), context.settings.player.name, context.folder)


def now() -> datetime:
    """For stamping what is kept."""
    return datetime.now(timezone.utc)


def numbers(text: str, what: str, count: int | None = None) -> list[float]:
    """ "1,2.5,3" -> numbers. Raises UsageError."""
    try:
        found = [float(part) for part in text.split(",")]
    except ValueError:
        raise UsageError(f"{text!r} is not a list of numbers", what, "for example 2,4,6.5") from None
    if count is not None and len(found) != count:
        raise UsageError(f"{text!r} holds {len(found)} numbers", what, f"{count} are needed, for example 3.1,2.9")
    return found


def run_unit(data_folder: Path | None, unit: str, trail_foot_cm: float | None, student: str | None) -> int:
    """Keeps the unit and the place of the trail foot."""
    with desk(data_folder, student) as at:
        before = at.kept.player(at.name)
        foot_cm = trail_foot_cm if trail_foot_cm is not None else before.trail_foot_cm if before else TRAIL_FOOT_CM
        choice = DistancePlayer(unit_named(unit), in_range(foot_cm, FOOT_PLACE))
        at.kept.set_player(at.name, choice)
        report_line(
            f"{at.name}: distances in {choice.unit}; trail foot's middle {choice.trail_foot_cm:g} cm behind the ball"
        )
    return 0


def run_green(
    data_folder: Path | None,
    stimp: float | None,
    one_way: str | None,
    other_way: str | None,
    sloped: bool,
    putts: Sequence[str],
    rolled_ball: bool,
    rounded: float,
    slope_pct: float,
    student: str | None,
) -> int:
    """Measures or takes the green speed and keeps it."""
    ways = (stimp is not None, one_way is not None or other_way is not None, bool(putts))
    if sum(ways) != 1:
        raise UsageError("say the green speed in one way", "green", "STIMP, or --one-way and --other-way, or --putt")
    with desk(data_folder, student) as at:
        if stimp is not None:
            found = entered_green(stimp)
        else:
            unit = at.player().unit
            if putts:
                found = green_from_putts(
                    [_rolled_putt(text, unit, slope_pct, rounded) for text in putts],
                    ROLLING if rolled_ball else DEFAULT_LAUNCH,
                )
            else:
                first, second = _metres(one_way or "", "--one-way", unit), _metres(other_way or "", "--other-way", unit)
                found = ramp_green(first, second, sloped)
        at.kept.keep_green(at.name, found, now())
    report_line(
        f"green speed {found.green_speed_ft:.1f} ft (90 % band {found.low_ft:.1f} to {found.high_ft:.1f} ft; {found.source})"
        + (f"; that line slopes {found.slope_pct:.1f} %" if found.slope_pct else "")
    )
    for warning in found.warnings:
        report_line(warning)
    return 0


def _metres(text: str, what: str, unit: Unit) -> list[float]:
    return [in_range(to_m(value, unit), ROLLED, unit) for value in numbers(text, what)]


def _rolled_putt(text: str, unit: Unit, slope_pct: float, rounded: float) -> RolledPutt:
    speed, rolled = numbers(text, "--putt", 2)
    rounded_to_m = in_range(to_m(rounded, unit), ROUNDED, unit)
    return RolledPutt(speed, in_range(to_m(rolled, unit), ROLLED, unit), in_range(slope_pct, SLOPE), rounded_to_m)


def run_slope(
    data_folder: Path | None, degrees: float | None, rolls: str | None, rolled_ball: bool, student: str | None
) -> int:
    """Tells a slope; keeps nothing."""
    if (degrees is None) == (rolls is None):
        raise UsageError("say the slope in one way", "slope", "--level DEG, or --rolls DOWN,UP")
    if degrees is not None:
        found = slope_from_level_pct(degrees)
        report_line(f"slope {found:+.1f} % ({'uphill' if found >= 0 else 'downhill'}); give it as --slope {found:.1f}")
        return 0
    with desk(data_folder, student) as at:
        unit, green = at.player().unit, at.green()
        numbers(rolls or "", "--rolls", 2)
        down_m, up_m = _metres(rolls or "", "--rolls", unit)
        found = slope_from_rolls_pct(down_m, up_m, green.green_speed_ft, ROLLING if rolled_ball else DEFAULT_LAUNCH)
    report_line(
        f"slope {found:.1f} % at green speed {green.green_speed_ft:.1f} ft; give it as --slope {found:.1f} up, -{found:.1f} down"
    )
    warning = model_validity(green.green_speed_ft, -found).why
    if warning:
        report_line(warning)
    return 0


def run_putt(
    data_folder: Path | None,
    rolled: float | None,
    target: float | None,
    back_cm: float | None,
    last: bool,
    stroke_id: int | None,
    by_speed: bool,
    back_s: float | None,
    to_impact_s: float | None,
    ball_speed_m_s: float | None,
    rounded: float,
    slope_pct: float,
    sure: bool,
    student: str | None,
) -> int:
    """Keeps one putt, entered by hand or belonging to a stroke on record."""
    if sum((back_cm is not None, last, stroke_id is not None)) != 1:
        raise UsageError("say which stroke it was", "putt", "--back CM, or --last, or --stroke ID")
    with desk(data_folder, student) as at:
        unit, green = at.player().unit, at.green()
        if not by_speed:
            in_range(None if rolled is None else to_m(rolled, unit), ROLLED, unit)
        elif rolled is not None:
            raise UsageError("say how far it ran in one way", "putt", "--rolled D, or --by-speed")
        # 1 m stands in until the ball's speed is known.
        rolled_m, target_m = to_m(rolled, unit) if rolled is not None else 1.0, _maybe_m(target, unit)
        rounded_to_m = to_m(rounded, unit)
        fps = None
        if back_cm is not None:
            putt = Putt(
                back_cm,
                rolled_m,
                green.green_speed_ft,
                slope_pct,
                target_m,
                back_s,
                to_impact_s,
                ball_speed_m_s,
                rounded_to_m,
            )
        else:
            stroke_id, record = _stroke(at, stroke_id)
            in_range(slope_pct, SLOPE)
            putt = putt_of(record, rolled_m, green.green_speed_ft, slope_pct, target_m, rounded_to_m)
            fps = frames_per_s(record)
        if by_speed:
            putt = speed_run(checked(putt, unit, sure=True))
        number = at.kept.keep_putt(at.name, checked(putt, unit, sure), now(), stroke_id, fps)
    how = " (by its speed, not rolled out)" if by_speed else ""
    report_line(f"putt {number} kept: {told(putt, unit)}{how}{_verdict(putt, unit)}")
    return 0


def _maybe_m(value: float | None, unit: Unit) -> float | None:
    return None if value is None else to_m(value, unit)


def _stroke(at: Desk, stroke_id: int | None) -> tuple[int, StrokeRecord]:
    if stroke_id is None:
        balls = [line for line in at.store.recent(50, at.name) if line.kind == "ball"]
        if not balls:
            raise UsageError(f"no ball stroke of {at.name} on record", "putt", "practise first, or give --back CM")
        stroke_id = balls[0].stroke_id
    found = at.store.stroke(stroke_id)
    if found.player != at.name:
        raise UsageError(f"stroke {stroke_id} is {found.player}'s", "putt", f"choose one of {at.name}'s, or --student")
    return stroke_id, found.record


def _verdict(putt: Putt, unit: Unit) -> str:
    if putt.target_m is None:
        return ""
    low_m, high_m = window_m(putt.target_m)
    return f"; {place(putt.rolled_m, putt.target_m)} (window {shown(low_m, unit, 1)} to {shown(high_m, unit, 1)})"


def run_putts(data_folder: Path | None, drop: int | None, student: str | None) -> int:
    """Lists putts, or forgets one."""
    with desk(data_folder, student) as at:
        unit = at.player().unit
        if drop is not None:
            at.kept.drop_putt(at.name, drop)
            report_line(f"putt {drop} forgotten")
            return 0
        kept = at.kept.putts(at.name)
        done = {putt.stroke_id for putt in kept}
        open_ones = [s for s in at.store.recent(20, at.name) if s.kind == "ball" and s.stroke_id not in done]
    for one in kept:
        slope = f", {one.putt.slope_pct:+g} %" if one.putt.slope_pct else ""
        when = one.kept_at.astimezone().strftime("%Y-%m-%d %H:%M")
        report_line(f"{one.putt_id:5d}  {when}  {told(one.putt, unit)} on {one.putt.green_speed_ft:.1f} ft{slope}")
    report_line(
        f"{len(kept)} putts of {at.name}"
        if kept
        else f"no putts of {at.name} yet: `putting-trainer distance putt --help`"
    )
    for stroke in reversed(open_ones):
        back = stroke.measures.get("back_cm")
        length = "length not seen" if back is None or back.value is None else f"{back.value:.0f} cm back"
        report_line(
            f"stroke {stroke.stroke_id}: {length}, no roll-out yet: distance putt --stroke {stroke.stroke_id} --rolled D"
        )
    return 0
