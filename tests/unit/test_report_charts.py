"""Charts as SVG: round numbers on their axes, gaps where nothing was seen, everything inside the picture."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET

import pytest

from trainer.report.svg import Axis, Chart


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ((0.0, 11.0), ["0", "2", "4", "6", "8", "10"]),
        ((-0.9, 2.3), ["−1", "0", "1", "2"]),
        ((3.0, 3.0), ["2.6", "2.8", "3.0", "3.2", "3.4"]),
        ((0.0, 24000.0), ["0", "5000", "10000", "15000", "20000", "25000"]),
    ],
)
def test_an_axis_has_round_numbers(values: tuple[float, float], words: list[str]) -> None:
    axis = Axis(about=7)
    axis.see(values)
    assert [said for _, said in axis.marks()] == words
    low, high = axis.span()
    assert all(low <= value <= high for value, _ in axis.marks())


def test_ticks_that_are_given_stay_and_an_axis_may_run_down() -> None:
    axis = Axis("", 1.6, -0.6, [(0.0, "with"), (1.0, "without"), (2.0, "beyond")])
    assert [said for _, said in axis.marks()] == ["with", "without"]


def points(text: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in text.split())]


def test_a_line_is_broken_where_nothing_was_seen_and_all_lies_inside() -> None:
    chart = Chart(4.0, 2.0)
    chart.line([(0, 1.0), (1, 2.0), (2, math.nan), (3, 4.0), (4, 3.0)], "line")
    chart.dots([(1, 2.0), (4, -5.0)], "ink", 5.0)
    chart.area([(0, 0.0), (4, 0.0)], [(0, 1.0), (4, 1.0)])
    chart.across(2.5, "ink", 1.0, "4 3", "limit\n<2.5> s")
    chart.upright(1.0, "soft", "rest")
    chart.line([(0, 90.0), (4, 10.0)], "good", right=True)
    chart.x.label, chart.y.label, chart.right.label = "s", "cm & more", "deg"
    text = chart.svg("key", "what <it> shows")
    root = ET.fromstring(text)  # well formed, so everything from outside is escaped
    assert root.get("aria-labelledby") == "key-title"
    assert root[0].text == "what <it> shows"
    lines = [
        points(found)
        for found in re.findall(r'<polyline points="([^"]+)" fill="none" style="stroke: var\(--line\)', text)
    ]
    assert [len(line) for line in lines] == [2, 2]
    assert lines[0][0][1] > lines[0][1][1]  # more is higher
    width, height = map(float, (root.get("viewBox") or "").split()[2:])
    for x, y in (at for found in re.findall(r'points="([^"]+)"', text) for at in points(found)):
        assert 0 <= x <= width
        assert 0 <= y <= height
    said = [element.text for element in root.iter("text")]
    assert {"limit", "<2.5> s", "rest", "cm & more", "deg", "s"} <= set(said)
