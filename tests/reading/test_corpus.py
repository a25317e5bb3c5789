"""A folder of small odd exports: each must read as its ``expect.toml`` says, or ask as it says."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from alarmsift.cli.site_draft import site_draft
from alarmsift.errors import InputError
from alarmsift.reading.describe import describe
from alarmsift.reading.folder import read_logs
from tests.reading.conftest import adds_up

CORPUS = Path(__file__).parent / "corpus"
CASES = sorted(path.parent for path in CORPUS.glob("*/expect.toml"))
FILES = ["file", "table", "layout", "rows_read", "accepted", "rejected", "duplicates",
         "cells_refused"]  # fmt: skip
TABLES = {
    "readings": ["time", "point", "gas", "value", "status", "source_row"],
    "events": ["time", "point", "gas", "event", "level", "state", "source_row"],
    "operations": ["time", "action", "point", "value", "source_row"],
}
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
    if "files" in expect:
        assert logs.ledger.files[FILES].values.tolist() == expect["files"]
    for table, columns in TABLES.items():
        if table in expect:
            assert _rows(getattr(logs, table), columns) == [_near(row) for row in expect[table]]
    if "points" in expect:
        assert sorted(logs.readings["point"].unique()) == expect["points"]
    if "refused_rows" in expect:
        assert logs.ledger.rejected["row"].tolist() == expect["refused_rows"]
    describe(logs).encode("cp1252")


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_what_describe_saves_reads_the_same_tables(case: Path, tmp_path: Path) -> None:
    """A first ``site.toml`` may be corrected, but must not change anything by itself."""
    if (case / "logs" / "site.toml").exists() or "message" in (case / "expect.toml").read_text(
        encoding="utf-8"
    ):
        pytest.skip("has a site.toml of its own, or asks")
    logs = read_logs(case / "logs")
    shutil.copytree(case / "logs", tmp_path / "logs")
    (tmp_path / "logs" / "site.toml").write_text(site_draft(logs), encoding="utf-8")
    again = read_logs(tmp_path / "logs")
    for table in TABLES:
        pd.testing.assert_frame_equal(getattr(again, table), getattr(logs, table))


def _rows(frame: pd.DataFrame, columns: list[str]) -> list[list[Any]]:
    table = frame[columns].astype("object")
    table = table.where(frame[columns].notna(), "")
    return [list(row) for row in table.itertuples(index=False)]


def _near(row: list[Any]) -> list[Any]:
    """Return a row with its time as a moment and its numbers to four figures behind the point."""
    near = [pytest.approx(cell, abs=5e-4) if isinstance(cell, float) else cell for cell in row[1:]]
    return [pd.Timestamp(row[0]), *near]


def test_the_corpus_is_there() -> None:
    assert len(CASES) >= 60
