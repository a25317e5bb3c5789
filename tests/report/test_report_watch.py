"""The half sheet for the next watch."""

import dataclasses

import pandas as pd
import pytest
from report_fixture import make_diagnosis

from alarmsift.report.page_names import page_names
from alarmsift.report.urgent import urgent_items
from alarmsift.report.watch_page import MOST_ALSO, MOST_GAS, is_gas, outstanding, watch_page


@pytest.fixture(scope="module")
def many():
    """Thirty points, and on each an alarm that is to be treated as gas."""
    points = [f"WBT {k:02d} S" for k in range(30)]
    full = make_diagnosis(days=4, minutes=120, points=points)
    grave = full.episodes[full.episodes["treat_as"] == "gas"].iloc[[0] * 30]
    grave = grave.assign(point=points, episode=[f"E9{k:03d}" for k in range(30)])
    episodes = pd.concat([full.episodes, grave], ignore_index=True)
    return dataclasses.replace(full, episodes=episodes)


def test_what_is_on_it_are_the_lines_of_the_first_page(diagnosis):
    pages = page_names(diagnosis.points)
    items = urgent_items(diagnosis, pages)
    sheet = watch_page(diagnosis, items)
    assert [one.where for one in sheet.gas] == [one.where for one in items if is_gas(one)]
    assert "VOID 4" in [one.where for one in sheet.unwatched]
    assert sheet.until.utc == "03-30 23:43 UTC"


def test_points_without_a_line_of_their_own_are_named_or_counted(many):
    items = urgent_items(many, page_names(many.points))
    sheet = watch_page(many, items)
    assert len(sheet.gas) == MOST_GAS
    named = sheet.also_gas.split(" and ")[0].split(", ")
    assert len(named) == MOST_ALSO
    asked = {item.where for item in items if is_gas(item)}
    rest = len(asked) - MOST_GAS - MOST_ALSO
    assert f"and {rest} more (index.html)" in sheet.also_gas


def test_a_check_is_named_once_with_every_place_that_asks_for_it(many):
    items = urgent_items(many, page_names(many.points))
    checks = outstanding(items)
    assert len({one.check for one in checks}) == len(checks)
    asked = {(item.next_check, item.where) for item in items if item.next_check}
    assert sum(len(one.where) + one.more for one in checks) == len(asked)
