from __future__ import annotations

import gzip

import pandas as pd

from alarmsift.reading.folder import read_logs
from alarmsift.tables.marker import mark
from alarmsift.tables.schema import TABLES, conform
from tests.reading.conftest import HEADER, Read, line, write


def test_reads_every_table_of_the_plain_layout(read: Read) -> None:
    logs = read(
        {
            "a.csv": HEADER + line(0) + line(5, gas="H2S", unit="ppm", value="0.4"),
            "b.csv": "time,point,gas,event,level,state,value,text\n"
            "2026-01-01T00:10:00Z,BT1P,HC,alarm,Low,Raised,12.5,over limit\n"
            "2026-01-01T00:20:00Z,BT1P,,fault,Low Flow,raised,,\n",
            "c.csv": "time,action,point,value,note\n2026-01-01T00:30:00Z,Purge,BT1P,,by hand\n",
            "d.csv": "point,space,kind,order,neighbours\nBT1P,WBT 1 P,ballast,1,BT1S BT2P\n",
            "e.csv": "gas,level,value,unit,deadband\nHC,low,30,%LFL,2\nO2,low,19.5,%vol,\n",
            "f.csv": "time,point,gas,found,note\n2026-01-02T08:00:00Z,BT1P,HC,Zero drift,seen\n",
        }
    )
    assert [len(getattr(logs, name)) for name in TABLES] == [2, 2, 1, 1, 2, 1]
    assert logs.events["level"].tolist() == ["low", "low flow"]
    assert logs.events["gas"].isna().tolist() == [False, True]
    assert logs.operations["action"].tolist() == ["purge"]
    assert logs.setpoints["direction"].tolist() == ["rising", "falling"]
    assert logs.findings["found"].tolist() == ["zero_drift"]
    assert logs.name == "Example"
    assert logs.ledger.warnings == ()


def test_frames_are_the_canonical_ones(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(0)})
    for name, table in TABLES.items():
        frame = getattr(logs, name)
        pd.testing.assert_frame_equal(frame, conform(frame, table))


def test_header_may_be_in_any_case_and_spaced(read: Read) -> None:
    logs = read(
        {"a.csv": " TIME , Point,GAS, Value ,Unit\n2026-01-01T00:00:00Z, BT1P ,hc,1,%LEL\n"}
    )
    assert logs.readings["point"].tolist() == ["BT1P"]
    assert logs.readings["unit"].tolist() == ["%LFL"]


def test_gas_synonyms_become_channels(read: Read) -> None:
    rows = [line(i, gas=g) for i, g in enumerate(("Flammable", "LEL", "hydrocarbon"))]
    rows += [line(9, gas="Hydrogen Sulphide", unit="ppm"), line(10, gas="oxygen", unit="Vol%")]
    logs = read({"a.csv": HEADER + "".join(rows)})
    assert logs.readings["gas"].tolist() == ["HC", "HC", "HC", "H2S", "O2"]


def test_rows_of_equal_time_keep_the_order_of_the_file(read: Read) -> None:
    rows = line(5, point="Z") + line(5, point="A") + line(0, point="M")
    logs = read({"a.csv": HEADER + rows})
    assert logs.readings["point"].tolist() == ["M", "Z", "A"]
    assert logs.readings["source_row"].tolist() == [4, 2, 3]


def test_reads_packed_files_and_folders_below_but_not_what_it_wrote(read: Read, tmp_path) -> None:
    report = tmp_path / "Example" / "report"
    write(report, {"more.csv": HEADER + line(50)})
    mark(report, "report")
    logs = read(
        {
            "jan/a.csv.gz": gzip.compress((HEADER + line(0)).encode()),
            "feb/B.CSV": HEADER + line(10),
            ".hidden/c.csv": HEADER + line(20),
        }
    )
    assert logs.ledger.files["file"].tolist() == ["feb/B.CSV", "jan/a.csv.gz"]
    assert len(logs.readings) == 2


def test_a_table_written_as_parquet_reads_back_equal(read: Read, tmp_path) -> None:
    rows = line(0, value="0.1") + line(5, status="fault", value="") + line(7, gas="H2S", unit="ppm")
    first = read({"a.csv": "\n\n" + HEADER + rows}).readings
    folder = tmp_path / "tables"
    folder.mkdir()
    first.to_parquet(folder / "readings.parquet")
    again = read_logs(folder).readings
    pd.testing.assert_frame_equal(first, again)
    assert again["source_file"].tolist() == ["a.csv"] * 3
    assert again["source_row"].tolist() == [4, 5, 6]


def test_unknown_columns_are_left_out_and_named(read: Read) -> None:
    logs = read({"a.csv": HEADER.replace("\n", ",Operator,Shift\n") + line(0).strip() + ",x,y\n"})
    assert logs.ledger.files["left_out_columns"].tolist() == ["Operator, Shift"]


def test_an_unknown_action_is_kept_as_a_note_and_counted(read: Read) -> None:
    ops = "time,action,note\n2026-01-01T00:00:00Z,polish lamp,shiny\n2026-01-01T00:01:00Z,purge,\n"
    logs = read({"a.csv": HEADER + line(0), "o.csv": ops})
    assert logs.operations["action"].tolist() == ["note", "purge"]
    assert logs.operations["note"].tolist()[0] == "polish lamp: shiny"
    assert any("1 operation" in w and "polish lamp" in w for w in logs.ledger.warnings)


def test_events_alone_are_enough(read: Read) -> None:
    logs = read({"e.csv": "time,point,event,state\n2026-01-01T00:00:00Z,P,alarm,raised\n"})
    assert len(logs.events) == 1
    assert len(logs.readings) == 0
