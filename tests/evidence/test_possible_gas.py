"""Possible gas on small ships: which rises are listed, and what is said of the points near by."""

import numpy as np
import pandas as pd
import pytest

from alarmsift.pipeline.diagnose import diagnose
from alarmsift.tables.diagnosis import POSSIBLE_GAS_COLUMNS
from alarmsift.tables.site import Site
from tests.simulated import diagnosed
from tests.ten_rows import alarms, at, history, logs_of, quiet

POINTS = """
point space    kind    volume_m3 neighbours
UP    "WBT 1P" ballast 1000      V
LO    "WBT 1P" ballast 1000      V
V     "VOID 1" void    500       "UP LO"
X     "WBT 9S" ballast 1000      -
Y     "WBT 8S" ballast 1000      -
"""
SETPOINTS = """
gas level value deadband
HC  low   10    1
HC  high  30    1
"""
LIMITS = {("HC", "low"): 10.0, ("HC", "high"): 30.0}


def ship(courses, *, operations=None, rounds=400, lfl=("propane", 2.1)):
    """Return the diagnosis; a course is added to a point's rest from round 150 (50:00) on."""
    values = quiet(("UP", "LO", "V", "X", "Y"), rounds)
    for point, course in courses.items():
        values[point, "HC"][150 : 150 + len(course)] += course
    readings = history(values)
    tables = {
        "readings": readings,
        "events": alarms(readings, LIMITS),
        "setpoints": SETPOINTS,
        "points": POINTS,
    }
    if operations:
        tables["operations"] = operations
    return diagnose(logs_of(tables, Site(lfl=lfl)))


def ramp(rate, rounds, *, late=0, then=0):
    """Return a growth of ``rate`` an hour over so many rounds of 20 minutes, then a fall."""
    up = np.concatenate([np.zeros(late), rate / 3.0 * np.arange(1, rounds + 1)])
    return np.concatenate([up, np.linspace(up[-1], 0.0, then)]) if then else up


def leaking(**more):
    """A leak of 2 %LFL/h low down for 12 h, seen later and weaker above and next door."""
    return ship(
        {
            "LO": ramp(2.0, 36, then=60),
            "UP": ramp(1.4, 30, late=6, then=60),
            "V": ramp(0.5, 24, late=12, then=60),
        },
        **more,
    ).possible_gas


@pytest.fixture(scope="module")
def leak():
    return leaking()


def test_growth_inflow_and_high_setpoint_of_a_leak(leak):
    row = leak[leak["point"] == "LO"].iloc[0]
    assert row["claim"] == "range"
    assert row["growth_low"] < 2.0 < row["growth_high"]
    # 1000 m3 x 2 %LFL/h of 2.1 vol% = 0.42 m3/h = 7 L/min
    assert row["inflow_low"] < 7.0 < row["inflow_high"]
    assert row["high_setpoint"] == 30.0
    assert pd.isna(row["high_seen"])
    assert row["earliest_high"] > at("62:00")  # it never went over 25, at 62:00
    # 24 + 1 of background at the top: 5 to go, at 2 an hour 2.5 h; the fastest rate is sooner
    assert row["earliest_high"] < at("64:45")


def test_lower_point_rose_first_and_the_others_are_told_of(leak):
    row = leak[leak["point"] == "LO"].iloc[0]
    assert row["rose_first"] == "LO"
    assert row["pair"].startswith("UP rose ")
    assert "later" in row["pair"]
    assert row["neighbours"].startswith("V rose ")


def test_upper_point_of_the_pair_tells_no_inflow_of_its_own(leak):
    row = leak[leak["point"] == "UP"].iloc[0]
    assert row["rose_first"] == "LO"
    assert np.isnan(row["inflow_low"])
    assert row["inflow_why"] == "LO in the same space shows more: see there."


def test_neighbours_at_rest_are_said_to_be():
    row = ship({"LO": ramp(2.0, 36, then=60)}).possible_gas.iloc[0]
    assert row["pair"] == "UP stayed at rest"
    assert row["neighbours"] == "V stayed at rest"


def test_low_and_high_alarm_of_one_rise_are_one_row_and_the_high_was_seen():
    result = ship({"LO": ramp(3.0, 45, then=60)})
    mine = result.possible_gas[result.possible_gas["point"] == "LO"]
    assert len(mine) == 1
    row = mine.iloc[0]
    assert len(row["bouts"].split()) == 2
    raised = result.episodes[result.episodes["level"] == "high"]["raised"].iloc[0]
    assert row["high_seen"] == raised
    assert pd.isna(row["earliest_high"])


def test_leak_that_goes_on_counts_from_the_last_reading():
    row = ship({"LO": ramp(1.0, 60)}, rounds=210).possible_gas.iloc[0]
    assert row["earliest_high"] > at("69:40")
    assert row["earliest_high"] <= at("80:00")


def test_unknown_volume_or_limit_is_said(leak):
    unsaid = leaking(lfl=None)
    mine = unsaid[unsaid["point"] == "LO"].iloc[0]
    told = leak[leak["point"] == "LO"].iloc[0]
    assert mine["inflow_low"] < told["inflow_low"]
    assert "don't say what %LFL is of" in mine["inflow_why"]


def test_range_is_never_worded_as_time_to_spare(leak):
    words = " ".join([*leak["why"], *leak["inflow_why"]])
    for bad in ("spare", "safe", "at most", "remaining", "left until"):
        assert bad not in words


def test_quiet_ship_has_no_row_but_all_columns():
    table = ship({}).possible_gas
    assert table.empty
    assert table.columns.tolist() == POSSIBLE_GAS_COLUMNS
    assert str(table["rise_start"].dtype) == "datetime64[us, UTC]"


@pytest.mark.parametrize("seed", [2, 4, 5])
def test_every_alarm_that_is_gas_is_behind_exactly_one_row(seed):
    result = diagnosed(seed)
    listed = " ".join(result.possible_gas["bouts"]).split()
    assert len(listed) == len(set(listed))
    gas = result.episodes[(result.episodes["treat_as"] == "gas")]
    assert set(gas["bout"]) <= set(listed)
    table = result.possible_gas
    ranged = table[table["claim"] == "range"]
    assert (ranged["growth_low"] <= ranged["growth_high"]).all()
    told = table[table["inflow_low"].notna()]
    assert (told["inflow_low"] <= told["inflow_high"]).all()
    assert (table["why"] != "").all()
    nuisance = result.episodes[result.episodes["treat_as"] == "nuisance"]["bout"]
    assert not set(nuisance) & set(listed)
