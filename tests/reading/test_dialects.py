"""A table written in any dialect that is supported reads back equal."""

from __future__ import annotations

import csv
import io
import tempfile
from dataclasses import dataclass
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alarmsift.reading.folder import read_logs
from tests.reading.conftest import adds_up, write

# Hundreds of log folders: other tests cover the same lines, and the tracer costs half again.
pytestmark = pytest.mark.no_cover

POINTS = ("BT 1P", "BT 1S", "PUMP ROOM", "Coqueron arrière")
UNITS = {"HC": "%LEL", "H2S": "ppm", "O2": "vol%"}
# A week over a month's end, so that the order of day and month shows.
START = pd.Timestamp("2026-01-28T22:00:00")

TIMES = {
    "iso": "%Y-%m-%d %H:%M:%S",
    "zulu": "%Y-%m-%dT%H:%M:%SZ",
    "dots": "%d.%m.%Y %H:%M:%S",
    "american": "%m/%d/%Y %I:%M:%S %p",
    "named": "%d-%b-%Y %H:%M:%S",
    "short": "%d/%m/%y %H:%M:%S",
    "packed": "%Y%m%d%H%M%S",
    "epoch": "",
    "serial": "",
}


@dataclass(frozen=True)
class Dialect:
    layout: str
    delimiter: str
    comma: bool
    encoding: str
    ends: str
    times: str
    apart: bool  # date and time in two columns
    preamble: bool
    units_row: bool
    quoted: bool
    again: bool  # the header comes once more in the middle


DIALECTS = st.builds(
    Dialect,
    layout=st.sampled_from(["long", "merged", "wide", "tags"]),
    delimiter=st.sampled_from([";", "\t", "|", ",", "^"]),
    comma=st.booleans(),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
    ends=st.sampled_from(["\n", "\r\n", "\r"]),
    times=st.sampled_from(sorted(TIMES)),
    apart=st.booleans(),
    preamble=st.booleans(),
    units_row=st.booleans(),
    quoted=st.booleans(),
    again=st.booleans(),
)
READINGS = st.lists(
    st.tuples(
        st.integers(0, 7 * 24 * 60),
        st.sampled_from(POINTS),
        st.sampled_from(sorted(UNITS)),
        st.integers(0, 2000).map(lambda tenths: tenths / 10),
    ),
    min_size=4,
    max_size=16,
    unique_by=lambda row: row[:3],
)


@settings(max_examples=100, deadline=None)
@given(DIALECTS, READINGS)
def test_any_table_reads_back_equal_from_any_dialect(how: Dialect, rows: list) -> None:
    # A first and a last row a week apart, on both sides of the twelfth, leave nothing open.
    rows = [*rows, (0, "BT 1P", "O2", 20.9), (25_000, "BT 1P", "O2", 20.8)]
    rows = sorted({row[:3]: row for row in rows}.values())
    data = _written(rows, how).encode(how.encoding)
    with tempfile.TemporaryDirectory() as folder:
        logs = read_logs(write(Path(folder), {"a.csv": data}))
    assert adds_up(logs)
    table = logs.readings[["time", "point", "gas", "value"]].astype("object")
    got = sorted(tuple(row) for row in table.itertuples(index=False))
    want = [
        (START.tz_localize("UTC") + pd.Timedelta(minutes=row[0]), row[1], row[2], row[3])
        for row in rows
    ]
    assert got == sorted(want)
    assert len(logs.ledger.rejected) == 0


def _written(rows: list, how: Dialect) -> str:
    comma = how.comma and how.delimiter != ","
    head, body, units = _LAYOUTS[how.layout](rows, how)
    body = [[_cell(cell, comma=comma) for cell in row] for row in body]
    out = io.StringIO(newline="")
    quoting = csv.QUOTE_ALL if how.quoted else csv.QUOTE_MINIMAL
    writer = csv.writer(out, delimiter=how.delimiter, lineterminator=how.ends, quoting=quoting)
    if how.preamble:
        out.write(f"Installation: Example{how.ends}Recorder A{how.ends}{how.ends}")
    writer.writerow(head)
    if units:
        writer.writerow(units)
    half = len(body) // 2
    writer.writerows(body[:half])
    if how.again:
        writer.writerow(head)
        if units:
            writer.writerow(units)
    writer.writerows(body[half:])
    return out.getvalue()


def _cell(cell: object, *, comma: bool) -> str:
    text = f"{cell:.1f}" if isinstance(cell, float) else str(cell)
    return text.replace(".", ",") if comma and isinstance(cell, float) else text


def _when(minute: int, how: Dialect) -> list[str]:
    time = START + pd.Timedelta(minutes=minute)
    if how.times == "epoch":
        return [str(int(time.timestamp()))]
    if how.times == "serial":  # days since 1899-12-30
        days = (time - pd.Timestamp("1899-12-30")) / pd.Timedelta(days=1)
        return [f"{days:.9f}"]
    text = time.strftime(TIMES[how.times])
    return text.split(" ", 1) if _apart(how) else [text]


def _apart(how: Dialect) -> bool:
    return how.apart and " " in TIMES[how.times]


def _time_head(how: Dialect) -> list[str]:
    return ["Date", "Time"] if _apart(how) else ["Time"]


def _named(gas: str, how: Dialect) -> str:
    return gas if how.units_row else f"{gas} [{UNITS[gas]}]"


def _long(rows: list, how: Dialect) -> tuple[list, list, list]:
    head = [*_time_head(how), "Sampling point", "Gas", "Reading", "Unit"]
    body = [[*_when(m, how), point, gas, value, UNITS[gas]] for m, point, gas, value in rows]
    return head, body, []


def _tags(rows: list, how: Dialect) -> tuple[list, list, list]:
    head = [*_time_head(how), "Tag", "Value", "Unit"]
    body = [[*_when(m, how), f"{point}.{gas}.PV", value, UNITS[gas]]
            for m, point, gas, value in rows]  # fmt: skip
    return head, body, []


def _merged(rows: list, how: Dialect) -> tuple[list, list, list]:
    gases = sorted({row[2] for row in rows})
    visits: dict = {}
    for minute, point, gas, value in rows:
        visits.setdefault((minute, point), {})[gas] = value
    head = [*_time_head(how), "Point", *(_named(gas, how) for gas in gases)]
    body = [[*_when(m, how), point, *(cells.get(gas, "") for gas in gases)]
            for (m, point), cells in visits.items()]  # fmt: skip
    return head, body, _units([""] * (len(_time_head(how)) + 1), gases, how)


def _wide(rows: list, how: Dialect) -> tuple[list, list, list]:
    tags = sorted({row[1:3] for row in rows})
    moments: dict = {}
    for minute, point, gas, value in rows:
        moments.setdefault(minute, {})[point, gas] = value
    head = [*_time_head(how), *(f"{point}/{_named(gas, how)}" for point, gas in tags)]
    body = [[*_when(m, how), *(cells.get(tag, "") for tag in tags)]
            for m, cells in moments.items()]  # fmt: skip
    return head, body, _units([""] * len(_time_head(how)), [tag[1] for tag in tags], how)


def _units(before: list, gases: list, how: Dialect) -> list:
    return [*before, *(UNITS[gas] for gas in gases)] if how.units_row else []


_LAYOUTS = {"long": _long, "merged": _merged, "wide": _wide, "tags": _tags}
