"""Wide and merged files as one column of values, and dates and times of day as one of times."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pytest

from alarmsift.reading.joined import Joined, row_times
from alarmsift.reading.local_time import clock_in_words
from alarmsift.reading.melt import melt
from alarmsift.reading.sheet import TextColumn, encode, join
from alarmsift.reading.tags import read_tag
from tests.reading.conftest import Read


def column(*cells: str) -> TextColumn:
    return encode(pa.array(cells, pa.string()))


def test_cells_come_moment_by_moment_and_blank_ones_are_left_out() -> None:
    melted = melt([column("1.0", "", "2.0"), column("2.0", "", "")])
    assert melted.cells.text(np.arange(3)).tolist() == ["1.0", "2.0", "2.0"]
    assert melted.rows.tolist() == [0, 0, 2]
    assert melted.which.tolist() == [0, 1, 0]
    assert melted.named(["HC", "H2S"]).text(np.arange(3)).tolist() == ["HC", "H2S", "HC"]


def test_a_row_of_blanks_can_be_kept_whole() -> None:
    melted = melt([column("1.0", "", "2.0"), column("2.0", "", "")], keep_blank_rows=True)
    assert melted.rows.tolist() == [0, 0, 1, 1, 2]
    assert melted.cells.text(np.arange(5)).tolist() == ["1.0", "2.0", "", "", "2.0"]


@pytest.mark.parametrize("order", ["day-first", "month-first"])
def test_times_from_two_columns_are_those_of_the_joined_texts(order: str) -> None:
    days = ("01.02.2026", "31.01.2026", "2026-01-31", "1.2.26", "", "30.02.2026", "01/02/2026")
    clocks = ("00:00:00", "23:59:59", "24:00:00", "24:00:01", "8:15", "", "11:15 PM", "x",
              "10:00:00+02:00", "10:00:00.5")  # fmt: skip
    usual = [("03.04.2026", "12:34:56")] * 200  # most rows of a log are of one form
    pairs = [*usual, *((day, clock) for day in days for clock in clocks)]
    date, clock = (column(*cells) for cells in zip(*pairs, strict=True))
    parts, whole = (row_times(both, order) for both in (Joined(date, clock), join(date, clock)))
    assert parts.bad.tolist() == whole.bad.tolist()
    good = np.setdiff1d(np.arange(len(pairs)), whole.bad)
    assert (parts.moment[good] == whole.moment[good]).all()
    assert (parts.aware[good] == whole.aware[good]).all()
    assert not parts.minutes_only


def test_one_bad_date_costs_its_own_row_of_a_merged_file(read: Read) -> None:
    rows = [f"{day:02}.01.2026;12:00:00;BT1P;0,{day % 10};1,5" for day in range(1, 29)]
    rows[20] = rows[20].replace("21.01.2026", "21.13.2026")
    rows[22] = rows[22].replace("12:00:00", "noon")
    logs = read({"m.csv": "\n".join(["Date;Time;Point;HC [%LEL];H2S [ppm]", *rows])})
    assert len(logs.readings) == 2 * 26
    rejected = logs.ledger.rejected[["row", "text"]].values.tolist()
    assert rejected == [[22, "21.13.2026 12:00:00"], [24, "23.01.2026 noon"]]


def test_columns_that_the_logs_lack_can_be_filled_one_by_one(read: Read) -> None:
    text = "time,point,gas,value,unit\n2026-01-31T00:00:00Z,BT1P,H2S,1.0,ppm\n"
    readings = read({"r.csv": text}).readings
    readings.loc[0, "flow"] = 2.0
    assert readings["flow"].tolist() == [2.0]
    assert readings[["suction", "temperature", "humidity"]].isna().all(axis=None)


def test_a_remark_or_tag_of_a_million_letters_is_passed_over_at_once() -> None:
    step = clock_in_words("clocks advanced 1 h " + "9" * 1_000_000)
    assert step[1] == 1.0
    assert np.isnan(clock_in_words("9" * 1_000_000)).all()
    assert read_tag(0, "a " * 500_000) is None
