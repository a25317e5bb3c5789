"""Possible gas, rules and alarm load on the pages and in the files."""

import csv
import dataclasses
import json

import numpy as np
import pandas as pd
import pytest
from report_fixture import NASTY, make_diagnosis

from alarmsift.report.folder import write_report
from alarmsift.tables import diagnosis as names


def words(path):
    """Return a page's words, tags out, one space between."""
    from test_report_pages import Page

    return Page(path.read_text(encoding="utf-8")).text


def section(text, start, end):
    return text.split(start, 2)[-1].split(end)[0]


@pytest.fixture(scope="module")
def index(report):
    return words(report / "index.html")


def test_rate_inflow_and_earliest_time_stand_as_ranges_on_both_pages(report, diagnosis, index):
    page = next(
        path for path in (report / "points").glob("*.html") if f"<h1>{'WBT &lt;b&gt;3'}" in
        path.read_text(encoding="utf-8")
    )  # fmt: skip
    for text in (index, words(page)):
        assert "2 to 3.1 %LFL an hour" in text
        assert "43 visits in" in text
        assert "12 to 140 L/min" in text
        assert "60 %LFL : at the fastest of these rates it could stand there from" in text.replace(
            "60 %LFL:", "60 %LFL :"
        )
        assert "no time here is time to spare" in text
    assert "at least 7 %LFL an hour" in index
    assert "reached" in index
    assert "at least 7 %LFL an hour" not in words(page)


def test_rules_stand_with_outcome_place_and_source_and_are_no_certificate(index):
    rules = section(index, "Published rules, and what these logs show", "What was read")
    assert "no certificate" in rules
    for outcome in ("not met by these logs", "not decidable from these logs", "met by these logs"):
        assert outcome in rules
    assert NASTY in rules
    assert "Circ. <1370>" in rules


def test_alarm_load_stands_with_and_without_nuisance(index):
    load = section(index, "How much these alarms ask of people", "Record on this ship")
    assert "Alarms raised 60 30 alarms" in load
    assert "never muted" in load
    assert f"{NASTY} HC low 9 30 % 0 0.25 yes" in load


def test_files_hold_the_columns_in_their_order(report):
    for name, columns in (
        ("possible_gas", names.POSSIBLE_GAS_COLUMNS),
        ("rules", names.RULE_COLUMNS),
        ("alarm_load", names.ALARM_LOAD_COLUMNS),
        ("alarm_tags", names.ALARM_TAG_COLUMNS),
    ):
        with (report / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.reader(file))
        assert rows[0] == columns
        assert len(rows) > 2


def test_json_holds_them_and_blank_where_nothing_is_claimed(report):
    document = json.loads((report / "diagnosis.json").read_text(encoding="utf-8"))
    first, second = document["possible_gas"]
    assert (first["growth_low"], first["visits"], first["claim"]) == (2.04, 43, "range")
    assert second["growth_high"] is None
    assert second["earliest_high"] is None
    assert second["high_seen"].endswith("Z")
    assert [rule["outcome"] for rule in document["rules"]] == ["not_met", "not_decidable", "met"]
    assert document["alarm_load"][0]["without_nuisance"] == 30
    assert document["alarm_tags"][0]["chattering"] is True
    assert document["alarm_tags"][1]["chatter_index"] is None


def test_index_lists_the_gravest_and_says_how_many_more_there_are(tmp_path):
    full = make_diagnosis(days=6, minutes=60)
    many = pd.concat([full.possible_gas] * 20, ignore_index=True)
    folder = write_report(dataclasses.replace(full, possible_gas=many), tmp_path / "r")
    text = words(folder / "index.html")
    assert "The gravest and latest 12; 28 more are in possible_gas.csv" in text
    gas = section(text, "Possible gas: how fast it grew", "Alarms by cause")
    assert "at least 7 %LFL an hour" not in gas  # unresolved: after twenty of gas


def test_rule_that_is_broken_everywhere_says_so_in_short(tmp_path):
    full = make_diagnosis(days=6, minutes=60)
    every = ", ".join(full.points["point"])
    folder = write_report(
        dataclasses.replace(full, rules=full.rules.assign(where=[every, "", ""])), tmp_path / "r"
    )
    assert "at every point" in words(folder / "index.html")
    assert np.all(full.rules["where"] != every)
