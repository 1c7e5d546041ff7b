"""Greens, slopes, putts, the scale and a ladder in lines for the user."""

from __future__ import annotations

from typing import Iterator

from trainer.app.distance.green import Green, Slope
from trainer.app.distance.putts import EnteredPutt, PuttList
from trainer.app.distance.scale import ChartView, LadderView, Lag, Missing, ScaleView, Variation, band
from trainer.domain.naming import moment_words
from trainer.domain.units import Unit, from_m, shown


def green_lines(green: Green) -> Iterator[str]:
    between = f"90 % band {green.low_ft:.1f} to {green.high_ft:.1f} ft"
    slope = f"; that line slopes {green.slope_pct:.1f} %" if green.slope_pct else ""
    yield f"green speed {green.green_speed_ft:.1f} ft ({between}; {green.source}){slope}"
    yield from green.warnings


def slope_lines(slope: Slope) -> Iterator[str]:
    pct = slope.pct
    if slope.green_speed_ft is None:
        yield f"slope {pct:+.1f} % ({'uphill' if pct >= 0 else 'downhill'}); give it as --slope {pct:.1f}"
        return
    yield (
        f"slope {pct:.1f} % at green speed {slope.green_speed_ft:.1f} ft; give it as --slope {pct:.1f} up, -{pct:.1f} down"
    )
    if slope.warning:
        yield slope.warning


def putt_lines(putt: EnteredPutt) -> Iterator[str]:
    verdict = ""
    if putt.window_m is not None:
        low_m, high_m = putt.window_m
        verdict = f"; {putt.place} (window {shown(low_m, putt.unit, 1)} to {shown(high_m, putt.unit, 1)})"
    yield f"putt {putt.number} kept: {putt.words}{verdict}"
    if putt.replaced is not None:
        yield f"it takes the place of: {putt.replaced}"
    if putt.beside is not None:
        number, words = putt.beside
        this, other = f"this one ({putt.number})", f"putt {number} ({words})"
        measured, estimate = (other, this) if putt.estimated else (this, other)
        yield f"the measured roll-out counts, {measured}; the estimate stays on record, {estimate}"


def putts_lines(found: PuttList) -> Iterator[str]:
    for one in found.putts:
        slope = f", {one.slope_pct:+g} %" if one.slope_pct else ""
        when = moment_words(one.kept_at)
        aside = "" if one.counts else " (does not count: that stroke's roll-out was measured)"
        yield f"{one.number:5d}  {when}  {one.words} on {one.green_speed_ft:.1f} ft{slope}{aside}"
    if found.putts:
        yield f"{len(found.putts)} putts of {found.name}"
    else:
        yield f"no putts of {found.name} yet: `putting-trainer distance putt --help`"
    for name, which, back_cm in found.without_roll_out:
        length = "length not seen" if back_cm is None else f"{back_cm:.0f} cm back"
        yield f"{name}: {length}, no roll-out yet: distance putt --stroke {which} --rolled D"


def scale_lines(view: ScaleView) -> Iterator[str]:
    """The law, the distance table, the rhythm, the lag score; what cannot be told yet says what is missing."""
    model = view.model
    if not view.putts:
        yield "no putts of your own yet; what follows is the published stroke of tour players"
    e, v = model.exponent, model.variability
    yield (
        f"{model.putts} putt{'' if model.putts == 1 else 's'}: {model.reference_cm:.0f} cm back sends the ball off "
        f"at {model.speed_m_s.value:.2f} m/s "
        f"({model.speed_m_s.low:.2f} to {model.speed_m_s.high:.2f}); speed goes as length to the power "
        f"{e.value:.2f} ({e.low:.2f} to {e.high:.2f}; 1 is one rhythm for all)"
    )
    yield f"putts of one length spread by {v.value:.1%} of the distance ({v.low:.1%} to {v.high:.1%})"
    if view.left_out:
        yield "left out as mishits: putt " + ", ".join(map(str, view.left_out))
    yield f"on a green of {view.green_speed_ft:.1f} ft, level:"
    for metres, length in view.lengths:
        yield f"  {shown(metres, view.unit, 1):>8}: {length.value:.0f} cm ({band(length, ' to ')})"
    for part in (view.variation, view.rhythm, view.lag):
        if isinstance(part, Missing):
            yield f"{part.what}: {part.why}" + (f" ({part.todo})" if part.todo else "")
        elif part is view.variation:
            yield from _variation_lines(part)
        elif part is view.lag:
            yield from _lag_lines(part, view.unit)
        else:
            yield f"rhythm: {part}"


def _variation_lines(found: Variation) -> Iterator[str]:
    one_sd = f"{found.variability:.1%} (one standard deviation, {found.putts} putts)"
    yield f"distance table: the distances miss by {one_sd}, of which"
    for words, part in found.parts:
        yield f"  {words}: {part.value:.0%} ({part.low:.0%} to {part.high:.0%})"
    doubt = "" if found.confident else " (not plain yet, more putts will tell)"
    if found.advice is None:
        yield f"  most is {found.largest}{doubt}: nothing to work on follows from this"
    else:
        yield f"  work on {found.largest}{doubt}: {found.advice}"


def _lag_lines(lag: Lag, unit: Unit) -> Iterator[str]:
    v = lag.variability
    spread = "" if v is None else f", spread {v.value:.1%} ({v.low:.1%} to {v.high:.1%})"
    yield f"lag: {lag.putts} putts, mean {lag.mean.value:+.1%}{spread}, {lag.in_window:.0%} inside the window"
    for target, (count, mean, own) in lag.by_target.items():
        line = f"  {shown(target, unit, 1):>8}: {count} putts, mean {mean:+.1%}"
        yield line + ("" if own is None else f", spread {own:.1%}")
    yield lag.context()


def ladder_lines(view: LadderView, order: str) -> Iterator[str]:
    yield f"ladder, {order} (--seed {view.seed}), {view.slope}, green {view.green_speed_ft:.1f} ft:"
    for number, rung in enumerate(view.rungs, 1):
        cell, (low_m, high_m) = rung.cell, rung.window_m
        back = cell.note if cell.length_cm is None else f"back {cell.length_cm.value:.0f} cm, {cell.mark}"
        yield (
            f"{number:3d}  {from_m(rung.target_m, view.unit):g} {view.unit}: {back}; "
            f"stop between {shown(low_m, view.unit, 1)} and {shown(high_m, view.unit, 1)}"
        )


def chart_cells(view: ChartView) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """(headings, rows) of how far back for how far."""
    chart = view.chart
    rows = []
    for distance, row in zip(chart.distances_m, chart.rows, strict=True):
        cells = [
            "-" if c.length_cm is None else f"{c.length_cm.value:.0f}{c.flags} ({band(c.length_cm, '-')})" for c in row
        ]
        rows.append((f"{from_m(distance, chart.unit):g}", *cells))
    return (chart.unit, *view.slopes), rows


def chart_lines(view: ChartView) -> Iterator[str]:
    """What stands below the chart."""
    chart = view.chart
    yield "cm back from the ball (90 % of your own law); - no answer"
    yield from chart.notes
    if view.level is not None:
        yield "level, on the ground:"
        for distance, row in zip(chart.distances_m, chart.rows, strict=True):
            if row[view.level].mark:
                yield f"  {from_m(distance, chart.unit):g} {chart.unit}: {row[view.level].mark}"
