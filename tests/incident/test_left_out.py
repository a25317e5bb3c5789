"""Columns left out of files of every kind: the words go, rows, order and line numbers stay."""

from __future__ import annotations

import gzip
import io
from pathlib import Path

import pandas as pd
import pytest

from alarmsift.errors import InputError
from alarmsift.incident.sources import copy_sources, refuse_lost_rows
from alarmsift.reading.folder import read_logs
from tests.cli.hand_made_ship import write_logs

TEXT = """\
time;point;gas;event;level;state;value;text
2026-03-02 07:25:00;WBT 1S;HC;alarm;low;raised;31,0;Bjørn called
2026-03-02 07:31:00;WBT 1S;HC;alarm;low;acknowledged;;"Bjørn; and
the mate"
2026-03-02 07:31:00;WBT 1S;HC;alarm;low;acknowledged;;Bjørn; once more
2026-03-02 07:40:00;WBT 1S

2026-03-02 10:45:00;WBT 1S;HC;alarm;low;cleared;27,0;
"""
FRAME = pd.DataFrame(
    {
        "time": ["2026-03-02T07:25:00Z", "2026-03-02T10:45:00Z"],
        "point": "WBT 1S",
        "gas": "HC",
        "event": "alarm",
        "level": "low",
        "state": ["raised", "cleared"],
        "text": ["Bjørn called", None],
    }
)


def write_events(folder: Path, kind: str) -> Path:
    write_logs(folder)
    (folder / "events.csv").unlink()
    if kind == "parquet":
        FRAME.to_parquet(folder / "events.parquet", index=False)
        return folder / "events.parquet"
    name = "events.csv.gz" if kind == "gz" else "events.csv"
    data = TEXT.replace("\n", "\r\n").encode("utf-8" if kind == "gz" else kind)
    (folder / name).write_bytes(gzip.compress(data) if kind == "gz" else data)
    return folder / name


@pytest.mark.parametrize("kind", ["utf-8", "cp1252", "utf-16", "gz", "parquet"])
def test_the_words_go_and_the_rows_stay(tmp_path: Path, kind: str):
    file = write_events(tmp_path / "logs", kind)
    copied = copy_sources(tmp_path / "logs", tmp_path / "copy", ["text"])
    stored = (tmp_path / "copy" / file.name).read_bytes()
    if kind == "gz":
        stored = gzip.decompress(stored)
    if kind == "parquet":
        stored = pd.read_parquet(io.BytesIO(stored)).to_csv().encode()
    for word in (b"called", b"the mate", b"once more"):
        assert word not in stored
    before, after = read_logs(tmp_path / "logs").events, copied.logs.events
    assert len(before) == len(after) > 1
    for column in ("time", "point", "state", "source_row"):
        assert before[column].astype(str).tolist() == after[column].astype(str).tolist()
    marks = after["text"].dropna().tolist()
    assert len(set(marks)) == before["text"].dropna().nunique()
    assert all(mark.startswith("(left out ") for mark in marks)


def test_a_row_that_fits_no_header_is_left_out_whole(tmp_path: Path):
    write_events(tmp_path / "logs", "utf-8")
    copy_sources(tmp_path / "logs", tmp_path / "copy", ["text"])
    lines = (tmp_path / "copy" / "events.csv").read_text(encoding="utf-8").split("\n")
    assert lines[5] == "(left out)"  # line 6: two cells, and nobody knows which
    assert len(lines) == TEXT.count("\n") + 1


def test_a_column_read_for_nothing_else_can_be_left_out_by_its_heading(tmp_path: Path):
    logs = write_logs(tmp_path / "logs")
    file = logs / "events.csv"
    rows = file.read_text(encoding="utf-8").splitlines()
    rows = [rows[0] + ",Officer", *[row + ",Bjørn" for row in rows[1:]]]
    file.write_text("\n".join(rows) + "\n", encoding="utf-8")
    copied = copy_sources(logs, tmp_path / "copy", ["officer"])
    assert "Bjørn" not in (tmp_path / "copy" / "events.csv").read_text(encoding="utf-8")
    assert copied.files.set_index("file").loc["events.csv", "left_out"] == "Officer"


def test_a_copy_that_lost_rows_is_refused(tmp_path: Path):
    """Alarm lists may tell the alarm in the text itself; without it rows could not be read."""
    logs = write_logs(tmp_path / "logs")
    copy = write_logs(tmp_path / "copy")
    rows = (copy / "events.csv").read_text(encoding="utf-8").splitlines()
    (copy / "events.csv").write_text("\n".join(rows[:-1]) + "\n", encoding="utf-8")
    refuse_lost_rows(logs, read_logs(logs))
    with pytest.raises(InputError, match="tells more than words"):
        refuse_lost_rows(logs, read_logs(copy))
