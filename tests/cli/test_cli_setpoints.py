"""``alarmsift setpoints`` from the words to the files."""

from __future__ import annotations

import csv
import json

import pandas as pd

from alarmsift.setpoints.suggest import SUGGESTION_COLUMNS


def test_it_writes_page_table_and_json_beside_the_report(alarmsift, ship, here):
    ran = alarmsift("setpoints", ship, "--try", "HC:low=12,deadband=1,confirm=2")
    assert ran.status == 0, ran.err
    out = here / "reports" / ship.name
    assert (out / "index.html").is_file()
    page = (out / "setpoints.html").read_text(encoding="utf-8")
    assert "Proposals for the responsible persons" in page
    assert "http://" not in page.replace("http://www.w3.org", "")
    with (out / "setpoints.csv").open(encoding="utf-8", newline="") as file:
        assert next(csv.reader(file)) == SUGGESTION_COLUMNS
    saved = json.loads((out / "setpoints.json").read_text(encoding="utf-8"))
    assert saved["layout"] == "alarmsift-setpoints-1"
    assert len(saved["suggestions"]) == len(pd.read_csv(out / "setpoints.csv"))


def test_what_if_prints_today_s_row_and_its_own(alarmsift, ship, here):
    told = alarmsift("setpoints", ship, "--try", "HC:low=12,deadband=1,confirm=2").out
    assert "(today)" in told
    assert "12/1 2 of 2" in told


def test_a_setting_that_makes_no_sense_writes_nothing(alarmsift, ship, here):
    ran = alarmsift("setpoints", ship, "--try", "HC:low=much")
    assert ran.status == 2
    assert "HC:low=12" in ran.err
    assert not list(here.iterdir())


def test_the_same_logs_give_the_same_bytes(alarmsift, ship, here):
    for name in ("a", "b"):
        alarmsift("setpoints", ship, "--out", here / name)
    for name in ("setpoints.html", "setpoints.csv", "setpoints.json"):
        assert (here / "a" / name).read_bytes() == (here / "b" / name).read_bytes()
