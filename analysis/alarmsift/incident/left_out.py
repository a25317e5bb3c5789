"""Copies of log files in which the cells of some columns are replaced by a numbered mark.

Every line keeps its number, so that source rows still hold. Equal texts get equal marks, so that a
duplicate is still a duplicate and two rows that differ still differ.
"""

from __future__ import annotations

import csv
import gzip
import io
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from alarmsift.errors import InputError
from alarmsift.reading.disk import PARQUET_ENDING, SHEET_ENDINGS, Found, Unusable, load
from alarmsift.reading.draft import Draft
from alarmsift.reading.encodings import to_utf8
from alarmsift.reading.open_table import open_table, parts_of
from alarmsift.reading.words import key
from alarmsift.tables.site import Site

# Free text of the plain layout: nothing is measured from it.
OFFERED = ("text", "note")
WHOLE_LINE = "(left out)"


class Marks:
    """Numbers each distinct text once, over all files of a pack."""

    def __init__(self) -> None:
        self._seen: dict[str, int] = {}

    def of(self, text: str) -> str:
        """Return the mark that stands for a text; a blank cell stays blank."""
        if not text.strip():
            return ""
        return f"(left out {self._seen.setdefault(text.strip(), len(self._seen) + 1)})"


def columns_of(draft: Draft, asked: Sequence[str]) -> list[int]:
    """Return the numbers of the file's columns that are to be left out.

    A name is ``text`` or ``note`` of the plain layout (``findings.note`` for one table only), or
    the heading of a column of the file that is not read otherwise.
    """
    out = []
    for name in asked:
        table, _, plain = name.rpartition(".")
        if plain in OFFERED and plain in draft.written and table in ("", draft.table):
            out.append(draft.sheet.header.index(draft.written[plain]))
        out += [
            draft.sheet.header.index(written)
            for written in draft.left_out
            if key(written) == key(name)
        ]
    return sorted(set(out))


def drafts_of(found: Sequence[Found], site: Site) -> dict[str, Draft]:
    """Return the files that are understood, by name.

    Raises
    ------
    InputError
        For a spreadsheet, whose copy would still hold what was to be left out.
    """
    out = {}
    for one in found:
        if one.file.lower().endswith(SHEET_ENDINGS):
            raise InputError(
                f"{one.file}: columns cannot be left out of a spreadsheet.",
                mend="Save its sheets as CSV files and pack those.",
            )
        try:
            for part in parts_of(one):
                out[part.file] = open_table(part, site)
        except Unusable:
            continue
    return out


def refuse_unknown(asked: Sequence[str], drafts: dict[str, Draft]) -> None:
    """Refuse a column that no file has, so that nobody believes it was left out.

    Raises
    ------
    InputError
    """
    for name in asked:
        if not any(columns_of(draft, [name]) for draft in drafts.values()):
            free = {
                f"{draft.table}.{plain}"
                for draft in drafts.values()
                for plain in OFFERED
                if plain in draft.written
            }
            free |= {written for draft in drafts.values() for written in draft.left_out}
            raise InputError(
                f"--leave-out {name}: no file has such a column that can be left out.",
                mend=f"These can be: {', '.join(sorted(free)) or 'none'}.",
            )


def copy_without(source: Found, draft: Draft, columns: list[int], marks: Marks) -> bytes:
    """Return the content of a file with the cells of those columns replaced by marks."""
    name = source.file.lower()
    if name.endswith(PARQUET_ENDING):
        return _parquet(source.path, [draft.sheet.header[n] for n in columns], marks)
    text = to_utf8(load(source.path)[0])[0].decode("utf-8")
    data = _lines(text, draft, columns, marks).encode("utf-8")
    return gzip.compress(data, mtime=0) if name.endswith(".gz") else data


def _lines(text: str, draft: Draft, columns: list[int], marks: Marks) -> str:
    lines = [line.rstrip("\r") for line in text.split("\n")]
    sheet = draft.sheet
    rows = {int(line): row for row, line in enumerate(sheet.lines)}
    refused = {int(line) for one in sheet.refused for line in one.rows}
    starts = np.array(sorted({*rows, *refused}), dtype=np.int64)
    cells = [column.text(np.arange(len(sheet.lines))) for column in sheet.columns]
    for place, start in enumerate(starts.tolist()):
        after = int(starts[place + 1]) if place + 1 < len(starts) else len(lines) + 1
        if start in rows:
            row = [str(column[rows[start]]) for column in cells]
            if not any(row[n].strip() for n in columns):
                continue
            for n in columns:
                row[n] = marks.of(row[n])
            lines[start - 1] = _written(row, sheet.delimiter)
        else:
            lines[start - 1] = WHOLE_LINE  # nobody knows which of its cells is which
        lines[start : after - 1] = [""] * (after - 1 - start)
    return "\n".join(lines)


def _written(row: list[str], delimiter: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="").writerow(row)
    return out.getvalue()


def _parquet(path: Path, names: list[str], marks: Marks) -> bytes:
    table = pq.read_table(path)
    for name in names:
        place = table.schema.get_field_index(name)
        cells = [None if c is None else marks.of(str(c)) for c in table.column(place).to_pylist()]
        table = table.set_column(place, name, pa.array(cells, pa.string()))
    out = pa.BufferOutputStream()
    pq.write_table(table, out)
    return bytes(out.getvalue().to_pybytes())
