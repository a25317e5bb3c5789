from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from alarmsift.errors import InputError
from tests.reading.conftest import Read

HEAD = "time,point,gas,value,unit\n"


def _rows(times, points: int = 3) -> str:
    return HEAD + "".join(f"{t},P{i % points},HC,1.0,%LFL\n" for i, t in enumerate(times))


def _local(utc: pd.DatetimeIndex, zone: str) -> list[str]:
    return utc.tz_convert(zone).strftime("%Y-%m-%d %H:%M:%S").tolist()


@pytest.mark.parametrize(
    "text",
    ["2026-01-31T22:05:00Z", "2026-01-31 22:05", "2026-01-31T23:05:00+01:00", "20260131T220500Z",
     "2026-01-31 22:05:00.000", "2026/01/31 22:05:00", "31-Jan-2026 22:05:00",
     "31 January 2026 22:05",
     "Jan 31, 2026 10:05 PM", "31/01/2026 22:05", "1/31/2026 10:05:00 PM", "31.01.26 22:05",
     "1769897100", "1769897100000", "2026-01-31T22:05:00 UTC"],
)  # fmt: skip
def test_reads_the_usual_ways_to_write_a_time(read: Read, text: str) -> None:
    head = HEAD.replace(",", ";")
    logs = read({"a.csv": head + f"{text};P;HC;1.0;%LFL\n"})
    assert logs.readings["time"].tolist() == [pd.Timestamp("2026-01-31T22:05:00Z")]


@pytest.mark.parametrize(
    "text", ["2026-02-30T10:00:00Z", "2026-01-31", "2026-01-31T25:00:00Z", "0001-01-01T00:00:00Z",
             "31/13/2026 10:00", "13:05:00", "2026-01-31 13:05 PM"],
)  # fmt: skip
def test_refuses_what_is_no_time(read: Read, text: str) -> None:
    good = "2026-01-01T00:00:00Z,P,HC,1,%LFL\n"
    logs = read({"a.csv": HEAD + good + f'"{text}",P,HC,1,%LFL\n'})
    assert logs.ledger.rejected["column"].tolist() == ["time"]
    assert logs.ledger.rejected["row"].tolist() == [3]


def test_times_without_offset_are_utc_by_default_and_it_is_said(read: Read) -> None:
    logs = read({"a.csv": _rows(["2026-01-01 00:00:00"])})
    assert logs.readings["time"].tolist() == [pd.Timestamp("2026-01-01T00:00Z")]
    assert any("read as UTC" in sentence for sentence in logs.ledger.learnt)


def test_a_fixed_clock_is_taken_off(read: Read) -> None:
    logs = read({"a.csv": _rows(["2026-01-01 00:00:00"]), "site.toml": 'clock = "UTC-03:30"\n'})
    assert logs.readings["time"].tolist() == [pd.Timestamp("2026-01-01T03:30Z")]
    assert logs.clock.zone == "UTC-03:30"


# Transitions by the tz database (IANA): Oslo 2025-10-26 01:00Z and 2026-03-29 01:00Z; Lord Howe
# 2024-04-06 15:00Z by half an hour; Kathmandu +05:45 without any.
@pytest.mark.parametrize(
    ("zone", "start"),
    [("Europe/Oslo", "2025-10-25 20:00"), ("Europe/Oslo", "2026-03-28 20:00"),
     ("Australia/Lord_Howe", "2024-04-06 10:00"), ("Asia/Kathmandu", "2026-01-01 00:00"),
     ("America/New_York", "2013-11-03 00:00")],
)  # fmt: skip
@pytest.mark.parametrize("by_point", [False, True])
def test_every_row_of_a_summer_time_night_finds_its_moment(
    read: Read, zone: str, start: str, by_point: bool
) -> None:
    utc = pd.date_range(start, periods=90, freq="7min", tz="UTC")
    frame = pd.DataFrame({"t": _local(utc, zone), "p": [f"P{i % 3}" for i in range(90)]})
    if by_point:
        frame = frame.sort_values("p", kind="stable")
    text = HEAD + "".join(f"{t},{p},HC,1.0,%LFL\n" for t, p in frame.values)
    logs = read({"a.csv": text, "site.toml": f'clock = "{zone}"\n'})
    assert logs.readings["time"].tolist() == utc.tolist()


def test_a_time_that_the_clock_jumped_over_is_kept(read: Read) -> None:
    site = 'clock = "Europe/Oslo"\n'
    logs = read({"a.csv": _rows(["2026-03-29 02:30:00"]), "site.toml": site})
    assert logs.readings["time"].tolist() == [pd.Timestamp("2026-03-29T01:30Z")]


def test_a_day_that_never_was_raises_nothing(read: Read) -> None:
    # Samoa went from 29 to 31 December 2011 (tz database).
    site = 'clock = "Pacific/Apia"\n'
    assert len(read({"a.csv": _rows(["2011-12-30 12:00:00"]), "site.toml": site}).readings) == 1


def test_clock_operations_put_the_ships_clock_back_and_forward(read: Read) -> None:
    utc = pd.date_range("2026-01-01", "2026-01-06", freq="11min", tz="UTC")
    steps = [
        pd.Timestamp(t, tz="UTC")
        for t in ("2026-01-02 12:00", "2026-01-03 12:00", "2026-01-05 01:30")
    ]
    hours = np.select([utc < steps[0], utc < steps[1], utc < steps[2]], [3.0, 2.0, 1.5], 4.0)
    local = utc.tz_localize(None) + pd.to_timedelta(hours, unit="h")
    ops = (
        "time,action,value\n2026-01-02 15:00:00,clock,2\n2026-01-03 14:00:00,clock,1.5\n"
        "2026-01-05 03:00:00,clock,4\n2026-01-05 06:00:00,note,\n"
    )
    text = _rows(local.strftime("%Y-%m-%d %H:%M:%S"))
    logs = read({"a.csv": text, "o.csv": ops, "site.toml": 'clock = "UTC+3"\n'})
    assert logs.readings["time"].tolist() == utc.tolist()
    assert logs.operations["time"].tolist() == [*steps, pd.Timestamp("2026-01-05T02:00Z")]
    assert logs.clock.changes == tuple(zip(steps, (2.0, 1.5, 4.0), strict=True))
    assert logs.clock.to_ship(logs.readings["time"]).tolist() == local.tolist()


def test_equal_rows_in_the_hour_that_came_twice_are_no_duplicates(read: Read) -> None:
    # The same minute and value in both passes of the hour: two visits, not one.
    times = ["02:10:00", "02:40:00", "02:10:00", "02:40:00", "03:10:00"]
    text = _rows([f"2025-10-26 {t}" for t in times], points=1)
    logs = read({"a.csv": text, "site.toml": 'clock = "Europe/Oslo"\n'})
    assert len(logs.readings) == 5
    assert logs.readings["time"].diff().dropna().dt.total_seconds().tolist() == [1800.0] * 4


def test_says_so_when_nothing_tells_which_pass_of_the_hour_it_was(read: Read) -> None:
    events = "time,point,event,state\n2025-10-26 02:30:00,P0,alarm,raised\n"
    site = 'clock = "Europe/Oslo"\n'
    logs = read({"a.csv": _rows(["2025-10-25 12:00:00"]), "e.csv": events, "site.toml": site})
    assert logs.events["time"].tolist() == [pd.Timestamp("2025-10-26T00:30Z")]
    assert any("showed twice" in warning for warning in logs.ledger.warnings)


def test_days_beyond_twelve_decide_the_date_order_for_all_files(read: Read) -> None:
    logs = read(
        {
            "a.csv": _rows(["13/04/2026 10:00"]),
            "b.csv": _rows(["03/04/2026 10:00"]),
        }
    )
    assert logs.readings["time"].dt.month.tolist() == [4, 4]


def test_the_step_over_midnight_decides_the_date_order(read: Read) -> None:
    logs = read({"a.csv": _rows(["04/03/2026 23:50", "04/04/2026 00:10"])})
    assert logs.readings["time"].dt.day.tolist() == [3, 4]
    assert any("month-first" in sentence for sentence in logs.ledger.learnt)


def test_asks_for_the_date_order_when_nothing_decides(read: Read) -> None:
    text = _rows(["03/04/2026 10:00"])
    with pytest.raises(InputError) as told:
        read({"a.csv": text})
    words = str(told.value)
    assert "day 3 of month 4" in words and "day 4 of month 3" in words
    assert 'date_order = "day-first"' in words
    logs = read({"a.csv": text, "site.toml": 'date_order = "month-first"\n'})
    assert logs.readings["time"].tolist() == [pd.Timestamp("2026-03-04T10:00Z")]


@pytest.mark.parametrize(
    ("note", "hour"), [("clocks advanced 1 h", 4), ("Clocks retarded 30 min", 2.5), ("to UTC+5", 5)]
)
def test_a_clock_put_forward_or_back_in_words_is_understood(
    read: Read, note: str, hour: float
) -> None:
    site = 'clock = "UTC+3"\n'
    ops = f"time,action,note\n2026-03-01 02:00:00,clock,{note}\n"
    logs = read({"a.csv": _rows(["2026-03-01 09:00:00"]), "o.csv": ops, "site.toml": site})
    assert logs.readings["time"].tolist() == [
        pd.Timestamp("2026-03-01T09:00Z") - pd.Timedelta(hours=hour)
    ]
