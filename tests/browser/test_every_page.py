"""What must hold for every kind of page in a real browser."""

import pytest

WIDTHS = (390, 900, 1600)


@pytest.fixture(scope="session")
def kinds(ship_report, incident_page, setpoint_page):
    """One page of each kind; of the points' pages the longest, which has the most on it."""
    points = sorted((ship_report / "points").glob("*.html"), key=lambda page: page.stat().st_size)
    return {
        "index": ship_report / "index.html",
        "watch": ship_report / "watch.html",
        "point": points[-1],
        "detector": sorted((ship_report / "detectors").glob("*.html"))[0],
        "incident": incident_page,
        "setpoints": setpoint_page,
    }


KINDS = pytest.mark.parametrize(
    "kind", ["index", "watch", "point", "detector", "incident", "setpoints"]
)


@KINDS
@pytest.mark.parametrize("width", WIDTHS)
def test_no_page_scrolls_sideways_as_a_whole(open_page, kinds, kind, width):
    assert open_page(kinds[kind], width=width).sideways() == 0


@KINDS
def test_no_page_bars_anybody(open_page, kinds, kind):
    """No serious or critical finding of axe-core (WCAG 2.2 A and AA, and its best practices)."""
    assert open_page(kinds[kind]).barriers() == []


@KINDS
def test_no_page_bars_anybody_on_a_phone(open_page, kinds, kind):
    assert open_page(kinds[kind], width=390).barriers() == []


@KINDS
def test_every_page_reads_whole_without_scripts(open_page, kinds, kind):
    """What a script adds may be missing; no row and no paragraph is."""
    bare, full = open_page(kinds[kind], scripts=False).page, open_page(kinds[kind]).page
    for part in ("tbody tr", "h2", "main p", "dt"):
        there = bare.locator(part)
        assert there.count() >= full.locator(part).count()
    hidden = bare.locator("tbody tr[hidden], section[hidden]")
    assert hidden.count() == 0
