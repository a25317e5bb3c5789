"""What must hold for any log: the books add up, and a written table reads back equal."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alarmsift.errors import InputError
from alarmsift.reading.describe import describe
from alarmsift.reading.folder import read_logs
from alarmsift.tables.schema import READINGS, conform
from tests.reading.conftest import HEADER, adds_up, line, write

# Hundreds of log folders: other tests cover the same lines, and the tracer costs half again.
pytestmark = pytest.mark.no_cover

CELLS = st.one_of(
    st.sampled_from(
        ["", "ok", "HC", "1.0", "%LFL", "n/a", "+++", "<0.1", '"', '""', "BT1P", "\x00"]
    ),
    st.text(max_size=8),
)
ROWS = st.lists(
    st.one_of(
        st.integers(0, 300).map(line),
        st.tuples(st.integers(0, 300), st.integers(0, 7), CELLS).map(
            lambda t: (
                ",".join(
                    t[2] if i == t[1] else cell
                    for i, cell in enumerate(line(t[0]).strip().split(","))
                )
                + "\n"
            )
        ),
        CELLS.map(lambda c: c + "\n"),
    ),
    max_size=40,
)


@settings(max_examples=60, deadline=None)
@given(ROWS, ROWS)
def test_the_ledger_adds_up_whatever_the_files_hold(one: list[str], two: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        first = HEADER + line(0) + "".join(one)
        write(Path(folder), {"a.csv": first, "b.csv": HEADER + "".join(two)})
        try:
            logs = read_logs(folder)
        except InputError as error:
            assert str(error)
            return
    assert adds_up(logs)
    files, rejected = logs.ledger.files, logs.ledger.rejected
    assert files["accepted"].sum() == len(logs.readings)
    whole = ~rejected["reason"].str.contains("kept")
    assert whole.sum() == files["rejected"].sum()
    assert (~whole).sum() == files["cells_refused"].sum()
    assert logs.readings["time"].is_monotonic_increasing
    assert (logs.readings["value"].notna() | (logs.readings["status"] != "ok")).all()
    describe(logs).encode("cp1252")


@settings(max_examples=40, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_give_a_table_or_a_message(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        write(Path(folder), {"a.csv": data, "b.csv": HEADER + line(0)})
        assert adds_up(read_logs(folder))


NAMES = st.text(alphabet="ABCdef 12-/é", min_size=1, max_size=6).map(str.strip).filter(
    lambda name: any(c.isalnum() for c in name) and name.lower() not in {"na", "nan", "none", "nil"}
)  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.integers(0, 10**9),
            NAMES,
            st.sampled_from([("HC", "%LFL"), ("H2S", "ppm"), ("O2", "%vol")]),
            st.floats(-50, 900).filter(lambda v: v not in (-999.0, 32767.0)),
            st.sampled_from(["ok", "fault", "test"]),
        ),
        min_size=1,
        max_size=30,
        unique_by=lambda row: (row[0], row[1], row[2]),
    ),
    st.sampled_from(["csv", "csv.gz", "parquet"]),
)
def test_a_written_table_reads_back_equal(rows: list, ending: str) -> None:
    start = np.datetime64("2026-01-01T00:00:00.000000")
    times = pd.DatetimeIndex([start + np.timedelta64(row[0], "ms") for row in rows], tz="UTC")
    frame = pd.DataFrame(
        {
            "time": times,
            "point": [row[1] for row in rows],
            "gas": [row[2][0] for row in rows],
            "value": [row[3] for row in rows],
            "unit": [row[2][1] for row in rows],
            "status": [row[4] for row in rows],
        }
    ).sort_values("time", kind="stable", ignore_index=True)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"any name.{ending}"
        if ending == "parquet":
            frame.to_parquet(path)
        else:
            frame.to_csv(path, index=False, date_format="%Y-%m-%dT%H:%M:%S.%fZ")
        again = read_logs(folder).readings
    want = conform(frame, READINGS)
    columns = ["time", "point", "gas", "value", "unit", "status"]
    for column in columns:
        assert again[column].tolist() == want[column].tolist()
