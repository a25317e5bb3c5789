"""Lines and marks of the pictures: nothing is moved, bridged or lost on the way into the SVG."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from alarmsift.report.axis import Window
from alarmsift.report.canvas import Canvas
from alarmsift.report.inline import inline_svg
from alarmsift.report.svg_paths import box, marks, polyline
from alarmsift.tables.clock import ShipClock

NASTY = 'VOID "1" <b>& url(#x) id="y"'


def corners(path: str) -> list[list[tuple[int, int]]]:
    """Return the corners of each line of a path of M and l (SVG 1.1, 8.3.2 and 8.3.4)."""
    out = []
    for line in path.split("M")[1:]:
        numbers = [int(text) for text in re.findall(r"-?\d+", line)]
        pairs = np.array(numbers[: len(numbers) // 2 * 2]).reshape(-1, 2)
        out.append([tuple(map(int, place)) for place in np.cumsum(pairs, axis=0)])
    return out


def test_a_line_breaks_where_readings_are_missing():
    y = np.array([1.0, 5.0, np.nan, 7.0, 2.0, np.nan, 3.0])
    assert corners(polyline(np.arange(7.0), y)) == [[(0, 1), (1, 5)], [(3, 7), (4, 2)], [(6, 3)]]


def test_points_on_a_straight_stretch_are_left_out_and_a_turn_back_is_not():
    x = np.array([0.0, 1.0, 2.0, 3.0, 3.0, 3.0])
    assert corners(polyline(x, np.array([4.0, 4.0, 4.0, 4.0, 9.0, 6.0]))) == [
        [(0, 4), (3, 4), (3, 9), (3, 6)]
    ]


@given(st.lists(st.tuples(st.integers(0, 7000), st.integers(0, 5000)), min_size=2, max_size=60))
def test_a_line_ends_where_it_ended_and_reaches_as_high_and_low(places):
    x, y = np.array(places, dtype=float).T
    (drawn,) = corners(polyline(x, y))
    if len(set(places)) > 1:
        assert (drawn[0], drawn[-1]) == (places[0], places[-1])
        assert {min(drawn), max(drawn)} == {min(places), max(places)}
        heights = [place[1] for place in drawn]
        assert (min(heights), max(heights)) == (y.min(), y.max())


@pytest.mark.parametrize("letter", ["o", *"^v>sDdPx|"])
def test_every_mark_stands_once_at_each_place_that_is_known(letter):
    path = marks(np.array([10.0, np.nan, 300.0]), np.array([20.0, 5.0, 40.0]), letter, 40.0)
    assert re.findall(r"M(\d+ \d+)", path) == ["10 20", "300 40"]


def test_a_span_too_short_to_show_still_leaves_a_box():
    assert box(5.0, 5.0, 5.01, 9.0) == "M5 5h1v4h-1z"


def test_words_come_out_as_written_and_names_of_patterns_differ_in_each_picture():
    canvas = Canvas([0.5], Window(0.0, 24.0), ShipClock())
    strip = canvas.rows(0, [NASTY])
    bar = (np.array([2.0]), np.array([9.0]))
    canvas.bars(strip, 0, *bar, facecolors="#e3e8ec", edgecolors="#4c5a66", hatch="////")
    svg = canvas.svg()
    for text in (svg, inline_svg(svg, "one-")):
        root = ET.fromstring(text)
        words = [node.text for node in root.iter() if node.tag.endswith("text")]
        assert NASTY in words
        (name,) = [node.get("id") for node in root.iter() if node.tag.endswith("pattern")]
        assert f'fill="url(#{name})"' in text
    assert 'id="one-hatch' in inline_svg(svg, "one-")
