"""Spreadsheets, written by one library and read through another."""

from __future__ import annotations

import datetime as dt
import io

import pandas as pd
import pytest

from tests.reading.conftest import Read

openpyxl = pytest.importorskip("openpyxl")
pytest.importorskip("python_calamine")


def _book(sheets: dict[str, list[list[object]]]) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_every_sheet_of_a_workbook_is_a_table_of_its_own(read: Read) -> None:
    first = dt.datetime(2026, 3, 1, 0, 0)  # noqa: DTZ001  (a cell has no zone)
    readings = [
        ["Gas log", None, None],
        ["Time", "Point", "HC [%LEL]"],
        [first, "BT1P", 1.5],
        [first + dt.timedelta(minutes=5), "BT1S", "OVR"],
    ]
    alarms = [
        ["Date", "On", "Off", "Alarm"],
        [dt.date(2026, 3, 1), dt.time(0, 1), dt.time(0, 9), "BT1P HC HIGH"],
    ]
    book = _book({"Readings": readings, "Alarms": alarms, "Notes": [["call the office"]]})
    logs = read({"book.xlsx": book})
    table = logs.readings[["point", "value", "status", "source_row"]].astype("object").fillna("")
    assert table.values.tolist() == [["BT1P", 1.5, "ok", 3], ["BT1S", "", "over_range", 4]]
    assert logs.events["state"].tolist() == ["raised", "cleared"]
    assert logs.events["time"].tolist()[1] == pd.Timestamp("2026-03-01T00:09Z")
    assert logs.ledger.files["file"].tolist() == [
        "book.xlsx [Alarms]", "book.xlsx [Notes]", "book.xlsx [Readings]",
    ]  # fmt: skip
    assert any("book.xlsx [Notes] was not used" in warning for warning in logs.ledger.warnings)


def test_serial_days_are_the_same_times_as_dates(read: Read) -> None:
    # 46082 is 2026-03-01 in the 1900 date system (ECMA-376 part 1, 18.17.4.1).
    rows = [["Time", "Point", "HC [%LEL]"], [46082.25, "BT1P", 1.0]]
    logs = read({"book.xlsx": _book({"A": rows})})
    assert logs.readings["time"].tolist() == [pd.Timestamp("2026-03-01T06:00Z")]
