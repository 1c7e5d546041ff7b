"""What `distance scale, chart, ladder` show."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Sequence

from rich.console import Console
from rich.table import Table

from trainer.app.context import report_line
from trainer.app.distance import Desk, desk, now, numbers
from trainer.coaching.distance.chart import SLOPES_PCT, Chart, cell, chart
from trainer.coaching.distance.checks import PUTT, SLOPE, in_range
from trainer.coaching.distance.distance_model import DistanceModel, fit
from trainer.coaching.distance.distance_table import ADVICE, WORDS, distance_table
from trainer.coaching.distance.ladder import Order, lag_score, order_of, window_m
from trainer.coaching.distance.page import cell_marks, page, slope_words
from trainer.coaching.distance.putt import Putt
from trainer.coaching.distance.rhythm import rhythm
from trainer.coaching.distance.units import Unit, from_m, shown, to_m
from trainer.errors import UsageError
from trainer.store.distance import KeptPutt


def scale_of(at: Desk) -> tuple[DistanceModel, list[KeptPutt]]:
    """The player's scale and the putts it rests on."""
    kept = at.kept.putts(at.name)
    return fit([one.putt for one in kept]), kept


def run_scale(data_folder: Path | None, student: str | None) -> int:
    """Prints the law, the dials, the rhythm, the lag score; what cannot be told yet says what is missing."""
    with desk(data_folder, student) as at:
        unit, green = at.player().unit, at.green()
        scale, kept = scale_of(at)
    putts = [one.putt for one in kept]
    if not putts:
        report_line("no putts of your own yet; what follows is the published stroke of tour players")
    e, s = scale.exponent, scale.spread_share
    report_line(
        f"{scale.putts} putt{'' if scale.putts == 1 else 's'}: {scale.reference_cm:.0f} cm back sends the ball off "
        f"at {scale.speed_m_s.value:.2f} m/s "
        f"({scale.speed_m_s.low:.2f} to {scale.speed_m_s.high:.2f}); speed goes as length to the power "
        f"{e.value:.2f} ({e.low:.2f} to {e.high:.2f}; 1 is one rhythm for all)"
    )
    report_line(f"putts of one length spread by {s.value:.1%} of the distance ({s.low:.1%} to {s.high:.1%})")
    if scale.mishits:
        report_line("left out as mishits: putt " + ", ".join(str(kept[i].putt_id) for i in scale.mishits))
    report_line(f"on a green of {green.green_speed_ft:.1f} ft, level:")
    for metres in (1.0, 2.0, 4.0, 8.0) if unit == "m" else (to_m(d, "ft") for d in (3.0, 6.0, 12.0, 24.0)):
        length = scale.length_cm(metres, green.green_speed_ft, 0.0, green.relative_error)
        report_line(f"  {shown(metres, unit, 1):>8}: {length.value:.0f} cm ({length.low:.0f} to {length.high:.0f})")
    _dials(putts, scale)
    _rhythm(kept)
    _lag(putts, unit)
    return 0


def _told_missing(error: UsageError) -> None:
    report_line(f"{error.where}: {error.what}" + (f" ({error.todo})" if error.todo else ""))


def _dials(putts: Sequence[Putt], scale: DistanceModel) -> None:
    try:
        found = distance_table(putts, scale)
    except UsageError as error:
        _told_missing(error)
        return
    report_line(
        f"three dials: the distances miss by {found.spread_share:.1%} (one standard deviation, {found.putts} putts), of which"
    )
    for dial, share in found.shares.items():
        report_line(f"  {WORDS[dial]}: {share.value:.0%} ({share.low:.0%} to {share.high:.0%})")
    sure = "" if found.sure else " (not plain yet, more putts will tell)"
    report_line(f"  work on {WORDS[found.work_on].split(' (')[0]}{sure}: {ADVICE[found.work_on]}")


def _rhythm(kept: Sequence[KeptPutt]) -> None:
    timed = [
        (one.putt.back_s + one.putt.to_impact_s, one.putt.target_m or one.putt.rolled_m, one.frames_per_s)
        for one in kept
        if one.putt.back_s is not None and one.putt.to_impact_s is not None
    ]
    rates = [fps for _, _, fps in timed if fps is not None]
    try:
        found = rhythm([w for w, _, _ in timed], [d for _, d, _ in timed], min(rates, default=30.0))
    except UsageError as error:
        _told_missing(error)
        return
    report_line(f"rhythm: {found.line()}")


def _lag(putts: Sequence[Putt], unit: Unit) -> None:
    try:
        found = lag_score(putts)
    except UsageError as error:
        _told_missing(error)
        return
    spread = (
        ""
        if found.spread is None
        else f", spread {found.spread.value:.1%} ({found.spread.low:.1%} to {found.spread.high:.1%})"
    )
    report_line(
        f"lag: {found.putts} putts, mean {found.mean.value:+.1%}{spread}, {found.in_window:.0%} inside the window"
    )
    for target, (count, mean, own) in found.by_target.items():
        report_line(
            f"  {shown(target, unit, 1):>8}: {count} putts, mean {mean:+.1%}"
            + ("" if own is None else f", spread {own:.1%}")
        )
    report_line(found.context())


def run_chart(
    data_folder: Path | None, distances: str | None, slopes: str, html: Path | None, student: str | None
) -> int:
    """Prints the chart, or writes it as one page."""
    with desk(data_folder, student) as at:
        choice, green = at.player(), at.green()
        scale, _ = scale_of(at)
        wanted = None if distances is None else numbers(distances, "--distances")
        falls = numbers(slopes, "--slopes") if slopes else SLOPES_PCT
        made = chart(scale, green, choice.unit, wanted, falls, choice.trail_foot_cm)
    if html is not None:
        try:
            html.write_text(page(made, at.name, now().astimezone().strftime("%Y-%m-%d"), choice.trail_foot_cm), "utf-8")
        except OSError as error:
            raise UsageError(f"cannot be written ({error.strerror})", str(html), "choose another place") from None
        report_line(f"written: {html}")
        return 0
    Console(highlight=False).print(_table(made))
    report_line("cm back from the ball (90 % of your own law); - no answer")
    for note in made.notes:
        report_line(note)
    level = [i for i, slope in enumerate(made.slopes_pct) if slope == 0]
    if level:
        report_line("level, on the ground:")
        for distance, row in zip(made.distances_m, made.rows, strict=True):
            if row[level[0]].mark:
                report_line(f"  {from_m(distance, made.unit):g} {made.unit}: {row[level[0]].mark}")
    return 0


def _table(made: Chart) -> Table:
    out = Table(title=f"green {made.green.green_speed_ft:.1f} ft")
    out.add_column(made.unit, justify="right")
    for slope in made.slopes_pct:
        out.add_column(slope_words(slope), justify="right")
    for distance, row in zip(made.distances_m, made.rows, strict=True):
        cells = [
            "-"
            if c.length_cm is None
            else f"{c.length_cm.value:.0f}{cell_marks(c)} ({c.length_cm.low:.0f}-{c.length_cm.high:.0f})"
            for c in row
        ]
        out.add_row(f"{from_m(distance, made.unit):g}", *cells)
    return out


def run_ladder(
    data_folder: Path | None,
    distances: str,
    each: int,
    order: Order,
    seed: int | None,
    slope_pct: float,
    student: str | None,
) -> int:
    """Prints the order; without a seed it is another one every time."""
    with desk(data_folder, student) as at:
        choice, green = at.player(), at.green()
        in_range(slope_pct, SLOPE)
        marks = [in_range(to_m(d, choice.unit), PUTT, choice.unit) for d in numbers(distances, "ladder")]
        seed = time.time_ns() % 10**6 if seed is None else seed
        wanted = order_of(marks, each, order, seed, choice.unit)
        scale, _ = scale_of(at)
        cells = {mark: cell(scale, green, mark, slope_pct, choice.trail_foot_cm) for mark in marks}
    report_line(f"ladder, {order} (--seed {seed}), {slope_words(slope_pct)}, green {green.green_speed_ft:.1f} ft:")
    for number, mark in enumerate(wanted, 1):
        low_m, high_m = window_m(mark)
        found = cells[mark]
        back = found.note if found.length_cm is None else f"back {found.length_cm.value:.0f} cm, {found.mark}"
        report_line(
            f"{number:3d}  {from_m(mark, choice.unit):g} {choice.unit}: {back}; "
            f"stop between {shown(low_m, choice.unit, 1)} and {shown(high_m, choice.unit, 1)}"
        )
    return 0
