"""What the moving plot of a point's page carries, and where the page leads."""

import dataclasses
import html
import json
import re

import numpy as np
import pandas as pd
import pytest
from report_fixture import NASTY, make_diagnosis
from unfold import unfold

from alarmsift.report.axis import Window
from alarmsift.report.detector_names import checks_of, detector_names
from alarmsift.report.folder import write_report
from alarmsift.report.live_data import clock_steps
from alarmsift.report.point_links import named_points
from alarmsift.tables.clock import ShipClock


def data_of(page):
    (words,) = re.findall(
        r'<script type="application/json" id="live-data">(.*?)</script>', page, re.DOTALL
    )
    return json.loads(words)


@pytest.fixture(scope="module")
def carried(report):
    page = (report / "points" / "p01.html").read_text(encoding="utf-8")
    return data_of(page)


def test_every_visit_is_carried_with_its_time_and_values(carried, diagnosis):
    name = diagnosis.points["point"].iloc[1]
    mine = diagnosis.visits[diagnosis.visits["point"] == name]
    assert carried["visits"] == len(mine)
    seconds = carried["start"] + np.cumsum(unfold(carried["time"], 1.0))
    np.testing.assert_array_equal(seconds, mine["time"].astype("int64") // 10**6)
    for gas in carried["gases"]:
        back = unfold(gas["value"], gas["step"])
        np.testing.assert_allclose(back, mine[gas["gas"]], atol=1e-6)


def test_states_that_are_not_ok_are_carried(carried):
    hc = next(gas for gas in carried["gases"] if gas["gas"] == "HC")
    assert [run[2] for run in hc["status"]] == ["over_range"]


def test_alarms_name_cause_and_how_to_be_treated(carried, diagnosis):
    name = diagnosis.points["point"].iloc[1]
    mine = diagnosis.episodes[diagnosis.episodes["point"] == name]
    assert [alarm[5].split(" ")[0] for alarm in carried["alarms"]] == mine["episode"].tolist()
    assert {alarm[3] for alarm in carried["alarms"]} == set(carried["causes"])
    grave = mine["treat_as"].isin(["gas", "unresolved"]).astype(int).tolist()
    assert [alarm[4] for alarm in carried["alarms"]] == grave


def test_setpoints_are_carried_with_the_side_of_their_alarm(diagnosis, tmp_path):
    oxygen = diagnosis.setpoints.iloc[[0]].assign(gas="O2", value=19.5, direction="falling")
    visits = diagnosis.visits.assign(O2=20.9, O2_status="ok", O2_excess=0.0)
    limits = pd.concat([diagnosis.setpoints, oxygen])
    changed = dataclasses.replace(diagnosis, visits=visits, setpoints=limits)
    folder = write_report(changed, tmp_path / "r")
    page = (folder / "points" / first_page(oxygen, diagnosis)).read_text("utf-8")
    gas = next(one for one in data_of(page)["gases"] if one["gas"] == "O2")
    assert [(limit[1], limit[4]) for limit in gas["limits"]] == [(19.5, 1)]


def first_page(oxygen, diagnosis):
    points = diagnosis.points
    return points.loc[points["point"] == oxygen["point"].iloc[0], "page"].iloc[0]


def test_clock_steps_hold_changes_by_hand_and_summer_time():
    window = Window(24.0 * 365 * 56.2, 24.0 * 365 * 56.9)
    moved = pd.Timestamp("2026-05-03T01:20:00Z")
    by_hand = clock_steps(ShipClock("UTC+3", ((moved, 2.0),)), window)
    assert [minutes for _, minutes in by_hand] == [180, 120]
    assert by_hand[1][0] == int(moved.timestamp())
    # Summer time in the EU ends on the last Sunday of October at 01:00 UTC (Directive 2000/84/EC).
    summer = clock_steps(ShipClock("Europe/Oslo"), window)
    assert (int(pd.Timestamp("2026-10-25T01:00:00Z").timestamp()), 60) in summer


def test_a_tag_in_a_name_is_escaped_in_what_the_plot_carries(report):
    for path in report.rglob("*.html"):
        page = path.read_text(encoding="utf-8")
        assert NASTY not in page
        for script in re.findall(r"<script type=.application/json.[^>]*>(.*?)</script>", page):
            assert "<" not in script


def test_still_pictures_stay_on_the_page_for_print_and_without_scripts(report):
    page = (report / "points" / "p01.html").read_text(encoding="utf-8")
    still = page[page.index('<div class="still">') :]
    assert still.count("<figure>") >= 1
    assert page.index('id="live"') < page.index('<div class="still">')
    assert "@media print { .live .moving { display: none; } .live .still { display: block; } }" in (
        page
    )


def test_point_leads_to_those_drawn_before_and_after_it_and_to_its_detectors(report, diagnosis):
    page = html.unescape((report / "points" / "p01.html").read_text(encoding="utf-8"))
    names = diagnosis.points["point"].tolist()
    assert f'drawn after <a href="p00.html">{names[0]}</a>' in page
    assert f'before <a href="p02.html">{names[2]}</a>' in page
    assert 'href="../detectors/hc.html"' in page


def test_neighbours_with_blanks_in_their_names_are_found():
    found = named_points("PUMP ROOM 2 BT 1", {"PUMP ROOM 2": "p", "BT 1": "b", "PUMP ROOM": "x"})
    assert [link.page for link in found] == ["p", "b"]


def test_each_detector_has_a_page_that_says_how_it_stands(report, diagnosis):
    page = (report / "detectors" / "hc.html").read_text(encoding="utf-8")
    for words in ("10 days overdue", "no span &lt;check&gt;", "A zero below nought hides gas"):
        assert words in page.replace("No span", "no span")
    assert page.count("<figure>") == 3
    assert "1 of them came late" in page
    assert 'href="../points/p00.html"' in page
    assert "wrong basis: 50 &lt;on&gt; 2.1 %vol" in page.replace("Wrong", "wrong")


def test_detectors_of_several_analysers_have_a_page_each_with_their_own_checks(tmp_path):
    full = make_diagnosis(days=6, minutes=60)
    zeros = pd.concat([full.zeros.assign(analyser=name) for name in ("fwd", "aft")])
    ledger = full.ledger.assign(analyser=["aft", ""])
    both = dataclasses.replace(
        full, zeros=zeros, ledger=ledger, detectors=full.detectors.iloc[:0]
    )  # fmt: skip
    assert detector_names(both) == ["HC (aft)", "HC (fwd)"]
    assert (len(checks_of(both, "HC (aft)")), len(checks_of(both, "HC (fwd)"))) == (2, 1)
    folder = write_report(both, tmp_path / "r")
    assert {path.name for path in (folder / "detectors").iterdir()} == {
        "hc-aft.html", "hc-fwd.html",
    }  # fmt: skip


def test_evidence_begins_with_how_common_the_cause_is(diagnosis, tmp_path):
    priors = pd.DataFrame(
        [("prior", "gas", -8.5, np.nan, "", ""), ("prior", "spike", 2.5, np.nan, "", "")],
        columns=list(diagnosis.weights),
    )
    told = dataclasses.replace(diagnosis, weights=pd.concat([diagnosis.weights, priors]))
    page = (write_report(told, tmp_path / "r") / "points" / "p00.html").read_text("utf-8")
    assert "Before any sign" in page
    assert "−8.5" in page
