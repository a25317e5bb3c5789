"""The first page in use: sort, filter, search, the picture, and words that explain themselves."""

import re

import pandas as pd
import pytest


@pytest.fixture
def index(open_page, made_up_report):
    return open_page(made_up_report / "index.html").page


@pytest.fixture(scope="module")
def episodes(made_up_report):
    return pd.read_csv(made_up_report / "episodes.csv", keep_default_na=False)


def rows(page, column):
    """Return the texts of a column of the list, of the rows that are to be seen."""
    return page.eval_on_selector_all(
        "#alarm-list tbody tr:not([hidden])",
        f"rows => rows.map(row => row.cells[{column}].textContent)",
    )


def is_gas(frame):
    return frame["treat_as"].isin(["gas", "unresolved"])


def test_every_alarm_is_there_to_begin_with(index, episodes):
    assert sorted(rows(index, 0)) == sorted(episodes["episode"])


def test_a_filter_by_cause_leaves_that_cause_and_says_how_much_gas_it_hides(index, episodes):
    harmless = episodes[~is_gas(episodes)]
    cause = harmless["cause"].mode()[0]
    index.select_option("#f-cause", cause)
    left = episodes[episodes["cause"] == cause]
    hidden = episodes[episodes["cause"] != cause]
    assert sorted(rows(index, 0)) == sorted(left["episode"])
    assert index.locator("#shown").inner_text() == (
        f"Shown: {len(left)} of {len(episodes)} alarms. The filter hides {len(hidden)}, and "
        f"{is_gas(hidden).sum()} of these are to be treated as gas."
    )
    assert is_gas(hidden).sum() > 0
    assert "hides-gas" in index.locator("#shown").get_attribute("class")
    index.click("form#filter button[type=reset]")
    index.wait_for_function("!document.querySelector('#alarm-list tr[hidden]')")
    assert "hides-gas" not in index.locator("#shown").get_attribute("class")


def test_a_filter_by_point_and_by_treat_as_meet(index, episodes):
    point = episodes["point"].mode()[0]
    index.select_option("#f-point", point)
    index.select_option("#f-treat", "nuisance")
    mine = episodes[(episodes["point"] == point) & (episodes["treat_as"] == "nuisance")]
    assert sorted(rows(index, 0)) == sorted(mine["episode"])


def test_a_period_holds_every_alarm_that_stood_in_it(index):
    days = sorted(text[:10] for text in rows(index, 1))
    first, last = days[len(days) // 3], days[2 * len(days) // 3]
    ends = dict(
        index.eval_on_selector_all(
            "#alarm-list tbody tr",
            "rows => rows.map(row => [row.cells[0].textContent, row.dataset.e])",
        )
    )
    starts = dict(zip(rows(index, 0), [text[:10] for text in rows(index, 1)], strict=True))
    index.fill("#f-from", first)
    index.fill("#f-to", last)
    due = [one for one in starts if starts[one] <= last and ends[one] >= first]
    assert sorted(rows(index, 0)) == sorted(due)
    assert 0 < len(due) < len(starts)


def test_a_month_will_do_and_what_is_no_day_is_marked_and_hides_nothing(index, episodes):
    index.fill("#f-to", "2026-02")
    assert rows(index, 0) == []
    index.fill("#f-to", "2026-03")
    assert len(rows(index, 0)) == len(episodes)
    index.fill("#f-to", "26/02")
    assert len(rows(index, 0)) == len(episodes)
    assert index.get_attribute("#f-to", "aria-invalid") == "true"


def test_search_finds_words_in_any_order_and_case(index, episodes):
    one = episodes.iloc[0]
    index.fill("#f-text", f"{one['episode'].lower()} {one['point'].upper()}")
    assert rows(index, 0) == [one["episode"]]
    index.fill("#f-text", "no such word anywhere")
    assert rows(index, 0) == []


def test_rows_sort_by_number_and_by_time_both_ways(index, episodes):
    lasted = episodes.set_index("episode")["minutes"].round(1)
    for times, up in ((1, True), (2, False)):
        index.locator("#alarm-list th button", has_text="Lasted").click()
        found = [lasted[one] for one in rows(index, 0)]
        assert found == sorted(found, reverse=not up), times
    index.locator("#alarm-list th button", has_text="Raised").click()
    raised = episodes.set_index("episode")["raised"]
    assert [raised[one] for one in rows(index, 0)] == sorted(raised)
    assert index.locator("#alarm-list th[aria-sort]").inner_text().startswith("Raised")


def test_treat_as_sorts_the_gravest_first(index):
    index.locator("#alarm-list th button", has_text="Treat as").click()
    marks = [text[0] for text in rows(index, 5)]
    order = "◆◈◌○"
    assert marks == sorted(marks, key=order.index)


def test_a_click_into_the_picture_lists_that_point_and_day(index):
    point, day = rows(index, 2)[0], rows(index, 1)[0][:10]
    svg = index.locator("svg.days").first
    names = svg.locator("a title").all_text_contents()
    at = svg.evaluate("svg => ({...svg.dataset, width: svg.viewBox.baseVal.width})")
    days = (pd.Timestamp(day) - pd.Timestamp(at["day"])).days
    scale = svg.bounding_box()["width"] / at["width"]
    x = (float(at["left"]) + float(at["cell"]) * (days + 0.5)) * scale
    y = (float(at["top"]) + float(at["row"]) * (names.index(point) + 0.5)) * scale
    svg.click(position={"x": x, "y": y})
    assert index.input_value("#f-point") == point
    assert index.input_value("#f-from") == index.input_value("#f-to") == day
    assert (point, day) in set(
        zip(rows(index, 2), [text[:10] for text in rows(index, 1)], strict=True)
    )


def test_filter_and_headers_work_from_the_keyboard(index, episodes):
    index.focus("#f-text")
    index.keyboard.type(episodes["episode"].iloc[0])
    assert rows(index, 0) == [episodes["episode"].iloc[0]]
    index.focus("form#filter button[type=reset]")
    index.keyboard.press("Enter")
    index.wait_for_function("!document.querySelector('#alarm-list tr[hidden]')")
    head = index.locator("#alarm-list th button", has_text="Point")
    head.focus()
    index.keyboard.press("Space")
    assert index.locator("#alarm-list th[aria-sort]").inner_text().startswith("Point")


def test_a_word_tells_its_meaning_when_it_is_reached_by_keyboard(index):
    word = index.locator("a.term[href='#term-round']").first
    before = "el => getComputedStyle(el, '::after').content"
    assert word.evaluate(before) == "none"
    index.keyboard.press("Tab")  # so that the browser shows where the keyboard is
    word.focus()
    assert "One turn over all connected points" in word.evaluate(before)
    index.keyboard.press("Enter")
    assert re.search(r"#term-round$", index.url)


def test_without_scripts_nothing_is_shown_that_would_not_work(open_page, made_up_report, episodes):
    page = open_page(made_up_report / "index.html", scripts=False).page
    assert not page.locator("form#filter").is_visible()
    assert page.locator("#alarm-list th button").count() == 0
    assert page.locator("#alarm-list tbody tr").count() == len(episodes)
