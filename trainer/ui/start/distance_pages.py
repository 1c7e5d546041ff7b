"""Distance in the start window: the green, putts, the scale, the chart."""

from __future__ import annotations

from typing import Any

from trainer.errors import UsageError
from trainer.texts import join
from trainer.ui.start import texts
from trainer.ui.start.desk import StartDesk
from trainer.ui.start.page import Button, Buttons, Element, Field, Goes, Next, Opens, Page, Table, Words
from trainer.ui.start.practice_pages import number_in


def distance_page(desk: StartDesk) -> Page:
    """What is known so far, and one line each to enter more."""
    from trainer.app.distance.desk import choose_unit, chosen_unit

    context = desk.own()
    now = chosen_unit(context)

    def unit(name: str) -> Any:
        def act(_: Any) -> Next:
            found = choose_unit(desk.own(), name, None)
            return Goes("stay", texts.UNIT_KEPT.format(name=found.name, unit=found.unit))

        return act

    def green(values: Any) -> Next:
        from trainer.app.distance.green import GreenRequest, set_green
        from trainer.app.distance.words import green_lines

        speed_ft = number_in(values["green"], texts.GREEN_SPEED)
        return Goes("anew", join("; ", green_lines(set_green(desk.own(), GreenRequest(speed_ft)))))

    def putt(values: Any) -> Next:
        from trainer.app.distance.putts import PuttRequest, enter_putt
        from trainer.app.distance.words import putt_lines

        back_cm = number_in(values["back"], texts.BACK_CM)
        request = PuttRequest(
            number_in(values["rolled"], texts.ROLLED),
            number_in(values["target"], texts.TARGET),
            back_cm,
            last=back_cm is None,
        )
        return Goes("anew", join("; ", putt_lines(enter_putt(desk.own(), request))))

    top = (
        Button(texts.IN_METRES, unit("m"), chosen=now == "m"),
        Button(texts.IN_FEET, unit("ft"), chosen=now == "ft"),
        Button(texts.CHART, lambda _: Opens(lambda: chart_page(desk))),
    )
    body: list[Element] = [
        Buttons(top),
        Field("green", texts.GREEN_SPEED),
        Buttons((Button(texts.SET_GREEN, green),)),
        Field("rolled", texts.ROLLED),
        Field("target", texts.TARGET),
        Field("back", texts.BACK_CM),
        Words(texts.OF_NEWEST, "soft"),
        Buttons((Button(texts.ENTER_PUTT, putt),)),
        *(Words(line) for line in _scale(context)),
    ]
    return Page(texts.DISTANCE_TITLE, tuple(body))


def _scale(context: Any) -> list[str]:
    """The scale in lines, or what it lacks."""
    from trainer.app.distance.scale import scale_view
    from trainer.app.distance.words import scale_lines

    try:
        return list(scale_lines(scale_view(context)))
    except UsageError as error:
        return [error.what]


def chart_page(desk: StartDesk) -> Page:
    from trainer.app.distance.scale import ChartRequest, chart_view
    from trainer.app.distance.words import chart_cells, chart_lines

    found = chart_view(desk.own(), ChartRequest())
    heads, rows = chart_cells(found)
    table = Table(heads, tuple(rows), right=frozenset(range(len(heads))))
    return Page(texts.CHART, (table, *(Words(line) for line in chart_lines(found))))
