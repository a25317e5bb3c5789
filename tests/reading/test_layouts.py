from __future__ import annotations

import pytest

from alarmsift.reading.tags import read_tag
from tests.reading.conftest import Read

MERGED = """Installation: Example
Printed 01.02.2026

Date;Time;Sampling point;LEL (%LEL);H2S ppm;HC status;Vacuum [mbar];Flow l/h
31.01.2026;23:50:00;BT 1P;0,1;<0,1;;120;60
31.01.2026;23:52:00;BT 1S;OVR;0,4;;120;60
31.01.2026;23:54:00;BT 2P;abc;0,5;;12x;60
31.01.2026;23:56:00;BT 2S;1,5;;fault;120;60
31.01.2026;23:58:00;BT 3P;;;;120;60
"""


def test_merged_rows_become_one_reading_a_gas(read: Read) -> None:
    logs = read({"m.csv": MERGED})
    table = logs.readings[["point", "gas", "status", "source_row"]].values.tolist()
    assert table == [
        ["BT 1P", "HC", "ok", 5],
        ["BT 1P", "H2S", "under_range", 5],
        ["BT 1S", "HC", "over_range", 6],
        ["BT 1S", "H2S", "ok", 6],
        ["BT 2P", "H2S", "ok", 7],
        ["BT 2S", "HC", "fault", 8],
    ]
    assert logs.readings["value"].dropna().tolist() == [0.1, 0.4, 0.5, 1.5]
    assert logs.readings["suction"].tolist()[0] == pytest.approx(12.0)
    assert logs.readings["flow"].tolist()[0] == pytest.approx(1.0)


def test_a_bad_cell_of_a_merged_row_leaves_the_other_values(read: Read) -> None:
    logs = read({"m.csv": MERGED})
    rejected = logs.ledger.rejected[["row", "column", "text"]].values.tolist()
    assert rejected == [
        [7, "LEL (%LEL)", "abc"],
        [7, "Vacuum [mbar]", "12x"],
        [9, "LEL (%LEL)", ""],
    ]
    file = logs.ledger.files.iloc[0]
    assert (file["layout"], file["delimiter"]) == ("merged", ";")
    counts = ["rows_read", "accepted", "rejected", "cells_refused"]
    assert file[counts].tolist() == [5, 4, 1, 2]


def test_what_was_understood_of_a_merged_file_is_said(read: Read) -> None:
    said = " ".join(read({"m.csv": MERGED}).ledger.learnt)
    for words in (
        "day-first",
        "comma is the decimal mark",
        "from mbar to kPa",
        "from l/h to L/min",
    ):
        assert words in said


@pytest.mark.parametrize("mark", [".", "_", ":", "/", " ", "-", "|"])
def test_wide_tags_may_be_parted_by_anything(read: Read, mark: str) -> None:
    text = (
        f"time;BT1P{mark}HC;BT1P{mark}H2S;BT1S{mark}HC\n"
        "2026-01-31 23:50:00;1.0;2.0;\n2026-01-31 23:55:00;1.5;x;3.0\n"
    )
    logs = read({"w.csv": text, "site.toml": '[units]\nHC = "%LFL"\nH2S = "ppm"\n'})
    assert logs.readings[["point", "gas", "value"]].values.tolist() == [
        ["BT1P", "HC", 1.0],
        ["BT1P", "H2S", 2.0],
        ["BT1P", "HC", 1.5],
        ["BT1S", "HC", 3.0],
    ]
    assert logs.ledger.rejected[["row", "column"]].values.tolist() == [[3, f"BT1P{mark}H2S"]]


def test_wide_file_with_a_units_row_and_flow_beside(read: Read) -> None:
    text = (
        "Timestamp,GDS:BT 1P:HC:PV,GDS:BT 1P:Flow,GDS:BT 1S:HC:PV,GDS:BT 1S:HC:Status,Watch\n"
        ",%LEL,l/h,%LEL,,\n"
        "2026-01-31 23:50:00,1.0,60,2.0,fault,x\n"
    )
    logs = read({"w.csv": text})
    columns = ["point", "value", "status", "flow", "source_row"]
    rows = logs.readings[columns].astype("object").where(logs.readings[columns].notna(), None)
    assert rows.values.tolist() == [
        ["BT 1P", 1.0, "ok", 1.0, 3],
        ["BT 1S", 2.0, "fault", None, 3],
    ]
    assert logs.ledger.files["left_out_columns"].tolist() == ["Watch"]


@pytest.mark.parametrize(
    ("tag", "point", "gas"),
    [("WBT 1 C HC", "WBT 1 C", "HC"), ("HC_BT1P", "BT1P", "HC"), ("BT1P.LEL.Value", "BT1P", "HC")],
)
def test_tags_give_point_and_gas(tag: str, point: str, gas: str) -> None:
    found = read_tag(0, tag)
    assert found is not None
    assert (found.point, found.gas) == (point, gas)


def test_site_toml_maps_columns_to_the_plain_layout(read: Read) -> None:
    text = "When,Where,Sensor 1,Sensor 2\n2026-01-31 23:50:00,BT1P,1.0,2.0\n"
    site = (
        '[columns]\nWhen = "time"\nWhere = "point"\n"Sensor 1" = "HC"\n"Sensor 2" = "H2S"\n'
        '[units]\n"Sensor 1" = "%LFL"\nH2S = "ppm"\n'
    )
    logs = read({"m.csv": text, "site.toml": site})
    assert logs.readings[["gas", "value"]].values.tolist() == [["HC", 1.0], ["H2S", 2.0]]


def test_a_file_grouped_by_thousands_is_read_by_its_decimal_mark(read: Read) -> None:
    text = (
        "time;point;gas;value;unit\n2026-01-01 00:00:00;P;H2S;1.234,5;ppm\n"
        "2026-01-01 00:05:00;P;H2S;1,5;ppm\n"
    )
    assert read({"a.csv": text}).readings["value"].tolist() == [1234.5, 1.5]


def test_a_systems_name_before_all_tags_goes_when_the_alarm_list_has_none(read: Read) -> None:
    text = "time,GDS.BT1P.HC [%LEL],GDS.BT1S.HC [%LEL]\n2026-01-31 23:50:00,1.0,2.0\n"
    events = "time,point,event,state\n2026-01-31T23:55:00Z,{},alarm,raised\n"
    logs = read({"w.csv": text, "e.csv": events.format("BT1P")})
    assert logs.readings["point"].tolist() == ["BT1P", "BT1S"]
    assert any("'GDS.' was taken off" in sentence for sentence in logs.ledger.learnt)
    kept = read({"w.csv": text, "e.csv": events.format("BT9P")})
    assert kept.readings["point"].tolist() == ["GDS.BT1P", "GDS.BT1S"]


def test_a_lone_gas_beside_tags_of_points_is_left_out_and_named(read: Read) -> None:
    text = "time,BT1P.HC [%LEL],O2 [%]\n2026-01-31 23:50:00,1.0,20.9\n"
    logs = read({"w.csv": text})
    assert logs.readings[["point", "gas", "value"]].values.tolist() == [["BT1P", "HC", 1.0]]
    assert logs.ledger.files["left_out_columns"].tolist() == ["O2 [%]"]


def test_a_point_that_text_and_column_both_name_keeps_the_column(read: Read) -> None:
    readings = "time,point,gas,value,unit\n" + "".join(
        f"2026-01-31T23:5{i}:00Z,{p},HC,1.0,%LFL\n" for i, p in enumerate(("BT1P", "BT1S"))
    )
    events = "Time;Location;Message\n2026-01-31 23:55;BT1S;HC HIGH, see BT1P too\n"
    logs = read({"r.csv": readings, "e.csv": events})
    assert logs.events["point"].tolist() == ["BT1S"]
