"""A folder of small odd exports: each must read as its ``expect.toml`` says, or ask as it says."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from alarmsift.errors import InputError
from alarmsift.reading.describe import describe
from alarmsift.reading.folder import read_logs
from tests.reading.conftest import adds_up

CORPUS = Path(__file__).parent / "corpus"
CASES = sorted(path.parent for path in CORPUS.glob("*/expect.toml"))
_FILE = ("encoding", "delimiter", "layout", "rows_read", "accepted", "rejected", "duplicates")


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_reads_as_expected(case: Path) -> None:
    expect = tomllib.loads((case / "expect.toml").read_text(encoding="utf-8"))
    assert expect.pop("why")
    if "message" in expect:
        with pytest.raises(InputError) as told:
            read_logs(case / "logs")
        assert [words for words in expect["message"] if words not in str(told.value)] == []
        return
    logs = read_logs(case / "logs")
    assert adds_up(logs)
    file = logs.ledger.files.iloc[0]
    assert {k: file[k] for k in _FILE if k in expect} == {
        k: expect[k] for k in _FILE if k in expect
    }
    if "readings" in expect:
        assert _rows(logs.readings) == [_near(row) for row in expect["readings"]]
    if "points" in expect:
        assert sorted(logs.readings["point"].unique()) == expect["points"]
    if "refused_rows" in expect:
        assert logs.ledger.rejected["row"].tolist() == expect["refused_rows"]
    describe(logs).encode("cp1252")


def _rows(readings: pd.DataFrame) -> list[list[Any]]:
    table = readings[["time", "point", "gas", "value", "status", "source_row"]].astype("object")
    table["value"] = table["value"].where(table["value"].notna(), "")
    return [list(row) for row in table.itertuples(index=False)]


def _near(row: list[Any]) -> list[Any]:
    value = row[3] if row[3] == "" else pytest.approx(row[3], abs=5e-4)
    return [pd.Timestamp(row[0]), *row[1:3], value, *row[4:]]


def test_the_corpus_is_there() -> None:
    assert len(CASES) >= 10
