"""The ledger and the repairs on the pages."""

import dataclasses

import pandas as pd
from report_fixture import make_diagnosis

from alarmsift.report.repair_view import MOST_REPAIRS, repair_view, repairs_of
from alarmsift.report.state_view import stand_lines
from alarmsift.tables.diagnosis import LEDGER_COLUMNS


def index_of(report):
    return (report / "index.html").read_text(encoding="utf-8")


def test_first_page_says_what_is_overdue_and_when_the_tolerance_is_left(report):
    page = index_of(report)
    assert "<strong>10 days overdue</strong>" in page
    assert "MSC.1/Circ.1370, 4.1.1" in page
    assert "never in these logs" in page
    assert "wrong basis: 50 &lt;on&gt; 2.1 %vol" in page.replace("Wrong", "wrong")


def test_day_of_leaving_stands_with_its_interval():
    line = stand_lines(make_diagnosis(days=6, minutes=60))[0]
    first, low, high = line.crosses[:10], line.crosses[12:22], line.crosses[26:36]
    assert low < first < high
    assert line.grave


def test_first_page_lists_repairs_with_something_to_cure_and_counts_all(diagnosis, report):
    view = repair_view(diagnosis, {})
    assert [line.outcome for line in view.lines] == [
        "came back after 3.2 days", "held", "too early to tell",
    ]  # fmt: skip
    assert dict(view.counts)["nothing to cure seen"] == 1
    assert view.hidden == 1
    page = index_of(report)
    assert "blown &lt;i&gt;through&lt;/i&gt;" in page
    assert "× 0.12 (0.03 to 0.46)" in page


def test_many_repairs_are_cut_to_the_latest(diagnosis):
    held = diagnosis.repairs.iloc[[1]]
    many = dataclasses.replace(diagnosis, repairs=pd.concat([held] * (MOST_REPAIRS + 5)))
    view = repair_view(many, {})
    assert (len(view.lines), view.hidden) == (MOST_REPAIRS, 5)


def test_page_of_a_point_shows_its_own_repairs(diagnosis):
    point = str(diagnosis.repairs["point"].iloc[0])
    assert {line.repair for line in repairs_of(diagnosis, point)} >= {"R0001"}
    assert "R0002" not in {line.repair for line in repairs_of(diagnosis, point)}


def test_pages_say_so_where_there_is_no_repair(bare_report):
    assert "stands in the operations log" in index_of(bare_report)


def test_ledger_holds_the_rows_of_the_calibration(diagnosis):
    assert len(diagnosis.ledger) == len(diagnosis.calibration)
    assert list(diagnosis.ledger) == LEDGER_COLUMNS


def test_setpoint_that_was_moved_is_never_shown_as_a_repair_that_held(diagnosis):
    repairs = diagnosis.repairs.assign(action="setpoint", outcome="held")
    view = repair_view(dataclasses.replace(diagnosis, repairs=repairs), {})
    assert {line.outcome for line in view.lines} == {"fewer alarms, nothing cured"}
    assert dict(view.counts)["held"] == 0
