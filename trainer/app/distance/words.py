"""Greens, slopes, putts, the scale and a ladder in lines for the user."""

from __future__ import annotations

from typing import Iterator

from trainer.app.distance.green import Green, Slope
from trainer.app.distance.putts import EnteredPutt, PuttList
from trainer.app.distance.scale import ChartView, LadderView, Lag, Missing, ScaleView, Variation, band
from trainer.coaching.distance.ladder import PLACE_WORDS
from trainer.domain.naming import NAMELESS, for_student, moment_words
from trainer.domain.units import Unit, from_m, shown
from trainer.texts import join, tr, tr_count


def green_lines(green: Green) -> Iterator[str]:
    between = tr("90 % band {low_ft:.1f} to {high_ft:.1f} ft", low_ft=green.low_ft, high_ft=green.high_ft)
    slope = tr("; that line slopes {slope_pct:.1f} %", slope_pct=green.slope_pct) if green.slope_pct else ""
    yield tr(
        "green speed {green_speed_ft:.1f} ft ({between}; {source}){slope}",
        green_speed_ft=green.green_speed_ft,
        between=between,
        source=green.source_words,
        slope=slope,
    )
    yield from green.warnings


def slope_lines(slope: Slope) -> Iterator[str]:
    pct = slope.pct
    if slope.green_speed_ft is None:
        yield tr(
            "slope {pct:+.1f} % ({words}); give it as --slope {pct:.1f}",
            pct=pct,
            words=tr("uphill") if pct >= 0 else tr("downhill"),
        )
        return
    yield (
        tr(
            "slope {pct:.1f} % at green speed {green_speed_ft:.1f} ft; give it as --slope {pct:.1f} "
            "up, -{pct:.1f} down",
            pct=pct,
            green_speed_ft=slope.green_speed_ft,
        )
    )
    if slope.warning:
        yield slope.warning


def putt_lines(putt: EnteredPutt) -> Iterator[str]:
    verdict = ""
    if putt.window_m is not None:
        low_m, high_m = putt.window_m
        verdict = tr(
            "; {place} (window {low_m} to {high_m})",
            place=PLACE_WORDS[putt.place] if putt.place is not None else "",
            low_m=shown(low_m, putt.unit, 1),
            high_m=shown(high_m, putt.unit, 1),
        )
    yield tr("putt {number} kept: {words}{verdict}", number=putt.number, words=putt.words, verdict=verdict)
    if putt.replaced is not None:
        yield tr("it takes the place of: {replaced}", replaced=putt.replaced)
    if putt.beside is not None:
        number, words = putt.beside
        this, other = (
            tr("this one ({number})", number=putt.number),
            tr("putt {number} ({words})", number=number, words=words),
        )
        measured, estimate = (other, this) if putt.estimated else (this, other)
        yield tr(
            "the measured roll-out counts, {measured}; the estimate stays on record, {estimate}",
            measured=measured,
            estimate=estimate,
        )


def putts_lines(found: PuttList) -> Iterator[str]:
    for one in found.putts:
        slope = tr(", {slope_pct:+g} %", slope_pct=one.slope_pct) if one.slope_pct else ""
        when = moment_words(one.kept_at)
        aside = "" if one.counts else tr(" (does not count: that stroke's roll-out was measured)")
        yield tr(
            "{number:5d}  {when}  {words} on {green_speed_ft:.1f} ft{slope}{aside}",
            number=one.number,
            when=when,
            words=one.words,
            green_speed_ft=one.green_speed_ft,
            slope=slope,
            aside=aside,
        )
    if found.putts:
        count = tr_count("{count} putt", "{count} putts", len(found.putts))
        yield count if found.name == NAMELESS else tr("{counted} of {name}", counted=count, name=found.name)
    else:
        whose = "" if found.name == NAMELESS else tr(" of {name}", name=found.name)
        yield tr("no putts{whose} yet: `putting-trainer distance putt --help`", whose=whose)
    for name, which, back_cm in found.without_roll_out:
        length = tr("length not seen") if back_cm is None else tr("{back_cm:.0f} cm back", back_cm=back_cm)
        yield tr(
            "{name}: {length}, no roll-out yet: distance putt --stroke {which} --rolled D{whose}",
            name=name,
            length=length,
            which=which,
            whose=for_student(found.name),
        )


def scale_lines(view: ScaleView) -> Iterator[str]:
    """The law, the distance table, the rhythm, the lag score; what cannot be told yet says what is missing."""
    model = view.model
    if not view.putts:
        yield tr("no putts of your own yet; what follows is the published stroke of tour players")
    e, v = model.exponent, model.variability
    yield (
        tr(
            "{putts}: {reference_cm:.0f} cm back sends the ball off at {value:.2f} m/s "
            "({low:.2f} to {high:.2f}); speed goes as length to the power {value2:.2f} ({low2:.2f} "
            "to {high2:.2f}; 1 is one rhythm for all)",
            putts=tr_count("{count} putt", "{count} putts", model.putts),
            reference_cm=model.reference_cm,
            value=model.speed_m_s.value,
            low=model.speed_m_s.low,
            high=model.speed_m_s.high,
            value2=e.value,
            low2=e.low,
            high2=e.high,
        )
    )
    yield tr(
        "putts of one length spread by {value:.1%} of the distance ({low:.1%} to {high:.1%})",
        value=v.value,
        low=v.low,
        high=v.high,
    )
    if view.left_out:
        yield tr("left out as mishits: putt ") + join(", ", map(str, view.left_out))
    yield tr("on a green of {green_speed_ft:.1f} ft, level:", green_speed_ft=view.green_speed_ft)
    to = tr(" to ")
    for metres, length in view.lengths:
        yield tr(
            "  {metres:>8}: {value:.0f} cm ({band})",
            metres=shown(metres, view.unit, 1),
            value=length.value,
            band=band(length, to),
        )
    for part in (view.variation, view.rhythm, view.lag):
        if isinstance(part, Missing):
            yield tr("{what}: {why}", what=part.what, why=part.why) + (
                tr(" ({todo})", todo=part.todo) if part.todo else ""
            )
        elif part is view.variation:
            yield from _variation_lines(part)
        elif part is view.lag:
            yield from _lag_lines(part, view.unit)
        else:
            yield tr("rhythm: {part}", part=part)


def _variation_lines(found: Variation) -> Iterator[str]:
    one_sd = tr(
        "{variability:.1%} (one standard deviation, {putts})",
        variability=found.variability,
        putts=tr_count("{count} putt", "{count} putts", found.putts),
    )
    yield tr("distance table: the distances miss by {one_sd}, of which", one_sd=one_sd)
    for words, part in found.parts:
        yield tr(
            "  {words}: {value:.0%} ({low:.0%} to {high:.0%})",
            words=words,
            value=part.value,
            low=part.low,
            high=part.high,
        )
    doubt = "" if found.confident else tr(" (not plain yet, more putts will tell)")
    if found.advice is None:
        yield tr("  most is {largest}{doubt}: nothing to work on follows from this", largest=found.largest, doubt=doubt)
    else:
        yield tr("  work on {largest}{doubt}: {advice}", largest=found.largest, doubt=doubt, advice=found.advice)


def _lag_lines(lag: Lag, unit: Unit) -> Iterator[str]:
    v = lag.variability
    spread = (
        "" if v is None else tr(", spread {value:.1%} ({low:.1%} to {high:.1%})", value=v.value, low=v.low, high=v.high)
    )
    yield tr(
        "lag: {putts}, mean {value:+.1%}{spread}, {in_window:.0%} inside the window",
        putts=tr_count("{count} putt", "{count} putts", lag.putts),
        value=lag.mean.value,
        spread=spread,
        in_window=lag.in_window,
    )
    for target, (count, mean, own) in lag.by_target.items():
        line = tr(
            "  {target:>8}: {putts}, mean {mean:+.1%}",
            target=shown(target, unit, 1),
            putts=tr_count("{count} putt", "{count} putts", count),
            mean=mean,
        )
        yield line + ("" if own is None else tr(", spread {own:.1%}", own=own))
    yield lag.context()


def ladder_lines(view: LadderView, order: str) -> Iterator[str]:
    yield tr(
        "ladder, {order} (--seed {seed}), {slope}, green {green_speed_ft:.1f} ft:",
        order=order,
        seed=view.seed,
        slope=view.slope,
        green_speed_ft=view.green_speed_ft,
    )
    for number, rung in enumerate(view.rungs, 1):
        cell, (low_m, high_m) = rung.cell, rung.window_m
        back = (
            cell.note
            if cell.length_cm is None
            else tr("back {value:.0f} cm, {mark}", value=cell.length_cm.value, mark=cell.mark)
        )
        yield (
            tr(
                "{number:3d}  {from_m:g} {unit}: {back}; stop between {low_m} and {high_m}",
                number=number,
                from_m=from_m(rung.target_m, view.unit),
                unit=view.unit,
                back=back,
                low_m=shown(low_m, view.unit, 1),
                high_m=shown(high_m, view.unit, 1),
            )
        )


def chart_cells(view: ChartView) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """(headings, rows) of how far back for how far."""
    chart = view.chart
    rows = []
    for distance, row in zip(chart.distances_m, chart.rows, strict=True):
        cells = [
            "-"
            if c.length_cm is None
            else tr("{value:.0f}{flags} ({band})", value=c.length_cm.value, flags=c.flags, band=band(c.length_cm, "-"))
            for c in row
        ]
        rows.append((tr("{from_m:g}", from_m=from_m(distance, chart.unit)), *cells))
    return (chart.unit, *view.slopes), rows


def chart_lines(view: ChartView) -> Iterator[str]:
    """What stands below the chart."""
    chart = view.chart
    yield tr("cm back from the ball (90 % of your own law); - no answer")
    yield from chart.notes
    if view.level is not None:
        yield tr("level, on the ground:")
        for distance, row in zip(chart.distances_m, chart.rows, strict=True):
            if row[view.level].mark:
                yield tr(
                    "  {from_m:g} {unit}: {mark}",
                    from_m=from_m(distance, chart.unit),
                    unit=chart.unit,
                    mark=row[view.level].mark,
                )
