"""What must hold for every page in a real browser."""

import pytest

WIDTHS = (390, 1600)


def kinds(report):
    """The index, and the longest page of a point: it has the most on it."""
    points = sorted((report / "points").glob("*.html"), key=lambda page: page.stat().st_size)
    return [report / "index.html", points[-1]]


@pytest.mark.parametrize("width", WIDTHS)
def test_no_page_scrolls_sideways_as_a_whole(open_page, ship_report, width):
    for path in kinds(ship_report):
        assert open_page(path, width=width).sideways() == 0, path.name


def test_no_page_bars_anybody(open_page, ship_report):
    for path in kinds(ship_report):
        assert open_page(path).barriers() == [], path.name
