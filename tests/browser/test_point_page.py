"""The moving plot of a point's page, and the detectors' pages, in a real browser."""

import json

import numpy as np
import pandas as pd
import pytest

WIDTHS = (390, 900, 1600)
PLOT = "#live-canvas"


@pytest.fixture(scope="session")
def points(ship_report):
    """Page of each point, the one with least on it first."""
    return sorted((ship_report / "points").glob("*.html"), key=lambda page: page.stat().st_size)


@pytest.fixture(scope="session")
def detectors(ship_report):
    return sorted((ship_report / "detectors").glob("*.html"))


@pytest.fixture
def troubled(open_page, points):
    """The page of the point with most to tell, its plot ready."""
    page = open_page(points[-1]).page
    page.wait_for_selector("#live[data-drawn]")
    page.evaluate("document.getElementById('live').scrollIntoView()")
    return page


def shown(page):
    """What the plot shows: start and end [s since 1970], number of visits, how they are drawn."""
    page.wait_for_timeout(60)  # it draws on the next frame
    return page.evaluate("({...document.getElementById('live').dataset})")


def readings_of(report, page):
    """The logged values of the page's point, by gas."""
    readings = pd.read_parquet(report / "tables" / "readings.parquet")
    name = page.locator("h1").inner_text()
    return readings[readings["point"].astype(str) == name]


def test_pages_of_points_and_detectors_bar_nobody(open_page, points, detectors):
    for path in (points[0], points[-1], *detectors):
        opened = open_page(path)
        assert opened.barriers() == [], path.name
        assert opened.page.locator("h1").count() == 1
        assert opened.page.locator("html").get_attribute("lang") == "en"


@pytest.mark.parametrize("width", WIDTHS)
def test_pages_of_points_and_detectors_do_not_scroll_sideways(open_page, points, detectors, width):
    for path in (points[0], points[-1], detectors[0]):
        assert open_page(path, width=width).sideways() == 0, path.name


def test_script_unfolds_every_reading_of_the_logs(troubled, ship_report):
    logged = readings_of(ship_report, troubled)
    words = troubled.evaluate(
        "JSON.stringify(pointPlot.gases.map(g => [g.gas, [...g.values].filter(v => v === v)]))"
    )
    carried = dict(json.loads(words))
    assert set(carried) == set(logged.loc[logged["value"].notna(), "gas"].astype(str))
    for gas, values in carried.items():
        mine = logged.loc[(logged["gas"] == gas) & logged["value"].notna(), "value"]
        np.testing.assert_allclose(np.sort(values), np.sort(mine), atol=1e-6)


def test_whole_period_shows_the_highest_visit_though_not_every_visit(troubled):
    there = shown(troubled)
    assert there["drawn"] == "envelope"
    assert int(there["visits"]) == troubled.evaluate("pointPlot.times.length")
    for place in range(troubled.evaluate("pointPlot.gases.length")):
        drawn, most = troubled.evaluate(
            "k => { const g = pointPlot.gases[k], n = g.shown.filter(v => v === v);"
            " return [Math.max(...pointPlot.envelope(g).map(c => g.shown[c.high])),"
            " Math.max(...n)]; }",
            place,
        )
        assert drawn == most


def test_a_lone_high_visit_puts_ink_high_in_the_picture_of_the_whole_period(troubled):
    """One visit among thousands, drawn over range by hand: there is dark ink at its place."""
    dark = troubled.evaluate(
        """async () => {
          const gas = pointPlot.gases[0], k = gas.shown.length >> 1;
          gas.shown[k] = 3 * Math.max(...gas.shown.filter(v => v === v));
          pointPlot.show(-1e12, 1e12);
          await new Promise(done => setTimeout(done, 80));
          const canvas = document.getElementById("live-canvas"), ratio = devicePixelRatio;
          const x = Math.round(pointPlot.at(pointPlot.times[k]) * ratio);
          const ink = canvas.getContext("2d").getImageData(x - 2, 60 * ratio, 5, 20 * ratio).data;
          let blue = 0;
          for (let p = 0; p < ink.length; p += 4) if (ink[p] < 120 && ink[p + 2] > 120) blue++;
          return blue;
        }"""
    )
    assert dark >= 10


def test_keys_buttons_and_wheel_zoom_until_each_visit_is_drawn(troubled):
    whole = shown(troubled)
    troubled.focus(PLOT)
    for _ in range(5):
        troubled.keyboard.press("+")
    by_keys = shown(troubled)
    assert by_keys["drawn"] == "visits"
    length = [float(one["to"]) - float(one["from"]) for one in (whole, by_keys)]
    assert length[1] == pytest.approx(length[0] / 32, rel=0.01)
    troubled.click("button[data-act=in]")
    assert float(shown(troubled)["visits"]) < float(by_keys["visits"])
    troubled.keyboard.press("Tab")
    troubled.click(PLOT, position={"x": 400, "y": 80})
    troubled.mouse.wheel(0, -600)
    wheel = shown(troubled)
    assert float(wheel["to"]) - float(wheel["from"]) < length[1] / 3
    troubled.keyboard.press("Home")
    assert shown(troubled)["visits"] == whole["visits"]


def test_page_scrolls_past_a_plot_that_nobody_clicked(troubled):
    before = shown(troubled)
    box = troubled.locator(PLOT).bounding_box()
    top = troubled.evaluate("scrollY")
    troubled.mouse.move(box["x"] + 300, box["y"] + 40)
    troubled.mouse.wheel(0, 300)
    troubled.wait_for_timeout(200)
    assert troubled.evaluate("scrollY") > top
    assert shown(troubled)["from"] == before["from"]


def test_dragging_moves_the_plot(troubled):
    troubled.select_option("[data-goto]", "86400")
    before = shown(troubled)
    box = troubled.locator(PLOT).bounding_box()
    troubled.mouse.move(box["x"] + 300, box["y"] + 60)
    troubled.mouse.down()
    troubled.mouse.move(box["x"] + 500, box["y"] + 60, steps=4)
    troubled.mouse.up()
    after = shown(troubled)
    assert float(after["from"]) < float(before["from"])


def test_two_fingers_zoom(open_page, points):
    page = open_page(points[-1], width=390).page
    whole = shown(page)
    page.evaluate(
        """() => {
          const canvas = document.getElementById("live-canvas");
          const edge = canvas.getBoundingClientRect();
          canvas.setPointerCapture = () => {};
          const finger = (kind, id, x) => canvas.dispatchEvent(new PointerEvent(kind, {
            pointerId: id, clientX: edge.left + x, clientY: edge.top + 60, bubbles: true,
            pointerType: "touch" }));
          finger("pointerdown", 1, 180); finger("pointerdown", 2, 220);
          finger("pointermove", 1, 100); finger("pointermove", 2, 300);
          finger("pointerup", 1, 100); finger("pointerup", 2, 300);
        }"""
    )
    there = shown(page)
    length = [float(one["to"]) - float(one["from"]) for one in (whole, there)]
    assert length[1] == pytest.approx(length[0] / 5, rel=0.05)


def test_pointing_at_a_visit_tells_time_value_unit_and_status(troubled, ship_report):
    troubled.select_option("[data-goto]", "21600")
    shown(troubled)
    k, x = troubled.evaluate(
        "(() => { const k = pointPlot.times.findIndex(t => t >= pointPlot.view.from + 7200);"
        " return [k, pointPlot.at(pointPlot.times[k])]; })()"
    )
    box = troubled.locator(PLOT).bounding_box()
    troubled.mouse.move(box["x"] + x, box["y"] + 70)
    said = troubled.locator(".reading").inner_text()
    second, value = troubled.evaluate("k => [pointPlot.times[k], pointPlot.gases[0].values[k]]", k)
    gas, unit = troubled.evaluate("[pointPlot.gases[0].gas, pointPlot.gases[0].unit]")
    assert f"{pd.Timestamp(second, unit='s'):%H:%M} UTC" in said
    logged = readings_of(ship_report, troubled)
    mine = logged[
        (logged["gas"] == gas) & (abs(logged["time"].astype("int64") // 10**6 - second) < 90)
    ]
    assert value in set(mine["value"])
    line = " ".join(said.split())
    assert f"{gas} {value:.1f} {unit}" in line or f"{gas} {value:.0f} {unit}" in line
    assert "status ok" in line or "setpoint" in line or "over range" in line
    assert "alarm " in line


def test_arrow_keys_step_from_visit_to_visit_and_say_it(troubled):
    troubled.select_option("[data-goto]", "21600")
    troubled.focus(PLOT)
    troubled.keyboard.press("ArrowLeft")
    first = troubled.locator(".said").inner_text()
    troubled.keyboard.press("ArrowLeft")
    second = troubled.locator(".said").inner_text()
    assert first != second
    assert "alarm" in second


def test_boxes_take_alarms_work_and_line_out_of_the_plot(troubled):
    height = "document.getElementById('live-canvas').clientHeight"
    last = troubled.evaluate(height)
    for name in ("alarms", "work", "line"):
        box = troubled.locator(f"[data-show={name}]")
        if not box.is_visible():
            continue
        box.uncheck()
        shown(troubled)
        lower = troubled.evaluate(height)
        assert lower < last, name
        last = lower
    before = troubled.locator(PLOT).screenshot()
    troubled.locator("[data-show=limits]").uncheck()
    shown(troubled)
    assert troubled.locator(PLOT).screenshot() != before


def test_a_row_of_the_alarms_leads_to_its_time_in_the_plot(troubled):
    whole = shown(troubled)
    link = troubled.locator("th a[data-episode]").first
    name = link.inner_text()
    link.click()
    there = shown(troubled)
    assert float(there["to"]) - float(there["from"]) < float(whole["to"]) - float(whole["from"])
    troubled.goto(f"{troubled.url.split('#')[0]}#{name}")
    assert shown(troubled)["from"] == there["from"]


def test_without_scripts_the_still_pictures_tell_all(open_page, points):
    page = open_page(points[-1], scripts=False).page
    assert page.locator(".still svg").first.is_visible()
    assert not page.locator("#live").is_visible()


def test_print_shows_the_still_pictures(troubled):
    assert not troubled.locator(".still").is_visible()
    troubled.emulate_media(media="print")
    assert troubled.locator(".still svg").first.is_visible()
    assert not troubled.locator("#live").is_visible()


def test_focus_of_the_plot_can_be_seen(troubled):
    troubled.locator("[data-goto]").focus()
    troubled.keyboard.press("Tab")
    there = troubled.evaluate(
        "[document.activeElement.id, getComputedStyle(document.activeElement).outlineWidth]"
    )
    assert there == ["live-canvas", "3px"]


def test_the_plot_is_as_wide_as_the_page_allows(troubled):
    wide = troubled.evaluate(
        "[document.querySelector('#live-canvas').clientWidth,"
        " document.querySelector('#live').clientWidth]"
    )
    assert wide[0] > 0.95 * wide[1]
